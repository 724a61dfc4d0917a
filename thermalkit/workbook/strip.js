// Four places on a camera's picture: both ends of its temperature strip, two corners of the frame.
// Each may be clicked or typed; the result is drawn beside the picture by Python.
function render({ model, el }) {
  const words = model.get("words");
  const box = document.createElement("div");
  box.className = "tk-strip";
  const stage = document.createElement("div");
  stage.className = "tk-strip-stage";
  const picture = document.createElement("img");
  picture.alt = words.picture;
  picture.draggable = false;
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  stage.append(picture, svg);
  const fields = document.createElement("div");
  fields.className = "tk-strip-fields";
  let next = 0;
  const inputs = words.points.map((name, number) => {
    const row = document.createElement("div");
    row.append(name + " ");
    const pair = ["row", "column"].map((axis, which) => {
      const input = document.createElement("input");
      input.type = "number";
      input.min = 0;
      input.setAttribute("aria-label", `${name}, ${words[axis]}`);
      input.addEventListener("focus", () => {
        next = number;
        show();
      });
      input.addEventListener("change", () => put(number, which, Number(input.value)));
      row.append(input);
      return input;
    });
    fields.append(row);
    return { row, pair };
  });

  function put(number, which, value) {
    const points = model.get("points").map((point) => [...point]);
    points[number][which] = Math.round(value);
    model.set("points", points);
    model.save_changes();
  }

  function show() {
    const source = model.get("picture");
    if (picture.getAttribute("src") !== source) picture.src = source;
    const [rows, columns] = model.get("size");
    svg.setAttribute("viewBox", `0 0 ${columns} ${rows}`);
    const points = model.get("points");
    inputs.forEach(({ row, pair }, number) => {
      row.classList.toggle("tk-next", number === next);
      pair.forEach((input, which) => {
        if (document.activeElement !== input) input.value = Math.max(points[number][which], 0);
      });
    });
    const [cold, warm, first, last] = points.map(([row, column]) => [column + 0.5, row + 0.5]);
    const drawn = (at) => at[0] >= 0 && at[1] >= 0;
    svg.innerHTML = "";
    const add = (tag, attributes) => {
      const shape = document.createElementNS("http://www.w3.org/2000/svg", tag);
      for (const [key, value] of Object.entries(attributes)) shape.setAttribute(key, value);
      svg.append(shape);
    };
    if (drawn(cold) && drawn(warm)) add("line", { x1: cold[0], y1: cold[1], x2: warm[0], y2: warm[1] });
    if (drawn(first) && drawn(last)) {
      const [x, y] = [Math.min(first[0], last[0]), Math.min(first[1], last[1])];
      add("rect", { x, y, width: Math.abs(last[0] - first[0]), height: Math.abs(last[1] - first[1]) });
    }
  }

  stage.addEventListener("click", (event) => {
    const area = picture.getBoundingClientRect();
    const [rows, columns] = model.get("size");
    const row = Math.floor(((event.clientY - area.top) / area.height) * rows);
    const column = Math.floor(((event.clientX - area.left) / area.width) * columns);
    const points = model.get("points").map((point) => [...point]);
    points[next] = [Math.min(Math.max(row, 0), rows - 1), Math.min(Math.max(column, 0), columns - 1)];
    next = (next + 1) % 4;
    model.set("points", points);
    model.save_changes();
    show();
  });
  for (const trait of ["points", "picture", "size"]) model.on(`change:${trait}`, show);
  box.append(stage, fields);
  el.append(box);
  show();
}

export default { render };
