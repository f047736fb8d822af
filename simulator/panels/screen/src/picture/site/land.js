// Land of the site picture: ground, pond, dam, the staff that shows the lift, and the rig in simple outline.
import { fillIn } from "../../base/format.js";
import { svgNode } from "../../base/svg.js";
import { createPlume } from "../frame.js";
import { lineBeside } from "./geometry.js";

/**
 * Ground, pond, dam where the pump stands below the water, and the staff that shows the lift.
 * @param {SVGSVGElement} svg
 * @param {SiteLayout} lay
 * @param {Words} words
 * @param {LengthWords} lengths
 * @param {number} tube
 */
export function drawLand(svg, lay, words, lengths, tube) {
  const { x, y, end, vertices, scale } = lay;
  const first = vertices[0];
  const under = tube / 2 / scale;
  const landing = vertices.find((v) => v[2] > 0);
  const flooded = !landing;
  const firstLand = landing ? landing[0] : end[0];
  /** @param {number} s */
  const distance = (s) => {
    if (s >= firstLand)
      return under + 0.06 + (lay.stand - under - 0.06) * ((s - firstLand) / Math.max(1e-6, end[0] - firstLand));
    const u = s / Math.max(1e-6, firstLand);
    return (under + 0.45) * (1 - u) + (under + 0.06) * u;
  };
  const ground = lineBeside(vertices, flooded ? () => under + 0.42 : distance);
  const bed = Math.min(ground[0][1], first[2] - 0.55);
  ground[0][1] = bed;
  const padLevel = end[2] - lay.stand;
  const floor = lay.height + 4;
  const line = [[-4, y(bed - 0.12)]];
  ground.slice(0, -1).forEach((p) => line.push([x(p[0]), y(p[1])]));
  const edge = x(end[1]) - 2;
  if (line[line.length - 1][0] > edge - 3) line[line.length - 1][0] = edge - 3;
  line.push([edge, y(padLevel)], [lay.width + 4, y(padLevel)]);
  for (let i = 1; i < line.length; i += 1) line[i][0] = Math.max(line[i][0], line[i - 1][0]);

  svgNode("rect", { x: 0, y: 0, width: lay.width, height: lay.height, class: "pic-sky" }, svg);
  let shore = x(end[1]);
  for (let i = 1; i < line.length; i += 1) {
    if (line[i][1] < y(0)) {
      const [a, b] = [line[i - 1], line[i]];
      shore = a[0] + ((b[0] - a[0]) * (y(0) - a[1])) / (b[1] - a[1] || 1);
      break;
    }
  }
  const damAt = x(end[1] * 0.82);
  if (flooded) shore = damAt;
  const pond = [
    svgNode("rect", { x: -2, y: y(0), width: shore + 4, height: floor - y(0), class: "pic-pond" }, svg),
    svgNode("line", { x1: 0, x2: shore, y1: y(0), y2: y(0), class: "pic-pond-line" }, svg),
  ];
  const d = `M${line.map((p) => `${p[0].toFixed(1)},${p[1].toFixed(1)}`).join("L")}`;
  svgNode("path", { d: `${d}L${lay.width + 4},${floor}L-4,${floor}Z`, class: "pic-earth" }, svg);
  svgNode("path", { d, class: "pic-earth-line" }, svg);
  if (flooded) {
    const foot = y(padLevel) + 6;
    const wide = Math.max(8, 0.3 * scale);
    svgNode("rect", { x: damAt, y: y(0.35), width: wide, height: foot - y(0.35), class: "pic-wall" }, svg);
  }
  return { shore, padY: y(padLevel), bedY: y(bed), flooded, pond };
}

/**
 * A levelling staff from the water level to the suction flange: one block a metre (or a foot marked 3 together).
 * @param {SVGSVGElement} svg
 * @param {SiteLayout} lay
 * @param {Words} words
 * @param {LengthWords} lengths
 * @param {Land} land
 */
export function drawStaff(svg, lay, words, lengths, land) {
  const { x, y, end, scale } = lay;
  const lift = end[2];
  const at = x(end[1]) + Math.max(14, 0.3 * lay.rigSize * scale);
  const group = svgNode("g", { class: "pic-staff" }, svg);
  svgNode("line", { x1: land.shore, x2: at + 14, y1: y(0), y2: y(0), class: "pic-level" }, group);
  const top = Math.max(lift, 0);
  const low = Math.min(lift, 0);
  for (let m = 0; m < top - low; m += 1) {
    const from = y(low + m);
    const to = y(Math.min(top, low + m + 1));
    svgNode(
      "rect",
      { x: at - 3, width: 6, y: to, height: Math.max(0, from - to), class: m % 2 ? "pic-staff-b" : "pic-staff-a" },
      group,
    );
  }
  const label = fillIn(lift >= 0 ? words.lift : words.flooded, {
    lift: lengths.long(Math.abs(lift), 1),
  });
  return { group, at, label, middle: (y(Math.max(0, low)) + y(lift)) / 2, tall: Math.abs(y(0) - y(lift)) };
}

/**
 * The rig on the bank, in simple outline and to scale; returns what moves.
 * @param {SVGSVGElement} svg
 * @param {SiteLayout} lay
 * @param {Words} words
 * @param {Land} land
 */
export function drawRig(svg, lay, words, land) {
  const { x, y, end, scale, rigSize } = lay;
  const u = rigSize * scale;
  const fx = x(end[1]);
  const fy = y(end[2]);
  const ground = land.padY;
  const group = svgNode("g", { class: "pic-rig" }, svg);
  const bodyTop = fy - 0.62 * u;
  const skid = ground - 0.22 * u;
  const pipe = Math.max(4, 0.16 * u);
  const riseX = fx + 0.62 * u;
  const pipeY = fy - 0.86 * u;
  const linePath = `M${riseX},${fy}V${pipeY + pipe}Q${riseX},${pipeY} ${riseX + pipe},${pipeY}H${lay.width + 4}`;
  svgNode("path", { d: linePath, class: "pic-pipe-wall", "stroke-width": pipe + 3 }, group);
  svgNode("path", { d: linePath, class: "pic-pipe-in", "stroke-width": pipe }, group);
  const stream = svgNode(
    "path",
    { d: linePath, class: "pic-pipe-water", "stroke-width": pipe, display: "none", pathLength: 1 },
    group,
  );
  const chevrons = svgNode(
    "path",
    { d: linePath, class: "pic-flow", "stroke-width": Math.max(2, pipe * 0.3), display: "none" },
    group,
  );
  const engine = svgNode("g", {}, group);
  svgNode(
    "rect",
    { x: fx + 0.78 * u, y: bodyTop, width: 1.38 * u, height: skid - bodyTop, rx: 0.08 * u, class: "pic-body" },
    engine,
  );
  for (let i = 0; i < 3; i += 1) {
    const gy = bodyTop + (0.2 + 0.13 * i) * u;
    svgNode("line", { x1: fx + 1.65 * u, x2: fx + 2.02 * u, y1: gy, y2: gy, class: "pic-fine" }, engine);
  }
  svgNode("path", { d: `M${fx + 1.2 * u},${bodyTop}v${-0.14 * u}h${0.1 * u}v${0.14 * u}`, class: "pic-body" }, engine);
  const casing = svgNode("g", {}, group);
  svgNode("rect", { x: fx + 0.02 * u, y: fy - 0.2 * u, width: 0.3 * u, height: 0.4 * u, class: "pic-body" }, casing);
  svgNode("circle", { cx: fx + 0.52 * u, cy: fy, r: 0.36 * u, class: "pic-body" }, casing);
  svgNode("circle", { cx: fx + 0.52 * u, cy: fy, r: 0.12 * u, class: "pic-body pic-fine" }, casing);
  svgNode(
    "rect",
    { x: fx - 2, y: fy - 0.26 * u, width: Math.max(4, 0.07 * u), height: 0.52 * u, class: "pic-band" },
    casing,
  );
  svgNode(
    "rect",
    { x: fx + 0.1 * u, y: skid, width: 2.15 * u, height: Math.max(3, 0.1 * u), class: "pic-dark" },
    group,
  );
  for (const c of [0.8, 1.92]) {
    svgNode("circle", { cx: fx + c * u, cy: ground - 0.12 * u, r: Math.max(2.5, 0.14 * u), class: "pic-wheel" }, group);
  }
  // the exhaust hose of the ejector bends back over the suction side
  const tipX = fx + 0.14 * u;
  const tipY = fy - 0.82 * u;
  svgNode(
    "path",
    {
      d: `M${fx + 0.3 * u},${fy - 0.3 * u}V${fy - 0.6 * u}Q${fx + 0.3 * u},${tipY + 0.06 * u} ${tipX},${tipY}`,
      class: "pic-hose-thin",
      "stroke-width": Math.max(2.5, 0.06 * u),
    },
    group,
  );
  const holder = svgNode("g", { transform: `translate(${tipX},${tipY}) rotate(-52)` }, group);
  const reach = Math.max(18, 0.62 * u);
  const setPlume = createPlume(holder, reach);
  const shake = svgNode("g", { display: "none" }, group);
  for (const s of [0.72, 2.24]) {
    const bx = fx + s * u;
    const out = s < 1 ? -1 : 1;
    if (s > 1)
      svgNode(
        "path",
        {
          d: `M${bx},${bodyTop + 4}q${4 * out},5 0,10M${bx + 5 * out},${bodyTop}q${5 * out},8 0,18`,
          class: "pic-shake",
        },
        shake,
      );
  }
  return {
    group,
    engine,
    stream,
    chevrons,
    setPlume,
    shake,
    pipeY,
    lineX: riseX,
    unit: u,
    plumeRight: tipX + 10,
    plumeTop: tipY - 0.75 * reach,
  };
}
