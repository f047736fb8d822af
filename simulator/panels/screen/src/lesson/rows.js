// A table whose rows can be acted on: calls of a sheet, sheets that are handed out, people of a class.
import { node, patchChildren } from "../base/dom.js";
import { scrollBox } from "../base/table.js";

/** @type {Record<string, string>} */
const TONE_SIGNS = { bad: "! ", wait: "… ", good: "✓ " };

/**
 * @param {LessonView} view
 * @param {RowsBlock["rows"][number]} row
 * @param {boolean} bare no row can be acted on
 */
function describeRow(view, row, bare) {
  return node(
    "tr",
    { key: row.key, "data-row": row.key, class: row.now ? "lesson-row-now" : "" },
    row.cells.map((cell, i) =>
      node(
        i ? "td" : "th",
        {
          key: i,
          scope: i ? false : "row",
          class: typeof cell === "string" ? "" : `lesson-cell lesson-cell-${cell.tone}`,
        },
        typeof cell === "string"
          ? cell
          : [node("span", { key: "sign", "aria-hidden": "true" }, TONE_SIGNS[cell.tone] ?? ""), cell.text],
      ),
    ),
    bare
      ? null
      : node(
          "td",
          { key: "acts" },
          node(
            "div",
            { class: "lesson-row lesson-row-acts" },
            row.buttons.map((one) => {
              const key = `${one.action}:${JSON.stringify(one.args)}`;
              return node(
                "button",
                {
                  key,
                  type: "button",
                  class: `lesson-secondary${view.turns.busy(key) ? " lesson-pending" : ""}`,
                  "aria-label": one.says,
                  "aria-disabled": one.off ? "true" : false,
                  on: { click: () => !one.off && view.act(one.action, one.args, key) },
                },
                one.label,
              );
            }),
          ),
        ),
  );
}

/**
 * @param {LessonView} view
 * @param {RowsBlock} block
 * @param {BlockSection} section
 */
export function rowsBlock(view, block, section) {
  if (!block.rows.length) {
    patchChildren(section, node("h3", { key: "title" }, block.title), node("p", { key: "none" }, block.none));
    return;
  }
  const bare = block.rows.every((row) => !row.buttons.length);
  const heads = [
    ...block.columns.map((head, i) => node("th", { key: i, scope: "col" }, head)),
    bare ? null : node("td", { key: "acts" }),
  ];
  const table = node(
    "table",
    { class: "lesson-table" },
    node("thead", { key: "head" }, node("tr", {}, heads)),
    node(
      "tbody",
      { key: "body" },
      block.rows.map((row) => describeRow(view, row, bare)),
    ),
  );
  patchChildren(section, node("h3", { key: "title" }, block.title), scrollBox("lesson-scroll", block.title, table));
}
