// What was said beside what came: figures side by side, and one plot with the run, others of its kind, and the guess.
import { node, patchChildren, watchWidth } from "../base/dom.js";
import { formatNumber } from "../base/format.js";
import { clamp } from "../base/numbers.js";
import { svgNode } from "../base/svg.js";
import { scaleMarks } from "../gauges/dial.js";
import { roundStep, roundTimeStep } from "../trend/scale.js";
import { inlineText, placesIn } from "./prose.js";

/** @typedef {{ left: number, right: number, top: number, bottom: number }} Area */

/**
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function compareBlock(view, block, section) {
  patchChildren(
    section,
    node(
      "div",
      { class: "lesson-scroll", tabindex: "0", role: "group", "aria-label": block.title },
      node(
        "table",
        { class: "lesson-table" },
        node("caption", { key: "caption", class: "lesson-hidden" }, block.title),
        node(
          "thead",
          { key: "head" },
          node(
            "tr",
            {},
            block.columns.map((/** @type {string} */ name, /** @type {number} */ i) =>
              node("th", { key: i, scope: "col" }, name),
            ),
          ),
        ),
        node(
          "tbody",
          { key: "body" },
          block.rows.map((/** @type {any} */ row, /** @type {number} */ r) =>
            node(
              "tr",
              { key: r },
              row.cells.map((/** @type {any} */ cell, /** @type {number} */ i) =>
                i ? node("td", { key: i }, inlineText(cell)) : node("th", { key: i, scope: "row" }, inlineText(cell)),
              ),
            ),
          ),
        ),
      ),
    ),
  );
}

/**
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function chartBlock(view, block, section) {
  const { figure, words } = placesIn(section, "figure", "words");
  section.lessonSpec = block;
  if (!section.lessonLive) {
    const unwatch = watchWidth(figure, () => drawChart(figure, section.lessonSpec));
    section.lessonLive = { destroy: unwatch };
  }
  drawChart(figure, block);
  patchChildren(words, block.caption ? node("p", { class: "lesson-soft" }, block.caption) : null);
}

/**
 * Boxes already written on, so that names keep clear of each other.
 * @param {Box[]} taken
 * @param {number} x
 * @param {number} y
 * @param {number} wide
 * @param {Point[]} spots
 * @param {Area} area
 */
function freeSpot(taken, x, y, wide, spots, area) {
  const places = spots.map(([dx, dy]) => [x + dx, y + dy]);
  for (const [left, base] of places) {
    /** @type {Box} */
    const box = [left, base - 13, left + wide, base + 4];
    const inside = box[0] >= area.left && box[2] <= area.right && box[1] >= area.top - 14 && box[3] <= area.bottom;
    if (inside && !taken.some((t) => box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1])) {
      taken.push(box);
      return [left, base];
    }
  }
  const [left, base] = places[0];
  return [clamp(left, area.left, Math.max(area.left, area.right - wide)), clamp(base, area.top, area.bottom)];
}

const ABOVE_ZERO = 1500; // Pa of pressure from which on it is worth room below zero

/**
 * Take the room along a line, steep stretches too: a box every few pixels.
 * @param {Box[]} taken
 * @param {Point[]} corners
 */
function keepClear(taken, corners) {
  /** @type {Point[]} */
  const along = [];
  for (let i = 1; i < corners.length; i += 1) {
    const [[x0, y0], [x1, y1]] = [corners[i - 1], corners[i]];
    const pieces = Math.max(1, Math.ceil(Math.hypot(x1 - x0, y1 - y0) / 6));
    for (let k = 1; k <= pieces; k += 1) {
      const [px, py] = [x0 + ((x1 - x0) * k) / pieces, y0 + ((y1 - y0) * k) / pieces];
      taken.push([px - 2, py - 3, px + 2, py + 3]);
      along.push([px, py]);
    }
  }
  return along;
}

/**
 * Where a line bears its name: right beside it, as near as can be to where it is wanted, and clear of the other lines.
 * @param {Box[]} taken
 * @param {Point[]} own
 * @param {Point[]} others
 * @param {number} wanted
 * @param {number} wide
 * @param {Area} area
 */
function nameSpot(taken, own, others, wanted, wide, area) {
  let best = null;
  const reach = area.right - area.left;
  for (let i = 0; i < own.length; i += 3) {
    const [px, py] = own[i];
    for (const [dx, dy] of [
      [-wide / 2, -10],
      [-wide / 2, 20],
      [8, 18],
      [-wide - 8, -8],
      [9, -4],
      [-wide - 9, 8],
      [8, -12],
      [-wide - 8, 20],
    ]) {
      /** @type {Box} */
      const box = [px + dx, py + dy - 13, px + dx + wide, py + dy + 4];
      if (box[0] < area.left + 2 || box[2] > area.right || box[1] < area.top - 14 || box[3] > area.bottom - 2) continue;
      if (taken.some((t) => box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1])) continue;
      const nearest = others.reduce((least, [ox, oy]) => {
        const away = Math.hypot(Math.max(box[0] - ox, 0, ox - box[2]), Math.max(box[1] - oy, 0, oy - box[3]));
        return Math.min(least, away);
      }, 40);
      const cost = Math.abs(px - wanted) / reach + (40 - nearest) / 40;
      if (!best || cost < best.cost) best = { cost, box, spot: [px + dx, py + dy] };
    }
  }
  if (!best)
    return freeSpot(
      taken,
      wanted,
      area.top + 20,
      wide,
      [
        [8, 0],
        [8, 20],
        [8, 40],
        [-wide - 8, 0],
      ],
      area,
    );
  taken.push(best.box);
  return best.spot;
}

/**
 * One plot of vacuum against time, drawn as SVG. Values are SI; the unit stands in the specification.
 * @param {HTMLElement} host
 * @param {ChartSpec} spec
 */
export function drawChart(host, spec) {
  host.textContent = "";
  const width = Math.max(300, Math.floor(host.clientWidth || 640));
  const height = spec.height || (width < 520 ? 300 : 340);
  const area = { left: 46, right: width - 14, top: 30, bottom: height - 44 };
  const { size } = spec.unit;
  const step = roundStep(spec.high_pa / size, 5);
  const top = Math.ceil(spec.high_pa / size / step - 1e-9) * step * size;
  // Pressure instead of vacuum is drawn below zero, and bears a + as on the gauge.
  const lowest = Math.min(0, ...spec.lines.flatMap((line) => line.points.map((p) => p[1])));
  const foot = lowest < -ABOVE_ZERO ? Math.floor(lowest / size / step + 1e-9) * step * size : 0;
  /** @param {number} t */
  const x = (t) => area.left + (t / spec.span_s) * (area.right - area.left);
  /** @param {number} pa */
  const y = (pa) => area.bottom - ((Math.max(foot, pa) - foot) / (top - foot)) * (area.bottom - area.top);
  const svg = svgNode(
    "svg",
    {
      class: "lesson-chart",
      width: "100%",
      height,
      viewBox: `0 0 ${width} ${height}`,
      role: "img",
      "aria-label": spec.spoken,
    },
    host,
  );
  /**
   * @param {string} content
   * @param {number} px
   * @param {number} py
   * @param {Record<string, any>} attributes
   */
  const write = (content, px, py, attributes) => {
    const label = svgNode("text", { x: px, y: py, class: "pic-label", ...attributes }, svg);
    label.textContent = content;
    return label;
  };
  for (const mark of scaleMarks(foot / size, top / size, step)) {
    svgNode(
      "line",
      { x1: area.left, x2: area.right, y1: y(mark * size), y2: y(mark * size), class: "lesson-chart-grid" },
      svg,
    );
    write(
      (mark < -1e-9 ? "+" : "") + formatNumber(Math.abs(mark), step < 1 ? 1 : 0),
      area.left - 7,
      y(mark * size) + 4,
      { "text-anchor": "end", class: "pic-label pic-soft" },
    );
  }
  for (const mark of scaleMarks(0, spec.span_s, roundTimeStep(spec.span_s, (area.right - area.left) / 80))) {
    svgNode(
      "line",
      { x1: x(mark), x2: x(mark), y1: area.bottom, y2: area.bottom + 5, class: "lesson-chart-grid" },
      svg,
    );
    write(formatNumber(mark, 0), x(mark), area.bottom + 19, { "text-anchor": "middle", class: "pic-label pic-soft" });
  }
  write(spec.axis_y, 4, 15, { class: "pic-label pic-soft" });
  write(spec.axis_x, area.right, height - 6, { "text-anchor": "end", class: "pic-label pic-soft" });
  /** @type {any[]} */
  const taken = [];
  /** @type {Record<string, Point[]>} */
  const along = {}; // each line as points a few pixels apart
  /** @param {string} content */
  const wideOf = (content) => content.length * 6.9;
  for (const level of spec.levels || []) {
    svgNode(
      "line",
      { x1: area.left, x2: area.right, y1: y(level.pa), y2: y(level.pa), class: "lesson-chart-level" },
      svg,
    );
  }
  for (const line of spec.lines) {
    const points = line.points.filter((p) => p[0] <= spec.span_s);
    const d = points.map((p, i) => `${i ? "L" : "M"}${x(p[0]).toFixed(1)},${y(p[1]).toFixed(1)}`).join("");
    svgNode("path", { d, class: `lesson-chart-line lesson-chart-${line.style}` }, svg);
    along[line.style] = keepClear(
      taken,
      points.map((p) => /** @type {Point} */ ([x(p[0]), y(p[1])])),
    );
  }
  for (const mark of spec.marks || []) {
    const px = x(Math.min(mark.t, spec.span_s));
    taken.push([px - 3, area.top, px + 3, area.bottom]);
    if (mark.pa !== undefined && Number.isFinite(mark.pa))
      taken.push([px - 10, y(mark.pa) - 10, px + 10, y(mark.pa) + 10]);
  }
  for (const level of spec.levels || []) {
    // At the left, where every run is still low, unless one is steep: the right is where runs and guesses end.
    const wide = wideOf(level.label);
    const far = area.right - area.left - wide - 6;
    /** @type {Point[]} */
    const spots = [
      [6, -6],
      [far, -6],
      [far, 15],
      [6, 15],
      [0.6 * far, -6],
    ];
    const [left, base] = freeSpot(taken, area.left, y(level.pa), wide, spots, area);
    write(level.label, left, base, { class: "pic-label lesson-chart-level-name" });
    keepClear(taken, [
      [area.left, y(level.pa)],
      [area.right, y(level.pa)],
    ]);
  }
  for (const line of spec.lines.filter((each) => each.label)) {
    const own = along[line.style];
    const others = spec.lines.filter((each) => each !== line).flatMap((each) => along[each.style]);
    const [left, base] = nameSpot(taken, own, others, x(line.label_at), wideOf(line.label ?? ""), area);
    write(line.label ?? "", left, base, { class: `pic-label lesson-chart-name-${line.style}` });
  }
  for (const mark of spec.marks || []) {
    const px = x(Math.min(mark.t, spec.span_s));
    svgNode("line", { x1: px, x2: px, y1: area.top, y2: area.bottom, class: "lesson-chart-guess" }, svg);
    if (mark.pa !== undefined && Number.isFinite(mark.pa))
      svgNode("path", { d: `M${px},${y(mark.pa) - 8}l8,8l-8,8l-8,-8Z`, class: "lesson-chart-diamond" }, svg);
    const wide = wideOf(mark.label);
    const [left, base] = freeSpot(
      taken,
      px,
      area.top + 15,
      wide,
      [
        [7, 0],
        [-wide - 7, 0],
        [7, 18],
        [-wide - 7, 18],
        [7, 36],
        [-wide - 7, 36],
      ],
      area,
    );
    write(mark.label, left, base, { class: "pic-label lesson-chart-guess-name" });
  }
}
