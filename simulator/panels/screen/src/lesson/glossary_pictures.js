// Small pictures for the words of the trade. Parts of the pump end are cut out of the same drawing that lessons and call-outs
// use; what lies along the hose is drawn here.
import { svgNode } from "../base/svg.js";
import { airDots } from "../picture/air.js";
import { drawAirSide, drawCavities, drawDrive, drawExhaust, drawImpeller, drawOutlines } from "../picture/pump/body.js";
import { drawCock, drawDrain, drawFittings, drawFrostDrain } from "../picture/pump/fittings.js";

/** Parts of the pump end: what to cut out [x, y, width, height] and the ring around the part [x, y, radius]. */
/** @type {Record<string, { box: number[], ring: number[] }>} */
const GLOSSARY_PUMP_PARTS = {
  casing: { box: [40, 225, 260, 205], ring: [206, 316, 84] },
  impeller: { box: [96, 240, 210, 160], ring: [206, 316, 55] },
  seal: { box: [136, 262, 140, 108], ring: [206, 316, 17] },
  nrv: { box: [166, 150, 180, 130], ring: [256, 206, 40] },
  ejector: { box: [-6, 62, 232, 164], ring: [98, 140, 60] },
  nozzle: { box: [82, 86, 150, 106], ring: [172, 140, 33] },
  screen: { box: [56, 174, 130, 96], ring: [121, 228, 29] },
  exhaust: { box: [-6, 30, 150, 150], ring: [26, 106, 34] },
  compressor: { box: [280, 78, 164, 150], ring: [388, 158, 62] },
  belt: { box: [292, 158, 152, 130], ring: [388, 224, 58] },
  receiver: { box: [246, 70, 140, 132], ring: [318, 149, 46] },
  relief_valve: { box: [262, 66, 112, 84], ring: [318, 99, 24] },
  cock: { box: [66, 126, 130, 92], ring: [124, 174, 24] },
  float: { box: [62, 152, 124, 92], ring: [121, 199, 27] },
  drain: { box: [140, 330, 132, 104], ring: [209, 404, 30] },
  frost_drain: { box: [130, 140, 170, 124], ring: [215, 189, 22] },
  flange: { box: [-6, 240, 150, 130], ring: [62, 316, 46] },
  blank_plate: { box: [-6, 240, 150, 130], ring: [40, 316, 46] },
  discharge: { box: [206, 12, 240, 130], ring: [390, 46, 30] },
};

/**
 * The pump end cut open, as the pictures of the rig draw it, with a ring around one part.
 * @param {HTMLElement} host
 * @param {string} name
 * @param {string} spoken
 */
function glossaryPump(host, name, spoken) {
  const { box, ring } = GLOSSARY_PUMP_PARTS[name];
  const svg = svgNode(
    "svg",
    { class: "pic-svg gloss-drawing", role: "img", "aria-label": spoken, viewBox: box.join(" ") },
    host,
  );
  const defs = svgNode("defs", {}, svg);
  const dots = airDots(defs, 8);
  const inside = drawCavities(svg, defs, dots);
  for (const part of Object.values(inside.air)) part(1);
  drawImpeller(svg);
  drawOutlines(svg);
  drawExhaust(svg);
  const fitted = /** @type {any} */ ({
    has_cock: name === "cock",
    has_float: name === "float",
    has_motive_gauge: true,
  });
  drawFittings(svg, fitted);
  const airSide = drawAirSide(svg, defs, dots, fitted);
  airSide.pipe(6);
  airSide.receiver(6);
  airSide.nozzle(6);
  drawDrive(svg);
  drawDrain(svg);
  drawFrostDrain(svg);
  if (name === "cock") drawCock(svg);
  if (name === "blank_plate") {
    svgNode("rect", { x: -6, y: 270, width: 59, height: 92, class: "gloss-paper" }, svg);
    svgNode("rect", { x: 44, y: 278, width: 9, height: 76, rx: 1.5, class: "gloss-plate" }, svg);
  }
  svgNode("circle", { cx: ring[0], cy: ring[1], r: ring[2], class: "gloss-ring" }, svg);
}

/**
 * A length of hose between two points, with its wall.
 * @param {SVGElement} svg
 * @param {string} d
 * @param {number} wide
 */
function glossaryHose(svg, d, wide) {
  svgNode("path", { d, class: "gloss-hose", "stroke-width": wide }, svg);
  svgNode("path", { d, class: "gloss-bore", "stroke-width": wide - 6 }, svg);
}

/**
 * @param {SVGElement} svg
 * @param {number} level
 */
function glossaryPond(svg, level) {
  svgNode("rect", { x: 0, y: level, width: 240, height: 150 - level, class: "gloss-pond" }, svg);
  svgNode("path", { d: `M0,${level}H240`, class: "pic-ink-line" }, svg);
}

/**
 * @param {SVGElement} svg
 * @param {number} x
 * @param {number} y
 */
function glossaryStrainer(svg, x, y) {
  svgNode("rect", { x, y, width: 46, height: 30, rx: 5, class: "pic-body" }, svg);
  for (let i = 0; i < 4; i += 1)
    for (let k = 0; k < 2; k += 1)
      svgNode("circle", { cx: x + 9 + i * 9.5, cy: y + 10 + k * 10, r: 2.4, class: "gloss-hole" }, svg);
}

/**
 * An arrow with two heads, for a height.
 * @param {SVGElement} svg
 * @param {number} x
 * @param {number} from
 * @param {number} to
 */
function glossaryHeight(svg, x, from, to) {
  svgNode(
    "path",
    {
      d: `M${x},${from}V${to}M${x - 5},${from - 7}L${x},${from}L${x + 5},${from - 7}M${x - 5},${to + 7}L${x},${to}L${x + 5},${to + 7}`,
      class: "gloss-measure",
    },
    svg,
  );
}

/** @type {Record<string, (svg: any) => void>} */
const GLOSSARY_DRAWN = {
  /** @param {SVGElement} svg */
  suction_side(svg) {
    glossaryPond(svg, 96);
    glossaryStrainer(svg, 14, 112);
    glossaryHose(svg, "M58,127H84Q98,127 106,114L144,58Q152,46 166,46H190", 20);
    svgNode("circle", { cx: 212, cy: 42, r: 24, class: "pic-body" }, svg);
    svgNode("path", { d: "M204,20V4H240", class: "gloss-pipe" }, svg);
  },
  /** @param {SVGElement} svg */
  lift(svg) {
    GLOSSARY_DRAWN.suction_side(svg);
    glossaryHeight(svg, 176, 96, 47);
    glossaryHeight(svg, 70, 116, 97);
    svgNode("path", { d: "M60,96H190M166,46H190", class: "gloss-dash" }, svg);
  },
  /** @param {SVGElement} svg */
  strainer(svg) {
    glossaryPond(svg, 40);
    svgNode("path", { d: "M96,84L70,0", class: "gloss-rope" }, svg);
    svgNode("rect", { x: 60, y: 82, width: 74, height: 46, rx: 7, class: "pic-body" }, svg);
    for (let i = 0; i < 6; i += 1)
      for (let k = 0; k < 3; k += 1)
        svgNode("circle", { cx: 71 + i * 10.4, cy: 93 + k * 12, r: 3, class: "gloss-hole" }, svg);
    glossaryHose(svg, "M134,105H240", 26);
  },
  /** @param {SVGElement} svg */
  joint(svg) {
    glossaryHose(svg, "M0,75H112", 44);
    glossaryHose(svg, "M128,75H240", 44);
    svgNode("rect", { x: 104, y: 44, width: 13, height: 62, class: "pic-body" }, svg);
    svgNode("rect", { x: 123, y: 44, width: 13, height: 62, class: "pic-body" }, svg);
    for (const y of [49, 93])
      svgNode("rect", { x: 117, y, width: 6, height: 8, rx: 3, class: "gloss-ring-rubber" }, svg);
    svgNode("circle", { cx: 120, cy: 75, r: 42, class: "gloss-ring" }, svg);
  },
  /** @param {SVGElement} svg */
  liner(svg) {
    glossaryHose(svg, "M0,75H240", 64);
    svgNode("path", { d: "M50,46Q120,52 128,72Q136,52 196,46Z", class: "gloss-liner" }, svg);
    svgNode("path", { d: "M50,104Q120,98 128,78Q136,98 196,104Z", class: "gloss-liner" }, svg);
    svgNode("circle", { cx: 126, cy: 75, r: 40, class: "gloss-ring" }, svg);
  },
  /** @param {SVGElement} svg */
  capped_hose(svg) {
    glossaryHose(svg, "M30,98H96Q112,98 120,86L140,60Q148,48 164,48H190", 22);
    svgNode("rect", { x: 18, y: 80, width: 14, height: 36, rx: 2, class: "gloss-plate" }, svg);
    svgNode("circle", { cx: 212, cy: 44, r: 24, class: "pic-body" }, svg);
    svgNode("circle", { cx: 25, cy: 98, r: 26, class: "gloss-ring" }, svg);
  },
  /** @param {SVGElement} svg */
  gauge(svg) {
    svgNode("circle", { cx: 120, cy: 76, r: 62, class: "pic-dial" }, svg);
    for (let i = 0; i <= 20; i += 1) {
      const a = ((-220 + i * 13) * Math.PI) / 180;
      const inner = i % 5 ? 53 : 47;
      svgNode(
        "line",
        {
          x1: 120 + inner * Math.cos(a),
          y1: 76 + inner * Math.sin(a),
          x2: 120 + 58 * Math.cos(a),
          y2: 76 + 58 * Math.sin(a),
          class: "pic-ink-line",
        },
        svg,
      );
    }
    svgNode("path", { d: "M120,76L90,40", class: "gloss-needle" }, svg);
    svgNode("circle", { cx: 120, cy: 76, r: 5, class: "pic-dark" }, svg);
  },
  /** @param {SVGElement} svg */
  hold(svg) {
    svgNode("path", { d: "M30,10V128H226", class: "pic-ink-line" }, svg);
    svgNode("path", { d: "M30,128Q60,40 104,34L222,42", class: "gloss-curve" }, svg);
    svgNode("path", { d: "M104,34L212,112", class: "gloss-dash" }, svg);
    svgNode("path", { d: "M104,14V128", class: "gloss-dash" }, svg);
  },
};

/**
 * Draw the picture of a name into a host.
 * @param {HTMLElement} host
 * @param {string} name
 * @param {string} spoken
 */
export function glossaryPicture(host, name, spoken) {
  if (GLOSSARY_PUMP_PARTS[name]) return glossaryPump(host, name, spoken);
  if (!GLOSSARY_DRAWN[name]) return null;
  return GLOSSARY_DRAWN[name](
    svgNode("svg", { class: "pic-svg gloss-drawing", role: "img", "aria-label": spoken, viewBox: "0 0 240 150" }, host),
  );
}
