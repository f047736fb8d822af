// The suction hose of the site picture: tube, water and air, strainer, joints, a loose liner.
import { clamp, finiteOr } from "../../base/numbers.js";
import { attributeSetter, displayToggle, svgNode, svgText } from "../../base/svg.js";
import { airBody, airDots } from "../air.js";

/**
 * The hose as a tube: wall, air by its pressure on both sides of a loose liner, water, and the closed cover.
 * @param {SVGElement} svg
 * @param {SiteLayout} lay
 * @param {Course} course
 * @param {Rig} rig
 * @param {number} tube
 */
export function drawHose(svg, lay, course, rig, tube) {
  const defs = svgNode("defs", {}, svg);
  const dots = airDots(defs, 8);
  const wall = tube < 16 ? 2 : 2.5;
  svgNode("path", { d: course.path, class: "pic-hose-wall", "stroke-width": tube + 2 * wall }, svg);
  const inside = svgNode("g", { class: "pic-tube" }, svg);
  const total = course.total;
  const choke = typeof rig.liner_at === "number" ? course.at(rig.liner_at).length : null;
  /** @param {string | null} dash */
  const body = (dash) => {
    const group = svgNode("g", {}, inside);
    return airBody(
      (/** @type {string} */ className) => {
        const node = svgNode("path", { d: course.path, class: className, "stroke-width": tube }, group);
        if (dash) node.setAttribute("stroke-dasharray", dash);
        return node;
      },
      dots,
      "stroke",
    );
  };
  const airs = choke === null ? [body(null)] : [body(`${choke} ${total + 9}`), body(`0 ${choke} ${total} 9`)];
  const water = svgNode("path", { d: course.path, class: "pic-water-stroke", "stroke-width": tube }, inside);
  const flow = svgNode("path", { d: course.path, class: "pic-flow", "stroke-width": Math.max(2, tube * 0.14) }, inside);
  const pocket = drawPocket(inside, course, dots, tube);
  const front = svgNode("line", { y1: -tube / 2, y2: tube / 2, x1: 0, x2: 0, class: "pic-front" }, inside);
  const cover = svgNode("g", {}, svg);
  svgNode("path", { d: course.path, class: "pic-hose-cover", "stroke-width": tube }, cover);
  svgNode(
    "path",
    { d: course.path, class: "pic-hose-ribs", "stroke-width": tube, "stroke-dasharray": "1.4 5.6" },
    cover,
  );
  return { inside, cover, airs, water, flow, front, pocket };
}

const FILM = 0.26; // of the bore: water that runs on below the air of a high spot

/**
 * Air that a high spot holds back, the water running on in a thin stream below it.
 * @param {Element} inside
 * @param {Course} course
 * @param {any} dots
 * @param {number} tube
 */
function drawPocket(inside, course, dots, tube) {
  const group = svgNode("g", { display: "none" }, inside);
  /** @type {any[]} */
  const nodes = [];
  const paint = airBody(
    (/** @type {string} */ className) => {
      nodes.push(svgNode("path", { class: className, "stroke-width": tube }, group));
      return nodes[nodes.length - 1];
    },
    dots,
    "stroke",
  );
  const stream = svgNode("path", { class: "pic-water-stroke", "stroke-width": tube * FILM }, group);
  const edge = svgNode("path", { class: "pic-pocket-edge" }, group);
  const show = displayToggle(group);
  let last = "";
  return {
    paint,
    /** @param {[number, number] | null} place */
    lie(place) {
      show(place !== null);
      if (!place) return;
      const line = course.between(place[0], place[1]);
      if (line === last) return;
      last = line;
      for (const node of nodes) node.setAttribute("d", line);
      stream.setAttribute("d", course.between(place[0], place[1], (tube * (1 - FILM)) / 2));
      edge.setAttribute("d", course.between(place[0], place[1], tube * (0.5 - FILM)));
    },
  };
}

/**
 * A name over a high spot, with a line down to the air that stays there; it is hidden until there is some.
 * @param {SVGElement} svg
 * @param {{ x: number, y: number }} crest
 * @param {number} tube
 * @param {string} words
 */
export function nameHeldAir(svg, crest, tube, words) {
  const group = svgNode("g", {}, svg);
  const y = Math.max(15, crest.y - tube / 2 - 18);
  const name = svgText(group, crest.x - 6, y, words, { "text-anchor": "end", class: "pic-label pic-strong" });
  const wide = name.getComputedTextLength?.() || words.length * 8;
  name.setAttribute("x", String(Math.max(crest.x - 6, wide + 6))); // long words are not cut off at the left
  svgNode("path", { d: `M${crest.x - 2},${y + 3}L${crest.x + tube * 0.6},${crest.y}`, class: "pic-held" }, group);
  return group;
}

/**
 * Strainer with its rope, float and stake.
 * @param {SVGElement} svg
 * @param {SiteLayout} lay
 * @param {Course} course
 * @param {number} tube
 * @param {Land} land
 * @param {Rig} rig
 */
export function drawStrainer(svg, lay, course, tube, land, rig) {
  const start = course.at(0);
  const wide = Math.max(tube * 1.25 + 4, finiteOr(rig.strainer_diameter_m, 0) * lay.scale);
  const long = Math.max(17, 0.42 * lay.scale, wide);
  const group = svgNode("g", { transform: `translate(${start.x},${start.y}) rotate(${start.angle})` }, svg);
  if (rig.parts?.strainer_out) group.setAttribute("opacity", "0.25"); // hauled out: its place alone is left to be seen
  svgNode("rect", { x: -long * 0.75, y: -wide / 2, width: long, height: wide, rx: 3, class: "pic-band" }, group);
  for (let i = 1; i < 5; i += 1) {
    const at = -long * 0.75 + (long * i) / 5;
    svgNode("line", { x1: at, x2: at, y1: -wide / 2 + 3, y2: wide / 2 - 3, class: "pic-fine" }, group);
  }
  const tip = start.x - long * 0.5;
  const level = lay.y(0);
  const top = start.y - wide / 2;
  const stake = Math.min(land.shore + Math.max(8, 0.5 * lay.scale), lay.x(lay.end[1]) - 12);
  const rope = svgNode("g", {}, svg);
  if (top > level) {
    svgNode("path", { d: `M${tip},${top}L${tip + 2},${level}`, class: "pic-rope" }, rope);
    if (land.shore - tip > 26 && !land.flooded) {
      const sag = Math.min(26, 0.25 * (stake - tip));
      svgNode(
        "path",
        {
          d: `M${tip + 2},${level - 4}Q${(tip + stake) / 2},${level - sag} ${land.shore - 4},${level - 10}`,
          class: "pic-rope",
        },
        rope,
      );
      svgNode("path", { d: `M${land.shore - 5},${level + 8}v-22`, class: "pic-stake" }, rope);
    }
    svgNode("ellipse", { cx: tip + 2, cy: level - 1, rx: 7, ry: 4.5, class: "pic-float" }, rope);
  }
  const bubbles = svgNode("g", { display: "none" }, svg);
  const rising = Math.max(8, top - level);
  const rings = [0, 1, 2, 3, 4].map((i) =>
    svgNode(
      "circle",
      { cx: tip + ((i * 7) % 17) - 8, cy: top - (rising * i) / 5, r: 2.4 + (i % 3), class: "pic-bubble" },
      bubbles,
    ),
  );
  return { bubbles, rings, top, rising };
}

/**
 * Bands at the joints, with the signs of air coming in.
 * @param {SVGElement} svg
 * @param {Course} course
 * @param {Rig} rig
 * @param {number} tube
 */
export function drawJoints(svg, course, rig, tube) {
  return (rig.joints || []).map((s) => {
    const at = course.at(s);
    const group = svgNode("g", { transform: `translate(${at.x},${at.y}) rotate(${at.angle})` }, svg);
    const reach = tube / 2 + 5;
    const air = svgNode("g", { display: "none" }, group);
    const wet = svgNode("g", { display: "none" }, group);
    for (const side of [-1, 1]) {
      const a = side * (reach + 15);
      const b = side * (reach + 2);
      svgNode(
        "path",
        { d: `M0,${a}L0,${b}M-4,${b + side * 5.5}L0,${b}L4,${b + side * 5.5}`, class: "pic-air-in" },
        air,
      );
    }
    const rings = [0, 1, 2, 3].map((i) =>
      svgNode(
        "circle",
        { cx: 8 + i * 9, cy: ((i % 2) - 0.5) * tube * 0.4, r: clamp(tube * 0.13, 1.8, 4), class: "pic-bubble" },
        wet,
      ),
    );
    svgNode("rect", { x: -4.5, y: -reach, width: 9, height: 2 * reach, rx: 2.5, class: "pic-band" }, group);
    svgNode("line", { x1: 0, x2: 0, y1: -reach, y2: reach, class: "pic-fine" }, group);
    return {
      show: displayToggle(air),
      showWet: displayToggle(wet),
      rings: rings.map((ring) => attributeSetter(ring, "cx")),
      s,
    };
  });
}

/**
 * Two lips of a loose inner tube that close on each other.
 * @param {SVGElement} svg
 * @param {Course} course
 * @param {Rig} rig
 * @param {number} tube
 */
export function drawLiner(svg, course, rig, tube) {
  if (typeof rig.liner_at !== "number") return null;
  const at = course.at(rig.liner_at);
  const group = svgNode("g", { transform: `translate(${at.x},${at.y}) rotate(${at.angle})`, display: "none" }, svg);
  const wide = Math.max(9, tube * 0.8);
  const lips = [-1, 1]
    .map((side) => ({
      side,
      node: svgNode("path", { d: `M${-wide},0A${wide},1 0 0 1 ${wide},0Z`, class: "pic-liner" }, group),
    }))
    .map(({ side, node }) => ({ side, set: attributeSetter(node, "transform") }));
  return {
    show: displayToggle(group),
    /** @param {number} reach */
    close(reach) {
      for (const { side, set } of lips)
        set(`translate(0,${(side * tube) / 2}) scale(1,${(side * Math.max(0.01, reach)).toFixed(2)})`);
    },
  };
}

/**
 * Boxes [left, top, right, bottom] that a moving name must keep clear of: the hose, and the names that stand.
 * @param {Course} course
 * @param {number} length
 * @param {number} tube
 * @param {any} nodes
 */
export function obstaclesAlong(course, length, tube, nodes) {
  const boxes = [];
  const reach = tube / 2 + 2;
  for (let i = 0; i <= 60; i += 1) {
    const at = course.at((length * i) / 60);
    boxes.push([at.x - reach, at.y - reach, at.x + reach, at.y + reach]);
  }
  for (const node of nodes) {
    const box = node.getBBox();
    boxes.push([box.x - 3, box.y - 1, box.x + box.width + 3, box.y + box.height + 1]);
  }
  return boxes;
}

/**
 * Places for a name so wide beside a point on the hose, the best first; after those, rings further and further out.
 * @param {number} wide
 * @param {number} reach
 */
export function spotsAround(wide, reach) {
  const places = [
    [-34 - wide, -reach - 30],
    [-20 - wide, -reach - 16],
    [-wide / 2, -reach - 40],
    [24, -reach - 34],
    [-wide * 0.8, -reach - 62],
    [reach + 24, reach + 34],
    [reach + 40, 4],
    [-wide - reach - 22, reach + 26],
    [10, reach + 60],
    [-wide / 2, -reach - 90],
  ];
  for (const away of [40, 60, 85, 115, 150]) {
    for (let k = 0; k < 14; k += 1) {
      const a = Math.PI + ((k % 2 ? 1 : -1) * Math.ceil(k / 2) * Math.PI) / 7;
      places.push([Math.cos(a) * (away + wide / 2) - wide / 2, Math.sin(a) * (away + reach) + 4]);
    }
  }
  return places;
}
