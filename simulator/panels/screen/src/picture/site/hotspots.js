// Where the parts of the site can be pressed.

/**
 * Where the parts of the site can be pressed.
 * @param {SiteLayout} lay
 * @param {Course} course
 * @param {Rig} rig
 * @param {RigNodes} rigNodes
 * @param {Words} words
 */
export function siteHotspots(lay, course, rig, rigNodes, words) {
  const start = course.at(0);
  const end = course.at(rig.hose_length_m);
  const along = ["joint", "length", "hose", "hose_lay"];
  /** @type {any[]} */
  const joints = rig.joints || [];
  return [
    ...joints.map((s, i) => {
      const at = course.at(s);
      return { parts: along, name: words.part_joint, place: `joint:${i + 1}`, x: at.x, y: at.y, reach: 1.2 };
    }),
    { parts: ["strainer", "rope", "weed"], name: words.part_strainer, x: start.x - 6, y: start.y },
    { parts: ["water", "rope", "weed"], name: words.part_water, x: Math.max(14, start.x - 20), y: lay.y(0) },
    {
      parts: along,
      name: words.part_joint,
      /**
       * @param {number} x
       * @param {number} y
       */
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
    {
      parts: ["flange", "suction_flange", "pump", "casing_drain"],
      name: words.part_casing,
      x: end.x + 0.5 * rigNodes.unit,
      y: end.y,
    },
    { parts: ["stand", "engine"], name: words.part_rig, x: end.x + 1.5 * rigNodes.unit, y: end.y },
    {
      parts: ["discharge_line", "discharge_valve"],
      name: words.part_to_discharge_short,
      x: Math.min(end.x + 2.2 * rigNodes.unit, lay.width - 12),
      y: rigNodes.pipeY,
    },
  ];
}
