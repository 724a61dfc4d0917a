// Goes along with every panel: keys pressed in it must not reach the notebook, where a plain "b"
// inserts a cell. Tab moves on, Shift+Enter and keys with Ctrl, Alt or Meta keep their meaning.
function meantForNotebook(event) {
  const modified = event.ctrlKey || event.altKey || event.metaKey;
  return modified || event.key === "Tab" || (event.shiftKey && event.key === "Enter");
}

function render({ el }) {
  el.hidden = true;
  requestAnimationFrame(() => {
    const area = el.closest(".jp-OutputArea-output") ?? el.parentElement;
    area?.addEventListener("keydown", (event) => {
      if (!meantForNotebook(event)) event.stopPropagation();
    });
  });
}

export default { render };
