// What both pictures read from a frame: the exhaust stream, whether it is wet, what a fill means as a water level.

/** Strength of the exhaust stream, 0 to 1: the coarse level where given, else the computed flow over the rig's own rated one. */
function pictureExhaustLevel(frame, rig) {
  if (Number.isFinite(frame.exhaust_level)) return paletteClamp(frame.exhaust_level, 0, 1);
  const rated = paletteFinite(rig.exhaust_rated_kg_s, 2 * paletteFinite(rig.motive_rated_kg_s, 0.009));
  return paletteClamp(paletteFinite(frame.exhaust_air, 0) / rated, 0, 1);
}

/** Does the exhaust throw water? */
function pictureExhaustWet(frame) {
  if (frame.exhaust_kind !== undefined && frame.exhaust_kind !== null) return frame.exhaust_kind === "spray" || frame.exhaust_kind === "water";
  return paletteFinite(frame.exhaust_water, 0) > 1e-6;
}

/** Height of the water (picture units) for a fill: bottom, inlet lip and crown are fixed points of the scale. */
function pictureFillLevel(fill, lipFill, bottom, lip, crown) {
  const f = paletteClamp(paletteFinite(fill, 0), 0, 1);
  const l = paletteClamp(paletteFinite(lipFill, 0.3), 0.05, 0.9);
  return f <= l ? bottom + (lip - bottom) * (f / l) : lip + (crown - lip) * ((f - l) / (1 - l));
}
