"use strict";
const table = document.querySelector("table.trials"), body = table && table.tBodies[0];
if (body) {
  const rows = [...body.rows], said = document.getElementById("found"), box = document.getElementById("find");
  const texts = rows.map(row => row.textContent.toLowerCase());
  const show = () => {
    const words = box.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    rows.forEach((row, i) => {
      row.hidden = !words.every(word => texts[i].includes(word));
      shown += !row.hidden;
    });
    said.textContent = words.length ? said.dataset.said.replace("#1", shown).replace("#2", rows.length) : "";
  };
  box.addEventListener("input", show);
  document.querySelector(".find").hidden = false;
  table.classList.add("live");
  if (table.classList.contains("light")) {
    // Rows that are no longer laid out as a table stay one for who listens to it.
    const roles = {table: "table", thead: "rowgroup", tbody: "rowgroup", tr: "row", th: "columnheader", td: "cell",
      "tbody th": "rowheader"};
    table.setAttribute("role", roles.table);
    for (const name of Object.keys(roles))
      for (const part of table.querySelectorAll(name)) part.setAttribute("role", roles[name]);
  }
  const heads = [...table.tHead.rows[0].cells], order = new Intl.Collator(undefined, {numeric: true});
  const key = (row, at) => {
    const cell = row.cells[at], text = (cell.querySelector("a, b") || cell).textContent.trim();
    const number = parseFloat(text.replace("\u2212", "-").replace(",", "."));
    return heads[at].dataset.kind === "number" ? (cell.querySelector("b") && number === number ? number : null) : text;
  };
  heads.forEach((head, at) => {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending", sign = down ? -1 : 1;
      heads.forEach(other => other.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const keyed = rows.map(row => [key(row, at), row]);
      // What is not given stands last either way.
      keyed.sort(([a], [b]) => a === null || b === null ? (a === null) - (b === null)
        : sign * (typeof a === "number" ? a - b : order.compare(a, b)));
      body.append(...keyed.map(([, row]) => row));
    });
  });
}
