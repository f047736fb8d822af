// What else there is to look at on the pump end: cock, frost drain, float, filter, discharge valve, little gauges, plate,
// guard. From outside a part shows what was last seen of it; a dashed ring says that nobody has looked.
import { clamp, finiteOr } from "../../base/numbers.js";
import { attributeSetter, displayToggle, svgNode, svgText } from "../../base/svg.js";
import { DRAIN } from "./body.js";

/**
 * A dashed ring round what nobody has looked at.
 * @param {Element} parent
 * @param {number} x
 * @param {number} y
 * @param {number} r
 */
function drawUnseen(parent, x, y, r) {
  return displayToggle(svgNode("circle", { cx: x, cy: y, r, class: "pic-unseen", display: "none" }, parent));
}

/**
 * A small round gauge with a needle; returns a function of the share of its range [-].
 * @param {SVGSVGElement} svg
 * @param {number} x
 * @param {number} y
 * @param {string} stem
 */
function drawGauge(svg, x, y, stem) {
  svgNode("path", { d: stem, class: "pic-ink-line" }, svg);
  svgNode("circle", { cx: x, cy: y, r: 8.5, class: "pic-dial" }, svg);
  const set = attributeSetter(
    svgNode("line", { x1: x, y1: y, x2: x, y2: y - 6.5, class: "pic-ink-line" }, svg),
    "transform",
  );
  return (/** @type {number} */ share) =>
    set(`rotate(${(-120 + 240 * clamp(finiteOr(share, 0), 0, 1)).toFixed(0)},${x},${y})`);
}

/**
 * Dirt in a way through: speckles, the more the fuller.
 * @param {Element} parent
 * @param {number} x
 * @param {number} y
 * @param {number} width
 * @param {number} height
 * @param {number} count
 */
function drawDirt(parent, x, y, width, height, count) {
  const group = svgNode("g", { display: "none" }, parent);
  for (let i = 0; i < count; i += 1) {
    const u = ((i * 37) % 100) / 100;
    const v = ((i * 61 + 13) % 100) / 100;
    svgNode("circle", { cx: x + width * u, cy: y + height * v, r: 2 + ((i * 7) % 3) * 0.6, class: "pic-dirt" }, group);
  }
  return displayToggle(group);
}

// Air that gets in at the suction flange, or along the shaft at its seal.
const AT_FLANGE = "M67,256V274M62,268L67,275L72,268M67,376V358M62,364L67,357L72,364";
const AT_SEAL = "M206,282V300M201,294L206,301L211,294M206,350V332M201,338L206,331L211,338";

/**
 * Frost drain of the NRV housing, with its handle and its spray.
 * @param {SVGSVGElement} svg
 */
export function drawFrostDrain(svg) {
  svgNode("rect", { x: 213, y: 183, width: 16, height: 10, class: "pic-body" }, svg);
  svgNode("path", { d: "M213,184H205V193H213", class: "pic-body" }, svg);
  const handle = svgNode("g", {}, svg);
  svgNode("rect", { x: 219, y: 177, width: 4.5, height: 22, rx: 2, class: "pic-handle" }, handle);
  const spray = svgNode(
    "path",
    {
      d: "M203,187L186,180M203,190H184M203,193L187,200",
      class: "pic-spray",
      "stroke-dasharray": "4 5",
      display: "none",
    },
    svg,
  );
  return {
    show: displayToggle(handle),
    turn: attributeSetter(handle, "transform"),
    unseen: drawUnseen(svg, 221, 188, 12),
    showSpray: displayToggle(spray),
    setSpray: attributeSetter(spray, "stroke-dashoffset"),
  };
}

/**
 * Cock between casing and ejector: the handle along the pipe is open, across it is shut.
 * @param {SVGSVGElement} svg
 */
export function drawCock(svg) {
  svgNode("path", { d: "M110,167L132,181V167L110,181Z", class: "pic-body" }, svg);
  svgNode("path", { d: "M121,174H143", class: "pic-ink-line" }, svg);
  const handle = svgNode("rect", { x: 140.5, y: 163, width: 5, height: 22, rx: 2.5, class: "pic-handle" }, svg);
  return {
    show: displayToggle(handle),
    turn: attributeSetter(handle, "transform"),
    unseen: drawUnseen(svg, 143, 174, 12),
  };
}

/**
 * Hand valve in the discharge line: a gate that comes down into the pipe, and a wheel.
 * @param {SVGSVGElement} svg
 */
function drawGate(svg) {
  const gate = svgNode("rect", { x: 325, y: 32, width: 8, height: 29, class: "pic-gate" }, svg);
  svgNode("path", { d: "M320,29H338V34H320ZM320,59H338V64H320Z", class: "pic-band" }, svg);
  svgNode("path", { d: "M329,29V19M318,18H340", class: "pic-ink-line" }, svg);
  svgNode("rect", { x: 316, y: 15, width: 26, height: 6, rx: 3, class: "pic-handle" }, svg);
  return { show: displayToggle(gate), set: attributeSetter(gate, "height"), unseen: drawUnseen(svg, 329, 46, 19) };
}

/**
 * The belt guard: a mesh before belt and pulleys.
 * @param {SVGSVGElement} svg
 */
function drawGuard(svg) {
  const group = svgNode("g", { display: "none" }, svg);
  svgNode("rect", { x: 348, y: 166, width: 80, height: 204, rx: 14, class: "pic-guard" }, group);
  let mesh = "";
  for (let x = 358; x <= 418; x += 10) mesh += `M${x},174V362`;
  for (let y = 182; y <= 354; y += 10) mesh += `M356,${y}H420`;
  svgNode("path", { d: mesh, class: "pic-guard-mesh" }, group);
  for (const [x, y] of [
    [356, 174],
    [420, 174],
    [356, 362],
    [420, 362],
  ])
    svgNode("circle", { cx: x, cy: y, r: 2.6, class: "pic-bolt" }, group);
  return displayToggle(group);
}

/**
 * Air that blows out of the air line, and a kink in it.
 * @param {SVGSVGElement} svg
 */
function drawAirFaults(svg) {
  const blow = svgNode("g", { display: "none" }, svg);
  for (const d of ["M246,133q-4,-9 2,-14", "M251,133q3,-9 10,-11", "M242,134q-9,-5 -10,-12"])
    svgNode("path", { d, class: "pic-puff" }, blow);
  const kink = svgNode("path", { d: "M226,131L234,150M236,131L228,150", class: "pic-kink", display: "none" }, svg);
  return { blow: displayToggle(blow), kink: displayToggle(kink) };
}

/**
 * Plate rated for vacuum: ready beside the rig, or on the suction flange.
 * @param {SVGSVGElement} svg
 * @param {Words} words
 */
function drawPlate(svg, words) {
  const ready = svgNode("g", { display: "none" }, svg);
  svgNode("path", { d: "M24,432L34,392L39,393L29,433Z", class: "pic-plate" }, ready);
  svgText(ready, 44, 410, words.plate_ready, {});
  const fitted = svgNode("g", { display: "none" }, svg);
  svgNode("rect", { x: 59.5, y: 270, width: 6, height: 92, rx: 1.5, class: "pic-plate" }, fitted);
  svgNode("path", { d: "M62.5,270V258M57,258H68", class: "pic-ink-line" }, fitted);
  const on = svgText(fitted, 44, 410, words.plate_on, {});
  const off = svgNode("rect", { x: -6, y: 260, width: 65, height: 116, class: "pic-away", display: "none" }, svg);
  svg.insertBefore(off, ready);
  return {
    ready: displayToggle(ready),
    fitted: displayToggle(fitted),
    /** With the hose off, as in a lesson that shows the test while it runs. */
    alone: (/** @type {any} */ is) => {
      off.setAttribute("display", is ? "inline" : "none");
      on.setAttribute("display", is ? "none" : "inline"); // the label of the hose says so then
    },
  };
}

/**
 * All of it; returns {update(frame, see, step, labels)}.
 * @param {SVGSVGElement} svg
 * @param {Rig} rig
 * @param {Words} words
 */
export function drawSmallParts(svg, rig, words) {
  const parts = rig.parts || {};
  const opened = rig.opened || [];
  const toSuction = drawGauge(svg, 84, 243, "M84,262V251");
  const toDischarge = drawGauge(svg, 297, 246, "M276,246H289");
  const filterPipe = svgNode("path", { d: "M415,134H421", class: "pic-ink-line" }, svg);
  svgNode("rect", { x: 420, y: 121, width: 17, height: 27, rx: 4, class: "pic-body" }, svg);
  for (const x of [424.5, 428.5, 432.5]) svgNode("line", { x1: x, x2: x, y1: 124, y2: 145, class: "pic-fine" }, svg);
  const filterDirt = drawDirt(svg, 422, 124, 13, 21, 16);
  const screenDirt = drawDirt(svg, 104, 222, 34, 12, 22);
  const exhaustDirt = drawDirt(svg, 17, 98, 10, 14, 14);
  const nozzleDirt = drawDirt(svg, 136, 138, 12, 4, 4);
  const frost = drawFrostDrain(svg);
  const gate = drawGate(svg);
  const cock = rig.has_cock ? drawCock(svg) : null;
  const air = drawAirFaults(svg);
  const plate = drawPlate(svg, words);
  const arrows = parts.leak_at === "seal" ? AT_SEAL : AT_FLANGE;
  const leak = svgNode("path", { d: arrows, class: "pic-air-in", display: "none" }, svg);
  const guard = drawGuard(svg);
  const showLeak = displayToggle(leak);
  const alone = parts.plate === "alone";
  plate.alone(alone);
  filterPipe.setAttribute("stroke-width", "3");

  /**
   * Where a handle or gate stands: shown where it was seen, else a dashed ring.
   * @param {any} node
   * @param {any} state
   * @param {any} turn
   */
  function stand(node, state, turn) {
    const known = state !== null && state !== undefined;
    node.show(known);
    node.unseen(!known);
    if (known) turn(clamp(state, 0, 1));
  }

  return {
    guarded: (/** @type {boolean} */ see) =>
      !see && !opened.some((one) => one === "belt" || one === "intake" || one === "compressor"),
    /**
     * @param {Frame} frame
     * @param {boolean} see
     * @param {any} step
     * @param {any} labels
     */
    update(frame, see, step, labels) {
      const speed = finiteOr(frame.speed, 0);
      toSuction(0.5 + finiteOr(frame.suction_shown, 0) / 200e3);
      toDischarge(finiteOr(frame.discharge_shown, 0) / 4e5);
      stand(frost, parts.frost_drain, (/** @type {number} */ open) =>
        frost.turn(`rotate(${open > 0.05 ? 90 : 0},221,188)`),
      );
      const head = see
        ? finiteOr(frame.frost_drain_water, 0) > 2e-5
        : parts.frost_drain > 0.05 && speed > 0.05 && frame.discharge_shown > 0.3e5;
      frost.showSpray(Boolean(head));
      if (head) frost.setSpray(step > 0 ? -((performance.now() / 30) % 9) : 0);
      // From outside a part looks as it did on the walk round, until a hand has set it or somebody stood before it.
      const sure = (/** @type {string} */ part) => see || Boolean(parts.sure?.includes(part));
      const unseen = parts.frost_drain === null || parts.frost_drain === undefined;
      const frosty = head
        ? words.frost_sprays
        : unseen
          ? words.frost_unseen
          : parts.frost_drain > 0.05
            ? words.frost_open
            : sure("frost_drain")
              ? words.frost_shut
              : words.frost_looks_shut;
      if (labels.frost_state) labels.frost_state(frosty);
      else labels.frost_drain?.(`${words.part_frost_drain}: ${frosty}`);
      stand(gate, parts.discharge_valve, (/** @type {number} */ open) => gate.set((29 * (1 - open)).toFixed(1)));
      const known = parts.discharge_valve;
      labels.discharge_valve?.(
        known === null || known === undefined
          ? words.part_discharge_valve
          : known < 0.05
            ? words.valve_shut
            : known < 0.95
              ? words.valve_part
              : sure("discharge_valve")
                ? words.valve_open
                : words.valve_looks_open,
      );
      if (cock) {
        stand(cock, frame.cock ?? parts.cock, (/** @type {number} */ open) =>
          cock.turn(`rotate(${(90 * (1 - open)).toFixed(0)},143,174)`),
        );
        const cockOpen = frame.cock ?? parts.cock;
        labels.cock?.(
          cockOpen === null || cockOpen === undefined
            ? words.part_cock
            : cockOpen > 0.9
              ? sure("cock")
                ? words.cock_open
                : words.cock_looks_open
              : words.cock_shut,
        );
      }
      filterDirt(parts.filter === "blocked");
      labels.filter?.(parts.filter === "blocked" ? words.filter_blocked : words.part_filter);
      exhaustDirt(see ? parts.exhaust_blocked > 0.05 : parts.exhaust_hose === "blocked");
      screenDirt(see && parts.screen_plugged > 0.05);
      nozzleDirt(see && parts.nozzle_plugged > 0.05);
      const line = parts.air_line;
      air.blow(line === "holed" && finiteOr(frame.motive_shown ?? frame.motive_pressure, 0) > 0.2e5 && speed > 0.05);
      air.kink(line === "kinked");
      plate.ready(parts.plate === "ready");
      plate.fitted(parts.plate === "flange" || alone);
      if (alone) labels.suction?.(words.plate_alone);
      showLeak(see && finiteOr(frame.casing_leak_air, 0) > 2e-6);
      guard(this.guarded(see));
    },
  };
}

/**
 * Suction flange, screen box, NRV seat and ball, optional cock and float separator.
 * @param {SVGSVGElement} svg
 * @param {Rig} rig
 */
export function drawFittings(svg, rig) {
  const nodes = {};
  nodes.flange = svgNode("g", {}, svg);
  svgNode("rect", { x: 54, y: 280, width: 8, height: 72, rx: 1.5, class: "pic-band" }, nodes.flange);
  svgNode("rect", { x: 63, y: 280, width: 8, height: 72, rx: 1.5, class: "pic-band" }, nodes.flange);
  nodes.screenOpen = svgNode("g", {}, svg);
  svgNode("rect", { x: 100, y: 218, width: 42, height: 20, rx: 2, class: "pic-screen-box" }, nodes.screenOpen);
  for (let i = 0; i < 6; i += 1) {
    svgNode("line", { x1: 105 + i * 6.4, x2: 105 + i * 6.4, y1: 221, y2: 235, class: "pic-mesh" }, nodes.screenOpen);
  }
  nodes.screenShut = svgNode("g", { display: "none" }, svg);
  svgNode("rect", { x: 100, y: 218, width: 42, height: 20, rx: 2, class: "pic-metal" }, nodes.screenShut);
  for (const x of [105, 137])
    for (const y of [223, 233]) svgNode("circle", { cx: x, cy: y, r: 1.8, class: "pic-bolt" }, nodes.screenShut);
  nodes.seat = svgNode("path", { d: "M236,230H244M268,230H276", class: "pic-seat" }, svg);
  nodes.ball = svgNode("g", {}, svg);
  svgNode("circle", { cx: 256, cy: 211, r: 18.5, class: "pic-ball" }, nodes.ball);
  svgNode("path", { d: "M246,203Q250,197 257,197", class: "pic-shine" }, nodes.ball);
  if (rig.has_float) {
    const box = svgNode("g", {}, svg);
    svgNode("rect", { x: 102, y: 184, width: 38, height: 30, rx: 7, class: "pic-metal-line" }, box);
    nodes.float = svgNode("g", {}, box);
    svgNode("circle", { cx: 121, cy: 203, r: 7, class: "pic-float" }, nodes.float);
    svgNode("path", { d: "M121,196V191", class: "pic-fine" }, nodes.float);
    svgNode("path", { d: "M116,186H126", class: "pic-ink-line" }, box);
  }
  return nodes;
}

/**
 * Drain valve under the casing: handle across the pipe is shut, along it is open.
 * @param {SVGSVGElement} svg
 */
export function drawDrain(svg) {
  const nodes = {};
  svgNode("path", { d: "M199,384V398H213V384", class: "pic-body" }, svg);
  svgNode("rect", { x: 195, y: 397, width: 22, height: 16, rx: 3, class: "pic-body" }, svg);
  svgNode("path", { d: "M200,413V421H212V413", class: "pic-body" }, svg);
  nodes.handle = svgNode("g", {}, svg);
  svgNode(
    "rect",
    { x: 203, y: DRAIN.pivot - 3, width: DRAIN.reach + 3, height: 6, rx: 3, class: "pic-handle" },
    nodes.handle,
  );
  svgNode("circle", { cx: 206, cy: DRAIN.pivot, r: 4.5, class: "pic-dark" }, nodes.handle);
  nodes.unseen = svgNode("g", { display: "none" }, svg);
  svgNode("circle", { cx: 206, cy: DRAIN.pivot, r: 13, class: "pic-unseen" }, nodes.unseen);
  nodes.air = svgNode(
    "path",
    {
      d: "M188,433V419M183,425L188,418.5L193,425M224,433V419M219,425L224,418.5L229,425",
      class: "pic-air-in",
      display: "none",
    },
    svg,
  );
  nodes.spray = svgNode(
    "path",
    {
      d: "M203,421L192,433M206,421V434M209,421L220,433",
      class: "pic-spray",
      "stroke-dasharray": "4 5",
      display: "none",
    },
    svg,
  );
  return nodes;
}
