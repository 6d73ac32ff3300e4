"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const table = document.getElementById("table");
  const tools = document.getElementById("tools");
  if (!table || !tools) return;
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const articles = new Map();
  for (const article of document.querySelectorAll(".finding")) {
    articles.set(article.dataset.place, article);
  }

  // ---- sorting: each head becomes a button
  const heads = [...table.tHead.rows[0].cells];
  const value = (row, column) => {
    const cell = row.cells[column];
    return "sort" in cell.dataset ? Number(cell.dataset.sort) : cell.textContent;
  };
  const order = new Intl.Collator(undefined, { numeric: true });
  const sortBy = (column) => {
    const falling = heads[column].getAttribute("aria-sort") === "ascending";
    heads.forEach((head, k) => {
      if (k === column) head.setAttribute("aria-sort", falling ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
    const keyed = rows.map((row) => [value(row, column), row]);
    keyed.sort(([a], [b]) => {
      const found = typeof a === "number" && typeof b === "number" ? a - b : order.compare(a, b);
      return falling ? -found : found;
    });
    body.append(...keyed.map(([, row]) => row));
  };
  heads.forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "sort";
    button.textContent = head.textContent;
    button.addEventListener("click", () => sortBy(column));
    head.replaceChildren(button);
  });
  heads[0].setAttribute("aria-sort", "ascending");

  // ---- filtering: what a row says, and what its article says, is searched for all words
  const selects = [...tools.querySelectorAll("select")];
  const words = document.getElementById("words");
  let said = null;
  const texts = () => {
    if (said === null) {
      said = new Map(rows.map((row) => {
        const article = articles.get(row.dataset.place);
        return [row, (row.textContent + " " + (article ? article.textContent : "")).toLowerCase()];
      }));
    }
    return said;
  };
  const filter = () => {
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    let left = 0;
    for (const row of rows) {
      const fits =
        selects.every((s) => s.value === "" || row.dataset[s.dataset.filter] === s.value) &&
        (wanted.length === 0 || wanted.every((word) => texts().get(row).includes(word)));
      row.hidden = !fits;
      const article = articles.get(row.dataset.place);
      if (article) article.hidden = !fits;
      if (fits) left += 1;
    }
    const all = rows.length;
    const many = all === 1 ? "finding" : "findings";
    document.getElementById("shown").textContent =
      left === all ? `${all} ${many}` : `${left} of ${all} ${many}`;
  };
  for (const select of selects) select.addEventListener("input", filter);
  words.addEventListener("input", filter);
  tools.addEventListener("submit", (event) => event.preventDefault());
  tools.hidden = false;
  filter(); // a browser keeps what was chosen when a page is loaded again
});
