// Two pictures side by side and the same places on both, as numbered pairs.
//
// A pair is [[row, column], [row, column]], in pixels of each picture's file. What is sent is whole pairs
// only; a point that waits for its partner stays here. All text is data and reaches the page as text.

const NEAR = 14; // half a finger's target, CSS pixels
const LENS = 4; // how much the lens enlarges
const LENS_SIZE = 112;
const INK = "#111111";
const PAPER = "#ffffff";
const FONT = "bold 13px system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif";

function node(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "text") element.textContent = value;
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value != null) element.setAttribute(key, value);
  }
  element.append(...children);
  return element;
}

function filled(template, values) {
  return template.replace(/\{(\w+)\}/g, (whole, key) => (Object.hasOwn(values, key) ? values[key] : whole));
}

class Side {
  constructor(owner, index, label, picture) {
    Object.assign(this, { owner, index, label, rows: picture.rows, columns: picture.columns });
    this.canvas = node("canvas", {
      role: "application", tabindex: "0", "aria-label": label, "aria-describedby": owner.sayId,
    });
    this.box = node("figure", { class: "tk-pair-side" }, this.canvas, node("figcaption", { text: label }));
    this.cursor = null; // [row, column], by keyboard or while a pointer is down
    this.image = new Image();
    this.image.addEventListener("load", () => this.paint());
    this.image.src = /^data:image\/(png|jpeg);base64,/.test(picture.uri) ? picture.uri : "";
    const on = (name, act) => this.canvas.addEventListener(name, (event) => act.call(this, event));
    on("pointerdown", this.onDown);
    on("pointermove", this.onMove);
    on("pointerup", this.onUp);
    on("pointercancel", this.onUp);
    on("keydown", this.onKey);
    on("blur", () => this.point(null));
    this.watcher = new ResizeObserver(() => this.paint());
    this.watcher.observe(this.box);
  }

  get scale() {
    return this.canvas.clientWidth / this.columns;
  }

  place(event) {
    const box = this.canvas.getBoundingClientRect();
    return this.inside([(event.clientY - box.top) / this.scale - 0.5, (event.clientX - box.left) / this.scale - 0.5]);
  }

  inside([row, column]) {
    const fit = (value, size) => Math.round(Math.min(Math.max(value, 0), size - 1) * 10) / 10;
    return [fit(row, this.rows), fit(column, this.columns)];
  }

  hit([row, column]) {
    const far = ({ at }) => Math.hypot(at[0] - row, at[1] - column) * this.scale;
    const near = this.owner.points(this.index).filter((point) => far(point) <= NEAR);
    return near.sort((a, b) => far(a) - far(b))[0];
  }

  point(at) {
    this.cursor = at;
    this.paint();
  }

  onDown(event) {
    if (event.button > 0) return;
    event.preventDefault();
    this.canvas.focus({ preventScroll: true });
    this.canvas.setPointerCapture(event.pointerId);
    const at = this.place(event);
    const hit = this.hit(at);
    this.dragged = hit ? { number: hit.number, from: at, was: hit.at, moved: false } : null;
    if (hit) this.owner.choose(hit.number);
    this.held = true;
    this.point(at);
  }

  onMove(event) {
    if (!this.held) return;
    const at = this.place(event);
    const drag = this.dragged;
    if (drag && (drag.moved || Math.hypot(at[0] - drag.from[0], at[1] - drag.from[1]) * this.scale > 3)) {
      drag.moved = true;
      drag.at = this.inside([drag.was[0] + at[0] - drag.from[0], drag.was[1] + at[1] - drag.from[1]]);
      this.cursor = drag.at;
    } else this.cursor = at;
    this.paint();
  }

  onUp(event) {
    if (!this.held) return;
    this.held = false;
    const drag = this.dragged;
    this.dragged = null;
    this.cursor = null;
    if (event.type === "pointercancel") this.paint();
    else if (!drag) this.owner.set(this.index, this.place(event));
    else if (drag.moved) this.owner.move(drag.number, this.index, drag.at);
    else this.paint();
  }

  onKey(event) {
    const step = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[event.key];
    const control = event.ctrlKey || event.metaKey;
    if (step) {
      const by = (control ? 10 : 1) * Math.max(1, this.columns / 320);
      const chosen = event.altKey ? this.owner.pointOf(this.owner.chosen, this.index) : null;
      const from = chosen ?? this.cursor ?? [this.rows / 2, this.columns / 2];
      const at = this.inside([from[0] + by * step[0], from[1] + by * step[1]]);
      if (chosen) this.owner.move(this.owner.chosen, this.index, at);
      this.point(at);
    } else if (event.key === "Enter" || event.key === " ") {
      if (!this.cursor) this.point([this.rows / 2, this.columns / 2].map(Math.round));
      else {
        this.owner.set(this.index, this.cursor);
        this.owner.sides[1 - this.index].canvas.focus();
      }
    } else if (event.key === "Delete" || event.key === "Backspace") this.owner.remove();
    else if (event.key === "Escape") this.owner.cancel();
    else if (event.key === "[" || event.key === ",") this.owner.next(-1);
    else if (event.key === "]" || event.key === ".") this.owner.next(1);
    else if (control && event.key.toLowerCase() === "z") this.owner.travel(event.shiftKey ? 1 : -1);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  paint() {
    const width = this.box.clientWidth;
    if (!width || !this.image.complete || !this.image.naturalWidth) return;
    const density = window.devicePixelRatio || 1;
    const height = (width * this.rows) / this.columns;
    const [w, h] = [Math.round(width * density), Math.round(height * density)];
    if (this.canvas.width !== w || this.canvas.height !== h) Object.assign(this.canvas, { width: w, height: h });
    this.canvas.style.height = `${height}px`;
    const pen = this.canvas.getContext("2d");
    pen.setTransform(density, 0, 0, density, 0, 0);
    pen.clearRect(0, 0, width, height);
    pen.imageSmoothingEnabled = this.columns > width;
    pen.drawImage(this.image, 0, 0, width, height);
    pen.font = FONT;
    for (const point of this.owner.points(this.index)) {
      const at = this.dragged?.number === point.number && this.dragged.at ? this.dragged.at : point.at;
      this.mark(pen, at, String(point.number + 1), point.number === this.owner.chosen, point.waits);
    }
    if (this.cursor) this.lens(pen, width, height);
  }

  mark(pen, [row, column], text, chosen, waits) {
    const [x, y] = [(column + 0.5) * this.scale, (row + 0.5) * this.scale];
    const cross = new Path2D();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      cross.moveTo(x + 3 * dx, y + 3 * dy);
      cross.lineTo(x + 11 * dx, y + 11 * dy);
    }
    pen.setLineDash([]);
    for (const [colour, line] of [[PAPER, 4.5], [INK, 2]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = line;
      if (waits && colour === INK) pen.setLineDash([3, 2]);
      pen.stroke(cross);
    }
    pen.setLineDash([]);
    const wide = pen.measureText(text).width + 8;
    const left = Math.min(Math.max(x + 8, 1), this.canvas.clientWidth - wide - 1);
    const top = y > 26 ? y - 25 : y + 8;
    pen.fillStyle = chosen ? INK : PAPER;
    pen.strokeStyle = chosen ? PAPER : INK;
    pen.lineWidth = 1;
    pen.beginPath();
    pen.roundRect(left, top, wide, 17, 3);
    pen.fill();
    pen.stroke();
    pen.fillStyle = chosen ? PAPER : INK;
    pen.textBaseline = "middle";
    pen.fillText(text, left + 4, top + 9);
  }

  // What lies under the finger, enlarged, in the corner that is farther from it.
  lens(pen, width, height) {
    const [row, column] = this.cursor;
    const [x, y] = [(column + 0.5) * this.scale, (row + 0.5) * this.scale];
    const left = x > width / 2 ? 4 : width - LENS_SIZE - 4;
    const top = y > height / 2 ? 4 : height - LENS_SIZE - 4;
    const ratio = this.image.naturalWidth / this.columns;
    const shown = LENS_SIZE / LENS / this.scale;
    pen.save();
    pen.beginPath();
    pen.rect(left, top, LENS_SIZE, LENS_SIZE);
    pen.clip();
    pen.fillStyle = PAPER;
    pen.fillRect(left, top, LENS_SIZE, LENS_SIZE);
    pen.drawImage(
      this.image, (column + 0.5 - shown / 2) * ratio, (row + 0.5 - shown / 2) * ratio, shown * ratio, shown * ratio,
      left, top, LENS_SIZE, LENS_SIZE,
    );
    pen.restore();
    const [cx, cy] = [left + LENS_SIZE / 2, top + LENS_SIZE / 2];
    const cross = new Path2D();
    cross.rect(left, top, LENS_SIZE, LENS_SIZE);
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      cross.moveTo(cx + 5 * dx, cy + 5 * dy);
      cross.lineTo(cx + 24 * dx, cy + 24 * dy);
    }
    const at = new Path2D();
    at.arc(x, y, 5, 0, 2 * Math.PI);
    for (const [colour, line] of [[PAPER, 4], [INK, 1.5]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = line;
      pen.stroke(cross);
      pen.stroke(at);
    }
  }
}

let made = 0;

class Pairs {
  constructor(model, el) {
    this.model = model;
    this.words = model.get("labels");
    this.pairs = model.get("pairs").map((pair) => pair.map((at) => [...at]));
    this.waiting = null; // { side, at }
    this.chosen = null;
    this.past = [];
    this.future = [];
    this.sayId = `tk-pairs-${++made}`;
    this.say = node("p", { class: "tk-pair-say", id: this.sayId, role: "status" });
    this.fit = node("div", { class: "tk-pair-fit", "aria-live": "polite" });
    this.sides = model.get("pictures").map((picture, i) => new Side(this, i, this.words.sides[i], picture));
    this.buttons = {};
    const button = (name, act) => {
      const made = node("button", { type: "button", "data-act": name, text: this.words[name] });
      made.addEventListener("click", act);
      return (this.buttons[name] = made);
    };
    const tools = node(
      "div", { class: "tk-pair-tools", role: "toolbar", "aria-label": this.words.tools },
      button("remove", () => this.remove()), button("undo", () => this.travel(-1)), button("redo", () => this.travel(1)),
    );
    this.list = node("ol", { class: "tk-pair-list" });
    this.root = node(
      "div", { class: "tk-pairs", role: "group", "aria-label": this.words.title }, tools, this.say,
      node("div", { class: "tk-pair-sides" }, ...this.sides.map((side) => side.box)), this.list, this.fit,
      node("details", {}, node("summary", { text: this.words.keys }), node("p", { text: this.words.keysText })),
    );
    el.append(this.root);
    this.show();
  }

  points(side) {
    const whole = this.pairs.map((pair, number) => ({ number, at: pair[side] }));
    const waits = this.waiting?.side === side ? [{ number: this.pairs.length, at: this.waiting.at, waits: true }] : [];
    return [...whole, ...waits];
  }

  pointOf(number, side) {
    return this.points(side).find((point) => point.number === number)?.at ?? null;
  }

  // A first point waits; one in the other picture makes the pair; another in the same one moves it.
  set(side, at) {
    if (!this.waiting || this.waiting.side === side) {
      this.keep();
      this.waiting = { side, at };
      this.chosen = this.pairs.length;
    } else {
      this.keep();
      const pair = side ? [this.waiting.at, at] : [at, this.waiting.at];
      this.pairs = [...this.pairs, pair];
      this.waiting = null;
      this.send();
    }
    this.show();
  }

  move(number, side, at) {
    this.keep(`move ${number} ${side}`);
    if (number === this.pairs.length) this.waiting = { ...this.waiting, at };
    else this.pairs = this.pairs.map((pair, i) => (i === number ? pair.map((p, k) => (k === side ? at : p)) : pair));
    this.send();
    this.show();
  }

  remove() {
    if (this.chosen === null) return;
    this.keep();
    if (this.chosen === this.pairs.length) this.waiting = null;
    else this.pairs = this.pairs.filter((_, i) => i !== this.chosen);
    this.chosen = null;
    this.send();
    this.show();
  }

  cancel() {
    if (this.waiting) this.keep();
    this.waiting = null;
    this.chosen = null;
    this.show();
  }

  choose(number) {
    this.chosen = number;
    this.show();
  }

  next(by) {
    const count = this.pairs.length;
    if (count) this.choose(this.chosen === null ? (by > 0 ? 0 : count - 1) : (this.chosen + by + count) % count);
  }

  keep(tag = null) {
    if (tag && tag === this.tag) return;
    this.tag = tag;
    this.past.push({ pairs: this.pairs, waiting: this.waiting });
    this.future = [];
  }

  travel(by) {
    const [from, to] = by < 0 ? [this.past, this.future] : [this.future, this.past];
    const state = from.pop();
    if (!state) return;
    to.push({ pairs: this.pairs, waiting: this.waiting });
    Object.assign(this, state, { chosen: null, tag: null });
    this.send();
    this.show();
  }

  send() {
    const sent = JSON.stringify(this.pairs);
    if (sent === JSON.stringify(this.model.get("pairs"))) return;
    this.model.set("pairs", JSON.parse(sent));
    this.model.save_changes();
  }

  // Python filled something in.
  take(pairs) {
    if (JSON.stringify(pairs) === JSON.stringify(this.pairs)) return;
    this.keep();
    this.pairs = pairs.map((pair) => pair.map((at) => [...at]));
    this.waiting = null;
    this.chosen = null;
    this.show();
  }

  show() {
    const words = this.words;
    const number = this.pairs.length + 1;
    const asks = this.waiting ? words.other[1 - this.waiting.side] : words.first;
    this.say.textContent = filled(asks, { number });
    const residuals = this.model.get("residuals");
    const worst = this.model.get("worst");
    this.list.replaceChildren(
      ...this.pairs.map((pair, i) => {
        const told = filled(words.pair, { number: i + 1, apart: residuals[i] ?? "" });
        const text = i === worst ? `${told} ${words.worst}` : told;
        const button = node("button", { type: "button", text, "aria-pressed": String(i === this.chosen) });
        button.addEventListener("click", () => this.choose(i));
        return node("li", { class: i === worst ? "tk-pair-worst" : "" }, button);
      }),
    );
    this.fit.replaceChildren(...this.model.get("said").map((text) => node("p", { text })));
    this.buttons.remove.disabled = this.chosen === null;
    this.buttons.undo.disabled = this.past.length === 0;
    this.buttons.redo.disabled = this.future.length === 0;
    for (const side of this.sides) side.paint();
  }

  destroy() {
    for (const side of this.sides) side.watcher.disconnect();
    this.root.remove();
  }
}

function render({ model, el }) {
  const pairs = new Pairs(model, el);
  const handlers = {
    "change:pairs": () => pairs.take(model.get("pairs")),
    "change:said": () => pairs.show(),
    "change:residuals": () => pairs.show(),
    "change:worst": () => pairs.show(),
  };
  for (const [name, act] of Object.entries(handlers)) model.on(name, act);
  return () => {
    for (const [name, act] of Object.entries(handlers)) model.off(name, act);
    pairs.destroy();
  };
}

export default { render };
