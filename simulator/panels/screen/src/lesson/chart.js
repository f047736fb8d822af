// What was said beside what came: figures side by side, and one plot with the run, others of its kind, and the guess.
import { node, patchChildren } from "../base/dom.js";
import { drawStillChart, endStillChart } from "../base/still_chart.js";
import { describeTable, scrollBox } from "../base/table.js";
import { inlineText, placesIn } from "./prose.js";

/**
 * @param {LessonView} _view
 * @param {CompareBlock} block
 * @param {BlockSection} section
 */
export function compareBlock(_view, block, section) {
  const rows = block.rows.map((row) => row.cells.map(inlineText));
  const table = describeTable(block.columns, rows, { class: "lesson-table", caption: block.title });
  patchChildren(section, scrollBox("lesson-scroll", block.title, table));
}

/**
 * @param {LessonView} _view
 * @param {ChartBlock} block
 * @param {BlockSection} section
 */
export function chartBlock(_view, block, section) {
  const { figure, words } = placesIn(section, "figure", "words");
  section.lessonLive ||= { destroy: () => endStillChart(figure) };
  drawStillChart(figure, block.figure);
  patchChildren(words, block.caption ? node("p", { class: "lesson-soft" }, block.caption) : null);
}
