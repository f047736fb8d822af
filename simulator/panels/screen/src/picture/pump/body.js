// The pump end in its own units (440 wide, y from 10 to 440): outlines of the parts, one function a group of parts.
// Flow runs left to right: suction flange, casing with impeller, NRV, discharge; above it the ejector, fed from the right.
import { svgId, svgNode } from "../../base/svg.js";
import { airBody } from "../air.js";
import { createPlume } from "../frame.js";

/** Where the handle of the drain valve turns, and how far it reaches down when it is open. */
export const DRAIN = { pivot: 405, reach: 31 };

export const PUMP_SIZE = { width: 440, height: 430, top: 10 };

export const CASING = { x: 206, y: 316, r: 70, impeller: 45, bottom: 386, lip: 342, crown: 246 };

const CASING_PATH =
  "M66,290H74V270Q74,262 82,262H108V238H134V262H160A70,70 0 0 1 236,253V234H276V316A70,70 0 0 1 206,386A70,70 0 0 1 152,361H84Q74,361 74,351V342H66Z";

const SUCTION_PATH = "M-4,290H66V342H-4Z";

const NECK_PATH = "M111,238V166H131V238Z";

const EJECTOR_PATH = "M166,126V154H136Q131,156 131,166H111Q111,160 98,154L88,147H58L30,155V125L58,133H88L98,126H166Z";

const NRV_PATH = "M236,234L228,222V190Q228,178 240,174H272Q284,178 284,190V222L276,234Z";

const LINE_PATH = "M236,174V55Q236,31 260,31H446V62H284Q276,62 276,70V174Z";

const EXHAUST_LINE = "M33,140Q22,140 22,122V84";

const AIR_LINE = "M364,140H206";

/**
 * A body of air in a closed outline.
 * @param {Element} parent
 * @param {string} path
 * @param {AirDots} dots
 */
function drawAirIn(parent, path, dots) {
  return airBody((/** @type {string} */ className) => svgNode("path", { d: path, class: className }, parent), dots);
}

/**
 * A clip of the outlines given.
 * @param {SVGElement} defs
 * @param {any} paths
 */
function clipTo(defs, paths) {
  const id = svgId("clip");
  const clip = svgNode("clipPath", { id }, defs);
  for (const d of paths) svgNode("path", { d }, clip);
  return `url(#${id})`;
}

/**
 * Ways through the machine, seen cut open: air by pressure, water by level.
 * @param {SVGSVGElement} svg
 * @param {SVGElement} defs
 * @param {AirDots} dots
 */
export function drawCavities(svg, defs, dots) {
  const group = svgNode("g", {}, svg);
  const air = {
    suction: drawAirIn(group, SUCTION_PATH, dots),
    casing: drawAirIn(group, CASING_PATH, dots),
    neck: drawAirIn(group, NECK_PATH, dots),
    ejector: drawAirIn(group, EJECTOR_PATH, dots),
    nrv: drawAirIn(group, NRV_PATH, dots),
    line: drawAirIn(group, LINE_PATH, dots),
  };
  /** @param {any} clip */
  const box = (clip) => {
    const holder = svgNode("g", { "clip-path": clip }, group);
    return svgNode("rect", { x: -6, y: 442, width: 460, height: 442, class: "pic-water" }, holder);
  };
  const water = {
    casing: box(clipTo(defs, [CASING_PATH])),
    suction: box(clipTo(defs, [SUCTION_PATH])),
    neck: box(clipTo(defs, [NECK_PATH])),
    ejector: svgNode("path", { d: EJECTOR_PATH, class: "pic-water", display: "none" }, group),
    line: box(clipTo(defs, [NRV_PATH, LINE_PATH])),
  };
  water.suction.setAttribute("width", "0");
  const flow = {
    suction: svgNode(
      "path",
      { d: "M-4,316H150", class: "pic-flow", "stroke-width": 4, "stroke-dasharray": "12 16", display: "none" },
      group,
    ),
    line: svgNode(
      "path",
      {
        d: "M256,232V67Q256,46.5 276,46.5H352", // short of its name
        class: "pic-flow",
        "stroke-width": 4,
        "stroke-dasharray": "12 16",
        display: "none",
      },
      group,
    ),
  };
  return { group, air, water, flow };
}

/**
 * Ink outlines of the cut metal.
 * @param {SVGSVGElement} svg
 */
export function drawOutlines(svg) {
  const group = svgNode("g", { class: "pic-outline" }, svg);
  svgNode("path", { d: "M-4,290H66M-4,342H66" }, group);
  svgNode(
    "path",
    {
      d: "M66,290H74V270Q74,262 82,262H108V238M134,238V262H160A70,70 0 0 1 236,253V234M276,234V316A70,70 0 0 1 206,386A70,70 0 0 1 152,361H84Q74,361 74,351V342H66",
    },
    group,
  );
  svgNode(
    "path",
    {
      d: "M111,218V166Q111,160 98,154L88,147H58L30,155M30,125L58,133H88L98,126H166V132M166,148V154H136Q131,156 131,166V218",
    },
    group,
  );
  svgNode(
    "path",
    {
      d: "M236,234L228,222V190Q228,178 240,174H236V55Q236,31 260,31H446M276,234L284,222V190Q284,178 272,174H276V70Q276,62 284,62H446",
    },
    group,
  );
  return group;
}

/**
 * Closed housings for the view from outside: the same shapes in solid metal with flanges and bolts.
 * @param {SVGSVGElement} svg
 */
export function drawCover(svg) {
  const cover = svgNode("g", { class: "pic-cover", display: "none" }, svg);
  svgNode("path", { d: SUCTION_PATH, class: "pic-hose-solid" }, cover);
  for (let x = 4; x < 52; x += 8) svgNode("path", { d: `M${x},291q3.5,25 0,50`, class: "pic-fine" }, cover);
  for (const d of [NECK_PATH, CASING_PATH, EJECTOR_PATH, LINE_PATH, NRV_PATH]) {
    svgNode("path", { d, class: "pic-metal" }, cover);
  }
  svgNode("circle", { cx: 206, cy: 316, r: 56, class: "pic-fine" }, cover);
  svgNode("circle", { cx: 206, cy: 316, r: 24, class: "pic-fine" }, cover);
  for (let i = 0; i < 8; i += 1) {
    const a = (i * Math.PI) / 4 + 0.3;
    svgNode("circle", { cx: 206 + 63 * Math.cos(a), cy: 316 + 63 * Math.sin(a), r: 2.6, class: "pic-bolt" }, cover);
  }
  svgNode("path", { d: "M240,184H272", class: "pic-fine" }, cover);
  for (const y of [191, 218])
    for (const x of [235, 277]) svgNode("circle", { cx: x, cy: y, r: 2.4, class: "pic-bolt" }, cover);
  svgNode("path", { d: "M100,130V152M166,126V154", class: "pic-fine" }, cover);
  return cover;
}

/**
 * Nozzle with the motive air line, receiver, relief valve and gauge.
 * @param {SVGSVGElement} svg
 * @param {SVGElement} defs
 * @param {AirDots} dots
 * @param {Rig} rig
 */
export function drawAirSide(svg, defs, dots, rig) {
  const nodes = {};
  const receiver = "M306,122Q306,112 316,112H320Q330,112 330,122V176Q330,186 320,186H316Q306,186 306,176Z";
  nodes.pipeWall = svgNode("path", { d: AIR_LINE, class: "pic-air-line-wall" }, svg);
  nodes.pipeIn = svgNode("g", { class: "pic-tube" }, svg);
  nodes.pipe = airBody(
    (/** @type {string} */ className) =>
      svgNode("path", { d: AIR_LINE, class: className, "stroke-width": 6 }, nodes.pipeIn),
    dots,
    "stroke",
  );
  nodes.pipeCover = svgNode("path", { d: AIR_LINE, class: "pic-air-line-cover", display: "none" }, svg);
  nodes.feed = svgNode("path", { d: AIR_LINE, class: "pic-feed", "stroke-dasharray": "5 13", display: "none" }, svg);
  nodes.receiverIn = svgNode("g", {}, svg);
  nodes.receiver = drawAirIn(nodes.receiverIn, receiver, dots);
  nodes.receiverCover = svgNode("path", { d: receiver, class: "pic-metal", display: "none" }, svg);
  svgNode("path", { d: receiver, class: "pic-outline-only" }, svg);
  // relief valve: a spring in a bonnet on the receiver
  svgNode("rect", { x: 311, y: 104, width: 14, height: 9, class: "pic-body" }, svg);
  nodes.bonnet = svgNode("g", {}, svg);
  svgNode("rect", { x: 312.5, y: 88, width: 11, height: 16, rx: 2, class: "pic-body" }, nodes.bonnet);
  svgNode("path", { d: "M314,101L322,98L314,95L322,92", class: "pic-fine" }, nodes.bonnet);
  nodes.puff = svgNode("g", { display: "none" }, svg);
  for (const d of ["M309,106q-9,-3 -14,3", "M309,102q-10,-9 -17,-4", "M327,106q9,-3 12,-1", "M327,102q7,-8 11,-6"])
    svgNode("path", { d, class: "pic-puff" }, nodes.puff);
  nodes.sound = svgNode("g", { display: "none" }, svg);
  for (const d of ["M304,90q-6,7 0,14", "M298,86q-10,11 0,22", "M332,90q6,7 0,14"])
    svgNode("path", { d, class: "pic-sound" }, nodes.sound);
  if (rig.has_motive_gauge !== false) {
    svgNode("path", { d: "M292,136V126", class: "pic-ink-line" }, svg);
    svgNode("circle", { cx: 292, cy: 118, r: 8.5, class: "pic-dial" }, svg);
    nodes.needle = svgNode("line", { x1: 292, y1: 118, x2: 292, y2: 111.5, class: "pic-ink-line" }, svg);
  }
  // nozzle and jet
  nodes.jet = svgNode("g", {}, svg);
  nodes.jetBlown = svgNode("g", {}, nodes.jet);
  nodes.jetBody = svgNode(
    "path",
    { d: "M128,138.6L88,135.5H58L32,128V152L58,144.5H88L128,141.4Z", class: "pic-jet-body" },
    nodes.jetBlown,
  );
  nodes.jetDash = svgNode("path", { d: "M128,140H34", class: "pic-jet", "stroke-dasharray": "9 7" }, nodes.jetBlown);
  svgNode("path", { d: "M206,132.5H160L132,137.6V142.4L160,147.5H206Z", class: "pic-nozzle" }, svg);
  nodes.bore = svgNode("g", {}, svg);
  nodes.nozzle = drawAirIn(nodes.bore, "M206,137H162L132,139.2V140.8L162,143H206Z", dots);
  nodes.nozzleCover = svgNode("path", { d: "M206,130H166V150H206Z", class: "pic-metal", display: "none" }, svg);
  nodes.pull = svgNode(
    "path",
    { d: "M121,214V172M117,182L121,173L125,182M117,204L121,195L125,204", class: "pic-pull", display: "none" },
    svg,
  );
  return nodes;
}

/**
 * Exhaust hose and what comes out of it.
 * @param {SVGSVGElement} svg
 */
export function drawExhaust(svg) {
  svgNode("path", { d: EXHAUST_LINE, class: "pic-exhaust-wall" }, svg);
  const inside = svgNode("path", { d: EXHAUST_LINE, class: "pic-exhaust-in" }, svg);
  const cover = svgNode("path", { d: EXHAUST_LINE, class: "pic-exhaust-cover", display: "none" }, svg);
  const plume = svgNode("g", { transform: "translate(22,81)" }, svg);
  return { inside, cover, setPlume: createPlume(plume, 52) };
}

/**
 * Impeller, engine pulley, belt and compressor.
 * @param {SVGSVGElement} svg
 */
export function drawDrive(svg) {
  const nodes = {};
  nodes.engine = svgNode("g", {}, svg);
  svgNode("rect", { x: 322, y: 296, width: 112, height: 96, rx: 7, class: "pic-body" }, nodes.engine);
  for (let i = 0; i < 3; i += 1)
    svgNode("line", { x1: 332, x2: 348, y1: 312 + i * 9, y2: 312 + i * 9, class: "pic-fine" }, nodes.engine);
  svgNode("path", { d: "M316,392H440V400H316Z", class: "pic-dark" }, nodes.engine);
  nodes.compressor = svgNode("g", {}, svg);
  svgNode("rect", { x: 366, y: 112, width: 44, height: 56, rx: 3, class: "pic-body" }, nodes.compressor);
  for (let i = 0; i < 5; i += 1)
    svgNode("line", { x1: 361, x2: 415, y1: 121 + i * 8, y2: 121 + i * 8, class: "pic-fin" }, nodes.compressor);
  svgNode("rect", { x: 362, y: 166, width: 52, height: 46, rx: 10, class: "pic-body" }, nodes.compressor);
  nodes.shake = svgNode(
    "path",
    { d: "M428,290q6,-2 10,4M318,300q-5,5 -3,12M437,402q-3,5 -9,5", class: "pic-shake", display: "none" },
    svg,
  );
  nodes.beltTaut = svgNode("path", { d: "M367.2,189L358.4,340M408.8,189L417.6,340", class: "pic-belt" }, svg);
  nodes.beltSlack = svgNode(
    "path",
    { d: "M367.2,189Q378,266 358.4,340M408.8,189Q398,268 417.6,340", class: "pic-belt", display: "none" },
    svg,
  );
  nodes.beltOff = svgNode(
    "path",
    {
      d: "M361,318Q388,292 415,318Q430,344 410,362Q394,374 377,368Q352,350 361,318Z",
      class: "pic-belt",
      display: "none",
    },
    svg,
  );
  nodes.beltDash = svgNode(
    "path",
    {
      d: "M358.4,340L367.2,189A20.8,20.8 0 0 1 408.8,189L417.6,340",
      class: "pic-belt-dash",
      "stroke-dasharray": "7 11",
    },
    svg,
  );
  /**
   * @param {number} cx
   * @param {number} cy
   * @param {number} r
   */
  const wheel = (cx, cy, r) => {
    const group = svgNode("g", {}, svg);
    svgNode("circle", { cx, cy, r, class: "pic-wheel" }, group);
    const spokes = svgNode(
      "path",
      { d: `M${cx - r * 0.72},${cy}H${cx + r * 0.72}M${cx},${cy - r * 0.72}V${cy + r * 0.72}`, class: "pic-spoke" },
      group,
    );
    svgNode("circle", { cx, cy, r: r * 0.24, class: "pic-dark" }, group);
    return spokes;
  };
  nodes.small = { spokes: wheel(388, 189, 19.5), x: 388, y: 189 };
  nodes.large = { spokes: wheel(388, 340, 28.5), x: 388, y: 340 };
  return nodes;
}

/**
 * Impeller with swept-back vanes, turning towards the riser.
 * @param {SVGSVGElement} svg
 */
export function drawImpeller(svg) {
  const group = svgNode("g", {}, svg);
  svgNode("circle", { cx: 206, cy: 316, r: 45, class: "pic-impeller-ring" }, group);
  const vanes = svgNode("g", { class: "pic-vane" }, group);
  for (let i = 0; i < 6; i += 1)
    svgNode("path", { d: "M206,305Q212,290 230,284", transform: `rotate(${i * 60},206,316)` }, vanes);
  svgNode("circle", { cx: 206, cy: 316, r: 10, class: "pic-dark" }, group);
  svgNode("path", { d: "M252,306A47,47 0 0 0 240,283M240,283l-1,8M240,283l8,2", class: "pic-turn" }, group);
  return { group, vanes };
}
