// What else there is to look at on the site: the water as it falls, weed, a whirl, the cap on the hose end, numbers at
// the joints, a kink or a tear in the discharge line.

/** The water of the pond can fall: a line where it stood, and the surface below it. Returns a function of the drop [m]. */
function pictureSiteWater(svg, lay, land, pond, words) {
  const old = paletteNode("line", { x1: 0, x2: land.shore, y1: lay.y(0), y2: lay.y(0), class: "pic-old-level", display: "none" }, svg);
  const name = paletteLabel(svg, 10, lay.height - 28, words.water_fell, { class: "pic-label pic-soft", display: "none" });
  const show = [paletteToggle(old), paletteToggle(name)];
  const move = pond.map((part) => paletteSetter(part, "transform"));
  return (drop) => {
    for (const set of move) set(drop > 0.01 ? `translate(0,${(drop * lay.scale).toFixed(1)})` : "");
    for (const toggle of show) toggle(drop > 0.05);
  };
}

/** Weed about the strainer: strands that thicken with the share of it that is covered. */
function pictureSiteWeed(svg, x, y, reach) {
  const group = paletteNode("g", { display: "none" }, svg);
  const strands = Array.from({ length: 9 }, (unused, i) => {
    const a = (i / 9) * 2 * Math.PI;
    const px = x + reach * 0.8 * Math.cos(a);
    const py = y + reach * 0.7 * Math.sin(a);
    return paletteNode("path", { d: `M${px},${py}q${4 - (i % 3) * 4},-6 ${2 - (i % 2) * 5},-11q4,-4 1,-9`, class: "pic-weed" }, group);
  });
  const show = paletteToggle(group);
  const toggles = strands.map(paletteToggle);
  return (share) => {
    show(share > 0.03);
    toggles.forEach((toggle, i) => toggle(share * 9 > i));
  };
}

/** Cap on the hose end, whirl above the strainer. */
function pictureSiteEnd(svg, course, tube, level, words) {
  const at = course.at(0);
  const cap = paletteNode("g", { display: "none" }, svg);
  const turned = paletteNode("g", { transform: `translate(${at.x},${at.y}) rotate(${at.angle})` }, cap);
  paletteNode("rect", { x: -7, y: -tube / 2 - 5, width: 12, height: tube + 10, rx: 2, class: "pic-plate" }, turned);
  paletteLabel(cap, Math.max(6, at.x - 30), at.y + tube / 2 + 24, words.cap_on, {});
  const whirl = paletteNode("path", {
    d: `M${at.x - 14},${level - 2}q14,9 28,0M${at.x - 9},${level + 5}q9,6 18,0M${at.x - 5},${level + 11}q5,4 10,0M${at.x},${level + 14}V${Math.max(level + 18, at.y - tube / 2 - 4)}`,
    class: "pic-whirl", display: "none",
  }, svg);
  return { cap: paletteToggle(cap), whirl: paletteToggle(whirl) };
}

/** Numbers at the joints, counted from the strainer, on the upper side of the hose. */
function pictureSiteNumbers(svg, course, rig, tube) {
  return (rig.joints || []).map((s, i) => {
    const at = course.at(s);
    const a = ((at.angle - 90) * Math.PI) / 180;
    const out = tube / 2 + 14;
    const back = 15; // clear of the sign of air coming in
    const x = at.x + Math.cos(a) * out + Math.sin(a) * back;
    return paletteLabel(svg, x, at.y + Math.sin(a) * out - Math.cos(a) * back + 4, String(i + 1), { "text-anchor": "middle", class: "pic-label pic-number" });
  });
}

/** Kink and tear of the discharge line, drawn where it leaves the rig. */
function pictureSiteLine(svg, rigNodes, words, width) {
  const x = Math.min(rigNodes.lineX + 26, width - 30);
  const y = rigNodes.pipeY;
  const kink = paletteNode("g", { display: "none" }, svg);
  paletteNode("path", { d: `M${x - 6},${y - 6}L${x + 2},${y + 8}M${x + 6},${y - 6}L${x - 2},${y + 8}`, class: "pic-kink" }, kink);
  paletteLabel(kink, width - 6, y + 24, words.line_kinked, { "text-anchor": "end" });
  const tear = paletteNode("g", { display: "none" }, svg);
  const spray = paletteNode("path", { d: `M${x},${y}L${x - 8},${y - 16}M${x + 3},${y}L${x + 4},${y - 18}M${x + 6},${y}L${x + 16},${y - 14}`, class: "pic-spray", "stroke-dasharray": "4 5" }, tear);
  paletteNode("path", { d: `M${x - 6},${y + 3}l4,-6l4,6l4,-6l4,6`, class: "pic-kink" }, tear);
  paletteLabel(tear, width - 6, y + 24, words.line_torn, { "text-anchor": "end" });
  return { kink: paletteToggle(kink), tear: paletteToggle(tear), spray: paletteToggle(spray), setSpray: paletteSetter(spray, "stroke-dashoffset") };
}

/** All of it; returns {update(frame, see, step)}. */
function pictureSiteMore(svg, lay, course, rig, tube, land, rigNodes, words) {
  const parts = rig.parts || {};
  const level = lay.y(0);
  const start = course.at(0);
  const water = pictureSiteWater(svg, lay, land, land.pond || [], words);
  const weed = pictureSiteWeed(svg, start.x - 6, start.y, Math.max(12, tube * 0.9));
  const drift = pictureSiteWeed(svg, Math.max(20, start.x - 34), level + 14, 16);
  const end = pictureSiteEnd(svg, course, tube, level, words);
  const line = pictureSiteLine(svg, rigNodes, words, lay.width);
  const numbers = pictureSiteNumbers(svg, course, rig, tube);
  // how far the water is drawn below the card's mark where somebody has seen it lower: nobody has measured it
  const depth = paletteFinite(rig.submergence_m, 0.8);
  const told = parts.strainer === "bare" ? depth + 0.1 : parts.strainer === "high" ? 0.6 * depth : parts.water === "low" ? 0.3 : 0;
  return {
    numbers,
    update(frame, see, step) {
      water(see ? Math.max(0, -paletteFinite(frame.water_level, 0)) : Math.max(0, told));
      weed(see ? paletteFinite(parts.strainer_blocked, 0) : parts.strainer === "plugged" ? 0.9 : 0);
      drift(parts.water === "weed" || frame.water_seen === "weed" ? 1 : 0);
      end.cap(parts.plate === "hose_end");
      end.whirl(see ? paletteFinite(frame.end_air, 0) > 1e-4 : frame.water_seen === "whirl");
      line.kink(parts.line === "kinked");
      line.tear(parts.line === "torn");
      const pressed = paletteFinite(frame.discharge_shown, 0) > 0.2e5 && paletteFinite(frame.speed, 0) > 0.05;
      line.spray(pressed);
      if (pressed) line.setSpray(step > 0 ? -((performance.now() / 30) % 9) : 0);
    },
  };
}

/** Where the parts of the site can be pressed. */
function pictureSiteSpots(lay, course, rig, rigNodes, words) {
  const start = course.at(0);
  const end = course.at(rig.hose_length_m);
  return [
    { parts: ["strainer", "rope", "weed"], name: words.part_strainer, x: start.x - 6, y: start.y },
    { parts: ["water", "rope", "weed"], name: words.part_water, x: Math.max(14, start.x - 20), y: lay.y(0) },
    {
      parts: ["joint", "length", "hose", "hose_lay"],
      name: words.part_joint,
      near(x, y) {
        let best = null;
        for (let k = 3; k <= 38; k += 1) {
          const at = course.at((rig.hose_length_m * k) / 40);
          const away = Math.hypot(at.x - x, at.y - y);
          if (!best || away < best[2]) best = [at.x, at.y, away];
        }
        return best;
      },
    },
    { parts: ["flange", "suction_flange", "pump", "casing_drain"], name: words.part_casing, x: end.x + 0.5 * rigNodes.unit, y: end.y },
    { parts: ["stand", "engine"], name: words.part_rig, x: end.x + 1.5 * rigNodes.unit, y: end.y },
    { parts: ["discharge_line", "discharge_valve"], name: words.part_to_discharge_short, x: Math.min(end.x + 2.2 * rigNodes.unit, lay.width - 12), y: rigNodes.pipeY },
  ];
}
