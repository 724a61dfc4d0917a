// Filters of the table: words, verdict, construction, period; nothing is loaded, nothing is sent.
"use strict";

const table = document.querySelector("#sites tbody");
const rows = [...table.rows];
const form = document.querySelector("#filters");
const said = document.querySelector("#shown");
const more = document.querySelector("#more");
let most = 200;

for (const name of ["verdict", "construction", "period"]) {
  const select = form.elements[name];
  const labels = new Map(rows.map((row) => [row.dataset[name], row.dataset[`${name}Text`] ?? row.dataset[name]]));
  for (const [value, label] of [...labels].sort((a, b) => a[1].localeCompare(b[1]))) {
    if (value) select.append(new Option(label, value));
  }
}

// A screen draws the first of them only, which keeps typing fluent; paper gets all.
function filter() {
  const wanted = form.elements.words.value.toLowerCase().split(/\s+/).filter(Boolean);
  const chosen = ["verdict", "construction", "period"].map((name) => [name, form.elements[name].value]);
  let count = 0;
  for (const row of rows) {
    const fits =
      wanted.every((word) => row.dataset.found.includes(word)) &&
      chosen.every(([name, value]) => !value || row.dataset[name] === value);
    count += fits;
    if (row.hidden === fits) row.hidden = !fits;
    const beyond = fits && count > most;
    if (row.classList.contains("beyond") !== beyond) row.classList.toggle("beyond", beyond);
  }
  more.hidden = count <= most;
  said.textContent = said.dataset.text.replace("%shown", count).replace("%all", rows.length);
}

function sort(heading) {
  const key = heading.dataset.sort;
  const down = heading.getAttribute("aria-sort") !== "descending";
  for (const other of document.querySelectorAll("#sites th[data-sort]")) other.removeAttribute("aria-sort");
  heading.setAttribute("aria-sort", down ? "descending" : "ascending");
  const value = (row) => (row.dataset[key] === "" ? -Infinity : Number(row.dataset[key]));
  rows.sort((a, b) => (down ? value(b) - value(a) : value(a) - value(b)));
  table.append(...rows);
  filter();
}

form.hidden = false;
form.addEventListener("input", filter);
more.addEventListener("click", () => {
  most = Infinity;
  filter();
});
form.addEventListener("submit", (event) => event.preventDefault());
for (const button of document.querySelectorAll("#sites th[data-sort] button")) {
  button.disabled = false;
  button.addEventListener("click", () => sort(button.parentElement));
}
filter();
