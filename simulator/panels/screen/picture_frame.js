// What both pictures read from a frame: the exhaust stream, whether it is wet, what a fill means as a water level.

const PICTURE_SPRAY_SEEN = 2e-5; // m3/s of water that is seen outside

/** Motive air of the rig in good order [kg/s]: its own where given, else by size from 8.5 g/s on a 150 mm rig (a guess). */
function pictureMotiveRated(rig) {
  return paletteFinite(rig.motive_rated_kg_s, 0.0085 * Math.pow(paletteFinite(rig.bore_m, 0.15) / 0.15, 2));
}

/** Strength of the exhaust stream, 0 to 1: as computed where one may look inside, else the coarse level somebody saw. */
function pictureExhaustLevel(frame, rig) {
  if (frame.see_through && Number.isFinite(frame.exhaust_air)) {
    return paletteClamp(frame.exhaust_air / paletteFinite(rig.exhaust_rated_kg_s, 2 * pictureMotiveRated(rig)), 0, 1);
  }
  return paletteClamp(paletteFinite(frame.exhaust_level, 0), 0, 1);
}

/** Has nobody looked at the exhaust? Then nothing is drawn there, and the name says so. */
function pictureExhaustUnseen(frame) {
  return !frame.see_through && (Boolean(frame.exhaust_unseen) || !(frame.exhaust_level >= 0));
}

/** Does the exhaust throw water? */
function pictureExhaustWet(frame) {
  if (frame.see_through && Number.isFinite(frame.exhaust_water)) return frame.exhaust_water > PICTURE_SPRAY_SEEN;
  return typeof frame.exhaust_kind === "string" && /spray/.test(frame.exhaust_kind);
}

/** Outside pressure [Pa]: of the frame, else of the rig's site, else the standard one. */
function pictureOutside(frame, rig) {
  return paletteFinite(frame.atmosphere, paletteFinite(rig.atmosphere_pa, 101325));
}

/**
 * Air drawn in at each joint: from `joint_air` as an array, from `joint_air_0`, `joint_air_1` ..., or from the sum of all
 * of them shared out by the area of the holes the rig data own up to (`joint_holes_m`, see-through only).
 */
function pictureJointAir(rig) {
  const count = (rig.joints || []).length;
  const names = Array.from({ length: count }, (unused, i) => `joint_air_${i}`);
  const holes = rig.joint_holes_m || [];
  const area = holes.reduce((sum, d) => sum + d * d, 0);
  return (frame, i) => {
    if (Array.isArray(frame.joint_air)) return paletteFinite(frame.joint_air[i], 0);
    const own = frame[names[i]];
    if (own !== undefined) return paletteFinite(own, 0);
    return area > 0 ? (paletteFinite(frame.joint_air, 0) * paletteFinite(holes[i], 0) ** 2) / area : 0;
  };
}

/**
 * A stream out of a hose, opening upwards from the origin: puffs of air that widen and fade, or drops of water.
 * Returns a function (level 0..1, phase 0..1, wet) that sets it.
 */
function picturePlume(parent, length) {
  const group = paletteNode("g", {}, parent);
  const puffs = paletteNode("g", {}, group);
  const drops = paletteNode("g", { display: "none" }, group);
  const streak = paletteNode("path", { d: `M0,-2V${(-length * 0.6).toFixed(1)}`, class: "pic-plume" }, group);
  const sideways = [0, -0.35, 0.3, -0.15, 0.4, -0.4, 0.1];
  const make = (holder, name) =>
    sideways.map((side) => {
      const node = paletteNode("circle", { cx: 0, cy: 0, r: 1, class: name }, holder);
      return { side, x: paletteSetter(node, "cx"), y: paletteSetter(node, "cy"), r: paletteSetter(node, "r"), o: paletteSetter(node, "fill-opacity") };
    });
  const clouds = make(puffs, "pic-puff-cloud");
  const beads = make(drops, "pic-drop");
  const show = [paletteToggle(group), paletteToggle(puffs), paletteToggle(drops)];
  const setStreak = paletteSetter(streak, "stroke-opacity");
  return (level, phase, wet) => {
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

/** The trembling of a running engine [picture units]: to and fro ten times a second, as often as it can be seen. */
function pictureTremble(reach) {
  return Math.floor(performance.now() / 50) % 2 ? reach : -reach;
}

/** To the half unit: what creeps need not be drawn anew for less. */
function pictureHalf(value) {
  return Math.round(2 * value) / 2;
}

/** Height of the water (picture units) for a fill: bottom, inlet lip and crown are fixed points of the scale. */
function pictureFillLevel(fill, lipFill, bottom, lip, crown) {
  const f = paletteClamp(paletteFinite(fill, 0), 0, 1);
  const l = paletteClamp(paletteFinite(lipFill, 0.3), 0.05, 0.9);
  return f <= l ? bottom + (lip - bottom) * (f / l) : lip + (crown - lip) * ((f - l) / (1 - l));
}

/** What the colours and signs mean, in words beneath a picture; returns {list, items by kind}. */
function pictureLegend(host, entries) {
  const list = paletteElement("ul", "pic-legend", host);
  const items = {};
  for (const [kind, label] of entries) {
    const item = paletteElement("li", "", list);
    const svg = paletteNode("svg", { width: 22, height: 14, "aria-hidden": "true", class: "pic-swatch" }, item);
    const defs = paletteNode("defs", {}, svg);
    if (kind === "water") {
      paletteNode("rect", { width: 22, height: 14, class: "pic-water" }, svg);
    } else if (kind === "in") {
      paletteNode("path", { d: "M3,7H18M12.5,2.5L18,7L12.5,11.5", class: "pic-air-in" }, svg);
    } else if (kind === "liner") {
      paletteNode("path", { d: "M3,1A8,5.5 0 0 0 19,1ZM3,13A8,5.5 0 0 1 19,13Z", class: "pic-liner" }, svg);
    } else {
      const set = paletteAirBody((className) => paletteNode("rect", { width: 22, height: 14, class: className }, svg), paletteAirDots(defs, 8));
      set(kind === "thin" ? 0.25 : kind === "pressed" ? 6 : 1);
    }
    if (kind !== "in") paletteNode("rect", { x: 0.75, y: 0.75, width: 20.5, height: 12.5, class: "pic-swatch-edge" }, svg);
    paletteElement("span", "", item, label);
    items[kind] = item;
  }
  return { list, items };
}
