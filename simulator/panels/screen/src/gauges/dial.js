// Round gauges with a true graduation. Values are SI: vacuum in Pa below the outside pressure, pressure in Pa above it.
import { createSpeaker, htmlElement, watchWidth } from "../base/dom.js";
import { fillIn, formatNumber } from "../base/format.js";
import { clamp } from "../base/numbers.js";
import { attributeSetter, svgNode } from "../base/svg.js";

const THIN = 1.3; // px, the needle where it lies over figures
const DIAL_SWEEP = 135; // the scale runs from -135 to +135 degrees

/**
 * Marks of a scale, without drift: multiples of the step inside the range.
 * @param {number} low
 * @param {number} high
 * @param {any} step
 */
export function scaleMarks(low, high, step) {
  /** @type {any[]} */
  const marks = [];
  if (!(step > 0)) return marks;
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i += 1) marks.push(i * step);
  return marks;
}

/**
 * A point on the face.
 * @param {number} angle
 * @param {number} radius
 */
export function facePoint(angle, radius) {
  const a = ((angle - 90) * Math.PI) / 180;
  return [radius * Math.cos(a), radius * Math.sin(a)];
}

/**
 * Make a gauge in a host element.
 * spec: {id, label, quantity: "vacuum"|"pressure"|"compound", low_pa, high_pa,
 *        units: {metric: {name, size_pa, major, minor, low, high, decimals}, us: {...}}, system: "metric"|"us"}
 * A compound gauge counts vacuum up and prints what lies above the outside pressure (negative values) with a plus sign.
 * Returns {set(value), setUnits(system), resize(), destroy()}.
 * @param {HTMLElement} host
 * @param {GaugeSpec} spec
 * @param {Words} words
 */
export function createDial(host, spec, words) {
  host.classList.add("palette", "dial");
  const root = htmlElement("div", "dial-root", host);
  const face = htmlElement("div", "dial-face", root);
  const figure = htmlElement("div", "dial-figure", root);
  const figureValue = htmlElement("span", "dial-value", figure);
  const figureUnit = htmlElement("span", "dial-unit", figure);
  htmlElement("div", "dial-label", root, spec.label);
  figure.setAttribute("aria-hidden", "true");
  face.setAttribute("role", "img");
  let system = spec.system || "metric";
  let value = NaN;
  /** @type {any} */
  let setNeedle = null;
  /** @type {any} */
  let setPale = null;
  /** @type {any} */
  let unit = null;
  /** @type {string | null} */
  let lastFigure = null;

  const compound = spec.quantity === "compound" || spec.low_pa < 0;

  /** @param {number} shown */
  function angleOf(shown) {
    const u = (shown - unit.low) / (unit.high - unit.low);
    return -DIAL_SWEEP + 2 * DIAL_SWEEP * clamp(u, -0.015, 1.015);
  }

  /** @param {number} mark */
  function numeral(mark) {
    const decimals = Math.abs(unit.major - Math.round(unit.major)) < 1e-9 ? 0 : unit.major < 0.1 ? 2 : 1;
    if (compound && mark < -1e-9) return `+${formatNumber(-mark, decimals)}`;
    return formatNumber(mark, decimals);
  }

  function build() {
    const chosen = spec.units[system] || spec.units.metric;
    unit = { ...chosen };
    if (unit.low === undefined) unit.low = spec.low_pa / unit.size_pa;
    if (unit.high === undefined) unit.high = spec.high_pa / unit.size_pa;
    face.textContent = "";
    const px = Math.max(72, face.clientWidth || 130);
    const svg = svgNode("svg", { viewBox: "-100 -100 200 200", class: "dial-svg", "aria-hidden": "true" }, face);
    const font = clamp((px / 200) * 20, 12, 19) / (px / 200);
    svgNode("circle", { r: 97, class: "dial-rim" }, svg);
    svgNode("circle", { r: 91, class: "dial-plate" }, svg);
    if (compound && unit.low < 0) {
      const from = facePoint(angleOf(unit.low), 80);
      const to = facePoint(angleOf(0), 80);
      svgNode("path", { d: `M${from}A80,80 0 0 1 ${to}`, class: "dial-above" }, svg);
    }
    const arcFrom = facePoint(-DIAL_SWEEP, 86);
    const arcTo = facePoint(DIAL_SWEEP, 86);
    svgNode("path", { d: `M${arcFrom}A86,86 0 1 1 ${arcTo}`, class: "dial-arc" }, svg);
    // graduation, thinned only where the marks would run together
    /** @param {any} step */
    const gap = (step) => (((2 * DIAL_SWEEP * step) / (unit.high - unit.low)) * Math.PI * 86 * (px / 200)) / 180;
    let minor = unit.minor;
    if (gap(minor) < 2.4) minor = unit.major;
    /**
     * @param {any} step
     * @param {any} inner
     * @param {string} className
     */
    const ticks = (step, inner, className) => {
      let d = "";
      for (const mark of scaleMarks(unit.low, unit.high, step))
        d += `M${facePoint(angleOf(mark), 86).map((n) => n.toFixed(2))}L${facePoint(angleOf(mark), inner).map((n) => n.toFixed(2))}`;
      svgNode("path", { d, class: className }, svg);
    };
    if (minor < unit.major) ticks(minor, 79, "dial-minor");
    ticks(unit.major, 72, "dial-major");
    const marks = scaleMarks(unit.low, unit.high, unit.major);
    const widest = Math.max(...marks.map((m) => numeral(m).length)) * font * 0.56;
    const radius = 70 - Math.max(font * 0.5, widest * 0.5);
    const pitch = (((2 * DIAL_SWEEP * unit.major) / (unit.high - unit.low)) * Math.PI * radius) / 180;
    const every = Math.max(1, Math.ceil((Math.max(widest, font) * 1.12) / pitch));
    const zero = marks.findIndex((m) => Math.abs(m) < 1e-9);
    marks.forEach((mark, i) => {
      if ((i - Math.max(0, zero)) % every !== 0) return;
      const [x, y] = facePoint(angleOf(mark), radius);
      const node = svgNode(
        "text",
        {
          x: x.toFixed(1),
          y: y.toFixed(1),
          class: "dial-numeral",
          "text-anchor": "middle",
          "dominant-baseline": "central",
          "font-size": font,
        },
        svg,
      );
      node.textContent = numeral(mark);
    });
    if (px >= 110) {
      const unitNode = svgNode(
        "text",
        {
          x: 0,
          y: 62,
          class: "dial-unit-face",
          "text-anchor": "middle",
          "font-size": Math.max(font * 0.85, 2400 / px),
        },
        svg,
      );
      unitNode.textContent = unit.name;
    }
    // The needle goes on over the figures as a thin line of another colour: neither breaks or hides the other.
    const needle = svgNode("g", {}, svg);
    const thin = (0.5 * THIN * 200) / px;
    const inner = Math.min(radius - 0.75 * font, 44);
    const shape = `M-3.2,16L-2,${-inner}L${-thin},${-inner - 5}V-82H${thin}V${-inner - 5}L2,${-inner}L3.2,16Z`;
    svgNode("path", { d: shape, class: "dial-needle" }, needle);
    svgNode("circle", { r: 8, class: "dial-hub" }, needle);
    setNeedle = attributeSetter(needle, "transform");
    setPale = attributeSetter(needle, "opacity");
    figureUnit.textContent =
      compound || spec.quantity === "vacuum" ? fillIn(words.vacuum_unit, { unit: unit.name }) : unit.name;
    lastFigure = null;
    show();
    speaker.now();
  }

  function reading() {
    return Number.isFinite(value) ? value / unit.size_pa : NaN;
  }

  function show() {
    const shown = reading();
    // Nothing read yet: a pale needle at zero, which says no more than that there is one.
    setNeedle(`rotate(${angleOf(Number.isFinite(shown) ? shown : 0).toFixed(1)})`);
    setPale(Number.isFinite(shown) ? "1" : "0.3");
    // a value that rounds to zero is neither above nor below the outside pressure
    const above = compound && shown < 0 && Number(shown.toFixed(unit.decimals)) !== 0;
    const text = (above ? "+" : "") + formatNumber(above ? -shown : shown, unit.decimals);
    if (text !== lastFigure) {
      figureValue.textContent = text;
      lastFigure = text;
      if (!Number.isFinite(shown)) figureUnit.textContent = words.no_reading;
      else if (!compound)
        figureUnit.textContent =
          spec.quantity === "vacuum" ? fillIn(words.vacuum_unit, { unit: unit.name }) : unit.name;
      else
        figureUnit.textContent = above
          ? fillIn(words.above_unit, { unit: unit.name })
          : fillIn(words.vacuum_unit, { unit: unit.name });
    }
  }

  const speaker = createSpeaker(() => {
    const fields = { label: spec.label, value: figureValue.textContent, unit: figureUnit.textContent };
    const spoken = fillIn(Number.isFinite(value) ? words.dial_spoken : words.dial_silent, fields);
    if (face.getAttribute("aria-label") !== spoken) face.setAttribute("aria-label", spoken);
  });

  build();
  const unwatch = watchWidth(face, build);
  return {
    /** @param {number} next */
    set(next) {
      if (next === value || (Number.isNaN(next) && Number.isNaN(value))) return;
      value = next;
      show();
      speaker.say();
    },
    /** @param {string} next */
    setUnits(next) {
      if (next === system) return;
      system = next;
      build();
    },
    resize: build,
    destroy() {
      unwatch();
      speaker.stop();
      root.remove();
    },
  };
}
