// Small pictures of what to measure on a pump: the part in ink, what is measured in the colour of acts.
import { svgNode } from "../base/svg.js";

const WIDE = 124;
const HIGH = 78;

/** @typedef {[string, Record<string, any>, string?]} Shape */

/**
 * @param {string} shape
 * @param {number[]} numbers
 * @param {string} kind
 * @returns {Shape}
 */
function one(shape, numbers, kind) {
  const names = {
    rect: ["x", "y", "width", "height", "rx"],
    circle: ["cx", "cy", "r"],
    line: ["x1", "y1", "x2", "y2"],
  }[shape];
  return [
    shape,
    { class: `mp-${kind}`, ...Object.fromEntries((names ?? []).map((name, i) => [name, numbers[i] ?? 0])) },
  ];
}
/** @param {number[]} n @param {string} [kind] */
const rect = (n, kind = "metal") => one("rect", n, kind);
/** @param {number[]} n @param {string} [kind] */
const circle = (n, kind = "metal") => one("circle", n, kind);
/** @param {number[]} n @param {string} [kind] */
const line = (n, kind = "line") => one("line", n, kind);
/** @param {string} d @param {string} [kind] @returns {Shape} */
const path = (d, kind = "line") => ["path", { class: `mp-${kind}`, d }];
/** @param {number} x @param {number} y @param {string} words @param {string} [kind] @returns {Shape} */
const word = (x, y, words, kind = "word") => ["text", { class: `mp-${kind}`, x, y }, words];

/**
 * An arrow with two heads and end marks: what the tape lies along.
 * @param {number} x1
 * @param {number} y1
 * @param {number} x2
 * @param {number} y2
 * @returns {Shape[]}
 */
function tape(x1, y1, x2, y2) {
  const upright = Math.abs(x2 - x1) < Math.abs(y2 - y1);
  /** @param {number} x @param {number} y @param {number} to */
  const head = (x, y, to) =>
    upright
      ? `M${x - 4},${y + 6 * to} L${x},${y} L${x + 4},${y + 6 * to}`
      : `M${x + 6 * to},${y - 4} L${x},${y} L${x + 6 * to},${y + 4}`;
  /** @param {number} x @param {number} y */
  const end = (x, y) => (upright ? line([x - 7, y, x + 7, y], "tape") : line([x, y - 7, x, y + 7], "tape"));
  const way = upright ? Math.sign(y2 - y1) : Math.sign(x2 - x1);
  return [
    line([x1, y1, x2, y2], "tape"),
    path(head(x1, y1, way), "tape"),
    path(head(x2, y2, -way), "tape"),
    end(x1, y1),
    end(x2, y2),
  ];
}

/** A plate on a part, with the line to read. @param {string} sign @param {Shape[]} part @returns {Shape[]} */
const plate = (sign, part) => [
  ...part,
  rect([58, 18, 60, 42, 4], "paper"),
  circle([63, 23, 1.5], "ink"),
  circle([113, 23, 1.5], "ink"),
  line([66, 29, 102, 29], "faint"),
  rect([63, 34, 50, 16, 3], "mark"),
  word(88, 46.5, sign, "sign"),
  line([66, 55, 96, 55], "faint"),
];

const CASING = "M30,18 H80 Q94,18 94,32 V58 Q94,66 86,66 H38 Q30,66 30,58 Z";
const BANK = "M0,78 V62 H44 L78,30 H124 V78 Z";
/** @type {Shape[]} */
const ENGINE = [
  rect([6, 26, 46, 34, 4]),
  rect([12, 18, 22, 9, 2]),
  circle([44, 46, 10], "paper"),
  line([10, 62, 50, 62]),
];
/** @type {Shape[]} */
const VOLUTE = [circle([28, 42, 19]), path("M28,23 H50 V33", "line"), circle([28, 42, 7], "paper")];
/** @type {Shape[]} */
const SITE = [
  path("M0,56 H60 V78 H0 Z", "pond"),
  path(BANK, "earth"),
  path("M0,56 H50", "surface"),
  path("M22,66 H42 L80,26 H94", "hose"),
  rect([94, 15, 24, 16, 3]),
  rect([14, 61, 10, 10, 2], "ink"),
];
/** @type {Shape[]} */
const RING = [circle([62, 39, 33], "hosefill"), circle([62, 39, 25], "paper")];

/** @type {Record<string, Shape[]>} */
const PICTURES = {
  hose_bore_mm: [...RING, ...tape(37, 39, 87, 39)],
  hose_length_m: [
    ...SITE.slice(0, 3),
    path("M22,66 H42 L80,26 H94", "hosetape"),
    rect([94, 15, 24, 16, 3]),
    rect([14, 61, 10, 10, 2], "tapefill"),
  ],
  joints: [
    path("M4,60 H34 L90,22 H120", "hose"),
    ...[
      [30, 58, 1],
      [62, 40.5, 2],
      [104, 22, 3],
    ].flatMap(([x, y, n]) => [circle([x, y, 9], "mark"), word(x, y + 4.5, String(n), "sign")]),
  ],
  strainer_diameter_mm: [
    path("M62,4 V18", "hose"),
    rect([34, 18, 56, 40, 5]),
    ...[26, 36, 46].flatMap((y) => [44, 56, 68, 80].map((x) => circle([x, y, 2.6], "ink"))),
    ...tape(34, 68, 90, 68),
  ],
  casing_volume_l: [
    path(CASING, "metal"),
    path("M30,40 H94 V58 Q94,66 86,66 H38 Q30,66 30,58 Z", "pond"),
    path("M98,4 L118,10 L111,28 L95,23 Z", "mark"),
    path("M95,12 Q84,14 80,40", "pour"),
    rect([70, 14, 18, 5, 1], "paper"),
  ],
  casing_height_m: [path(CASING, "metal"), ...tape(62, 19, 62, 65)],
  pump_head_m: plate("H max", VOLUTE),
  pump_flow_l_s: plate("Q", VOLUTE),
  engine_speed_rpm: plate("rpm", ENGINE),
  engine_power_kw: plate("kW", ENGINE),
  compressor_l_s: plate("L/s", [
    rect([10, 36, 40, 24, 3]),
    rect([18, 16, 24, 20, 2]),
    line([18, 21, 42, 21]),
    line([18, 26, 42, 26]),
    line([18, 31, 42, 31]),
  ]),
  motive_bar: [
    circle([62, 39, 34], "paper"),
    path("M40,56 A28,28 0 1 1 84,56", "line"),
    line([62, 41, 80, 24], "tape"),
    circle([62, 41, 4], "tapefill"),
    word(62, 64, "bar", "word"),
  ],
  cock: [
    line([6, 48, 118, 48], "pipe"),
    path("M44,34 L80,62 V34 L44,62 Z", "metal"),
    line([62, 48, 62, 24]),
    line([44, 22, 82, 22], "lever"),
  ],
  line_bore_mm: [circle([62, 39, 33], "metal"), circle([62, 39, 25], "pond"), ...tape(37, 39, 87, 39)],
  line_length_m: [
    rect([4, 40, 24, 20, 3]),
    path("M28,50 H52 L84,26 H118", "hosetape"),
    path("M118,26 Q122,30 122,44", "pour"),
    path("M0,62 H60 L92,38 H124", "line"),
  ],
  "start.lift_m": [...SITE, ...tape(106, 56, 106, 24), line([50, 56, 116, 56], "dash")],
  "start.hose_length_m": [
    ...SITE.slice(0, 3),
    path("M22,66 H42 L80,26 H94", "hosetape"),
    rect([94, 15, 24, 16, 3]),
    rect([14, 61, 10, 10, 2], "tapefill"),
  ],
  "start.hose_bore_mm": [...RING, ...tape(37, 39, 87, 39)],
  "start.submergence_m": [
    path("M0,18 H124 V78 H0 Z", "pond"),
    path("M0,18 H124", "surface"),
    path("M52,62 H78 L112,0", "hose"),
    rect([38, 54, 16, 16, 3], "ink"),
    ...tape(46, 19, 46, 53),
  ],
  "start.altitude_m": [
    path("M0,64 H124 V78 H0 Z", "pond"),
    path("M26,64 L64,14 L82,36 L92,26 L120,64 Z", "earth"),
    ...tape(64, 63, 64, 16),
  ],
  "start.prime_s": [
    circle([62, 43, 30], "paper"),
    rect([57, 4, 10, 9, 2]),
    line([62, 43, 62, 22]),
    path("M62,43 L78,53", "tape"),
    circle([62, 43, 3.5], "tapefill"),
    path("M62,18 A25,25 0 0 1 83,56", "tape"),
  ],
};

/**
 * Draw the pictures that the fields ask for; each is drawn once.
 * @param {HTMLElement} section
 */
export function drawMeasures(section) {
  for (const host of section.querySelectorAll("[data-drawing]")) {
    const shapes = PICTURES[host.getAttribute("data-drawing") ?? ""];
    if (!shapes || host.firstChild) continue;
    const svg = svgNode("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "mp-svg", focusable: "false" }, host);
    for (const [tag, attributes, words] of shapes) {
      const drawn = svgNode(/** @type {any} */ (tag), attributes, svg);
      if (words) drawn.textContent = words;
    }
  }
}
