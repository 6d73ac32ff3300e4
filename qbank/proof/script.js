"use strict";
(() => {
  const root = document.documentElement;
  const views = ["proof", "questions", "answers", "marking"];
  const asked = new URLSearchParams(location.search).get("view");
  const wanted = () => {
    const hash = location.hash.slice(1);
    if (hash === "main" && root.dataset.view) return root.dataset.view; // the skip link
    return views.includes(hash) ? hash : hash === "" && views.includes(asked) ? asked : "proof";
  };
  root.dataset.view = wanted(); // before the body is laid out, so that nothing flickers

  const sections = new Map();

  // Only the view that is looked at stays in the document: a browser that prints a page goes
  // through all of it, whether shown or not.
  const choose = (moved) => {
    const view = wanted();
    root.dataset.view = view;
    document.getElementById("main").replaceChildren(sections.get(view));
    watch();
    for (const link of document.querySelectorAll(".views a")) {
      if (link.hash === "#" + view) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    if (!moved) return;
    const target = document.getElementById(location.hash.slice(1));
    const heading = target && (target.id === "main" ? target : target.querySelector("h2, h3"));
    if (!heading) return;
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
    target.scrollIntoView();
  };

  const sortBy = (table, column) => {
    const heads = [...table.tHead.rows[0].cells];
    const falling = heads[column].getAttribute("aria-sort") === "ascending";
    heads.forEach((head, k) => {
      if (k === column) head.setAttribute("aria-sort", falling ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
    const value = (row) => {
      const cell = row.cells[column];
      return "sort" in cell.dataset ? Number(cell.dataset.sort) : cell.textContent;
    };
    const rows = [...table.tBodies[0].rows].map((row) => [value(row), row]);
    rows.sort(([a], [b]) => {
      const order =
        typeof a === "number" && typeof b === "number" ? a - b : String(a).localeCompare(String(b));
      return falling ? -order : order;
    });
    table.tBodies[0].append(...rows.map(([, row]) => row));
  };

  const filterBy = (wantedCase) => {
    const table = document.getElementById("instances");
    let left = 0;
    for (const row of table.tBodies[0].rows) {
      row.hidden = wantedCase !== "" && row.dataset.case !== wantedCase;
      if (!row.hidden) left += 1;
    }
    for (const article of document.querySelectorAll(".instance")) {
      article.hidden = wantedCase !== "" && article.dataset.case !== wantedCase;
    }
    const all = table.tBodies[0].rows.length;
    document.getElementById("shown").textContent =
      left === all ? `${all} instances` : `${left} of ${all} instances`;
  };

  const judge = (field) => {
    const text = field.value.trim().replace("\u2212", "-").replace(",", ".");
    const verdict = document.getElementById(field.getAttribute("aria-describedby"));
    if (text === "") verdict.textContent = "";
    else if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text)) verdict.textContent = "not a number";
    else {
      const value = Number(text);
      const right = Number(field.dataset.low) <= value && value <= Number(field.dataset.high);
      verdict.textContent = right ? "accepted" : "not accepted";
    }
  };

  // What is wider than its place can be scrolled, so the keyboard must reach it.
  const reach = (within) => {
    for (const box of within.querySelectorAll(".scroll, p, li, dd, td")) {
      if (box.id === "instances-region" || box.clientWidth === 0) continue;
      if (box.scrollWidth > box.clientWidth + 1) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
    }
  };
  const near = new IntersectionObserver((entries) => {
    for (const entry of entries) if (entry.isIntersecting) reach(entry.target);
  });
  const watch = () => {
    near.disconnect();
    for (const part of document.querySelectorAll(".instance, #spread, .form")) near.observe(part);
  };

  document.addEventListener("DOMContentLoaded", () => {
    for (const section of document.querySelectorAll(".view")) sections.set(section.id, section);
    window.addEventListener("hashchange", () => choose(true));
    document.getElementById("print").addEventListener("click", () => window.print());
    document.addEventListener("click", (event) => {
      const head = event.target.closest("#instances thead th");
      if (head && event.target.closest("button")) sortBy(head.closest("table"), head.cellIndex);
    });
    document.addEventListener("change", (event) => {
      if (event.target.id === "case") filterBy(event.target.value);
    });
    document.addEventListener("submit", (event) => {
      event.preventDefault();
      const hash = "#instance-" + Number(document.getElementById("jump-number").value);
      const article = document.getElementById(hash.slice(1));
      if (article && article.hidden) {
        document.getElementById("case").value = "";
        filterBy("");
      }
      if (location.hash === hash) choose(true);
      else location.hash = hash;
    });
    document.addEventListener("input", (event) => {
      if (event.target.matches("input[data-low]")) judge(event.target);
    });
    document.addEventListener("toggle", (event) => reach(event.target), true);
    window.addEventListener("resize", watch);
    choose(location.hash !== "");
  });
})();
