// A group of radio buttons or check boxes with a legend, so that a screen reader says what is asked.

function render({ model, el }) {
  // Each group has this module to itself, so a count here would give all the same name, and with it one choice.
  const name = `thermalkit-choice-${Math.random().toString(36).slice(2)}`;

  function draw() {
    const group = document.createElement("fieldset");
    group.className = "thermalkit-choice";
    const legend = document.createElement("legend");
    legend.textContent = model.get("legend");
    group.append(legend, ...model.get("options").map(line));
    el.replaceChildren(group);
    tick();
  }

  function line([id, text]) {
    const label = document.createElement("label");
    const box = document.createElement("input");
    box.type = model.get("several") ? "checkbox" : "radio";
    box.name = name;
    box.value = id;
    box.addEventListener("change", send);
    label.append(box, document.createTextNode(text));
    return label;
  }

  const boxes = () => [...el.querySelectorAll("input")];

  function send() {
    model.set("chosen", boxes().filter((box) => box.checked).map((box) => box.value));
    model.save_changes();
  }

  function tick() {
    const chosen = model.get("chosen");
    for (const box of boxes()) box.checked = chosen.includes(box.value);
  }

  draw();
  model.on("change:options", draw);
  model.on("change:legend", draw);
  model.on("change:chosen", tick);
}

export default { render };
