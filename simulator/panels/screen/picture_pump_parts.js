// The pump end in its own units (440 wide, y from 10 to 434): outlines of the parts, one function a group of parts.
// Flow runs left to right: suction flange, casing with impeller, NRV, discharge; above it the ejector, fed from the right.

const PICTURE_PUMP_SIZE = { width: 440, height: 424, top: 10 };
const PICTURE_PUMP_CASING = { x: 206, y: 316, r: 70, impeller: 45, bottom: 386, lip: 342, crown: 246 };
const PICTURE_PUMP_CASING_PATH =
  "M66,290H74V270Q74,262 82,262H108V238H134V262H160A70,70 0 0 1 236,253V234H276V316A70,70 0 0 1 206,386A70,70 0 0 1 152,361H84Q74,361 74,351V342H66Z";
const PICTURE_PUMP_SUCTION_PATH = "M-4,290H66V342H-4Z";
const PICTURE_PUMP_NECK_PATH = "M111,238V166H131V238Z";
const PICTURE_PUMP_EJECTOR_PATH =
  "M166,126V154H136Q131,156 131,166H111Q111,160 98,154L88,147H58L30,155V125L58,133H88L98,126H166Z";
const PICTURE_PUMP_NRV_PATH = "M236,234L228,222V190Q228,178 240,174H272Q284,178 284,190V222L276,234Z";
const PICTURE_PUMP_LINE_PATH = "M236,174V55Q236,31 260,31H446V62H284Q276,62 276,70V174Z";
const PICTURE_PUMP_EXHAUST_LINE = "M33,140Q22,140 22,122V84";
const PICTURE_PUMP_AIR_LINE = "M364,140H206";

/** A body of air in a closed outline. */
function picturePumpAir(parent, path, dots) {
  return paletteAirBody((className) => paletteNode("path", { d: path, class: className }, parent), dots);
}

/** A clip of the outlines given. */
function picturePumpClip(defs, paths) {
  const id = paletteId("clip");
  const clip = paletteNode("clipPath", { id }, defs);
  for (const d of paths) paletteNode("path", { d }, clip);
  return `url(#${id})`;
}

/** Ways through the machine, seen cut open: air by pressure, water by level. */
function picturePumpCavities(svg, defs, dots) {
  const group = paletteNode("g", {}, svg);
  const air = {
    suction: picturePumpAir(group, PICTURE_PUMP_SUCTION_PATH, dots),
    casing: picturePumpAir(group, PICTURE_PUMP_CASING_PATH, dots),
    neck: picturePumpAir(group, PICTURE_PUMP_NECK_PATH, dots),
    ejector: picturePumpAir(group, PICTURE_PUMP_EJECTOR_PATH, dots),
    nrv: picturePumpAir(group, PICTURE_PUMP_NRV_PATH, dots),
    line: picturePumpAir(group, PICTURE_PUMP_LINE_PATH, dots),
  };
  const box = (clip) => {
    const holder = paletteNode("g", { "clip-path": clip }, group);
    return paletteNode("rect", { x: -6, y: 442, width: 460, height: 442, class: "pic-water" }, holder);
  };
  const water = {
    casing: box(picturePumpClip(defs, [PICTURE_PUMP_CASING_PATH])),
    suction: box(picturePumpClip(defs, [PICTURE_PUMP_SUCTION_PATH])),
    neck: box(picturePumpClip(defs, [PICTURE_PUMP_NECK_PATH])),
    ejector: paletteNode("path", { d: PICTURE_PUMP_EJECTOR_PATH, class: "pic-water", display: "none" }, group),
    line: box(picturePumpClip(defs, [PICTURE_PUMP_NRV_PATH, PICTURE_PUMP_LINE_PATH])),
  };
  water.suction.setAttribute("width", 0);
  const flow = {
    suction: paletteNode("path", { d: "M-4,316H150", class: "pic-flow", "stroke-width": 4, "stroke-dasharray": "12 16", display: "none" }, group),
    line: paletteNode("path", { d: "M256,232V67Q256,46.5 276,46.5H446", class: "pic-flow", "stroke-width": 4, "stroke-dasharray": "12 16", display: "none" }, group),
  };
  return { group, air, water, flow };
}

/** Ink outlines of the cut metal. */
function picturePumpOutlines(svg) {
  const group = paletteNode("g", { class: "pic-outline" }, svg);
  paletteNode("path", { d: "M-4,290H66M-4,342H66" }, group);
  paletteNode("path", { d: "M66,290H74V270Q74,262 82,262H108V238M134,238V262H160A70,70 0 0 1 236,253V234M276,234V316A70,70 0 0 1 206,386A70,70 0 0 1 152,361H84Q74,361 74,351V342H66" }, group);
  paletteNode("path", { d: "M111,218V166Q111,160 98,154L88,147H58L30,155M30,125L58,133H88L98,126H166V132M166,148V154H136Q131,156 131,166V218" }, group);
  paletteNode("path", { d: "M236,234L228,222V190Q228,178 240,174H236V55Q236,31 260,31H446M276,234L284,222V190Q284,178 272,174H276V70Q276,62 284,62H446" }, group);
  return group;
}

/** Closed housings for the view from outside: the same shapes in solid metal with flanges and bolts. */
function picturePumpCover(svg) {
  const cover = paletteNode("g", { class: "pic-cover", display: "none" }, svg);
  paletteNode("path", { d: PICTURE_PUMP_SUCTION_PATH, class: "pic-hose-solid" }, cover);
  for (let x = 4; x < 52; x += 8) paletteNode("path", { d: `M${x},291q3.5,25 0,50`, class: "pic-fine" }, cover);
  for (const d of [PICTURE_PUMP_NECK_PATH, PICTURE_PUMP_CASING_PATH, PICTURE_PUMP_EJECTOR_PATH, PICTURE_PUMP_LINE_PATH, PICTURE_PUMP_NRV_PATH]) {
    paletteNode("path", { d, class: "pic-metal" }, cover);
  }
  paletteNode("circle", { cx: 206, cy: 316, r: 56, class: "pic-fine" }, cover);
  paletteNode("circle", { cx: 206, cy: 316, r: 24, class: "pic-fine" }, cover);
  for (let i = 0; i < 8; i += 1) {
    const a = (i * Math.PI) / 4 + 0.3;
    paletteNode("circle", { cx: 206 + 63 * Math.cos(a), cy: 316 + 63 * Math.sin(a), r: 2.6, class: "pic-bolt" }, cover);
  }
  paletteNode("path", { d: "M240,184H272", class: "pic-fine" }, cover);
  for (const y of [191, 218]) for (const x of [235, 277]) paletteNode("circle", { cx: x, cy: y, r: 2.4, class: "pic-bolt" }, cover);
  paletteNode("path", { d: "M100,130V152M166,126V154", class: "pic-fine" }, cover);
  return cover;
}

/** Suction flange, screen box, NRV seat and ball, optional cock and float separator. */
function picturePumpFittings(svg, rig) {
  const nodes = {};
  nodes.flange = paletteNode("g", {}, svg);
  paletteNode("rect", { x: 54, y: 280, width: 8, height: 72, rx: 1.5, class: "pic-band" }, nodes.flange);
  paletteNode("rect", { x: 63, y: 280, width: 8, height: 72, rx: 1.5, class: "pic-band" }, nodes.flange);
  nodes.screenOpen = paletteNode("g", {}, svg);
  paletteNode("rect", { x: 100, y: 218, width: 42, height: 20, rx: 2, class: "pic-screen-box" }, nodes.screenOpen);
  for (let i = 0; i < 6; i += 1) {
    paletteNode("line", { x1: 105 + i * 6.4, x2: 105 + i * 6.4, y1: 221, y2: 235, class: "pic-mesh" }, nodes.screenOpen);
  }
  nodes.screenShut = paletteNode("g", { display: "none" }, svg);
  paletteNode("rect", { x: 100, y: 218, width: 42, height: 20, rx: 2, class: "pic-metal" }, nodes.screenShut);
  for (const x of [105, 137]) for (const y of [223, 233]) paletteNode("circle", { cx: x, cy: y, r: 1.8, class: "pic-bolt" }, nodes.screenShut);
  nodes.seat = paletteNode("path", { d: "M236,230H244M268,230H276", class: "pic-seat" }, svg);
  nodes.ball = paletteNode("g", {}, svg);
  paletteNode("circle", { cx: 256, cy: 211, r: 18.5, class: "pic-ball" }, nodes.ball);
  paletteNode("path", { d: "M246,203Q250,197 257,197", class: "pic-shine" }, nodes.ball);
  if (rig.has_float) {
    const box = paletteNode("g", {}, svg);
    paletteNode("rect", { x: 102, y: 184, width: 38, height: 30, rx: 7, class: "pic-metal-line" }, box);
    nodes.float = paletteNode("g", {}, box);
    paletteNode("circle", { cx: 121, cy: 203, r: 7, class: "pic-float" }, nodes.float);
    paletteNode("path", { d: "M121,196V191", class: "pic-fine" }, nodes.float);
    paletteNode("path", { d: "M116,186H126", class: "pic-ink-line" }, box);
  }
  return nodes;
}

/** Nozzle with the motive air line, receiver, relief valve and gauge. */
function picturePumpAirSide(svg, defs, dots, rig) {
  const nodes = {};
  const receiver = "M306,122Q306,112 316,112H320Q330,112 330,122V176Q330,186 320,186H316Q306,186 306,176Z";
  nodes.pipeWall = paletteNode("path", { d: PICTURE_PUMP_AIR_LINE, class: "pic-air-line-wall" }, svg);
  nodes.pipeIn = paletteNode("g", { class: "pic-tube" }, svg);
  nodes.pipe = paletteAirBody((className) => paletteNode("path", { d: PICTURE_PUMP_AIR_LINE, class: className, "stroke-width": 6 }, nodes.pipeIn), dots, "stroke");
  nodes.pipeCover = paletteNode("path", { d: PICTURE_PUMP_AIR_LINE, class: "pic-air-line-cover", display: "none" }, svg);
  nodes.feed = paletteNode("path", { d: PICTURE_PUMP_AIR_LINE, class: "pic-feed", "stroke-dasharray": "5 13", display: "none" }, svg);
  nodes.receiverIn = paletteNode("g", {}, svg);
  nodes.receiver = picturePumpAir(nodes.receiverIn, receiver, dots);
  nodes.receiverCover = paletteNode("path", { d: receiver, class: "pic-metal", display: "none" }, svg);
  paletteNode("path", { d: receiver, class: "pic-outline-only" }, svg);
  // relief valve: a spring in a bonnet on the receiver
  paletteNode("rect", { x: 311, y: 104, width: 14, height: 9, class: "pic-body" }, svg);
  nodes.bonnet = paletteNode("g", {}, svg);
  paletteNode("rect", { x: 312.5, y: 88, width: 11, height: 16, rx: 2, class: "pic-body" }, nodes.bonnet);
  paletteNode("path", { d: "M314,101L322,98L314,95L322,92", class: "pic-fine" }, nodes.bonnet);
  nodes.puff = paletteNode("g", { display: "none" }, svg);
  for (const d of ["M309,106q-9,-3 -14,3", "M309,102q-10,-9 -17,-4", "M327,106q9,-3 12,-1", "M327,102q7,-8 11,-6"]) paletteNode("path", { d, class: "pic-puff" }, nodes.puff);
  nodes.sound = paletteNode("g", { display: "none" }, svg);
  for (const d of ["M304,90q-6,7 0,14", "M298,86q-10,11 0,22", "M332,90q6,7 0,14"]) paletteNode("path", { d, class: "pic-sound" }, nodes.sound);
  if (rig.has_motive_gauge !== false) {
    paletteNode("path", { d: "M292,136V126", class: "pic-ink-line" }, svg);
    paletteNode("circle", { cx: 292, cy: 118, r: 8.5, class: "pic-dial" }, svg);
    nodes.needle = paletteNode("line", { x1: 292, y1: 118, x2: 292, y2: 111.5, class: "pic-ink-line" }, svg);
  }
  // nozzle and jet
  nodes.jet = paletteNode("g", {}, svg);
  nodes.jetBlown = paletteNode("g", {}, nodes.jet);
  nodes.jetBody = paletteNode("path", { d: "M128,138.6L88,135.5H58L32,128V152L58,144.5H88L128,141.4Z", class: "pic-jet-body" }, nodes.jetBlown);
  nodes.jetDash = paletteNode("path", { d: "M128,140H34", class: "pic-jet", "stroke-dasharray": "9 7" }, nodes.jetBlown);
  paletteNode("path", { d: "M206,132.5H160L132,137.6V142.4L160,147.5H206Z", class: "pic-nozzle" }, svg);
  nodes.bore = paletteNode("g", {}, svg);
  nodes.nozzle = picturePumpAir(nodes.bore, "M206,137H162L132,139.2V140.8L162,143H206Z", dots);
  nodes.nozzleCover = paletteNode("path", { d: "M206,130H166V150H206Z", class: "pic-metal", display: "none" }, svg);
  nodes.pull = paletteNode("path", { d: "M121,214V172M117,182L121,173L125,182M117,204L121,195L125,204", class: "pic-pull", display: "none" }, svg);
  return nodes;
}

/** Exhaust hose and what comes out of it. */
function picturePumpExhaust(svg) {
  paletteNode("path", { d: PICTURE_PUMP_EXHAUST_LINE, class: "pic-exhaust-wall" }, svg);
  const inside = paletteNode("path", { d: PICTURE_PUMP_EXHAUST_LINE, class: "pic-exhaust-in" }, svg);
  const cover = paletteNode("path", { d: PICTURE_PUMP_EXHAUST_LINE, class: "pic-exhaust-cover", display: "none" }, svg);
  const plume = paletteNode("g", { transform: "translate(22,81)" }, svg);
  return { inside, cover, setPlume: picturePlume(plume, 52) };
}

/** Impeller, engine pulley, belt and compressor. */
function picturePumpDrive(svg) {
  const nodes = {};
  nodes.engine = paletteNode("g", {}, svg);
  paletteNode("rect", { x: 322, y: 296, width: 112, height: 96, rx: 7, class: "pic-body" }, nodes.engine);
  for (let i = 0; i < 3; i += 1) paletteNode("line", { x1: 332, x2: 348, y1: 312 + i * 9, y2: 312 + i * 9, class: "pic-fine" }, nodes.engine);
  paletteNode("path", { d: "M316,392H440V400H316Z", class: "pic-dark" }, nodes.engine);
  nodes.compressor = paletteNode("g", {}, svg);
  paletteNode("rect", { x: 366, y: 112, width: 44, height: 56, rx: 3, class: "pic-body" }, nodes.compressor);
  for (let i = 0; i < 5; i += 1) paletteNode("line", { x1: 361, x2: 415, y1: 121 + i * 8, y2: 121 + i * 8, class: "pic-fin" }, nodes.compressor);
  paletteNode("rect", { x: 362, y: 166, width: 52, height: 46, rx: 10, class: "pic-body" }, nodes.compressor);
  nodes.shake = paletteNode("path", { d: "M428,290q6,-2 10,4M318,300q-5,5 -3,12M437,402q-3,5 -9,5", class: "pic-shake", display: "none" }, svg);
  nodes.beltTaut = paletteNode("path", { d: "M367.2,189L358.4,340M408.8,189L417.6,340", class: "pic-belt" }, svg);
  nodes.beltSlack = paletteNode("path", { d: "M367.2,189Q378,266 358.4,340M408.8,189Q398,268 417.6,340", class: "pic-belt", display: "none" }, svg);
  nodes.beltOff = paletteNode("path", { d: "M361,318Q388,292 415,318Q430,344 410,362Q394,374 377,368Q352,350 361,318Z", class: "pic-belt", display: "none" }, svg);
  nodes.beltDash = paletteNode("path", { d: "M358.4,340L367.2,189A20.8,20.8 0 0 1 408.8,189L417.6,340", class: "pic-belt-dash", "stroke-dasharray": "7 11" }, svg);
  const wheel = (cx, cy, r) => {
    const group = paletteNode("g", {}, svg);
    paletteNode("circle", { cx, cy, r, class: "pic-wheel" }, group);
    const spokes = paletteNode("path", { d: `M${cx - r * 0.72},${cy}H${cx + r * 0.72}M${cx},${cy - r * 0.72}V${cy + r * 0.72}`, class: "pic-spoke" }, group);
    paletteNode("circle", { cx, cy, r: r * 0.24, class: "pic-dark" }, group);
    return spokes;
  };
  nodes.small = { spokes: wheel(388, 189, 19.5), x: 388, y: 189 };
  nodes.large = { spokes: wheel(388, 340, 28.5), x: 388, y: 340 };
  return nodes;
}

/** Impeller with swept-back vanes, turning towards the riser. */
function picturePumpImpeller(svg) {
  const group = paletteNode("g", {}, svg);
  paletteNode("circle", { cx: 206, cy: 316, r: 45, class: "pic-impeller-ring" }, group);
  const vanes = paletteNode("g", { class: "pic-vane" }, group);
  for (let i = 0; i < 6; i += 1) paletteNode("path", { d: "M206,305Q212,290 230,284", transform: `rotate(${i * 60},206,316)` }, vanes);
  paletteNode("circle", { cx: 206, cy: 316, r: 10, class: "pic-dark" }, group);
  paletteNode("path", { d: "M252,306A47,47 0 0 0 240,283M240,283l-1,8M240,283l8,2", class: "pic-turn" }, group);
  return { group, vanes };
}

/** Drain valve under the casing: handle across the pipe is shut, along it is open. */
function picturePumpDrain(svg) {
  const nodes = {};
  paletteNode("path", { d: "M199,384V398H213V384", class: "pic-body" }, svg);
  paletteNode("rect", { x: 195, y: 397, width: 22, height: 16, rx: 3, class: "pic-body" }, svg);
  paletteNode("path", { d: "M200,413V421H212V413", class: "pic-body" }, svg);
  nodes.handle = paletteNode("g", {}, svg);
  paletteNode("rect", { x: 203, y: 402, width: 34, height: 6, rx: 3, class: "pic-handle" }, nodes.handle);
  paletteNode("circle", { cx: 206, cy: 405, r: 4.5, class: "pic-dark" }, nodes.handle);
  nodes.unseen = paletteNode("g", { display: "none" }, svg);
  paletteNode("circle", { cx: 206, cy: 405, r: 13, class: "pic-unseen" }, nodes.unseen);
  nodes.air = paletteNode("path", { d: "M188,433V419M183,425L188,418.5L193,425M224,433V419M219,425L224,418.5L229,425", class: "pic-air-in", display: "none" }, svg);
  nodes.spray = paletteNode("path", { d: "M203,421L192,433M206,421V434M209,421L220,433", class: "pic-spray", "stroke-dasharray": "4 5", display: "none" }, svg);
  return nodes;
}
