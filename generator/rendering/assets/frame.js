/* The frame of every page: what the theme opens with a touch opens from the keyboard too, and folds open for print. */
(() => {
  "use strict";

  /* The theme opens its menu and its search with labels, which the Tab key passes by. A button inside does the same. */
  function makeReachable(label) {
    const target = document.getElementById(label.htmlFor);
    if (!target || label.querySelector("button")) return;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "rb-reach";
    if (!label.textContent.trim()) {
      button.setAttribute("aria-label", label.htmlFor === "__search" ? "Search" : "Menu");
    }
    button.append(...label.childNodes);
    button.addEventListener("click", () => {
      target.click();
      if (label.htmlFor === "__search") document.querySelector(".md-search__input")?.focus();
    });
    label.append(button);
  }

  /* A phone shows rows of these tables as blocks, and some browsers then no longer tell that they are tables. */
  const ROLES = [
    ["thead, tbody", "rowgroup"],
    ["tr", "row"],
    ["td", "cell"],
    ["th[scope='col']", "columnheader"],
    ["th[scope='row']", "rowheader"],
  ];
  function keepTable(table) {
    table.setAttribute("role", "table");
    ROLES.forEach(([parts, role]) => table.querySelectorAll(parts).forEach((part) => part.setAttribute("role", role)));
  }

  function start() {
    document.querySelectorAll("table.rb-table").forEach(keepTable);
    document
      .querySelectorAll("label.md-header__button:is([for='__drawer'], [for='__search']), .rb-search-cue label[for]")
      .forEach(makeReachable);
  }

  /* On paper nobody can open a fold. */
  let opened = [];
  window.addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details.rb-fold:not([open])")];
    opened.forEach((fold) => fold.setAttribute("open", ""));
  });
  window.addEventListener("afterprint", () => {
    opened.forEach((fold) => fold.removeAttribute("open"));
    opened = [];
  });

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
