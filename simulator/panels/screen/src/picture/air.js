// Air by its pressure, drawn as shade and dots.
import { clamp, finiteOr } from "../base/numbers.js";
import { attributeSetter, displayToggle, svgId, svgNode } from "../base/svg.js";

/**
 * Dot patterns on a lattice of four places. Air is drawn with as many dots as its pressure has quarters of the outside
 * pressure, so thin air is literally thinner. Returns paint references: `whole[n]` has the first n dots (none for 0),
 * `next[n]` the one that comes after them.
 * @param {SVGElement} defs
 * @param {number} size
 */
export function airDots(defs, size) {
  const places = [
    [0.25, 0.25],
    [0.75, 0.75],
    [0.75, 0.25],
    [0.25, 0.75],
  ];
  /** @param {number[][]} dots */
  const pattern = (dots) => {
    const id = svgId("dots");
    const holder = svgNode("pattern", { id, width: size, height: size, patternUnits: "userSpaceOnUse" }, defs);
    for (const [u, v] of dots)
      svgNode("circle", { cx: u * size, cy: v * size, r: size * 0.085, class: "pic-dot" }, holder);
    return `url(#${id})`;
  };
  return {
    whole: ["none", ...places.map((_, i) => pattern(places.slice(0, i + 1)))],
    next: places.map((place) => pattern([place])),
  };
}

/**
 * Shade of air by its pressure over the outside pressure: how much of the "thin" tint, of the "pressed" tint, how many
 * dots of four, and how strong the next one is.
 * @param {number} ratio
 */
export function airShade(ratio) {
  const r = finiteOr(ratio, 1);
  const thin = clamp((1 - r) / 0.85, 0, 1);
  return {
    thin: thin ** 0.8,
    pressed: clamp((r - 1) / 5, 0, 1),
    dots: clamp(Math.floor(r * 4), 0, 4),
    next: r < 1 ? clamp(r * 4 - Math.floor(r * 4), 0, 1) : 0,
  };
}

const AIR_SHADES = 64; // steps of pressure over the outside pressure: finer is not seen, and costs a picture each frame

/**
 * A body of air made of stacked layers over one shape; `make(className)` draws the shape once, `how` names what it is
 * painted by: "fill" or "stroke". A layer that is not seen is not drawn.
 * @param {any} make
 * @param {AirDots} dots
 * @param {any} [how]
 */
export function airBody(make, dots, how = "fill") {
  make("pic-air-full");
  /** @param {string} className */
  const layer = (className) => {
    const node = make(className);
    return {
      paint: attributeSetter(node, how),
      strength: attributeSetter(node, `${how}-opacity`),
      show: displayToggle(node),
    };
  };
  const [thin, pressed, whole, next] = ["pic-air-thin", "pic-air-pressed", "pic-air-dots", "pic-air-dots"].map(layer);
  /** @type {any} */
  let last = null;
  return (/** @type {number} */ ratio) => {
    const step = Math.round(finiteOr(ratio, 1) * AIR_SHADES);
    if (step === last) return;
    last = step;
    const shade = airShade(step / AIR_SHADES);
    whole.paint(dots.whole[shade.dots]);
    whole.show(shade.dots > 0);
    if (shade.next > 0) next.paint(dots.next[shade.dots]);
    for (const [one, strength] of /** @type {[typeof thin, number][]} */ ([
      [thin, shade.thin],
      [pressed, shade.pressed],
      [next, shade.next],
    ])) {
      one.show(strength > 0.004);
      one.strength(strength);
    }
  };
}
