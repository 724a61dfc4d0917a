// JupyterLab loads this only where `thermalkit work` started it. A notebook whose metadata say
// {"thermalkit": {"run_on_open": true}} is shown as a document (folded code is not hinted at) and
// all its cells are run once, as soon as its kernel answers. Other notebooks are left alone.
(() => {
  const STYLE = `
    .thermalkit-document .jp-Cell-inputWrapper:has(.jp-InputPlaceholder),
    .thermalkit-document .jp-OutputPrompt,
    .thermalkit-document .jp-OutputArea-promptOverlay,
    .thermalkit-document .jp-MarkdownCell .jp-InputPrompt { display: none; }
    .thermalkit-document .jp-RenderedMarkdown { max-width: 70rem; }
  `;

  function addStyle() {
    const style = document.createElement("style");
    style.textContent = STYLE;
    document.head.append(style);
  }

  // Running all cells leaves the last one chosen, far below where a reader begins.
  function top(panel) {
    const notebook = panel.content;
    if (notebook.activeCellIndex !== notebook.widgets.length - 1) return;
    notebook.activeCellIndex = 0;
    requestAnimationFrame(() => notebook.widgets[0]?.node.scrollIntoView());
  }

  async function open(app, panel) {
    if (!panel?.context?.ready || !panel.sessionContext) return;
    await panel.context.ready;
    const own = panel.content.model?.getMetadata?.("thermalkit");
    if (!own?.run_on_open) return;
    panel.addClass("thermalkit-document");
    await panel.sessionContext.ready;
    await panel.sessionContext.session?.kernel?.info;
    const done = app.commands.execute("notebook:run-all-cells");
    top(panel);
    await done;
    top(panel);
  }

  const plugin = {
    id: "thermalkit-notebook:open",
    autoStart: true,
    activate: (app) => {
      addStyle();
      const seen = new WeakSet();
      const look = () => {
        const panel = app.shell.currentWidget;
        if (!panel || seen.has(panel)) return;
        seen.add(panel);
        void open(app, panel);
      };
      app.shell.currentChanged?.connect(look);
      void app.restored.then(look);
    },
  };

  window._JUPYTERLAB = window._JUPYTERLAB ?? {};
  window._JUPYTERLAB["thermalkit-notebook"] = {
    init: () => {},
    get: async () => () => ({ __esModule: true, default: plugin }),
  };
})();
