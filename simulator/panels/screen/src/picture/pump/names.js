// Names of the parts of the pump end, and the numbers that stand for them where there is no room for words.
import { svgNode, svgText } from "../../base/svg.js";
import { setApart, setBeside } from "../tags.js";
import { PUMP_SIZE } from "./body.js";

/** Names beside the parts: [key, x, y, anchor]. Those of parts with a state change with the frame. */
/** @type {[name: string, x: number, y: number, anchor: string][]} */
export const PART_NAMES = [
  ["exhaust", 46, 80, "start"],
  ["ejector", 112, 114, "middle"],
  ["air_line", 203, 122, "middle"],
  ["screen", 96, 229, "end"],
  ["relief", 325, 81, "middle"],
  ["compressor", 382, 100, "middle"],
  ["filter", 440, 116, "end"],
  ["nrv", 288, 225, "start"],
  ["belt", 343, 268, "end"],
  ["engine", 438, 417, "end"],
  ["drain", 179, 424, "end"],
  ["suction", 5, 390, "start"],
  ["casing", 82, 336, "start"],
  ["nozzle", 184, 168, "middle"],
  ["to_discharge_short", 438, 51, "end"],
  ["discharge_valve", 312, 24, "end"],
  ["frost_drain", 145, 212, "start"],
  ["frost_state", 145, 227, "start"],
  ["cock", 105, 179, "end"],
  ["float", 99, 204, "end"],
];

/**
 * Where the line of a number ends that stands beside the picture: [x, y] on the part, and the side that it comes from.
 * @type {Record<string, [x: number, y: number, side: "left" | "right"]>}
 */
const NUMBERED = {
  exhaust: [24, 98, "left"],
  ejector: [64, 132, "left"],
  nozzle: [152, 147, "left"],
  cock: [122, 174, "left"],
  float: [116, 202, "left"],
  frost_drain: [212, 187, "left"],
  screen: [110, 226, "left"],
  casing: [100, 346, "left"],
  suction: [16, 302, "left"],
  drain: [200, 404, "left"],
  discharge_valve: [331, 32, "right"],
  to_discharge_short: [426, 50, "right"],
  relief: [318, 100, "right"],
  compressor: [392, 116, "right"],
  filter: [432, 136, "right"],
  air_line: [340, 140, "right"],
  nrv: [268, 216, "right"],
  belt: [412, 300, "right"],
  engine: [418, 380, "right"],
};
/**
 * Parts in the order of their numbers, down the left side and then down the right: a rig has the same ones in every layout,
 * and none is left out.
 * @param {string} one
 * @param {string} other
 */
export const byNumber = (one, other) => inOrder(NUMBERED[one], NUMBERED[other]);

const TAG = 9.5; // px, radius of a number
const BESIDE = 12; // px from the picture to the edge of a number beside it

/**
 * The spot that stands nearest to a point.
 * @param {any[]} spots
 * @param {[x: number, y: number, side: string]} point
 */
function nearestOf(spots, [x, y]) {
  return spots.reduce((best, spot) =>
    Math.hypot(spot.x - x, spot.y - y) < Math.hypot(best.x - x, best.y - y) ? spot : best,
  );
}

/**
 * The spots of numbers beside the picture: what is pressed there leads where the part leads.
 * @param {any[]} spots of the parts
 * @param {any[]} entries in the order of their numbers
 * @param {Point[]} places of the numbers
 */
export function besideSpots(spots, entries, places) {
  return entries.map(([name], i) => ({
    ...nearestOf(spots, NUMBERED[name]),
    x: places[i][0],
    y: places[i][1],
    reach: 0.5,
  }));
}

/**
 * How much room numbers take on either side of the picture [picture units]; 0 where there is none, and they lie on it.
 * Where there is, they stand there as on an assembly drawing, and hide no part.
 * @param {number} room width of the cell [px]
 * @param {number} scale [px a picture unit]
 */
export function roomBeside(room, scale) {
  const aside = (2 * TAG + BESIDE + 1) / scale;
  return (room / scale - PUMP_SIZE.width) / 2 >= aside ? aside : 0;
}

/**
 * Draw the numbers, in order from the top of the left column on where they stand beside the picture.
 * @param {SVGSVGElement} svg
 * @param {any[]} entries [name, x, y, anchor, words], put into the order of their numbers
 * @param {number} scale [px a picture unit]
 * @param {number} margin room beside the picture, 0 where they lie on it
 * @returns {Point[]} where they stand
 */
export function drawNumbers(svg, entries, scale, margin) {
  const { width, height, top } = PUMP_SIZE;
  const r = TAG / scale;
  const edge = r + 1 / scale;
  const within = { left: edge - margin, right: width + margin - edge, top: top + edge, bottom: top + height - edge };
  entries.sort(([a], [b]) => byNumber(a, b));
  const places = margin
    ? setBeside(
        entries.map(([name]) => ({ part: [NUMBERED[name][0], NUMBERED[name][1]], side: NUMBERED[name][2] })),
        within,
        2 * r + 1 / scale,
      )
    : setApart(
        entries.map(([, x, y, anchor]) => [anchor === "start" ? x + r : anchor === "end" ? x - r : x, y - 4]),
        2 * r + 2 / scale,
        within,
      );
  if (margin) entries.forEach(([name], i) => drawLine(svg, places[i], NUMBERED[name], r, scale));
  places.forEach(([cx, cy], i) => {
    svgNode("circle", { cx, cy, r, class: "pic-tag" }, svg);
    svgText(svg, cx, cy, String(i + 1), {
      "text-anchor": "middle",
      "dominant-baseline": "central",
      class: "pic-label pic-tag-text",
    });
  });
  return places;
}

/** Where a letter stands that words beside the picture speak of; other parts have theirs where their number points. */
/** @type {Record<string, Point>} */
const LETTERED = { flange: [54, 262], suction: [26, 314], drain: [254, 404], nrv: [296, 194] };

/**
 * Letters on parts, in the order of the names: A, B, C. Numbers are for the names of all parts, where there is no room.
 * @param {SVGSVGElement} svg
 * @param {string[]} names
 * @param {number} scale
 */
export function drawLetters(svg, names, scale) {
  names.forEach((name, i) => {
    const [cx, cy] = LETTERED[name] ?? NUMBERED[name];
    svgNode("circle", { cx, cy, r: TAG / scale, class: "pic-tag" }, svg);
    svgText(svg, cx, cy, String.fromCharCode(65 + i), {
      "text-anchor": "middle",
      "dominant-baseline": "central",
      class: "pic-label pic-tag-text",
    });
  });
}

/**
 * @param {[x: number, y: number, side: string]} one
 * @param {[x: number, y: number, side: string]} other
 */
function inOrder(one, other) {
  if (one[2] === other[2]) return one[1] - other[1];
  return one[2] === "left" ? -1 : 1;
}

/**
 * A line from a number to its part.
 * @param {SVGSVGElement} svg
 * @param {Point} place
 * @param {[x: number, y: number, side: string]} part
 * @param {number} r
 * @param {number} scale
 */
function drawLine(svg, [cx, cy], [x, y], r, scale) {
  const far = Math.hypot(x - cx, y - cy);
  const from = [cx + ((x - cx) * r) / far, cy + ((y - cy) * r) / far];
  const d = `M${from.map((n) => n.toFixed(1))}L${x},${y}`;
  svgNode("path", { d, class: "pic-tag-under", "stroke-width": 3 / scale }, svg);
  svgNode("path", { d, class: "pic-tag-line", "stroke-width": 1 / scale }, svg);
  svgNode("circle", { cx: x, cy: y, r: 2.2 / scale, class: "pic-tag-end" }, svg);
}
