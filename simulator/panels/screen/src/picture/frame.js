// What both pictures read from a frame: the exhaust stream, whether it is wet, what a fill means as a water level.
import { htmlElement } from "../base/dom.js";
import { clamp, finiteOr } from "../base/numbers.js";
import { attributeSetter, displayToggle, svgNode } from "../base/svg.js";
import { airBody, airDots } from "./air.js";

const SPRAY_SEEN = 2e-5; // m3/s of water that is seen outside

/**
 * Motive air of the rig in good order [kg/s]: its own where given, else by size from 8.5 g/s on a 150 mm rig (a guess).
 * @param {Rig} rig
 */
export function motiveRated(rig) {
  return finiteOr(rig.motive_rated_kg_s, 0.0085 * (finiteOr(rig.bore_m, 0.15) / 0.15) ** 2);
}

/**
 * Strength of the exhaust stream, 0 to 1: as computed where one may look inside, else the coarse level somebody saw.
 * @param {Frame} frame
 * @param {Rig} rig
 */
export function exhaustLevel(frame, rig) {
  if (frame.see_through && Number.isFinite(frame.exhaust_air)) {
    return clamp(frame.exhaust_air / finiteOr(rig.exhaust_rated_kg_s, 2 * motiveRated(rig)), 0, 1);
  }
  return clamp(finiteOr(frame.exhaust_level, 0), 0, 1);
}

/**
 * Has nobody looked at the exhaust? Then nothing is drawn there, and the name says so.
 * @param {Frame} frame
 */
export function exhaustUnseen(frame) {
  return !frame.see_through && (Boolean(frame.exhaust_unseen) || !(frame.exhaust_level >= 0));
}

/**
 * Does the exhaust throw water?
 * @param {Frame} frame
 */
export function exhaustWet(frame) {
  if (frame.see_through && Number.isFinite(frame.exhaust_water)) return frame.exhaust_water > SPRAY_SEEN;
  return typeof frame.exhaust_kind === "string" && /spray/.test(frame.exhaust_kind);
}

/**
 * The name at the exhaust with the word of who feels the stream, as the senses have it; once felt, that it stands in the notes;
 * the name alone where none was sent.
 * @param {Frame} frame
 * @param {Words} words
 */
export function exhaustWord(frame, words) {
  if (exhaustUnseen(frame)) {
    if (!(finiteOr(frame.speed, 0) > 0.05)) return words.part_exhaust;
    return frame.exhaust_felt ? words.exhaust_felt : words.exhaust_unseen;
  }
  if (exhaustWet(frame)) return words.exhaust_water_spray;
  return words[`exhaust_${frame.exhaust_kind}`] || words.part_exhaust;
}

/**
 * Outside pressure [Pa]: of the frame, else of the rig's site, else the standard one.
 * @param {Frame} frame
 * @param {Rig} rig
 */
export function outsidePressure(frame, rig) {
  return finiteOr(frame.atmosphere, finiteOr(rig.atmosphere_pa, 101325));
}

/**
 * Air drawn in at each joint: from `joint_air` as an array, from `joint_air_0`, `joint_air_1` ..., or from the sum of all
 * of them shared out by the area of the holes the rig data own up to (`joint_holes_m`, see-through only).
 * @param {Rig} rig
 */
export function jointAirReader(rig) {
  const count = (rig.joints || []).length;
  const names = Array.from({ length: count }, (_, i) => `joint_air_${i}`);
  const holes = rig.joint_holes_m || [];
  const area = holes.reduce((sum, d) => sum + d * d, 0);
  return (/** @type {Frame} */ frame, /** @type {number} */ i) => {
    if (Array.isArray(frame.joint_air)) return finiteOr(frame.joint_air[i], 0);
    const own = frame[names[i]];
    if (own !== undefined) return finiteOr(own, 0);
    return area > 0 ? (finiteOr(frame.joint_air, 0) * finiteOr(holes[i], 0) ** 2) / area : 0;
  };
}

/**
 * A stream out of a hose, opening upwards from the origin: puffs of air that widen and fade, or drops of water.
 * Returns a function (level 0..1, phase 0..1, wet) that sets it.
 * @param {Element} parent
 * @param {number} length
 */
export function createPlume(parent, length) {
  const group = svgNode("g", {}, parent);
  const puffs = svgNode("g", {}, group);
  const drops = svgNode("g", { display: "none" }, group);
  const streak = svgNode("path", { d: `M0,-2V${(-length * 0.6).toFixed(1)}`, class: "pic-plume" }, group);
  const sideways = [0, -0.35, 0.3, -0.15, 0.4, -0.4, 0.1];
  /**
   * @param {any} holder
   * @param {string} name
   */
  const make = (holder, name) =>
    sideways.map((side) => {
      const node = svgNode("circle", { cx: 0, cy: 0, r: 1, class: name }, holder);
      return {
        side,
        x: attributeSetter(node, "cx"),
        y: attributeSetter(node, "cy"),
        r: attributeSetter(node, "r"),
        o: attributeSetter(node, "fill-opacity"),
      };
    });
  const clouds = make(puffs, "pic-puff-cloud");
  const beads = make(drops, "pic-drop");
  const show = [displayToggle(group), displayToggle(puffs), displayToggle(drops)];
  const setStreak = attributeSetter(streak, "stroke-opacity");
  return (/** @type {number} */ level, /** @type {number} */ phase, /** @type {boolean} */ wet) => {
    show[0](level > 0.03 || wet);
    show[1](!wet);
    show[2](wet);
    setStreak(wet ? 0 : level);
    const reach = length * (0.35 + 0.65 * level);
    const list = wet ? beads : clouds;
    for (let i = 0; i < list.length; i += 1) {
      const u = (i / list.length + phase) % 1;
      const puff = list[i];
      puff.x(puff.side * reach * u * (wet ? 1.1 : 0.5));
      puff.y(wet ? -reach * (1.5 * u - 0.9 * u * u) : -reach * u);
      puff.r(wet ? Math.max(1.5, length * 0.04) : length * (0.05 + 0.15 * u));
      puff.o(wet ? 1 : (0.25 + 0.45 * level) * (1 - 0.75 * u));
    }
  };
}

/**
 * The trembling of a running engine [picture units]: to and fro ten times a second, as often as it can be seen.
 * @param {number} reach
 */
export function tremble(reach) {
  return Math.floor(performance.now() / 50) % 2 ? reach : -reach;
}

/**
 * To the half unit: what creeps need not be drawn anew for less.
 * @param {number} value
 */
export function toHalf(value) {
  return Math.round(2 * value) / 2;
}

/**
 * Height of the water (picture units) for a fill: bottom, inlet lip and crown are fixed points of the scale.
 * @param {number} fill
 * @param {any} lipFill
 * @param {any} bottom
 * @param {any} lip
 * @param {any} crown
 */
export function fillLevel(fill, lipFill, bottom, lip, crown) {
  const f = clamp(finiteOr(fill, 0), 0, 1);
  const l = clamp(finiteOr(lipFill, 0.3), 0.05, 0.9);
  return f <= l ? bottom + (lip - bottom) * (f / l) : lip + (crown - lip) * ((f - l) / (1 - l));
}

/**
 * What the colours and signs mean, in words beneath a picture; returns {list, items by kind}.
 * @param {HTMLElement} host
 * @param {any} entries
 */
export function createLegend(host, entries) {
  const list = htmlElement("ul", "pic-legend", host);
  /** @type {Record<string, HTMLElement>} */
  const items = {};
  for (const [kind, label] of entries) {
    const item = htmlElement("li", "", list);
    const svg = svgNode("svg", { width: 22, height: 14, "aria-hidden": "true", class: "pic-swatch" }, item);
    const defs = svgNode("defs", {}, svg);
    if (kind === "water") {
      svgNode("rect", { width: 22, height: 14, class: "pic-water" }, svg);
    } else if (kind === "in") {
      svgNode("path", { d: "M3,7H18M12.5,2.5L18,7L12.5,11.5", class: "pic-air-in" }, svg);
    } else if (kind === "liner") {
      svgNode("path", { d: "M3,1A8,5.5 0 0 0 19,1ZM3,13A8,5.5 0 0 1 19,13Z", class: "pic-liner" }, svg);
    } else {
      const set = airBody(
        (/** @type {string} */ className) => svgNode("rect", { width: 22, height: 14, class: className }, svg),
        airDots(defs, 8),
      );
      set(kind === "thin" ? 0.25 : kind === "pressed" ? 6 : 1);
    }
    if (kind !== "in") svgNode("rect", { x: 0.75, y: 0.75, width: 20.5, height: 12.5, class: "pic-swatch-edge" }, svg);
    htmlElement("span", "", item, label);
    items[kind] = item;
  }
  return { list, items };
}
