// What else there is to look at on the site: the water as it falls, weed, a whirl, the cap on the hose end, numbers at
// the joints, a kink or a tear in the discharge line.
import { finiteOr } from "../../base/numbers.js";
import { attributeSetter, displayToggle, svgNode, svgText } from "../../base/svg.js";

/**
 * The water of the pond can fall: a line where it stood, and the surface below it. Returns a function of the drop [m].
 * @param {SVGSVGElement} svg
 * @param {SiteLayout} lay
 * @param {Land} land
 * @param {any} pond
 * @param {Words} words
 */
function drawWaterSurface(svg, lay, land, pond, words) {
  const old = svgNode(
    "line",
    { x1: 0, x2: land.shore, y1: lay.y(0), y2: lay.y(0), class: "pic-old-level", display: "none" },
    svg,
  );
  // in the air over the pond, clear of rope, hose and strainer
  const name = svgText(svg, 10, Math.max(14, lay.y(0) - 34), words.water_fell, {
    class: "pic-label pic-soft",
    display: "none",
  });
  const show = [displayToggle(old), displayToggle(name)];
  const move = pond.map((/** @type {any} */ part) => attributeSetter(part, "transform"));
  return (/** @type {any} */ drop) => {
    for (const set of move) set(drop > 0.01 ? `translate(0,${(drop * lay.scale).toFixed(1)})` : "");
    for (const toggle of show) toggle(drop > 0.05);
  };
}

/**
 * Weed about the strainer: strands that thicken with the share of it that is covered.
 * @param {SVGSVGElement} svg
 * @param {number} x
 * @param {number} y
 * @param {number} reach
 */
function drawWeed(svg, x, y, reach) {
  const group = svgNode("g", { display: "none" }, svg);
  const strands = Array.from({ length: 9 }, (_, i) => {
    const a = (i / 9) * 2 * Math.PI;
    const px = x + reach * 0.8 * Math.cos(a);
    const py = y + reach * 0.7 * Math.sin(a);
    return svgNode(
      "path",
      { d: `M${px},${py}q${4 - (i % 3) * 4},-6 ${2 - (i % 2) * 5},-11q4,-4 1,-9`, class: "pic-weed" },
      group,
    );
  });
  const show = displayToggle(group);
  const toggles = strands.map(displayToggle);
  return (/** @type {number} */ share) => {
    show(share > 0.03);
    toggles.forEach((toggle, i) => toggle(share * 9 > i));
  };
}

/**
 * Cap on the hose end, whirl above the strainer.
 * @param {SVGSVGElement} svg
 * @param {Course} course
 * @param {number} tube
 * @param {number} level
 * @param {Words} words
 */
function drawHoseEnd(svg, course, tube, level, words) {
  const at = course.at(0);
  const cap = svgNode("g", { display: "none" }, svg);
  const turned = svgNode("g", { transform: `translate(${at.x},${at.y}) rotate(${at.angle})` }, cap);
  svgNode("rect", { x: -7, y: -tube / 2 - 5, width: 12, height: tube + 10, rx: 2, class: "pic-plate" }, turned);
  svgText(cap, Math.max(6, at.x - 30), at.y + tube / 2 + 24, words.cap_on, {});
  const whirl = svgNode(
    "path",
    {
      d: `M${at.x - 14},${level - 2}q14,9 28,0M${at.x - 9},${level + 5}q9,6 18,0M${at.x - 5},${level + 11}q5,4 10,0M${at.x},${level + 14}V${Math.max(level + 18, at.y - tube / 2 - 4)}`,
      class: "pic-whirl",
      display: "none",
    },
    svg,
  );
  return { cap: displayToggle(cap), whirl: displayToggle(whirl), sink: attributeSetter(whirl, "transform") };
}

/**
 * Numbers at the joints, counted from the strainer, on the upper side of the hose.
 * @param {SVGSVGElement} svg
 * @param {Course} course
 * @param {Rig} rig
 * @param {number} tube
 */
function drawNumbers(svg, course, rig, tube) {
  return (rig.joints || []).map((s, i) => {
    const at = course.at(s);
    const a = ((at.angle - 90) * Math.PI) / 180;
    const out = tube / 2 + 14;
    const back = 15; // clear of the sign of air coming in
    const x = at.x + Math.cos(a) * out + Math.sin(a) * back;
    return svgText(svg, x, at.y + Math.sin(a) * out - Math.cos(a) * back + 4, String(i + 1), {
      "text-anchor": "middle",
      class: "pic-label pic-number",
    });
  });
}

/**
 * Kink and tear of the discharge line, drawn where it leaves the rig.
 * @param {SVGSVGElement} svg
 * @param {RigNodes} rigNodes
 * @param {Words} words
 * @param {number} width
 */
function drawDischargeLine(svg, rigNodes, words, width) {
  const x = Math.min(rigNodes.lineX + 26, width - 30);
  const y = rigNodes.pipeY;
  const kink = svgNode("g", { display: "none" }, svg);
  svgNode(
    "path",
    { d: `M${x - 6},${y - 6}L${x + 2},${y + 8}M${x + 6},${y - 6}L${x - 2},${y + 8}`, class: "pic-kink" },
    kink,
  );
  svgText(kink, width - 6, y + 24, words.line_kinked, { "text-anchor": "end" });
  const tear = svgNode("g", { display: "none" }, svg);
  const spray = svgNode(
    "path",
    {
      d: `M${x},${y}L${x - 8},${y - 16}M${x + 3},${y}L${x + 4},${y - 18}M${x + 6},${y}L${x + 16},${y - 14}`,
      class: "pic-spray",
      "stroke-dasharray": "4 5",
    },
    tear,
  );
  svgNode("path", { d: `M${x - 6},${y + 3}l4,-6l4,6l4,-6l4,6`, class: "pic-kink" }, tear);
  svgText(tear, width - 6, y + 24, words.line_torn, { "text-anchor": "end" });
  return {
    kink: displayToggle(kink),
    tear: displayToggle(tear),
    spray: displayToggle(spray),
    setSpray: attributeSetter(spray, "stroke-dashoffset"),
  };
}

/**
 * All of it; returns {update(frame, see, step)}.
 * @param {SVGSVGElement} svg
 * @param {SiteLayout} lay
 * @param {Course} course
 * @param {Rig} rig
 * @param {number} tube
 * @param {Land} land
 * @param {RigNodes} rigNodes
 * @param {Words} words
 */
export function drawDetails(svg, lay, course, rig, tube, land, rigNodes, words) {
  const parts = rig.parts || {};
  const level = lay.y(0);
  const start = course.at(0);
  const water = drawWaterSurface(svg, lay, land, land.pond || [], words);
  const weed = drawWeed(svg, start.x - 6, start.y, Math.max(12, tube * 0.9));
  const drift = drawWeed(svg, Math.max(20, start.x - 34), level + 14, 16);
  const end = drawHoseEnd(svg, course, tube, level, words);
  if (parts.strainer_out && parts.plate !== "hose_end")
    svgText(svg, 10, Math.max(14, level - 50), words.strainer_out, { class: "pic-label" });
  const line = drawDischargeLine(svg, rigNodes, words, lay.width);
  const numbers = drawNumbers(svg, course, rig, tube);
  // how far the water is drawn below its first mark where somebody has seen it lower: as the tape gave it, else a little
  const depth = finiteOr(rig.submergence_m, 0.8);
  const told = parts.strainer === "bare" ? depth + 0.1 : parts.water === "low" ? rig.water_drop_m || 0.3 : 0;
  return {
    numbers,
    /**
     * @param {Frame} frame
     * @param {boolean} see
     * @param {any} step
     */
    update(frame, see, step) {
      water(see ? Math.max(0, -finiteOr(frame.water_level, 0)) : Math.max(0, told));
      weed(
        parts.strainer_out
          ? 0
          : see
            ? finiteOr(frame.strainer_weed, finiteOr(parts.strainer_blocked, 0))
            : parts.strainer === "plugged"
              ? 0.9
              : 0,
      );
      drift(parts.water === "weed" || frame.water_seen === "weed" ? 1 : 0);
      end.cap(parts.plate === "hose_end");
      // The whirl lies on the water as it stands now; over a bare strainer there is none.
      const fallen = see ? Math.max(0, -finiteOr(frame.water_level, 0)) : Math.max(0, told);
      const whirls = see ? finiteOr(frame.end_air, 0) > 1e-4 : frame.water_seen === "whirl";
      end.whirl(whirls && fallen < depth);
      end.sink(`translate(0,${(lay.y(-fallen) - level).toFixed(1)})`);
      line.kink(parts.line === "kinked");
      line.tear(parts.line === "torn" && finiteOr(frame.line_torn, 1) > 0.02);
      const pressed = finiteOr(frame.discharge_shown, 0) > 0.2e5 && finiteOr(frame.speed, 0) > 0.05;
      line.spray(pressed);
      if (pressed) line.setSpray(step > 0 ? -((performance.now() / 30) % 9) : 0);
    },
  };
}
