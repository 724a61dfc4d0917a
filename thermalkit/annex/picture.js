// The picture: temperatures as colours, lines, marks, and a readout.
//
// One plain module, three uses:
//   drawPicture(element, data, options)   draws one picture into an element of a page
//   hydrate(root)                         draws every <figure data-picture> of a page, read-only
//   export default { render }             the notebook widget (anywidget)
// The data is described in packing.py. All text in it is untrusted: it reaches the page as
// textContent or as canvas text, never as HTML. Nothing is fetched, evaluated or stored.

export const LABELS = {
  picture: "Temperature picture",
  loading: "Unpacking the temperatures …",
  damaged: "The temperatures of this picture cannot be read.",
  hint: "Point at the picture, or focus it and press the arrow keys.",
  reading: "{value} ({low} to {high})",
  place: "row {row}, column {column}",
  masked: "no reading here",
  absent: "{line} (not reached here)",
  barLow: "Colours from",
  barHigh: "to",
  barReset: "Fit",
  zoomIn: "Zoom in",
  zoomOut: "Zoom out",
  whole: "Whole picture",
  full: "Full size",
  photo: "Photo",
  photoAlt: "Photo of the place",
  photoFade: "Photo behind",
  tools: "Mark places",
  select: "Move/Edit",
  pin: "Pin",
  rectangle: "Rectangle",
  outline: "Outline",
  trace: "Trace",
  finish: "Finish",
  cancel: "Cancel",
  remove: "Delete",
  undo: "Undo",
  redo: "Redo",
  accept: "Accept",
  dismiss: "Dismiss",
  name: "Name",
  role: "Role",
  number: "No.",
  place_: "Place",
  readings: "Readings",
  marks: "Marked places",
  suggested: "suggested",
  suggestions: "Dotted places are suggestions: A accepts, X dismisses the one in turn.",
  along: "Temperature along {mark}: {low} to {high}, over {length}",
  unnamed: "unnamed {shape}",
  role_sound: "sound place, dashed",
  shape_pin: "pin",
  shape_patch: "patch",
  shape_trace: "trace",
  do_select: "Choose a place to move it; drag a corner to reshape it.",
  do_pin: "Set a pin.",
  do_rectangle: "Drag, or set two opposite corners.",
  do_outline: "Set corner after corner; set the last one twice to finish.",
  do_trace: "Set point after point; set the last one twice to finish.",
  drawn: "{mark} drawn.",
  chosen: "{mark} chosen.",
  removed: "{mark} deleted.",
  undone: "Undone.",
  redone: "Redone.",
  keys: "Keys",
  keysRead: [
    ["Arrows", "move the cross-hair (held: faster; with Ctrl: 10 pixels)"],
    ["+  −  0", "zoom in, zoom out, whole picture (wheel with Ctrl)"],
    ["Shift + arrows", "pan (also drag with Shift or Space, or two fingers)"],
  ],
  keysMark: [
    ["P  R  O  T  M", "pin, rectangle, outline, trace, move/edit"],
    ["Enter", "set a point; twice at one place, or F: finish; Esc: cancel"],
    ["[  ]  or  ,  .", "previous, next place; Esc: none"],
    ["Arrows", "with a place chosen (M): move it; V: next corner, Alt + arrows: move that corner"],
    ["N  Delete", "rename, delete the chosen place"],
    ["A  X", "accept, dismiss the suggestion"],
    ["Ctrl+Z  Ctrl+Shift+Z", "undo, redo"],
  ],
};

const MASKED = 65535;
const BANDS = 8; // reading order: places within an eighth of the height count as one line
const TARGET = 14; // half a finger's target, CSS pixels
const NEAR = 6; // the same place, CSS pixels
const MOST_PIXELS = 4096 * 4096;
const PRINTED = 400; // width on paper, CSS pixels; as in the style sheet
const FONT = "12px system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif";
const INK = "#111111";
const PAPER = "#ffffff";
const DASHES = [[], [9, 4], [2, 4], [9, 4, 2, 4]];

// ---------------------------------------------------------------- colours

// cividis: Nunez, Anderton and Renslow (2018), PLoS ONE 13(7) e0199239; even in lightness, for colour-blind readers
const CIVIDIS =
  "00224e00234f00245100255300255400265600275800285900285b00295d002a5f002a61002b62002c64002c66002d68" +
  "002e6a002e6c002f6d00306f0030700031700031710132710533710833700c34700f357012357014367016377018376f" +
  "1a386f1c396f1e3a6f203a6f213b6e233c6e243c6e263d6e273e6e293f6e2a3f6d2b406d2d416d2e416d2f426d31436d" +
  "32436d33446d34456c35456c36466c38476c39486c3a486c3b496c3c4a6c3d4a6c3e4b6c3f4c6c404c6c414d6c424e6c" +
  "434e6c444f6c45506c46516c47516c48526c49536c4a536c4b546c4c556c4d556c4e566c4f576c50576c51586d52596d" +
  "535a6d545a6d555b6d555c6d565c6d575d6d585e6d595e6e5a5f6e5b606e5c616e5d616e5e626e5e636f5f636f60646f" +
  "61656f62656f636670646770656870656870666970676a71686a71696b716a6c716b6d726c6d726c6e726d6f726e6f73" +
  "6f70737071737172747272747273747374757474757575757676767777767777777878777979777a7a787b7a787c7b78" +
  "7d7c787e7c787e7d787f7e78807f78817f788280798381798482798582798683798784788885788985788a86788b8778" +
  "8c88788d88788e89788f8a78908b78918b78928c78928d78938e78948e77958f779690779791779892779992779a9376" +
  "9b94769c95769d95769e96769f9775a09875a19975a29975a39a74a49b74a59c74a69c74a79d73a89e73a99f73aaa073" +
  "aba072aca172ada272aea371afa471b0a571b1a570b3a670b4a76fb5a86fb6a96fb7a96eb8aa6eb9ab6dbaac6dbbad6d" +
  "bcae6cbdae6cbeaf6bbfb06bc0b16ac1b26ac2b369c3b369c4b468c5b568c6b667c7b767c8b866c9b965cbb965ccba64" +
  "cdbb63cebc63cfbd62d0be62d1bf61d2c060d3c05fd4c15fd5c25ed6c35dd7c45cd9c55cdac65bdbc75adcc859ddc858" +
  "dec958dfca57e0cb56e1cc55e2cd54e4ce53e5cf52e6d051e7d150e8d24fe9d34eead34cebd44bedd54aeed649efd748" +
  "f0d846f1d945f2da44f3db42f5dc41f6dd3ff7de3ef8df3cf9e03afbe138fce236fde334fee434fee535fee636fee838";

// RdBu of ColorBrewer (C. Brewer, M. Harrower, Pennsylvania State University), reversed
const COLD_TO_WARM = "0530612166ac4393c392c5ded1e5f0f7f7f7fddbc7f4a582d6604db2182b67001f";

function colourTable(hex) {
  const stops = hex.length / 6;
  const part = (i, k) => parseInt(hex.slice(6 * i + 2 * k, 6 * i + 2 * k + 2), 16);
  const table = new Uint8Array(256 * 3);
  for (let i = 0; i < 256; i++) {
    const at = (i / 255) * (stops - 1);
    const below = Math.min(Math.floor(at), stops - 2);
    for (let k = 0; k < 3; k++) {
      table[3 * i + k] = Math.round(part(below, k) + (at - below) * (part(below + 1, k) - part(below, k)));
    }
  }
  return table;
}

function colourIndex(value, bar) {
  const index = Math.round((255 * (value - bar.low)) / (bar.high - bar.low));
  return index < 0 ? 0 : index > 255 ? 255 : index;
}

// ---------------------------------------------------------------- temperatures

async function unpack(frame) {
  const { rows, columns } = frame;
  if (!(Number.isInteger(rows) && Number.isInteger(columns) && rows > 0 && columns > 0)) throw new Error("size");
  if (rows * columns > MOST_PIXELS) throw new Error("size");
  const packed = frame.values;
  const bytes =
    typeof packed === "string"
      ? Uint8Array.from(atob(packed), (c) => c.charCodeAt(0))
      : new Uint8Array(packed.buffer ?? packed, packed.byteOffset ?? 0, packed.byteLength);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  const raw = new DataView(await new Response(stream).arrayBuffer());
  if (raw.byteLength !== 2 * rows * columns) throw new Error("length");
  const temperatures = new Float32Array(rows * columns);
  let value = 0;
  for (let i = 0; i < temperatures.length; i++) {
    value = (value + raw.getUint16(2 * i, true)) & 0xffff;
    temperatures[i] = value === MASKED ? NaN : frame.base_degc + value * frame.step_k;
  }
  return temperatures;
}

function intervalAt(interval, value) {
  if (!Array.isArray(interval) || interval.length === 0) return null;
  if (!Array.isArray(interval[0])) return [value - interval[0], value + interval[1]];
  const last = interval.length - 1;
  if (value <= interval[0][0] || last === 0) return shifted(interval[0], value);
  if (value >= interval[last][0]) return shifted(interval[last], value);
  const above = interval.findIndex((row) => row[0] >= value);
  const [a, b] = [interval[above - 1], interval[above]];
  const share = (value - a[0]) / (b[0] - a[0]);
  return [a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2])];
}

function shifted([temperature, low, high], value) {
  return [low + value - temperature, high + value - temperature];
}

function usualBar(temperatures, difference) {
  const seen = temperatures.filter((t) => !Number.isNaN(t)).sort();
  if (seen.length === 0) return { low: 0, high: 1 };
  let low = seen[Math.floor(0.005 * (seen.length - 1))];
  let high = seen[Math.ceil(0.995 * (seen.length - 1))];
  if (difference) {
    high = Math.max(Math.abs(low), Math.abs(high));
    low = -high;
  }
  low = Math.floor(low * 2) / 2;
  high = Math.ceil(high * 2) / 2;
  return high > low ? { low, high } : { low: low - 0.5, high: low + 0.5 };
}

// The lines run through a lightly smoothed frame, else noise frays them.
function smoothed(field, rows, columns) {
  const out = new Float32Array(field.length);
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const here = r * columns + c;
      if (Number.isNaN(field[here])) {
        out[here] = NaN;
        continue;
      }
      let sum = 0;
      let count = 0;
      for (let i = Math.max(r - 1, 0); i <= Math.min(r + 1, rows - 1); i++) {
        for (let j = Math.max(c - 1, 0); j <= Math.min(c + 1, columns - 1); j++) {
          const value = field[i * columns + j];
          if (value === value) {
            sum += value;
            count++;
          }
        }
      }
      out[here] = sum / count;
    }
  }
  return out;
}

// Which cell edges (0 top, 1 right, 2 bottom, 3 left) a level joins, by the corners above it (bits: tl tr br bl).
const JOINS = [
  [], [[3, 2]], [[2, 1]], [[3, 1]], [[0, 1]], [[3, 0], [2, 1]], [[0, 2]], [[3, 0]],
  [[3, 0]], [[0, 2]], [[0, 1], [3, 2]], [[0, 1]], [[3, 1]], [[2, 1]], [[3, 2]], [],
];

// Isotherm as polylines of [x, y] in picture units, by marching squares.
function isotherm(field, rows, columns, level) {
  const joined = new Map();
  const join = (a, b) => {
    for (const [from, to] of [[a, b], [b, a]]) {
      const known = joined.get(from);
      if (known) known.push(to);
      else joined.set(from, [to]);
    }
  };
  for (let r = 0; r < rows - 1; r++) {
    for (let c = 0; c < columns - 1; c++) {
      const i = r * columns + c;
      const tl = field[i], tr = field[i + 1], bl = field[i + columns], br = field[i + columns + 1];
      let kind = (tl > level ? 8 : 0) | (tr > level ? 4 : 0) | (br > level ? 2 : 0) | (bl > level ? 1 : 0);
      if (kind === 0 || kind === 15) continue;
      const mean = (tl + tr + bl + br) / 4;
      if (mean !== mean) continue;
      if ((kind === 5 || kind === 10) && mean <= level) kind = 15 - kind;
      const edge = [2 * i, 2 * (i + 1) + 1, 2 * (i + columns), 2 * i + 1];
      for (const [a, b] of JOINS[kind]) join(edge[a], edge[b]);
    }
  }
  const point = (edge) => {
    const i = edge >> 1;
    const along = edge & 1 ? columns : 1;
    const share = (level - field[i]) / (field[i + along] - field[i]);
    const r = Math.floor(i / columns), c = i % columns;
    return edge & 1 ? [c + 0.5, r + 0.5 + share] : [c + 0.5 + share, r + 0.5];
  };
  const walked = new Set();
  const chains = [];
  const walk = (start) => {
    const chain = [];
    let at = start;
    while (at !== undefined && !walked.has(at)) {
      walked.add(at);
      chain.push(point(at));
      at = joined.get(at).find((next) => !walked.has(next));
    }
    const closed = chain.length > 2 && joined.get(start).length === 2;
    if (closed) chain.push(chain[0]);
    if (chain.length > 6) chains.push(chain);
  };
  for (const [edge, next] of joined) if (next.length === 1 && !walked.has(edge)) walk(edge);
  for (const edge of joined.keys()) if (!walked.has(edge)) walk(edge);
  return chains.sort((a, b) => b.length - a.length);
}

// ---------------------------------------------------------------- marks

function centre(points) {
  const sum = points.reduce(([r, c], [row, column]) => [r + row, c + column], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
}

export function numbered(marks, rows) {
  const place = (mark) => {
    const [row, column] = centre(mark.points);
    return [Math.floor(row / (rows / BANDS)), column, row];
  };
  return marks
    .map((mark) => [place(mark), mark])
    .sort(([a], [b]) => a[0] - b[0] || a[1] - b[1] || a[2] - b[2])
    .map(([, mark], i) => ({ ...mark, number: i + 1 }));
}

function isMark(mark) {
  return (
    mark !== null && typeof mark === "object" && ["pin", "patch", "trace"].includes(mark.shape) &&
    Array.isArray(mark.points) && mark.points.length > 0 &&
    mark.points.every((p) => Array.isArray(p) && p.length === 2 && p.every(Number.isFinite))
  );
}

function isInside([row, column], points) {
  let inside = false;
  for (let i = 0, j = points.length - 1; i < points.length; j = i++) {
    const [r1, c1] = points[i];
    const [r2, c2] = points[j];
    if (r1 > row !== r2 > row && column < ((c2 - c1) * (row - r1)) / (r2 - r1) + c1) inside = !inside;
  }
  return inside;
}

function distanceToLine([row, column], [r1, c1], [r2, c2]) {
  const [dr, dc] = [r2 - r1, c2 - c1];
  const share = dr || dc ? ((row - r1) * dr + (column - c1) * dc) / (dr * dr + dc * dc) : 0;
  const t = Math.min(Math.max(share, 0), 1);
  return Math.hypot(row - r1 - t * dr, column - c1 - t * dc);
}

function extent(points) {
  const rows = points.map((p) => p[0]);
  const columns = points.map((p) => p[1]);
  return (Math.max(...rows) - Math.min(...rows)) * (Math.max(...columns) - Math.min(...columns));
}

// ---------------------------------------------------------------- words

// Untrusted text for display: no control or direction-changing characters, no endless names.
function plain(text, most = 200) {
  const clean = String(text ?? "").replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u202a-\u202e\u2066-\u2069]/g, " ");
  const letters = [...clean];
  return letters.length > most ? letters.slice(0, most - 1).join("") + "…" : clean;
}

function filled(template, values) {
  return template.replace(/\{(\w+)\}/g, (whole, key) => (Object.hasOwn(values, key) ? values[key] : whole));
}

function numberFormat(locale, digits) {
  const options = { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false };
  try {
    return new Intl.NumberFormat(locale || "en", options);
  } catch {
    return new Intl.NumberFormat("en", options);
  }
}

function niceStep(span, parts) {
  const rough = span / parts;
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((m) => m * power).find((step) => step >= rough * 0.999);
}


function node(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "text") element.textContent = value;
    else if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value != null) element.setAttribute(key, value);
  }
  element.append(...children);
  return element;
}

// ---------------------------------------------------------------- the component

class PictureView {
  constructor(element, data, options) {
    this.data = data;
    this.options = options;
    this.readOnly = data.read_only === true;
    this.words = { ...LABELS };
    for (const [key, value] of Object.entries(data.labels ?? {})) {
      const known = Object.hasOwn(LABELS, key) && typeof value === typeof LABELS[key];
      if (known && Array.isArray(value) === Array.isArray(LABELS[key])) this.words[key] = value;
    }
    this.format = numberFormat(data.locale, 1);
    this.unit = data.unit || (data.difference ? "K" : "°C");
    this.colours = colourTable(data.difference ? COLD_TO_WARM : CIVIDIS);
    this.marks = (data.marks ?? []).filter(isMark);
    this.suggestions = (data.suggestions ?? []).filter(isMark);
    this.context = (data.context ?? []).filter(isMark);
    this.numbers = data.numbers ?? {};
    this.details = data.details ?? {};
    this.brief = new Set(data.brief ?? []); // marks that a line is enough for
    this.past = [];
    this.future = [];
    this.seenIds = new Set();
    this.tool = "select";
    this.chosen = null; // id of a mark or suggestion
    this.corner = 0;
    this.draft = null; // { shape, rectangle, points }
    this.cursor = null; // { row, column, by }
    this.zoom = 1;
    this.left = 0; // picture coordinates of the upper left corner
    this.top = 0;
    this.fade = 0;
    this.pointers = new Map();
    this.drag = null;
    this.density = 1;
    this.stop = new AbortController();
    this.build(element);
    this.ready = this.load(data.frame);
  }

  // ---- elements

  build(element) {
    const words = this.words;
    // Counted on the page: in a notebook every picture has this module to itself.
    globalThis.thermalkitPictures = (globalThis.thermalkitPictures ?? 0) + 1;
    this.id = `tk-${globalThis.thermalkitPictures}`;
    const listen = { signal: this.stop.signal };
    this.base = node("canvas", { class: "tk-base", "aria-hidden": "true" });
    this.canvas = node("canvas", {
      class: "tk-marks",
      role: this.readOnly ? "img" : "application",
      tabindex: "0",
      "aria-label": plain(this.data.label || words.picture),
      "aria-describedby": `${this.id}-readout`,
    });
    this.stage = node("div", { class: "tk-stage" }, this.base, this.canvas);
    this.readout = node("p", {
      class: "tk-readout", id: `${this.id}-readout`, "aria-live": "polite", text: words.loading,
    });
    this.barBox = this.buildBar();
    this.root = node("div", { class: `tk-picture${this.readOnly ? " tk-read-only" : ""}` });
    if (!this.readOnly) this.root.append(this.buildTools());
    const main = node(
      "div", { class: "tk-main" }, node("div", { class: "tk-row" }, this.stage, this.barBox),
      (this.legend = node("ul", { class: "tk-lines" })), this.readout, this.buildKeys(),
    );
    const side = this.buildSide();
    this.table = this.buildTable();
    this.root.append(node("div", { class: `tk-body${this.photo ? " tk-with-photo" : ""}` }, main, side, this.table));
    element.append(this.root);

    this.root.addEventListener("keydown", (event) => this.onKey(event));
    this.root.addEventListener("keyup", (event) => event.key === " " && (this.space = false));
    const on = (name, act) => this.canvas.addEventListener(name, (event) => act.call(this, event), { passive: false });
    on("pointerdown", this.onDown);
    on("pointermove", this.onMove);
    on("pointerup", this.onUp);
    on("pointercancel", this.onLost);
    on("pointerleave", this.onLeave);
    on("wheel", this.onWheel);
    on("blur", () => {
      this.space = false;
    });
    this.watcher = new ResizeObserver(() => this.resize());
    this.watcher.observe(this.stage);
    window.addEventListener("beforeprint", () => this.print(), listen);
    window.addEventListener("afterprint", () => this.resize(), listen);
  }

  button(name, text, act, attributes = {}) {
    const button = node("button", { type: "button", class: "tk-button", "data-act": name, text, ...attributes });
    button.addEventListener("click", () => act());
    return button;
  }

  buildTools() {
    const words = this.words;
    this.buttons = {};
    const add = (name, act, keys, attributes) =>
      (this.buttons[name] = this.button(name, words[name], act, { "aria-keyshortcuts": keys, ...attributes }));
    const tools = { pin: "P", rectangle: "R", outline: "O", trace: "T", select: "M" };
    const group = (...buttons) => node("div", { class: "tk-group" }, ...buttons);
    this.tools = node(
      "div", { class: "tk-tools", role: "toolbar", "aria-label": words.tools },
      group(
        ...Object.entries(tools).map(([name, key]) =>
          add(name, () => this.useTool(name), key, { "aria-pressed": "false" }),
        ),
      ),
      group(add("finish", () => this.finish(), "F"), add("cancel", () => this.cancel(), "Escape")),
      group(
        add("remove", () => this.remove(), "Delete"),
        add("undo", () => this.travel(this.past, this.future, words.undone), "Control+Z"),
        add("redo", () => this.travel(this.future, this.past, words.redone), "Control+Shift+Z"),
      ),
      (this.suggestionTools = group(
        add("accept", () => this.accept(), "A"),
        add("dismiss", () => this.dismiss(), "X"),
      )),
    );
    this.tools.addEventListener("keydown", (event) => this.rove(event));
    this.hint = node("p", { class: "tk-hint", role: "status" });
    return node("div", { class: "tk-top" }, this.tools, this.hint);
  }

  // A toolbar is one stop for Tab; arrow keys go from button to button.
  rove(event) {
    const usable = [...this.tools.querySelectorAll("button")].filter((b) => !b.disabled && b.offsetParent);
    const at = usable.indexOf(document.activeElement);
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: usable.length - 1 }[event.key];
    if (to === undefined || at < 0) return;
    event.preventDefault();
    const next = usable[(to + usable.length) % usable.length];
    for (const button of usable) button.tabIndex = button === next ? 0 : -1;
    next.focus();
  }

  buildBar() {
    const words = this.words;
    this.barCanvas = node("canvas", { class: "tk-scale", "aria-hidden": "true" });
    this.handles = {};
    const box = node("div", { class: "tk-bar" }, this.barCanvas);
    for (const end of ["high", "low"]) {
      const handle = node("div", {
        class: "tk-handle", role: "slider", tabindex: "0", "aria-orientation": "vertical",
        "aria-label": end === "low" ? words.barLow : `${words.barLow} … ${words.barHigh}`,
      });
      handle.addEventListener("pointerdown", (event) => {
        handle.setPointerCapture(event.pointerId);
        this.frozen = this.axis();
        event.preventDefault();
        handle.focus();
      });
      handle.addEventListener("pointermove", (event) => {
        if (!this.frozen) return;
        const y = event.clientY - this.barCanvas.getBoundingClientRect().top;
        this.setBar({ ...this.bar, [end]: Math.round(this.frozen.value(y) * 10) / 10 });
      });
      const done = () => {
        this.frozen = null;
        this.paintSoon("all");
      };
      handle.addEventListener("pointerup", done);
      handle.addEventListener("pointercancel", done);
      handle.addEventListener("keydown", (event) => {
        const step = { ArrowUp: 0.1, ArrowRight: 0.1, ArrowDown: -0.1, ArrowLeft: -0.1, PageUp: 1, PageDown: -1 }[event.key];
        if (!step) return;
        event.preventDefault();
        this.setBar({ ...this.bar, [end]: Math.round((this.bar[end] + step) * 10) / 10 });
      });
      this.handles[end] = handle;
      box.append(handle);
    }
    return box;
  }

  buildSide() {
    const words = this.words;
    const side = node("div", { class: "tk-side" });
    if (!this.readOnly) side.append(this.buildFields());
    const photo = /^data:image\/(png|jpeg|webp);base64,/.test(this.data.photo ?? "") ? this.data.photo : null;
    const view = node(
      "div", { class: "tk-view", role: "group", "aria-label": words.whole },
      this.button("zoomIn", "+", () => this.zoomBy(1.5), { "aria-label": words.zoomIn, title: words.zoomIn }),
      this.button("zoomOut", "−", () => this.zoomBy(1 / 1.5), { "aria-label": words.zoomOut, title: words.zoomOut }),
      this.button("whole", words.whole, () => this.whole()),
      this.button("full", words.full, () => this.toggleFull()),
    );
    side.append(view);
    side.append(this.buildLimits());
    if (photo) side.append(this.buildPhoto(photo, view));
    return side;
  }

  buildFields() {
    const words = this.words;
    this.nameField = node("input", { type: "text", maxlength: "80", id: `${this.id}-name`, autocomplete: "off" });
    this.nameField.addEventListener("change", () => this.rename(this.nameField.value));
    this.nameField.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== "Escape") return;
      if (event.key === "Escape") this.nameField.value = this.chosenMark()?.name ?? "";
      this.canvas.focus();
    });
    const fields = node(
      "div", { class: "tk-fields" },
      node("label", { for: `${this.id}-name`, text: words.name }), this.nameField,
    );
    const roles = (this.data.roles ?? []).filter((entry) => entry && typeof entry.role === "string");
    if (roles.length > 1) {
      this.roleField = node("select", { id: `${this.id}-role` });
      for (const { role, label } of roles) {
        this.roleField.append(node("option", { value: role, text: plain(label ?? role) }));
      }
      this.roleField.value = this.data.role ?? "suspect";
      this.roleField.addEventListener("change", () => {
        const mark = this.chosenMark();
        if (mark) this.replace(mark.id, { role: this.roleField.value });
      });
      fields.append(node("label", { for: `${this.id}-role`, text: words.role }), this.roleField);
    }
    return fields;
  }

  buildLimits() {
    const words = this.words;
    const field = (end, label) => {
      const input = node("input", { type: "number", step: "0.1", id: `${this.id}-${end}`, "data-end": end });
      input.addEventListener("change", () => this.typeBar());
      input.addEventListener("keydown", (event) => event.key === "Enter" && this.typeBar());
      return [node("label", { for: input.id, text: label }), input];
    };
    const low = field("low", words.barLow);
    const high = field("high", words.barHigh);
    this.limits = { low: low[1], high: high[1] };
    return node(
      "div", { class: "tk-limits" }, ...low, ...high, node("span", { text: this.unit }),
      this.button("fit", words.barReset, () => this.temperatures && this.setBar(usualBar(this.temperatures, this.data.difference))),
    );
  }

  buildPhoto(source, view) {
    const words = this.words;
    this.photo = node("img", { class: "tk-photo", alt: words.photoAlt, src: source });
    this.photo.addEventListener("load", () => this.paintSoon("all"));
    const toggle = this.button("photo", words.photo, () => {
      this.photo.hidden = !this.photo.hidden;
      toggle.setAttribute("aria-pressed", String(!this.photo.hidden));
    }, { "aria-pressed": "true" });
    view.append(toggle);
    const box = node("div", { class: "tk-beside" });
    const aligned = this.data.photo_aligned === true;
    if (aligned && this.readOnly) {
      this.photo.hidden = true; // the page shows the whole photo beside
      toggle.setAttribute("aria-pressed", "false");
    }
    if (aligned) {
      const slider = node("input", { type: "range", min: "0", max: "1", step: "0.05", value: "0", id: `${this.id}-fade` });
      slider.addEventListener("input", () => {
        this.fade = Number(slider.value);
        this.paintSoon("all");
      });
      box.append(node("div", { class: "tk-fade" }, node("label", { for: slider.id, text: words.photoFade }), slider));
    }
    box.append(this.photo);
    return box;
  }

  buildTable() {
    const words = this.words;
    this.tableBody = node("tbody");
    this.tableRows = new Map();
    const head = [words.number, words.place_, words.readings].map((text) => node("th", { scope: "col", text }));
    return node(
      "table", { class: "tk-table" },
      node("caption", { text: words.marks }), node("thead", {}, node("tr", {}, ...head)), this.tableBody,
    );
  }

  buildKeys() {
    const list = node("dl");
    const rows = this.readOnly ? this.words.keysRead : [...this.words.keysRead, ...this.words.keysMark];
    for (const [keys, does] of rows) list.append(node("dt", { text: plain(keys) }), node("dd", { text: plain(does) }));
    return node("details", { class: "tk-keys" }, node("summary", { text: this.words.keys }), list);
  }

  // ---- data

  async load(frame) {
    try {
      this.temperatures = await unpack(frame);
    } catch {
      this.readout.textContent = this.words.damaged;
      return;
    }
    this.rows = frame.rows;
    this.columns = frame.columns;
    this.stage.style.setProperty("--aspect", String(this.columns / this.rows));
    const bar = this.data.bar;
    this.bar = bar && bar.low < bar.high ? bar : usualBar(this.temperatures, this.data.difference);
    if (this.data.difference) {
      const far = Math.max(Math.abs(this.bar.low), Math.abs(this.bar.high));
      this.bar = { low: -far, high: far };
    }
    this.image = node("canvas", { width: this.columns, height: this.rows });
    this.setLines(this.data.lines ?? []);
    this.colour();
    this.showBar();
    this.say();
    if (this.suggestions.length && !this.readOnly) this.announce(this.words.suggestions);
    this.refresh();
    this.resize();
  }

  setLines(lines) {
    this.data.lines = lines;
    this.lines = [];
    this.legend.replaceChildren();
    const usable = lines.filter((line) => Number.isFinite(line?.temperature_degc));
    if (!this.temperatures || usable.length === 0) return;
    const field = smoothed(smoothed(this.temperatures, this.rows, this.columns), this.rows, this.columns);
    usable.forEach((line, i) => {
      const chains = isotherm(field, this.rows, this.columns, line.temperature_degc);
      const path = new Path2D();
      for (const chain of chains) chain.forEach(([x, y], k) => (k ? path.lineTo(x, y) : path.moveTo(x, y)));
      const text = `${plain(line.label, 60)} ${this.degrees(line.temperature_degc)}`.trim();
      const dash = DASHES[i % DASHES.length];
      this.lines.push({ path, text, dash, value: line.temperature_degc, longest: chains[0] ?? null });
      const sample = node("canvas", { class: "tk-sample", width: "72", height: "24", "aria-hidden": "true" });
      const pen = sample.getContext("2d");
      pen.scale(2, 2);
      const stroke = new Path2D();
      stroke.moveTo(1, 6);
      stroke.lineTo(35, 6);
      twoTone(pen, stroke, 1, dash);
      const said = chains.length ? text : filled(this.words.absent, { line: text });
      this.legend.append(node("li", {}, sample, node("span", { text: said })));
    });
    this.paintSoon("all");
  }

  setBar(bar) {
    if (!this.temperatures || !(Number.isFinite(bar.low) && Number.isFinite(bar.high) && bar.low < bar.high)) return;
    bar = this.centred(bar);
    if (!(bar.low < bar.high) || (bar.low === this.bar.low && bar.high === this.bar.high)) return;
    this.bar = { low: bar.low, high: bar.high };
    this.colour();
    this.showBar();
    this.paintSoon("all");
    this.options.onBar?.(this.bar);
  }

  // The colours of a difference stay centred on zero: the limit that moved leads.
  centred(bar) {
    if (!this.data.difference || bar.low === -bar.high) return bar;
    const high = this.bar && bar.high === this.bar.high ? -bar.low : bar.high;
    return { low: -high, high };
  }

  typeBar() {
    const bar = { low: this.limits.low.valueAsNumber, high: this.limits.high.valueAsNumber };
    const good = bar.low < bar.high;
    for (const input of Object.values(this.limits)) input.setAttribute("aria-invalid", String(!good));
    if (good) this.setBar(bar);
  }

  showBar() {
    for (const end of ["low", "high"]) {
      this.limits[end].value = String(Math.round(this.bar[end] * 100) / 100);
      this.limits[end].setAttribute("aria-invalid", "false");
      const handle = this.handles[end];
      handle.setAttribute("aria-valuenow", String(this.bar[end]));
      handle.setAttribute("aria-valuetext", this.degrees(this.bar[end]));
    }
    this.handles.low.setAttribute("aria-valuemax", String(this.bar.high));
    this.handles.high.setAttribute("aria-valuemin", String(this.bar.low));
    this.handles.low.setAttribute("aria-valuemin", "-273");
    this.handles.high.setAttribute("aria-valuemax", "3000");
  }

  setMarks(marks, suggestions) {
    const same = JSON.stringify([marks, suggestions]) === JSON.stringify([this.marks, this.suggestions]);
    if (same) return;
    this.marks = marks.filter(isMark);
    this.suggestions = suggestions.filter(isMark);
    this.refresh();
  }

  setNumbers(numbers) {
    this.numbers = numbers ?? {};
    this.showTable();
  }

  setDetails(details) {
    this.details = details ?? {};
    this.showTable();
    this.paintSoon("marks");
  }

  // Marks that belong to another question: seen, counted, never changed here.
  setContext(context) {
    this.context = (context ?? []).filter(isMark);
    this.refresh();
  }

  degrees(value) {
    return `${this.format.format(Math.round(value * 10) / 10 || 0)}\u00a0${this.unit}`;
  }

  // ---- seeing

  colour() {
    const lookup = new Uint32Array(256);
    for (let i = 0; i < 256; i++) {
      const [r, g, b] = this.colours.subarray(3 * i, 3 * i + 3);
      lookup[i] = (255 << 24) | (b << 16) | (g << 8) | r;
    }
    const picture = new ImageData(this.columns, this.rows);
    const pixels = new Uint32Array(picture.data.buffer);
    const { low } = this.bar;
    const gain = 255 / (this.bar.high - low);
    for (let i = 0; i < pixels.length; i++) {
      const index = Math.round((this.temperatures[i] - low) * gain);
      if (index !== index) {
        const stripe = (Math.floor(i / this.columns) + (i % this.columns)) % 6 < 2;
        pixels[i] = stripe ? 0xff8c8c8c : 0xffd2d2d2;
      } else pixels[i] = lookup[index < 0 ? 0 : index > 255 ? 255 : index];
    }
    this.image.getContext("2d").putImageData(picture, 0, 0);
  }

  get scale() {
    return (this.width / this.columns) * this.zoom; // CSS pixels per pixel of the frame
  }

  x(column) {
    return (column + 0.5 - this.left) * this.scale;
  }

  y(row) {
    return (row + 0.5 - this.top) * this.scale;
  }

  pixel([x, y]) {
    const column = Math.floor(this.left + x / this.scale);
    const row = Math.floor(this.top + y / this.scale);
    return [Math.min(Math.max(row, 0), this.rows - 1), Math.min(Math.max(column, 0), this.columns - 1)];
  }

  look(zoom, left, top) {
    if (!this.width) return;
    this.zoom = Math.min(Math.max(zoom, 1), Math.max(1, (40 * this.columns) / this.width));
    const most = (size) => size - size / this.zoom;
    this.left = Math.min(Math.max(left, 0), most(this.columns));
    this.top = Math.min(Math.max(top, 0), most(this.rows));
    this.paintSoon("all");
  }

  zoomBy(factor, at = [this.width / 2, this.height / 2]) {
    if (!this.temperatures) return;
    const column = this.left + at[0] / this.scale;
    const row = this.top + at[1] / this.scale;
    this.look(this.zoom * factor, this.left, this.top);
    this.look(this.zoom, column - at[0] / this.scale, row - at[1] / this.scale);
  }

  pan(x, y) {
    this.look(this.zoom, this.left + x / this.scale, this.top + y / this.scale);
  }

  whole() {
    this.look(1, 0, 0);
  }

  toggleFull() {
    const grow = () => this.root.classList.toggle("tk-full");
    if (document.fullscreenElement === this.root) document.exitFullscreen();
    else if (this.root.classList.contains("tk-full") || !this.root.requestFullscreen) grow();
    else this.root.requestFullscreen().catch(grow);
  }

  point(row, column, by) {
    this.cursor = { row, column, by };
    this.readout.setAttribute("aria-live", "polite");
    this.say();
    this.paintSoon("marks");
    this.onPoint?.();
  }

  // Show and read a place that is pointed at in another picture; what is spoken comes from that one.
  pointed(place) {
    const [row, column] = (place ?? [-1, -1]).map(Math.round);
    const inside = row >= 0 && column >= 0 && row < this.rows && column < this.columns;
    this.cursor = inside ? { row, column, by: "other" } : null;
    this.readout.setAttribute("aria-live", "off");
    this.say();
    this.paintSoon("marks");
  }

  say() {
    const words = this.words;
    let text = words.hint;
    if (this.cursor && this.temperatures) {
      const { row, column } = this.cursor;
      const value = this.temperatures[row * this.columns + column];
      text = Number.isNaN(value) ? words.masked : this.reading(value);
      text += ` · ${filled(words.place, { row, column })}`;
    }
    if (this.readout.textContent !== text) this.readout.textContent = text;
  }

  reading(value) {
    const range = intervalAt(this.data.interval, value);
    if (!range) return this.degrees(value);
    const [low, high] = range.map((limit) => this.format.format(Math.round(limit * 10) / 10 || 0));
    return filled(this.words.reading, { value: this.degrees(value), low, high });
  }

  // ---- painting

  resize() {
    const box = this.stage.getBoundingClientRect();
    if (!this.temperatures || box.width === 0) return;
    this.density = window.devicePixelRatio || 1;
    this.size(box.width);
    this.paint("all");
  }

  size(width) {
    this.width = width;
    this.height = (width * this.rows) / this.columns;
  }

  // On paper the picture is smaller, its words must not be. Chromium prints canvases as drawings and
  // rounds their scale down to 1/64, hence two to one exactly.
  print() {
    if (!this.temperatures || !this.width) return;
    this.density = 2;
    this.size(PRINTED);
    this.paint("all");
  }

  paintSoon(what) {
    this.due = this.due === "all" ? "all" : what;
    this.asked ??= requestAnimationFrame(() => this.paint(this.due));
  }

  paint(what) {
    if (this.asked) cancelAnimationFrame(this.asked);
    this.asked = null;
    this.due = null;
    if (!this.temperatures || !this.width) return;
    if (what === "all") {
      this.paintBase();
      this.paintBar();
    }
    this.paintMarks();
  }

  pen(canvas, width, height) {
    const density = this.density;
    const [w, h] = [Math.floor(width * density), Math.floor(height * density)];
    const pen = canvas.getContext("2d");
    // A new size empties a canvas. In print, clearing would come out as a white sheet over what lies below.
    if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
    else {
      pen.setTransform(1, 0, 0, 1, 0, 0);
      pen.clearRect(0, 0, w, h);
    }
    pen.setTransform(density, 0, 0, density, 0, 0);
    pen.font = FONT;
    pen.textBaseline = "middle";
    return pen;
  }

  paintBase() {
    const pen = this.pen(this.base, this.width, this.height);
    const scale = this.scale;
    pen.save();
    pen.scale(scale, scale);
    pen.translate(-this.left, -this.top);
    pen.imageSmoothingEnabled = scale < 1;
    if (this.fade > 0 && this.photo?.complete && this.photo.naturalWidth) {
      pen.imageSmoothingEnabled = true;
      pen.drawImage(this.photo, 0, 0, this.columns, this.rows);
      pen.imageSmoothingEnabled = scale < 1;
      pen.globalAlpha = 1 - this.fade;
    }
    pen.drawImage(this.image, 0, 0);
    pen.globalAlpha = 1;
    for (const line of this.lines) twoTone(pen, line.path, 1 / scale, line.dash);
    pen.restore();
  }

  // The bar reaches a little beyond its limits, so that both can be dragged both ways.
  axis() {
    const height = this.height;
    const [above, below] = [24, 6];
    const spare = 0.1 * (this.bar.high - this.bar.low);
    const [low, high] = [this.bar.low - spare, this.bar.high + spare];
    const long = height - above - below;
    return {
      low, high, above, long,
      y: (value) => above + (long * (high - value)) / (high - low),
      value: (y) => high - ((y - above) / long) * (high - low),
    };
  }

  paintBar() {
    const pen = this.pen(this.barCanvas, 84, this.height);
    const axis = this.frozen ?? this.axis();
    const { above, long } = axis;
    for (let y = 0; y < long; y++) {
      const i = 3 * colourIndex(axis.value(above + y + 0.5), this.bar);
      pen.fillStyle = `rgb(${this.colours[i]},${this.colours[i + 1]},${this.colours[i + 2]})`;
      pen.fillRect(4, above + y, 18, 1.5);
    }
    pen.strokeStyle = INK;
    pen.lineWidth = 1;
    pen.strokeRect(4.5, above + 0.5, 17, long - 1);
    pen.fillStyle = INK;
    pen.fillText(this.unit, 4, 9);
    const step = niceStep(axis.high - axis.low, Math.max(2, Math.min(8, long / 40)));
    const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    const format = numberFormat(this.data.locale, digits);
    for (let k = Math.ceil(axis.low / step); k * step <= axis.high; k++) {
      const y = Math.round(axis.y(k * step)) + 0.5;
      pen.fillRect(22, y - 0.5, 5, 1);
      pen.fillText(format.format(k * step || 0), 31, y);
    }
    for (const line of this.lines) {
      const y = axis.y(line.value);
      if (y < above || y > above + long) continue;
      const path = new Path2D();
      path.moveTo(4, y);
      path.lineTo(22, y);
      twoTone(pen, path, 1, []);
    }
    for (const end of ["low", "high"]) this.handles[end].style.top = `${axis.y(this.bar[end])}px`;
  }

  paintMarks() {
    const pen = this.pen(this.canvas, this.width, this.height);
    const marks = this.shown();
    const taken = marks.filter(({ mark }) => mark.shape === "pin").map(({ mark: { points } }) => ({
      x: this.x(points[0][1]) - 8, y: this.y(points[0][0]) - 8, w: 16, h: 16,
    }));
    for (const { mark, dash } of marks) this.paintShape(pen, mark, dash, mark.id === this.chosen);
    for (const { mark } of marks) if (this.inFull(mark.id)) this.paintExtremes(pen, mark.id);
    for (const { mark, text } of marks) this.paintName(pen, mark, text, taken);
    for (const line of this.lines) this.paintLineName(pen, line, taken);
    if (this.draft) this.paintDraft(pen);
    if (this.cursor && this.cursor.by !== "mouse") this.paintCross(pen);
    if (this.data.metres_per_pixel > 0) this.paintLength(pen);
  }

  // Marks and suggestions with their look: suspects and pipes solid, sound places and what was bridged
  // dashed, suggestions dotted.
  shown() {
    const given = this.marks.every((mark) => Number.isInteger(mark.number));
    const marks = given ? this.marks : numbered(this.marks, this.rows);
    const dashes = { suspect: [], pipe: [], sound: [8, 5], bridged: [8, 5] };
    const dashOf = (role) => dashes[role ?? "suspect"] ?? [12, 4, 3, 4];
    return [
      ...marks.map((mark) => ({
        mark, dash: dashOf(mark.role), number: String(mark.number),
        text: `${mark.number} ${isolated(plain(mark.name, 28))}`.trim(),
      })),
      ...this.context.map((mark) => ({
        mark, dash: dashOf(mark.role), number: "", text: isolated(plain(mark.name, 28)),
      })),
      ...this.suggestions.map((mark) => ({
        mark, dash: [2, 4], number: "?", suggested: true, text: `? ${isolated(plain(mark.name, 28))}`.trim(),
      })),
    ];
  }

  outline(points, closed) {
    const path = new Path2D();
    points.forEach(([row, column], i) => (i ? path.lineTo(this.x(column), this.y(row)) : path.moveTo(this.x(column), this.y(row))));
    if (closed) path.closePath();
    return path;
  }

  paintShape(pen, mark, dash, chosen) {
    if (mark.shape === "pin") {
      const [x, y] = [this.x(mark.points[0][1]), this.y(mark.points[0][0])];
      const path = new Path2D();
      path.arc(x, y, 7, 0, 2 * Math.PI);
      twoTone(pen, path, chosen ? 1.5 : 1, dash.length ? dash.map((d) => d / 2) : dash);
      dot(pen, x, y, 2);
    } else twoTone(pen, this.outline(mark.points, mark.shape === "patch"), chosen ? 1.5 : 1, dash);
    if (!chosen || mark.shape === "pin") return;
    mark.points.forEach(([row, column], i) => knob(pen, this.x(column), this.y(row), i === this.corner));
  }

  // Few places show everything at once; of many only the chosen one does, and on a page those told of by a finding.
  inFull(id) {
    if (id === this.chosen) return true;
    return this.readOnly ? !this.brief.has(id) : this.marks.length <= 3;
  }

  // Where the coldest spot lies, a triangle that points down; the warmest, one that points up.
  paintExtremes(pen, id) {
    const { coldest, warmest } = this.detail(id);
    for (const [place, down] of [[coldest, true], [warmest, false]]) {
      if (!Array.isArray(place) || !place.every(Number.isFinite)) continue;
      const [x, y, turn] = [this.x(place[1]), this.y(place[0]), down ? 1 : -1];
      const path = new Path2D();
      path.moveTo(x - 5, y - 9 * turn);
      path.lineTo(x + 5, y - 9 * turn);
      path.lineTo(x, y);
      path.closePath();
      twoTone(pen, path, 0.8, []);
      pen.fillStyle = down ? INK : PAPER;
      pen.fill(path);
    }
  }

  detail(id) {
    return (Object.hasOwn(this.details, id) && this.details[id]) || {};
  }

  paintName(pen, mark, text, taken) {
    const rows = mark.points.map((p) => this.y(p[0]));
    const columns = mark.points.map((p) => this.x(p[1]));
    const gap = mark.shape === "pin" ? 10 : 4;
    const box = { top: Math.min(...rows) - gap, bottom: Math.max(...rows) + gap, left: Math.min(...columns), right: Math.max(...columns) };
    if (box.right < 0 || box.bottom < 0 || box.left > this.width || box.top > this.height) return;
    const [w, h] = [pen.measureText(text).width + 10, 18];
    const free = ([x, y]) => this.isFree({ x, y, w, h }, taken);
    const places = [[box.left, box.top - h], [box.left, box.bottom], [box.right + gap, box.top], [box.left - w - gap, box.top], [box.left + 4, box.top + 8]];
    let [x, y] = places.find(free) ?? places[0];
    x = Math.min(Math.max(x, 1), Math.max(1, this.width - w - 1));
    y = Math.min(Math.max(y, 1), this.height - h - 1);
    taken.push({ x, y, w, h });
    pen.fillStyle = mark.id === this.chosen ? INK : PAPER;
    pen.strokeStyle = mark.id === this.chosen ? PAPER : INK;
    pen.lineWidth = 1;
    pen.beginPath();
    pen.roundRect(Math.round(x) + 0.5, Math.round(y) + 0.5, Math.round(w), h, 3);
    pen.fill();
    pen.stroke();
    pen.fillStyle = mark.id === this.chosen ? PAPER : INK;
    pen.fillText(text, Math.round(x) + 5.5, Math.round(y) + h / 2 + 1);
  }

  isFree({ x, y, w, h }, taken) {
    if (x < 0 || y < 0 || x + w > this.width || y + h > this.height) return false;
    return !taken.some((t) => x < t.x + t.w && t.x < x + w && y < t.y + t.h && t.y < y + h);
  }

  // Where there is room along the longest stretch; the legend names the line in any case.
  paintLineName(pen, line, taken) {
    const chain = line.longest ?? [];
    const w = pen.measureText(line.text).width + 6;
    for (const share of [0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6]) {
      const [x, y] = chain[Math.floor(chain.length * share)] ?? [];
      const box = { x: (x - this.left) * this.scale + 6, y: (y - this.top) * this.scale - 20, w, h: 18 };
      if (!(box.x === box.x) || !this.isFree(box, taken)) continue;
      taken.push(box);
      haloed(pen, line.text, box.x + 3, box.y + 9, this.width, this.height);
      return;
    }
  }

  paintDraft(pen) {
    const { points, shape, rectangle } = this.draft;
    const end = this.cursor ? [this.cursor.row, this.cursor.column] : points.at(-1);
    const all = rectangle ? corners(points[0], end) : [...points, end];
    twoTone(pen, this.outline(all, shape === "patch"), 1, [6, 3]);
    for (const [row, column] of points) knob(pen, this.x(column), this.y(row), false);
  }

  paintCross(pen) {
    const [x, y] = [this.x(this.cursor.column), this.y(this.cursor.row)];
    const path = new Path2D();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      path.moveTo(x + 5 * dx, y + 5 * dy);
      path.lineTo(x + 18 * dx, y + 18 * dy);
    }
    twoTone(pen, path, 1, []);
    if (this.scale > 8) twoTone(pen, squareAt(x, y, this.scale), 0.6, []);
  }

  paintLength(pen) {
    const perPixel = this.data.metres_per_pixel / this.scale;
    const metres = niceStep((this.width / 4) * perPixel, 1);
    const long = metres / perPixel;
    const [x, y] = [12, this.height - 14];
    const path = new Path2D();
    path.moveTo(x, y - 5);
    path.lineTo(x, y);
    path.lineTo(x + long, y);
    path.lineTo(x + long, y - 5);
    twoTone(pen, path, 1, []);
    const text = metres < 1 ? `${Math.round(metres * 100)} cm` : `${metres} m`;
    haloed(pen, text, x + 4, y - 10, this.width, this.height);
  }

  // ---- marking

  change(marks, suggestions, { chosen = this.chosen, tag = null, said = null } = {}) {
    if (!tag || tag !== this.tag) {
      this.past.push({ marks: this.marks, suggestions: this.suggestions });
      if (this.past.length > 200) this.past.shift();
    }
    this.tag = tag;
    this.future = [];
    this.take(marks, suggestions, chosen);
    if (said) this.announce(said);
  }

  take(marks, suggestions, chosen) {
    for (const mark of [...this.marks, ...marks]) this.seenIds.add(mark.id);
    this.marks = numbered(marks, this.rows);
    this.suggestions = suggestions;
    this.chosen = [...this.marks, ...suggestions].some((mark) => mark.id === chosen) ? chosen : null;
    this.options.onMarks?.(this.marks, this.suggestions);
    this.refresh();
  }

  travel(from, to, said) {
    const state = from.pop();
    if (!state) return;
    to.push({ marks: this.marks, suggestions: this.suggestions });
    this.tag = null;
    this.draft = null;
    this.take(state.marks, state.suggestions, this.chosen);
    this.announce(said);
  }

  freshId(shape) {
    // A mark of another step bears the step before its name.
    const used = new Set([...this.marks, ...this.suggestions, ...this.context].map((mark) => mark.id.replace(/^.*\//, "")));
    for (let i = 1; ; i++) {
      const id = `${shape}-${i}`;
      if (!used.has(id) && !this.seenIds.has(id)) return id;
    }
  }

  useTool(tool) {
    this.draft = null;
    this.tool = tool;
    if (tool !== "select") this.chosen = null;
    this.announce(this.words[`do_${tool}`]);
    this.refresh();
  }

  // One point for the tool in use; the same place twice, or the first corner again, finishes.
  set([row, column]) {
    if (this.tool === "pin") {
      this.commit("pin", [[row, column]]);
      return;
    }
    const shape = this.tool === "trace" ? "trace" : "patch";
    this.draft ??= { shape, rectangle: this.tool === "rectangle", points: [] };
    const points = this.draft.points;
    const near = (p) => p && Math.hypot(p[0] - row, p[1] - column) * this.scale <= (this.cursor?.by === "key" ? 0.5 : NEAR);
    const again = near(points.at(-1)) || (shape === "patch" && points.length > 2 && near(points[0]));
    if (!again) points.push([row, column]);
    if (again || (this.draft.rectangle && points.length === 2)) this.finish();
    this.refresh();
  }

  finish() {
    const draft = this.draft;
    if (!draft) return;
    let points = draft.points;
    if (draft.rectangle) {
      const end = points[1] ?? (this.cursor ? [this.cursor.row, this.cursor.column] : points[0]);
      points = corners(points[0], end);
      if (points[0][0] === points[2][0] || points[0][1] === points[2][1]) return;
    } else if (points.length < (draft.shape === "patch" ? 3 : 2)) return;
    this.draft = null;
    this.commit(draft.shape, points);
  }

  commit(shape, points) {
    const role = this.roleField?.value ?? this.data.role ?? "suspect";
    const mark = { id: this.freshId(shape), name: "", number: 0, shape, points, role };
    this.change([...this.marks, mark], this.suggestions, { chosen: mark.id });
    this.announce(filled(this.words.drawn, { mark: this.title(mark.id) }));
  }

  cancel() {
    if (this.draft) this.draft = null;
    else this.choose(null);
    this.announce(this.words[`do_${this.tool}`]);
    this.refresh();
  }

  chosenMark() {
    return this.marks.find((mark) => mark.id === this.chosen);
  }

  chosenSuggestion() {
    return this.suggestions.find((mark) => mark.id === this.chosen) ?? this.suggestions[0];
  }

  choose(id) {
    if (id === this.chosen) return;
    this.chosen = id;
    this.corner = 0;
    this.tag = null;
    if (id !== null) this.announce(filled(this.words.chosen, { mark: this.title(id) }));
    this.refresh();
  }

  cycle(step) {
    const ids = this.shown().map(({ mark }) => mark.id);
    if (ids.length === 0) return;
    const at = ids.indexOf(this.chosen);
    this.draft = null;
    if (!this.readOnly) this.tool = "select";
    this.choose(ids[at < 0 ? (step > 0 ? 0 : ids.length - 1) : (at + step + ids.length) % ids.length]);
  }

  replace(id, parts, tag = null) {
    this.change(this.marks.map((mark) => (mark.id === id ? { ...mark, ...parts } : mark)), this.suggestions, { tag });
  }

  rename(text) {
    const mark = this.chosenMark();
    const name = text.trim().slice(0, 80);
    if (mark && name !== (mark.name ?? "")) this.replace(mark.id, { name });
  }

  moved(points, [rows, columns]) {
    const span = (k, by, size) => {
      const values = points.map((p) => p[k]);
      return Math.min(Math.max(by, -Math.min(...values)), size - 1 - Math.max(...values));
    };
    const [dr, dc] = [span(0, rows, this.rows), span(1, columns, this.columns)];
    return points.map(([row, column]) => [row + dr, column + dc]);
  }

  reshaped(points, corner, by) {
    return points.map((point, i) => (i === corner ? this.moved([point], by)[0] : point));
  }

  remove() {
    const mark = this.chosenMark();
    if (!mark) return;
    const said = filled(this.words.removed, { mark: this.title(mark.id) });
    this.change(this.marks.filter((other) => other !== mark), this.suggestions, { chosen: null, said });
  }

  accept() {
    const mark = this.chosenSuggestion();
    if (!mark) return;
    const clash = this.marks.some((other) => other.id === mark.id);
    const kept = clash ? { ...mark, id: this.freshId(mark.shape) } : mark;
    this.change([...this.marks, kept], this.suggestions.filter((other) => other !== mark), {
      chosen: this.suggestions.find((other) => other !== mark)?.id ?? kept.id,
    });
    this.announce(filled(this.words.drawn, { mark: this.title(kept.id) }));
  }

  dismiss() {
    const mark = this.chosenSuggestion();
    if (!mark) return;
    const said = filled(this.words.removed, { mark: this.title(mark.id) });
    const left = this.suggestions.filter((other) => other !== mark);
    this.change(this.marks, left, { chosen: left[0]?.id ?? null, said });
  }

  title(id) {
    const entry = this.shown().find(({ mark }) => mark.id === id);
    if (!entry) return "";
    const name = plain(entry.mark.name, 60) || filled(this.words.unnamed, { shape: this.words[`shape_${entry.mark.shape}`] });
    return `${entry.number} ${name}`;
  }

  announce(text) {
    if (this.hint) this.hint.textContent = text;
  }

  // ---- what the page shows of the state

  refresh() {
    if (!this.temperatures) return;
    this.showTable();
    this.paintSoon("marks");
    if (this.readOnly) return;
    const mark = this.chosenMark();
    for (const tool of ["pin", "rectangle", "outline", "trace", "select"]) {
      this.buttons[tool].setAttribute("aria-pressed", String(tool === this.tool));
    }
    const usable = {
      finish: this.draft, cancel: this.draft, remove: mark, undo: this.past.length, redo: this.future.length,
      accept: this.suggestions.length, dismiss: this.suggestions.length,
    };
    for (const [name, yes] of Object.entries(usable)) this.buttons[name].disabled = !yes;
    this.suggestionTools.hidden = this.suggestions.length === 0;
    const stops = [...this.tools.querySelectorAll("button")];
    if (!stops.some((button) => button.tabIndex === 0 && !button.disabled)) {
      for (const button of stops) button.tabIndex = -1;
      this.buttons[this.tool].tabIndex = 0;
    } else if (stops.filter((button) => button.tabIndex === 0).length > 1) {
      for (const button of stops) button.tabIndex = button === this.buttons[this.tool] ? 0 : -1;
    }
    this.nameField.disabled = !mark;
    if (document.activeElement !== this.nameField || this.named !== this.chosen) this.nameField.value = mark?.name ?? "";
    this.named = this.chosen;
    if (this.roleField && mark) this.roleField.value = mark.role ?? "suspect";
    this.canvas.style.cursor = this.tool === "select" ? "default" : "crosshair";
  }

  showTable() {
    const shown = this.shown();
    this.table.hidden = shown.length === 0;
    const kept = new Set();
    let hasReadings = false;
    shown.forEach(({ mark, number, suggested }, i) => {
      kept.add(mark.id);
      let row = this.tableRows.get(mark.id);
      if (!row) {
        const choose = this.button("choose", "", () => {
          if (!this.readOnly && this.tool !== "select") this.useTool("select");
          this.choose(mark.id);
        });
        row = { head: node("th", { scope: "row" }), name: node("bdi"), role: node("div"), readings: node("td"), choose };
        choose.append(row.name);
        row.line = node("tr", {}, row.head, node("td", {}, choose, row.role), row.readings);
        this.tableRows.set(mark.id, row);
      }
      const name = plain(mark.name) || filled(this.words.unnamed, { shape: this.words[`shape_${mark.shape}`] });
      const given = (Object.hasOwn(this.numbers, mark.id) ? this.numbers[mark.id] : mark.numbers) ?? [];
      const texts = [...(suggested ? [this.words.suggested] : []), ...(Array.isArray(given) ? given : [given])];
      hasReadings ||= texts.length > 0;
      put(row.head, number);
      put(row.name, name);
      put(row.role, plain(mark.note ?? (mark.role === "sound" ? this.words.role_sound : "")));
      row.choose.setAttribute("aria-pressed", String(mark.id === this.chosen));
      row.line.classList.toggle("tk-chosen", mark.id === this.chosen);
      this.showReadings(row, mark, texts);
      if (this.tableBody.children[i] !== row.line) this.tableBody.insertBefore(row.line, this.tableBody.children[i] ?? null);
    });
    for (const [id, row] of this.tableRows) {
      if (kept.has(id)) continue;
      row.line.remove();
      this.tableRows.delete(id);
    }
    this.table.classList.toggle("tk-bare", !hasReadings);
  }

  // Pairs of a name and its number stand in columns; plain texts, such as remarks, in lines of their own.
  showReadings(row, mark, texts) {
    const full = this.inFull(mark.id);
    const pairs = texts.filter(Array.isArray).slice(0, full ? undefined : 2);
    const lines = texts.filter((text) => !Array.isArray(text)).map((text) => plain(text));
    const along = full ? this.detail(mark.id).profile : null;
    const now = JSON.stringify([pairs, lines, along, along && mark.name]);
    if (row.now === now) return;
    row.now = now;
    const list = node("dl", { class: "tk-numbers" });
    for (const [name, value] of pairs) {
      list.append(node("div", {}, node("dt", { text: plain(name) }), node("dd", { text: plain(value) })));
    }
    row.readings.replaceChildren(
      ...(pairs.length ? [list] : []), ...lines.map((text) => node("div", { text })),
      ...(along ? [this.drawProfile(along, this.title(mark.id))] : []),
    );
  }

  drawProfile({ distance, temperature, unit }, title) {
    const points = distance.map((x, i) => [x, temperature[i]]).filter((p) => p.every(Number.isFinite));
    if (points.length < 2) return node("div");
    const seen = points.map((p) => p[1]);
    const [low, high, long] = [Math.min(...seen), Math.max(...seen), distance.at(-1)];
    const length = unit === "m" ? `${numberFormat(this.data.locale, 2).format(long)}\u00a0m` : `${Math.round(long)}\u00a0px`;
    const said = filled(this.words.along, { mark: title, low: this.degrees(low), high: this.degrees(high), length });
    return profileDrawing(points, { low, high, long, length, said, lines: this.lines ?? [], degrees: (v) => this.degrees(v) });
  }

  // ---- keys

  onKey(event) {
    const bare = !event.ctrlKey && !event.metaKey && !event.altKey;
    const done = event.target === this.canvas && this.temperatures && this.key(event);
    if (done) event.preventDefault();
    // What is typed here must not reach the page's own shortcuts.
    const typing = event.target.tagName === "INPUT" && event.key.toLowerCase() === "z";
    if (done || typing || (bare && event.key !== "Tab")) event.stopPropagation();
  }

  key(event) {
    const command = event.ctrlKey || event.metaKey;
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const step = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[key];
    if (step) return this.arrow(step, event);
    // On some keyboards brackets need AltGr, which arrives as Ctrl and Alt.
    if (key === "[" || key === "]") return this.cycle(key === "]" ? 1 : -1), true;
    if (command && !this.readOnly) return this.commandKey(key, event.shiftKey);
    if (command || event.altKey) return false;
    const act = {
      "+": () => this.zoomBy(1.5, this.focusPoint()),
      "=": () => this.zoomBy(1.5, this.focusPoint()),
      "-": () => this.zoomBy(1 / 1.5, this.focusPoint()),
      0: () => this.whole(),
      ",": () => this.cycle(-1),
      ".": () => this.cycle(1),
      " ": () => (this.space = true),
      Escape: () => this.cancel(),
      ...(this.readOnly ? {} : this.markKeys()),
    }[key];
    if (!act) return false;
    act();
    return true;
  }

  markKeys() {
    const rename = () => this.chosenMark() && (this.nameField.focus(), this.nameField.select());
    const remove = () => this.remove();
    return {
      p: () => this.useTool("pin"),
      r: () => this.useTool("rectangle"),
      o: () => this.useTool("outline"),
      t: () => this.useTool("trace"),
      m: () => this.useTool("select"),
      e: () => this.useTool("select"),
      f: () => this.finish(),
      Enter: () => this.enter(),
      v: () => this.nextCorner(),
      n: rename,
      F2: rename,
      Delete: remove,
      Backspace: remove,
      a: () => this.accept(),
      x: () => this.dismiss(),
    };
  }

  commandKey(key, shift) {
    if (key === "z" && !shift) this.travel(this.past, this.future, this.words.undone);
    else if ((key === "z" && shift) || key === "y") this.travel(this.future, this.past, this.words.redone);
    else return false;
    return true;
  }

  enter() {
    this.cursor ??= this.middle();
    this.cursor.by = "key";
    const here = [this.cursor.row, this.cursor.column];
    if (this.tool !== "select") this.set(here);
    else this.choose(this.hit([this.x(here[1]), this.y(here[0])])?.mark.id ?? null);
  }

  nextCorner() {
    const mark = this.chosenMark();
    if (mark) this.corner = (this.corner + 1) % mark.points.length;
    this.paintSoon("marks");
  }

  middle() {
    const [row, column] = this.pixel([this.width / 2, this.height / 2]);
    return { row, column, by: "key" };
  }

  focusPoint() {
    return this.cursor ? [this.x(this.cursor.column), this.y(this.cursor.row)] : undefined;
  }

  arrow(step, event) {
    const far = event.ctrlKey || event.metaKey ? 10 : event.repeat ? 3 : 1;
    const by = step.map((part) => part * far);
    const mark = this.readOnly || this.tool !== "select" ? null : this.chosenMark();
    if (event.altKey) {
      if (mark) this.replace(mark.id, { points: this.reshaped(mark.points, this.corner, by) }, `corner ${mark.id} ${this.corner}`);
    } else if (event.shiftKey) this.pan(40 * step[1], 40 * step[0]);
    else if (mark) this.replace(mark.id, { points: this.moved(mark.points, by) }, `move ${mark.id}`);
    else {
      const from = this.cursor ?? this.middle();
      const [[row, column]] = this.moved([[from.row, from.column]], by);
      this.point(row, column, "key");
      this.follow(row, column);
    }
    return true;
  }

  follow(row, column) {
    const [x, y, edge] = [this.x(column), this.y(row), 20];
    const out = (at, size) => (at < edge ? at - edge : at > size - edge ? at - size + edge : 0);
    if (this.zoom > 1 && (out(x, this.width) || out(y, this.height))) this.pan(out(x, this.width), out(y, this.height));
  }

  // ---- pointers (mouse, pen, fingers)

  where(event) {
    const box = this.canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  // What lies under a place: corners of the chosen mark first, then the smallest thing.
  hit(at) {
    const [x, y] = at;
    const chosen = this.chosenMark();
    const isNear = ([row, column]) => Math.hypot(this.x(column) - x, this.y(row) - y) <= TARGET;
    if (chosen && !this.readOnly && chosen.shape !== "pin") {
      const distance = chosen.points.map(([row, column]) => Math.hypot(this.x(column) - x, this.y(row) - y));
      const corner = distance.indexOf(Math.min(...distance));
      if (distance[corner] <= TARGET) return { mark: chosen, corner };
    }
    const here = [this.top + y / this.scale - 0.5, this.left + x / this.scale - 0.5];
    const size = { pin: 0, trace: 1, patch: 2 };
    return this.shown()
      .map(({ mark }) => ({ mark }))
      .sort((a, b) => size[a.mark.shape] - size[b.mark.shape] || extent(a.mark.points) - extent(b.mark.points))
      .find(({ mark: { shape, points } }) => {
        if (shape === "pin") return isNear(points[0]);
        if (shape === "patch" && isInside(here, points)) return true;
        const ends = shape === "patch" ? [...points, points[0]] : points;
        return ends.slice(1).some((end, i) => distanceToLine(here, ends[i], end) * this.scale <= 12);
      });
  }

  onDown(event) {
    if (!this.temperatures || event.button === 2) return;
    event.preventDefault();
    this.canvas.focus({ preventScroll: true });
    this.canvas.setPointerCapture(event.pointerId);
    const at = this.where(event);
    this.pointers.set(event.pointerId, at);
    this.tag = null;
    if (this.pointers.size === 2) {
      if (this.drag?.kind === "rectangle") this.draft = null;
      if (this.drag?.before) this.undrag();
      this.drag = { kind: "pinch", ...this.pinch() };
      return;
    }
    const [row, column] = this.pixel(at);
    this.point(row, column, event.pointerType === "mouse" ? "mouse" : "touch");
    if (event.shiftKey || this.space || event.button === 1) this.drag = { kind: "pan", at };
    else if (this.tool !== "select") {
      this.drag = { kind: "set", at };
      if (this.tool === "rectangle" && !this.draft) {
        this.set([row, column]);
        this.drag = { kind: "rectangle", at };
      }
    } else {
      const hit = this.hit(at);
      this.choose(hit?.mark.id ?? null);
      const editable = !this.readOnly && hit && this.marks.some((mark) => mark.id === hit.mark.id);
      if (hit?.corner !== undefined) this.corner = hit.corner;
      if (editable) this.drag = { kind: "edit", from: [row, column], before: hit.mark, corner: hit.corner };
      else this.drag = { kind: "pan", at };
    }
  }

  pinch() {
    const [a, b] = [...this.pointers.values()];
    return { span: Math.hypot(a[0] - b[0], a[1] - b[1]), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  }

  onMove(event) {
    if (!this.temperatures) return;
    const at = this.where(event);
    if (this.pointers.has(event.pointerId)) this.pointers.set(event.pointerId, at);
    if (this.drag?.kind === "pinch") {
      if (this.pointers.size < 2) return;
      const now = this.pinch();
      this.pan(this.drag.middle[0] - now.middle[0], this.drag.middle[1] - now.middle[1]);
      this.zoomBy(now.span / Math.max(this.drag.span, 1), now.middle);
      this.drag = { kind: "pinch", ...now };
      return;
    }
    const [row, column] = this.pixel(at);
    if (this.drag?.kind === "pan" && this.zoom > 1) {
      this.pan(this.drag.at[0] - at[0], this.drag.at[1] - at[1]);
      this.drag.at = at;
    } else if (this.drag?.kind === "edit") this.preview([row, column]);
    this.point(row, column, event.pointerType === "mouse" ? "mouse" : "touch");
  }

  // A drag shows at once and becomes one change when the pointer is lifted.
  preview([row, column]) {
    const { before, from, corner } = this.drag;
    const by = [row - from[0], column - from[1]];
    const points = corner === undefined ? this.moved(before.points, by) : this.reshaped(before.points, corner, by);
    this.drag.points = points;
    this.marks = this.marks.map((mark) => (mark.id === before.id ? { ...mark, points } : mark));
  }

  undrag() {
    const { before } = this.drag;
    this.marks = this.marks.map((mark) => (mark.id === before.id ? before : mark));
  }

  onUp(event) {
    this.pointers.delete(event.pointerId);
    const drag = this.drag;
    if (drag?.kind === "pinch") {
      if (this.pointers.size === 0) this.drag = null;
      return;
    }
    this.drag = null;
    if (!drag || !this.temperatures) return;
    const at = this.where(event);
    const far = drag.at ? Math.hypot(at[0] - drag.at[0], at[1] - drag.at[1]) : 0;
    if (drag.kind === "set") this.set(this.pixel(at));
    else if (drag.kind === "rectangle" && far > NEAR) this.set(this.pixel(at));
    else if (drag.kind === "edit" && drag.points) {
      const points = drag.points;
      this.drag = drag;
      this.undrag();
      this.drag = null;
      if (JSON.stringify(points) !== JSON.stringify(drag.before.points)) this.replace(drag.before.id, { points });
    }
  }

  onLost(event) {
    this.pointers.delete(event.pointerId);
    if (this.drag?.before) this.undrag();
    if (this.drag?.kind === "rectangle") this.draft = null;
    this.drag = null;
    this.refresh();
  }

  onLeave(event) {
    if (event.pointerType !== "mouse" || this.drag) return;
    if (this.draft === null) this.cursor = null;
    this.say();
    this.paintSoon("marks");
    this.onPoint?.();
  }

  onWheel(event) {
    if (!this.temperatures || !(event.ctrlKey || event.metaKey)) return;
    event.preventDefault();
    this.zoomBy(Math.exp(-Math.sign(event.deltaY) * Math.min(Math.abs(event.deltaY), 100) * 0.003), this.where(event));
  }

  destroy() {
    this.stop.abort();
    this.watcher.disconnect();
    if (this.asked) cancelAnimationFrame(this.asked);
    this.root.remove();
  }
}

// ---------------------------------------------------------------- profile

function svg(tag, attributes, text) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  if (text !== undefined) element.textContent = text;
  return element;
}

// A small line drawing of temperatures along a trace, with the temperatures that mean something.
function profileDrawing(points, { low, high, long, length, said, lines, degrees }) {
  const [width, height, left, right, top, bottom] = [420, 132, 58, 8, 20, 20];
  const spare = Math.max(0.1 * (high - low), 0.1);
  const x = (d) => left + ((width - left - right) * d) / long;
  const y = (t) => height - bottom - ((height - top - bottom) * (t - low + spare)) / (high - low + 2 * spare);
  const drawing = svg("svg", { class: "tk-profile", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": said });
  drawing.append(svg("path", { class: "tk-axis", d: `M${left} ${top}V${height - bottom}H${width - right}` }));
  for (const value of [low, high]) {
    drawing.append(svg("text", { x: left - 6, y: y(value) + 4, "text-anchor": "end" }, degrees(value)));
  }
  drawing.append(svg("text", { x: left, y: height - 5 }, "0"));
  drawing.append(svg("text", { x: width - right, y: height - 5, "text-anchor": "end" }, length));
  for (const line of lines) {
    if (line.value <= low - spare || line.value >= high + spare) continue;
    const level = { d: `M${left} ${y(line.value)}H${width - right}`, "stroke-dasharray": line.dash.join(" ") };
    drawing.append(svg("path", { class: "tk-level", ...level }));
    drawing.append(svg("text", { x: width - right, y: y(line.value) - 4, "text-anchor": "end" }, line.text));
  }
  const path = points.map(([d, t], i) => `${i ? "L" : "M"}${x(d).toFixed(1)} ${y(t).toFixed(1)}`).join("");
  drawing.append(svg("path", { class: "tk-course", d: path }));
  return drawing;
}

// ---------------------------------------------------------------- strokes

// A dark line on a light one: seen on every colour and in print without colour.
function twoTone(pen, path, unit, dash) {
  pen.lineJoin = "round";
  pen.lineCap = "butt";
  pen.setLineDash([]);
  pen.strokeStyle = PAPER;
  pen.lineWidth = 3.6 * unit;
  pen.stroke(path);
  pen.setLineDash(dash.map((d) => d * unit));
  pen.strokeStyle = INK;
  pen.lineWidth = 1.6 * unit;
  pen.stroke(path);
  pen.setLineDash([]);
}

function dot(pen, x, y, radius) {
  pen.beginPath();
  pen.arc(x, y, radius, 0, 2 * Math.PI);
  pen.lineWidth = 1.5;
  pen.strokeStyle = PAPER;
  pen.fillStyle = INK;
  pen.stroke();
  pen.fill();
}

function squareAt(x, y, size) {
  const path = new Path2D();
  path.rect(x - size / 2, y - size / 2, size, size);
  return path;
}

function knob(pen, x, y, filled) {
  pen.fillStyle = filled ? INK : PAPER;
  pen.fill(squareAt(x, y, 9));
  twoTone(pen, squareAt(x, y, 9), 0.7, []);
  if (filled) return;
  pen.fillStyle = PAPER;
  pen.fill(squareAt(x, y, 7));
}

function haloed(pen, text, x, y, width, height) {
  const wide = pen.measureText(text).width;
  const left = Math.min(Math.max(x, 4), width - wide - 4);
  const middle = Math.min(Math.max(y, 10), height - 10);
  pen.lineJoin = "round";
  pen.lineWidth = 4;
  pen.strokeStyle = PAPER;
  pen.strokeText(text, left, middle);
  pen.fillStyle = INK;
  pen.fillText(text, left, middle);
}

function corners([r1, c1], [r2, c2]) {
  const [top, bottom, left, right] = [Math.min(r1, r2), Math.max(r1, r2), Math.min(c1, c2), Math.max(c1, c2)];
  return [[top, left], [top, right], [bottom, right], [bottom, left]];
}

// A name in another direction of writing must not turn the number beside it round.
function isolated(text) {
  return text ? `\u2068${text}\u2069` : "";
}

function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// ---------------------------------------------------------------- ways in

export function drawPicture(element, data, options = {}) {
  return new PictureView(element, data, options);
}

export function hydrate(root) {
  const views = [];
  for (const figure of root.querySelectorAll("figure[data-picture]")) {
    if (figure.querySelector(".tk-picture")) continue;
    const source = figure.querySelector('script[type="application/json"]');
    if (!source) continue;
    const caption = figure.querySelector("figcaption");
    const place = node("div");
    figure.insertBefore(place, caption);
    try {
      const data = JSON.parse(source.textContent);
      views.push(drawPicture(place, { read_only: true, ...data, label: data.label || caption?.textContent }));
    } catch {
      place.textContent = LABELS.damaged; // one bad picture must not keep the others from being drawn
    }
  }
  const group = (view) => view.data.together?.group;
  for (const name of new Set(views.map(group))) {
    if (name !== undefined) pointTogether(views.filter((view) => group(view) === name));
  }
  return views;
}

// Pictures of one surface: what is pointed at in one is read in the others too.
function pointTogether(views) {
  const through = (m, [row, column]) => {
    const [r, c, n] = [0, 3, 6].map((k) => m[k] * row + m[k + 1] * column + m[k + 2]);
    return [r / n, c / n];
  };
  for (const view of views) {
    view.onPoint = () => {
      const { cursor } = view;
      const shared = cursor && through(view.data.together.onto, [cursor.row, cursor.column]);
      for (const other of views) {
        if (other !== view) other.pointed(shared && through(other.data.together.from, shared));
      }
    };
  }
}

const FIXED = ["interval", "difference", "unit", "photo", "photo_aligned", "role", "roles", "metres_per_pixel", "label", "labels", "locale", "read_only", "brief"];

function render({ model, el }) {
  let view = null;
  let sending = false; // two lists change in turn; what lies between must not come back
  const get = (key) => model.get(key);
  const draw = () => {
    view?.destroy();
    const keys = ["frame", "bar", "lines", "marks", "suggestions", "context", "numbers", "details", ...FIXED];
    const data = Object.fromEntries(keys.map((key) => [key, get(key)]));
    view = drawPicture(el, data, {
      onMarks: (marks, suggestions) => {
        sending = true;
        model.set("marks", marks);
        model.set("suggestions", suggestions);
        sending = false;
        model.save_changes();
      },
      onBar: (bar) => {
        model.set("bar", bar);
        model.save_changes();
      },
    });
  };
  const marked = () => sending || view.setMarks(get("marks"), get("suggestions"));
  const handlers = {
    "change:marks": marked,
    "change:suggestions": marked,
    "change:context": () => view.setContext(get("context")),
    "change:numbers": () => view.setNumbers(get("numbers")),
    "change:details": () => view.setDetails(get("details")),
    "change:lines": () => view.setLines(get("lines")),
    "change:bar": () => get("bar")?.low < get("bar")?.high && view.setBar(get("bar")),
  };
  for (const key of ["frame", ...FIXED]) handlers[`change:${key}`] = draw;
  for (const [name, act] of Object.entries(handlers)) model.on(name, act);
  draw();
  return () => {
    for (const [name, act] of Object.entries(handlers)) model.off(name, act);
    view.destroy();
  };
}

export default { render };
