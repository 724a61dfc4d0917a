// Charts of a notebook, drawn by the library that stands before these lines as the annex draws them.
// A page may hold another one of the name, which is left to it.
const Plotly = globalThis.Plotly;
globalThis.Plotly = before;

const CONFIG = { displayModeBar: false, responsive: true };

function render({ model, el }) {
  let parts = [];
  const sizes = new ResizeObserver((entries) => {
    for (const { target, contentRect } of entries) {
      if (contentRect.width > 0 && target.layout) Plotly.Plots.resize(target);
    }
  });

  function clear() {
    sizes.disconnect();
    parts.forEach(({ area }) => Plotly.purge(area));
  }

  function empty() {
    const [heading, text, area] = ["h4", "p", "div"].map((tag) => document.createElement(tag));
    area.setAttribute("role", "img");
    sizes.observe(area);
    return { heading, text, area };
  }

  function draw() {
    const charts = model.get("charts");
    if (charts.length !== parts.length) {
      clear();
      parts = charts.map(empty);
      el.replaceChildren(...parts.flatMap(({ heading, text, area }) => [heading, text, area]));
    }
    charts.forEach(({ title, summary, figure }, i) => {
      const { heading, text, area } = parts[i];
      heading.textContent = title;
      text.textContent = summary;
      area.setAttribute("aria-label", title);
      Plotly.react(area, figure.data, figure.layout, CONFIG);
    });
  }

  draw();
  model.on("change:charts", draw);
  return () => {
    model.off("change:charts", draw);
    clear();
  };
}

export default { render };
