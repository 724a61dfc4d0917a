// Goes along with every panel: keys pressed in it must not reach the notebook, where a plain "b"
// inserts a cell. Tab moves on, Shift+Enter and keys with Ctrl, Alt or Meta keep their meaning.
function meantForNotebook(event) {
  const modified = event.ctrlKey || event.altKey || event.metaKey;
  return modified || event.key === "Tab" || (event.shiftKey && event.key === "Enter");
}

// After a click Python asks what was typed or drawn in a panel and not sent yet: while the kernel is at
// work, ipywidgets keeps changes of a widget in a buffer, but sends clicks at once.
function initialize({ model }) {
  model.on("msg:custom", async ({ click, inputs }) => {
    const found = await Promise.allSettled(inputs.map((id) => model.widget_manager.get_model(id)));
    const changes = found.map(({ value }, i) => [inputs[i], value?._msg_buffer]);
    model.send({ click, held_back: Object.fromEntries(changes.filter(([, change]) => change)) });
  });
  model.set("begun", Date.now());
  model.save_changes();
}

// A step that a sentence names: its panel comes into view and takes the focus.
function goTo(step) {
  const panel = document.querySelector(`.tk-step-${CSS.escape(step)}`);
  if (!panel) return;
  panel.tabIndex = -1;
  panel.focus({ preventScroll: true });
  panel.scrollIntoView({ block: "start" });
}

function render({ el }) {
  el.hidden = true;
  requestAnimationFrame(() => {
    const area = el.closest(".jp-OutputArea-output") ?? el.parentElement;
    area?.addEventListener("keydown", (event) => {
      if (!meantForNotebook(event)) event.stopPropagation();
    });
    area?.addEventListener("click", (event) => {
      const step = event.target.closest?.("[data-step]")?.dataset.step;
      if (step) goTo(step);
    });
  });
}

export default { initialize, render };
