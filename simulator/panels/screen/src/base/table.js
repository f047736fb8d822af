// A table of words and figures, the same wherever one is shown.
import { node } from "./dom.js";

/**
 * Describe a table: the first cell of a row is its name.
 * @param {Children[]} columns
 * @param {Children[][]} rows
 * @param {{ class?: string, caption?: string, key?: string }} [more]
 * @returns {Described}
 */
export function describeTable(columns, rows, { caption, ...attributes } = {}) {
  return node(
    "table",
    attributes,
    caption ? node("caption", { key: "caption", class: "lesson-hidden" }, caption) : null,
    node(
      "thead",
      { key: "head" },
      node(
        "tr",
        {},
        columns.map((name, i) => node("th", { key: i, scope: "col" }, name)),
      ),
    ),
    node(
      "tbody",
      { key: "body" },
      rows.map((row, r) =>
        node(
          "tr",
          { key: r },
          row.map((cell, i) => node(i ? "td" : "th", i ? { key: i } : { key: i, scope: "row" }, cell)),
        ),
      ),
    ),
  );
}

/**
 * A box that scrolls sideways where what is in it is wider, by keys too.
 * @param {string} className
 * @param {string} title
 * @param {Children} inside
 */
export function scrollBox(className, title, inside) {
  return node("div", { key: "scroll", class: className, tabindex: "0", role: "group", "aria-label": title }, inside);
}
