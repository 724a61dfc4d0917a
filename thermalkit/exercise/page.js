// The page form of a class: asks, keeps, saves a record. Stands behind picture.js in one module, whose `node`,
// `unpack`, `isInside` and `drawPicture` it uses. Nothing is sent anywhere.
{
  const data = JSON.parse(document.getElementById("data").textContent);
  const words = data.words;
  const steps = new Map(data.steps.map((step) => [step.name, step]));
  const at = (id) => document.getElementById(id);
  const SIGHT = ["look", "survey", "trust", "predict"];
  const REST = ["numbers", "verdict", "cause", "traps", "order", "justify"];
  const OPEN = "open";
  const number = (value, digits) =>
    new Intl.NumberFormat(data.language, { minimumFractionDigits: digits, maximumFractionDigits: digits }).format(value);

  const fresh = () => ({
    values: Object.fromEntries(data.steps.map((step) => [step.name, structuredClone(step.nothing)])),
    times: {},
    locked: false,
    first: null,
    by: "",
  });
  let state = fresh();
  const unread = new Set(); // numbers that were typed and cannot be read, by name

  // ---- keeping

  const key = `thermalkit-class:${data.store}`;
  function keep() {
    try {
      localStorage.setItem(key, JSON.stringify(state));
      at("kept").textContent = words.kept;
    } catch {
      at("kept").textContent = words.notKept;
    }
    left();
  }
  function recalled() {
    try {
      const found = JSON.parse(localStorage.getItem(key));
      if (found && typeof found.values === "object") return { ...fresh(), ...found, values: cleaned(found.values) };
    } catch {
      at("kept").textContent = words.notKept;
    }
    return fresh();
  }

  // What a file or the browser gave back, each answer of the form its question has; anything else is left out.
  function cleaned(values) {
    const clean = fresh().values;
    const isText = (v) => typeof v === "string";
    for (const step of data.steps) {
      const value = values?.[step.name];
      const ids = (step.options ?? []).map(([id]) => id);
      if (step.form === "one" && ids.includes(value)) clean[step.name] = value;
      if ((step.form === "some" || step.form === "hints") && Array.isArray(value)) clean[step.name] = ids.filter((id) => value.includes(id));
      if (step.form === "words" && isText(value)) clean[step.name] = value.slice(0, step.longest);
      if (step.form === "numbers" && value && typeof value === "object") {
        for (const [name, , low, high] of step.numbers) {
          if (Number.isFinite(value[name]) && value[name] >= low && value[name] <= high) clean[step.name][name] = value[name];
        }
      }
      if (step.form === "order" && value && typeof value === "object") {
        for (const [name] of step.questions) if (ids.includes(value[name])) clean[step.name][name] = value[name];
      }
      if (step.form === "marks" && Array.isArray(value)) {
        const frames = data.frames.map((frame) => frame.id);
        clean[step.name] = value.filter((m) => isMark(m) && frames.includes(m.frame) && isText(m.id)).map((m) => ({
          frame: m.frame, id: m.id, shape: m.shape, points: m.points, role: step.role,
        }));
      }
    }
    return clean;
  }

  function set(name, value) {
    state.values[name] = value;
    state.times[name] = now();
    keep();
  }
  const now = () => new Date().toISOString().replace(/\.\d+Z$/, "+00:00");

  // ---- asking

  function asked(name) {
    const step = steps.get(name);
    const build = { one: choice, some: choice, hints: hints, numbers: numbers, order: order, words: text }[step.form];
    return build(step);
  }

  function choice(step) {
    const type = step.form === "one" ? "radio" : "checkbox";
    const box = node("fieldset", {}, node("legend", { text: step.title }));
    for (const [id, label] of step.options) {
      const value = state.values[step.name];
      const input = node("input", { type, name: step.name, value: id });
      input.checked = step.form === "one" ? value === id : value.includes(id);
      input.addEventListener("change", () => {
        const ticked = [...box.querySelectorAll("input:checked")].map((i) => i.value);
        set(step.name, step.form === "one" ? ticked[0] : ticked);
        if (step.name === "emissivity") pictures();
      });
      box.append(node("label", {}, input, ` ${label}`));
    }
    if (step.name === "predict") box.disabled = state.locked;
    return box;
  }

  function hints(step) {
    const box = node("div", {}, node("p", { text: step.title }));
    for (const [id, label] of step.options) {
      const told = node("p", { class: "own", role: "status" });
      const button = node("button", { type: "button", text: `${label} (${words.hintCosts})` });
      const show = () => {
        told.textContent = step.texts[id];
        button.disabled = true;
      };
      button.addEventListener("click", () => {
        set(step.name, step.options.map(([one]) => one).filter((one) => one === id || state.values.hints.includes(one)));
        show();
      });
      if (state.values.hints.includes(id)) show();
      box.append(node("div", {}, button, told));
    }
    return box;
  }

  function numbers(step) {
    const box = node("fieldset", {}, node("legend", { text: step.title }));
    for (const [name, label, low, high, digits, units] of step.numbers) {
      const input = node("input", { type: "text", inputmode: "decimal", name, size: "8", autocomplete: "off" });
      const value = state.values.numbers[name];
      if (value !== undefined) input.value = number(value, digits).replace(/\u2212/g, "-");
      const said = node("span", { role: "status" });
      input.addEventListener("change", () => {
        const typed = input.value.trim();
        const unit = units.find((one) => one && typed.endsWith(one)) ?? "";
        const bare = typed.slice(0, typed.length - unit.length).trim();
        const read = Number(bare.replace(",", ".").replace("\u2212", "-"));
        const given = { ...state.values.numbers };
        delete given[name];
        const isNumber = bare !== "" && Number.isFinite(read) && read >= low && read <= high;
        if (isNumber) given[name] = read;
        const isUnread = !isNumber && typed !== "";
        unread[isUnread ? "add" : "delete"](name);
        said.textContent = isUnread ? filled(words.noNumber, { low: number(low, 0), high: number(high, 0) }) : "";
        input.setAttribute("aria-invalid", String(said.textContent !== ""));
        set("numbers", given);
      });
      box.append(node("p", {}, node("label", {}, `${label} `, input), " ", said));
    }
    return box;
  }

  function order(step) {
    const box = node("fieldset", {}, node("legend", { text: step.title }));
    for (const [name, label] of step.questions) {
      const select = node("select", { name }, node("option", { value: "", text: words.choose }));
      for (const [id, shown] of step.options) select.append(node("option", { value: id, text: shown }));
      select.value = state.values.order[name] ?? "";
      select.addEventListener("change", () => {
        const given = { ...state.values.order };
        delete given[name];
        if (select.value) given[name] = select.value;
        set("order", given);
      });
      box.append(node("p", {}, node("label", {}, `${label} `, select)));
    }
    return box;
  }

  function text(step) {
    const area = node("textarea", { rows: "5", maxlength: String(step.longest), name: step.name });
    area.value = state.values[step.name];
    area.addEventListener("change", () => set(step.name, area.value));
    return node("p", {}, node("label", {}, step.title, node("br"), area));
  }

  // ---- pictures

  let views = [];
  let marking = "suspect";
  // What is drawn next is set beside the pictures, so that it never changes a mark that is there already.
  function markingChoice() {
    const box = node("fieldset", {}, node("legend", { text: words.marking }));
    for (const [role, label] of [["suspect", words.roleSuspect], ["sound", words.roleSound]]) {
      const input = node("input", { type: "radio", name: "marking", value: role });
      input.checked = role === marking;
      input.addEventListener("change", () => {
        marking = role;
        for (const view of views) {
          view.choose(null);
          view.data.role = role;
        }
      });
      box.append(node("label", {}, input, ` ${label}`));
    }
    return box;
  }

  async function pictures() {
    for (const view of views) view.destroy();
    views = [];
    const chosen = state.values.emissivity;
    at("choose-first").hidden = chosen !== OPEN;
    at("pictures").replaceChildren();
    if (chosen === OPEN) return;
    at("pictures").append(markingChoice());
    for (const frame of data.frames) {
      const place = node("div");
      const seen = frame.seen[chosen];
      at("pictures").append(node("h3", { text: `${frame.room} – ${frame.id}` }), place);
      const held = ["suspect", "sound"].flatMap((step) => state.values[step].filter((m) => m.frame === frame.id));
      const marks = held.map((mark) => ({ ...mark, name: mark.id }));
      const view = drawPicture(place, {
        ...seen, marks: unique(marks), photo: frame.photo, label: `${frame.room} – ${frame.id}`,
        role: marking, labels: data.labels, locale: data.language,
      }, { onMarks: (drawn) => marked(frame, drawn) });
      views.push(view);
      await view.ready;
      frame.temperatures = view.temperatures;
      read(frame, view);
    }
  }

  // Names may repeat between the two roles; in one picture ids may not.
  function unique(marks) {
    const used = new Set();
    return marks.map((mark) => {
      let id = mark.id;
      for (let n = 2; used.has(id); n++) id = `${mark.id} ${n}`;
      used.add(id);
      return { ...mark, id, name: id };
    });
  }

  function marked(frame, drawn) {
    for (const role of ["suspect", "sound"]) {
      const own = drawn.filter((mark) => (mark.role === "sound" ? "sound" : "suspect") === role);
      const others = state.values[role].filter((mark) => mark.frame !== frame.id);
      const named = unique(own.map((mark) => ({ ...mark, id: (mark.name || "").trim() || mark.id })));
      set(role, [...others, ...named.map((m) => ({ frame: frame.id, id: m.id, shape: m.shape, points: m.points, role }))]);
    }
    const view = views.find((one) => one.data.label === `${frame.room} – ${frame.id}`);
    if (view) read(frame, view);
  }

  // Coldest and warmest 3 x 3 pixels and the mean of each mark, with what the kind of case reads beside them.
  function read(frame, view) {
    const numbers = {};
    for (const mark of view.marks) {
      const found = extremes(frame.temperatures, view.rows, view.columns, mark);
      if (!found) continue;
      const shown = (t) => `${number(t, 1)} °C${beside(frame, t)}`;
      numbers[mark.id] = [[words.mean, shown(found.mean)], [words.coldest, shown(found.low)], [words.warmest, shown(found.high)]];
    }
    view.setNumbers(numbers);
  }

  function inMark(mark, row, column) {
    if (mark.shape === "pin") return Math.max(Math.abs(row - mark.points[0][0]), Math.abs(column - mark.points[0][1])) <= 1.5;
    if (mark.shape === "patch") return isInside([row, column], mark.points);
    return mark.points.some((p, i) => i && distanceToLine([row, column], mark.points[i - 1], p) <= 1);
  }

  function extremes(field, rows, columns, mark) {
    let [sum, count, low, high] = [0, 0, Infinity, -Infinity];
    for (let r = 0; r < rows; r++) {
      for (let c = 0; c < columns; c++) {
        if (!inMark(mark, r, c) || Number.isNaN(field[r * columns + c])) continue;
        let [near, n] = [0, 0];
        for (let i = Math.max(r - 1, 0); i <= Math.min(r + 1, rows - 1); i++) {
          for (let j = Math.max(c - 1, 0); j <= Math.min(c + 1, columns - 1); j++) {
            const t = field[i * columns + j];
            if (!Number.isNaN(t)) [near, n] = [near + t, n + 1];
          }
        }
        [sum, count] = [sum + field[r * columns + c], count + 1];
        [low, high] = [Math.min(low, near / n), Math.max(high, near / n)];
      }
    }
    return count ? { mean: sum / count, low, high } : null;
  }

  function beside(frame, degc) {
    const table = frame.beside;
    if (table.length < 2) return "";
    const i = Math.min(Math.max(table.findIndex(([t]) => t >= degc), 1), table.length - 1);
    const [[a, x], [b, y]] = [table[i - 1], table[i]];
    const value = x + ((degc - a) / (b - a)) * (y - x);
    return ` (${number(value, data.beside.digits)}${data.beside.unit})`;
  }

  // ---- the record

  function record() {
    const entries = [];
    const values = state.values;
    const entry = (step, value, when) =>
      entries.push({
        step: step.name, value, proposed: step.nothing, reason: "", by: state.by || data.learner,
        at: when ?? now(), inputs: `sha256:${sha256(inputs(step))}`, thermalkit: data.thermalkit,
      });
    for (const step of data.steps) entry(step, values[step.name], state.times[step.name]);
    return { schema: 1, kind: "class", entries };
  }

  // The same text that the package makes its fingerprint of; see record/fingerprint.py.
  function inputs(step) {
    if (!step.uses.length) return '{"decisions":{},"files":{},"site":{}}';
    const before = [...step.uses].sort().map((name) => `${JSON.stringify(name)}:${JSON.stringify(state.values[name])}`);
    return `{"decisions":{${before.join(",")}},"files":${data.inputs.files},"site":${data.inputs.site}}`;
  }

  // SHA-256 of FIPS 180-4, since the browser's own is not there for every file.
  function sha256(message) {
    const rotate = (x, n) => (x >>> n) | (x << (32 - n));
    const primes = [];
    for (let n = 2; primes.length < 64; n++) if (primes.every((p) => n % p)) primes.push(n);
    const part = (x) => Math.floor((x - Math.floor(x)) * 2 ** 32) | 0;
    const k = primes.map((p) => part(Math.cbrt(p)));
    const hash = primes.slice(0, 8).map((p) => part(Math.sqrt(p)));
    const bytes = new TextEncoder().encode(message);
    const padded = new Uint8Array((((bytes.length + 8) >> 6) + 1) * 64);
    padded.set(bytes);
    padded[bytes.length] = 0x80;
    const view = new DataView(padded.buffer);
    view.setUint32(padded.length - 8, Math.floor(bytes.length / 2 ** 29));
    view.setUint32(padded.length - 4, (bytes.length << 3) >>> 0);
    const w = new Int32Array(64);
    for (let start = 0; start < padded.length; start += 64) {
      for (let i = 0; i < 16; i++) w[i] = view.getInt32(start + 4 * i);
      for (let i = 16; i < 64; i++) {
        const s0 = rotate(w[i - 15], 7) ^ rotate(w[i - 15], 18) ^ (w[i - 15] >>> 3);
        const s1 = rotate(w[i - 2], 17) ^ rotate(w[i - 2], 19) ^ (w[i - 2] >>> 10);
        w[i] = (w[i - 16] + s0 + w[i - 7] + s1) | 0;
      }
      let [a, b, c, d, e, f, g, h] = hash;
      for (let i = 0; i < 64; i++) {
        const s1 = rotate(e, 6) ^ rotate(e, 11) ^ rotate(e, 25);
        const t1 = (h + s1 + ((e & f) ^ (~e & g)) + k[i] + w[i]) | 0;
        const s0 = rotate(a, 2) ^ rotate(a, 13) ^ rotate(a, 22);
        const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
        [h, g, f, e, d, c, b, a] = [g, f, e, (d + t1) | 0, c, b, a, (t1 + t2) | 0];
      }
      [a, b, c, d, e, f, g, h].forEach((x, i) => (hash[i] = (hash[i] + x) | 0));
    }
    return hash.map((x) => (x >>> 0).toString(16).padStart(8, "0")).join("");
  }

  function save() {
    const whole = new Blob([`${JSON.stringify(record(), null, 1)}\n`], { type: "application/json" });
    const link = node("a", { href: URL.createObjectURL(whole), download: `${data.learner}-class.json` });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
    at("saved").textContent = words.saved;
  }

  async function load(file) {
    try {
      if (file.size > 20_000_000) throw new Error("size");
      const found = JSON.parse(await file.text());
      if (found.schema !== 1 || found.kind !== "class" || !Array.isArray(found.entries)) throw new Error("kind");
      const last = Object.fromEntries(found.entries.map((entry) => [entry.step, entry.value]));
      state = { ...fresh(), values: cleaned(last), by: String(found.entries.at(-1)?.by ?? "").slice(0, 80) };
      state.times = Object.fromEntries(found.entries.map((entry) => [entry.step, entry.at]));
      state.locked = state.values.predict !== OPEN;
      keep();
      draw();
      at("loaded").textContent = words.loaded;
    } catch {
      at("loaded").textContent = words.notLoaded;
    }
  }

  function left() {
    const open = data.steps.filter((step) => step.form === "one" && state.values[step.name] === OPEN);
    const noSound = state.values.sound.length ? [] : [steps.get("sound")];
    const noNumber = unread.size ? [steps.get("numbers")] : [];
    const titles = [...open, ...noSound, ...noNumber].map((step) => step.title);
    at("left").textContent = titles.length ? `${words.left} ${titles.join("; ")}` : words.complete;
  }

  // ---- the whole

  function draw() {
    unread.clear();
    at("stills").replaceChildren(
      ...data.frames.map((frame) =>
        node("figure", {}, node("img", { src: frame.still, alt: words.still }), ...(frame.photo ? [node("img", { src: frame.photo, alt: words.drawing })] : []),
          node("figcaption", { text: `${frame.room} – ${frame.id}` })),
      ),
    );
    at("sight").replaceChildren(...SIGHT.map(asked));
    at("emissivity").replaceChildren(asked("emissivity"));
    at("rest").replaceChildren(...REST.map(asked));
    at("hints").replaceChildren(asked("hints"));
    at("by").value = state.by;
    at("numbers-part").hidden = !state.locked;
    at("lock").disabled = state.locked;
    at("locked").textContent = state.locked ? words.locked : "";
    left();
    if (state.locked) pictures();
  }

  at("lock").addEventListener("click", () => {
    if (state.values.predict === OPEN) {
      at("locked").textContent = words.lockFirst;
      return;
    }
    state.locked = true;
    keep();
    draw();
  });
  at("by").addEventListener("change", () => {
    state.by = at("by").value.trim();
    keep();
  });
  at("save").addEventListener("click", save);
  at("load").addEventListener("change", () => at("load").files[0] && load(at("load").files[0]));
  state = recalled();
  draw();
}
