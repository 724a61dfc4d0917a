// Draws the charts of an annex with the library inlined before: from data in the page, nothing is fetched.

const PRINT_WIDTH = 640; // CSS pixels of an A4 page's column

function draw(figure) {
  const area = figure.querySelector("[data-chart]");
  const { data, layout } = JSON.parse(figure.querySelector("script").textContent);
  if (matchMedia("(pointer: fine)").matches) {
    // With a mouse a stretch of the chart can be drawn larger; a finger scrolls the page.
    layout.dragmode = "zoom";
    layout.xaxis.fixedrange = false;
  }
  Plotly.newPlot(area, data, layout, { displayModeBar: false, responsive: true });
  return area;
}

const areas = [...document.querySelectorAll("figure.chart")].map(draw);
addEventListener("beforeprint", () => areas.forEach((area) => Plotly.relayout(area, { width: PRINT_WIDTH })));
addEventListener("afterprint", () => areas.forEach((area) => Plotly.relayout(area, { width: null })));
