// Charts of a notebook, drawn by the same library as those of the annex.
const LIBRARY = Symbol.for("thermalkit.plotly");

// Loaded once for a page, and only when something is drawn: a widget that has not begun after two seconds
// is given up by the page. A page may hold another library of the name, which is left to it.
async function loaded(text) {
  const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
  const before = globalThis.Plotly;
  try {
    await import(address);
    return globalThis.Plotly;
  } finally {
    globalThis.Plotly = before;
    URL.revokeObjectURL(address);
  }
}

const CONFIG = { displayModeBar: false, responsive: true };

async function render({ model, el }) {
  globalThis[LIBRARY] ??= loaded(model.get("library"));
  const Plotly = await globalThis[LIBRARY];
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
