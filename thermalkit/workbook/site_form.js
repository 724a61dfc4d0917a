// The first page of a notebook: what was written down on the visit, table by table. The page holds the
// answers as text; Python checks them as they are typed and sends a message for each field.
const LATER = 250; // ms without a key before answers are sent

let forms = 0;

function element(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

function render({ model, el }) {
  const number = forms++;
  const words = model.get("words");
  let answers = {};
  let timer = 0;
  const fieldId = (table, index, key) => `tk-form-${number}-${table}-${index}-${key}`;

  function send() {
    clearTimeout(timer);
    model.set("answers", structuredClone(answers));
    model.save_changes();
  }

  function changed(entry, key, value) {
    entry[key] = value;
    clearTimeout(timer);
    timer = setTimeout(send, LATER);
  }

  // Entries that a field may name, as they stand in the form at this moment.
  function names(field) {
    const entries = answers[field.options[0]] ?? [];
    return entries
      .filter((entry) => !field.narrowed.length || field.narrowed.includes(entry.kind))
      .map((entry) => entry.id)
      .filter(Boolean);
  }

  function choices(field) {
    if (field.form === "entry") return names(field);
    if (field.form === "file") return model.get("files")[field.options[0]] ?? [];
    if (field.form === "yes-no") return ["yes", "no"];
    return field.options;
  }

  function control(table, index, entry, field) {
    const isList = ["choice", "entry", "file", "yes-no"].includes(field.form);
    const input = document.createElement(isList ? "select" : "input");
    input.id = fieldId(table.table, index, field.key);
    input.setAttribute("aria-describedby", `${input.id}-said ${input.id}-hint`);
    if (field.required) input.required = true;
    if (isList) {
      const fill = () => {
        const value = entry[field.key] ?? "";
        const known = choices(field);
        const none = field.default ? `${words.unstated} (${words[field.default] ?? field.default})` : words.unstated;
        const options = [["", none], ...known.map((word) => [word, words[word] ?? word])];
        if (value && !known.includes(value)) options.push([value, value]);
        input.replaceChildren(...options.map(([id, text]) => new Option(text, id, false, id === value)));
      };
      fill();
      if (field.form === "entry") input.addEventListener("focus", fill);
      input.addEventListener("change", () => changed(entry, field.key, input.value));
    } else {
      input.type = "text";
      input.autocomplete = "off";
      if (["number", "whole"].includes(field.form)) input.inputMode = "decimal";
      input.value = entry[field.key] ?? "";
      input.placeholder = field.default ?? "";
      if (field.key === "id" && table.named && entry["#"]) input.readOnly = true;
      input.addEventListener("input", () => changed(entry, field.key, input.value));
    }
    return input;
  }

  function labelled(table, index, entry, field) {
    const input = control(table, index, entry, field);
    const unit = field.unit ? ` (${field.unit})` : "";
    const needed = field.required ? ` ${words.needed}` : "";
    const label = element("label", { htmlFor: input.id }, field.label + unit + needed);
    const said = element("span", { id: `${input.id}-said`, className: "tk-said" });
    const hint = element("span", { id: `${input.id}-hint`, className: "tk-hint" }, field.hint);
    return element("div", { className: "tk-field" }, label, input, said, hint);
  }

  function fieldsOf(table, index, entry) {
    const first = table.fields.filter((field) => field.first);
    const rest = table.fields.filter((field) => !field.first);
    const grid = (fields) =>
      element("div", { className: "tk-grid" }, ...fields.map((field) => labelled(table, index, entry, field)));
    if (!first.length || !rest.length) return [grid(table.fields)];
    const used = rest.some((field) => entry[field.key]);
    const more = element("details", { open: used }, element("summary", {}, words.more), grid(rest));
    return [grid(first), more];
  }

  function entryOf(table, index, entry) {
    const name = () => `${table.entry} ${index + 1}${entry.id ? `: ${entry.id}` : ""}`;
    const box = element("fieldset", { className: "tk-entry" }, element("legend", {}, name()));
    if (entry["?"]) box.append(element("p", { className: "tk-proposed" }, words.proposed));
    box.append(...fieldsOf(table, index, entry));
    const gone = element("button", { type: "button", textContent: words.remove });
    gone.setAttribute("aria-label", `${words.remove}: ${name()}`);
    gone.addEventListener("click", () => {
      answers[table.table].splice(index, 1);
      redraw(table);
      send();
    });
    const buttons = element("div", { className: "tk-buttons" }, gone);
    if (index > 0) {
      const same = element("button", { type: "button", textContent: words.same });
      same.setAttribute("aria-label", `${words.same}: ${name()}`);
      same.addEventListener("click", () => {
        const above = answers[table.table][index - 1];
        for (const field of table.fields) {
          if (!table.own.includes(field.key) && !entry[field.key] && above[field.key]) entry[field.key] = above[field.key];
        }
        redraw(table);
        send();
      });
      buttons.append(same);
    }
    box.append(buttons);
    return box;
  }

  const sections = new Map();

  function redraw(table) {
    const entries = answers[table.table];
    const body = sections.get(table.table);
    if (!table.repeated) body.replaceChildren(...fieldsOf(table, -1, entries));
    else {
      const add = element("button", { type: "button", textContent: words.add });
      add.setAttribute("aria-label", `${words.add}: ${table.title}`);
      add.addEventListener("click", () => {
        entries.push({});
        redraw(table);
        document.getElementById(fieldId(table.table, entries.length - 1, table.fields[0].key))?.focus();
      });
      body.replaceChildren(...entries.map((entry, index) => entryOf(table, index, entry)), add);
    }
    tell();
  }

  function tell() {
    for (const said of el.querySelectorAll(".tk-said")) said.textContent = "";
    for (const input of el.querySelectorAll("[aria-invalid]")) input.removeAttribute("aria-invalid");
    for (const [table, index, key, text] of model.get("messages")) {
      const input = document.getElementById(fieldId(table, index, key));
      if (!input) continue;
      input.setAttribute("aria-invalid", "true");
      document.getElementById(`${input.id}-said`).textContent = text;
    }
  }

  function isOpen(table) {
    const entries = answers[table.table];
    if (table.asked) return true;
    return Array.isArray(entries) ? entries.length > 0 : Object.values(entries).some(Boolean);
  }

  function draw() {
    answers = structuredClone(model.get("answers"));
    sections.clear();
    const form = element("form", { className: "tk-form", noValidate: true });
    form.addEventListener("submit", (event) => event.preventDefault());
    const others = element("details", { className: "tk-table" }, element("summary", {}, words.others));
    for (const table of model.get("tables")) {
      const body = element("div");
      sections.set(table.table, body);
      const heading = element("summary", {}, table.title);
      const part = element("details", { className: "tk-table", open: isOpen(table) }, heading, body);
      (table.elsewhere && !part.open ? others : form).append(part);
    }
    if (others.childElementCount > 1) form.append(others);
    const save = element("button", { type: "submit", className: "tk-save", textContent: words.save });
    // Answers and the wish to save go in one message: a later one may overtake an earlier one.
    form.addEventListener("submit", () => {
      saving.textContent = words.saving;
      model.set("saves", model.get("saves") + 1);
      send();
    });
    const saving = element("span", { role: "status" });
    form.append(element("div", { className: "tk-save-bar" }, save, saving));
    const hadFocus = el.contains(document.activeElement);
    const whole = element("details", { className: "tk-whole", open: model.get("opened") });
    whole.append(element("summary", {}, words.form), form);
    el.replaceChildren(whole);
    for (const table of model.get("tables")) redraw(table);
    if (hadFocus) (el.querySelector("[aria-invalid]") ?? save).focus(); // what was not written, if anything
  }

  draw();
  model.on("change:messages", tell);
  model.on("change:drawn", draw);
  model.on("change:saved", () => el.querySelector(".tk-save-bar span").replaceChildren());
}

export default { render };
