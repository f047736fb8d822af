// The site to scale: pond, strainer, hose on its real profile, bank, rig and the lift, with the water in the hose.

/** Lengths in the units in use; the foot and the inch are exact (0.3048 m, 25.4 mm). */
function pictureLengths(words, units) {
  const us = units === "us";
  const long = (m, decimals) =>
    paletteFill(us ? words.feet : words.metres, { n: paletteNumber(us ? m / 0.3048 : m, us ? Math.min(decimals, 1) : decimals) });
  const bore = (m) =>
    paletteFill(us ? words.inches : words.millimetres, { n: paletteNumber(us ? m / 0.0254 : m * 1000, 0) });
  return { long, bore };
}

/** Whole metres without decimals, else one. */
function pictureDecimals(m) {
  return Math.abs(m - Math.round(m)) < 0.05 ? 0 : 1;
}

/** Ground, pond, dam where the pump stands below the water, and the staff that shows the lift. */
function pictureDrawLand(svg, lay, words, lengths, tube) {
  const { x, y, end, vertices, extent, scale } = lay;
  const first = vertices[0];
  const under = tube / 2 / scale;
  const landing = vertices.find((v) => v[2] > 0);
  const flooded = !landing;
  const firstLand = landing ? landing[0] : end[0];
  const distance = (s) => {
    if (s >= firstLand) return under + 0.06 + (lay.stand - under - 0.06) * ((s - firstLand) / Math.max(1e-6, end[0] - firstLand));
    const u = s / Math.max(1e-6, firstLand);
    return (under + 0.45) * (1 - u) + (under + 0.06) * u;
  };
  const ground = pictureBeside(vertices, flooded ? () => under + 0.42 : distance);
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

  paletteNode("rect", { x: 0, y: 0, width: lay.width, height: lay.height, class: "pic-sky" }, svg);
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
  paletteNode("rect", { x: -2, y: y(0), width: shore + 4, height: floor - y(0), class: "pic-pond" }, svg);
  paletteNode("line", { x1: 0, x2: shore, y1: y(0), y2: y(0), class: "pic-pond-line" }, svg);
  const d = "M" + line.map((p) => `${p[0].toFixed(1)},${p[1].toFixed(1)}`).join("L");
  paletteNode("path", { d: `${d}L${lay.width + 4},${floor}L-4,${floor}Z`, class: "pic-earth" }, svg);
  paletteNode("path", { d, class: "pic-earth-line" }, svg);
  if (flooded) {
    const foot = y(padLevel) + 6;
    const wide = Math.max(8, 0.3 * scale);
    paletteNode("rect", { x: damAt, y: y(0.35), width: wide, height: foot - y(0.35), class: "pic-wall" }, svg);
  }
  return { shore, padY: y(padLevel), bedY: y(bed), flooded };
}

/** A levelling staff from the water level to the suction flange: one block a metre (or a foot marked 3 together). */
function pictureDrawStaff(svg, lay, words, lengths, land) {
  const { x, y, end, scale } = lay;
  const lift = end[2];
  const at = x(end[1]) + Math.max(14, 0.3 * lay.rigSize * scale);
  const group = paletteNode("g", { class: "pic-staff" }, svg);
  paletteNode("line", { x1: land.shore, x2: at + 14, y1: y(0), y2: y(0), class: "pic-level" }, group);
  const top = Math.max(lift, 0);
  const low = Math.min(lift, 0);
  for (let m = 0; m < top - low; m += 1) {
    const from = y(low + m);
    const to = y(Math.min(top, low + m + 1));
    paletteNode("rect", { x: at - 3, width: 6, y: to, height: Math.max(0, from - to), class: m % 2 ? "pic-staff-b" : "pic-staff-a" }, group);
  }
  const label = paletteFill(lift >= 0 ? words.lift : words.flooded, {
    lift: lengths.long(Math.abs(lift), 1),
  });
  return { group, at, label, middle: (y(Math.max(0, low)) + y(lift)) / 2, tall: Math.abs(y(0) - y(lift)) };
}

/** The rig on the bank, in simple outline and to scale; returns what moves. */
function pictureDrawRig(svg, lay, words, land) {
  const { x, y, end, scale, rigSize } = lay;
  const u = rigSize * scale;
  const fx = x(end[1]);
  const fy = y(end[2]);
  const ground = land.padY;
  const group = paletteNode("g", { class: "pic-rig" }, svg);
  const bodyTop = fy - 0.62 * u;
  const skid = ground - 0.22 * u;
  const pipe = Math.max(4, 0.16 * u);
  const riseX = fx + 0.62 * u;
  const pipeY = fy - 0.86 * u;
  const linePath = `M${riseX},${fy}V${pipeY + pipe}Q${riseX},${pipeY} ${riseX + pipe},${pipeY}H${lay.width + 4}`;
  paletteNode("path", { d: linePath, class: "pic-pipe-wall", "stroke-width": pipe + 3 }, group);
  paletteNode("path", { d: linePath, class: "pic-pipe-in", "stroke-width": pipe }, group);
  const stream = paletteNode("path", { d: linePath, class: "pic-pipe-water", "stroke-width": pipe, display: "none" }, group);
  const chevrons = paletteNode("path", { d: linePath, class: "pic-flow", "stroke-width": Math.max(2, pipe * 0.3), display: "none" }, group);
  const engine = paletteNode("g", {}, group);
  paletteNode("rect", { x: fx + 0.78 * u, y: bodyTop, width: 1.38 * u, height: skid - bodyTop, rx: 0.08 * u, class: "pic-body" }, engine);
  for (let i = 0; i < 3; i += 1) {
    const gy = bodyTop + (0.2 + 0.13 * i) * u;
    paletteNode("line", { x1: fx + 1.65 * u, x2: fx + 2.02 * u, y1: gy, y2: gy, class: "pic-fine" }, engine);
  }
  paletteNode("path", { d: `M${fx + 1.2 * u},${bodyTop}v${-0.14 * u}h${0.1 * u}v${0.14 * u}`, class: "pic-body" }, engine);
  const casing = paletteNode("g", {}, group);
  paletteNode("rect", { x: fx + 0.02 * u, y: fy - 0.2 * u, width: 0.3 * u, height: 0.4 * u, class: "pic-body" }, casing);
  paletteNode("circle", { cx: fx + 0.52 * u, cy: fy, r: 0.36 * u, class: "pic-body" }, casing);
  paletteNode("circle", { cx: fx + 0.52 * u, cy: fy, r: 0.12 * u, class: "pic-body pic-fine" }, casing);
  paletteNode("rect", { x: fx - 2, y: fy - 0.26 * u, width: Math.max(4, 0.07 * u), height: 0.52 * u, class: "pic-band" }, casing);
  paletteNode("rect", { x: fx + 0.1 * u, y: skid, width: 2.15 * u, height: Math.max(3, 0.1 * u), class: "pic-dark" }, group);
  for (const c of [0.45, 1.85]) {
    paletteNode("circle", { cx: fx + c * u, cy: ground - 0.12 * u, r: Math.max(2.5, 0.14 * u), class: "pic-wheel" }, group);
  }
  // the exhaust hose of the ejector bends back over the suction side
  const tipX = fx + 0.16 * u;
  const tipY = fy - 0.82 * u;
  paletteNode("path", { d: `M${fx + 0.3 * u},${fy - 0.3 * u}V${fy - 0.6 * u}Q${fx + 0.3 * u},${tipY + 0.06 * u} ${tipX},${tipY}`, class: "pic-hose-thin", "stroke-width": Math.max(2.5, 0.06 * u) }, group);
  const plume = paletteNode("g", { transform: `translate(${tipX},${tipY})` }, group);
  const length = Math.max(12, 0.5 * u);
  const puffs = [-24, 0, 24].map((a) =>
    paletteNode("path", { d: `M0,0L${-length},0`, transform: `rotate(${38 + a})`, class: "pic-plume" }, plume)
  );
  const shake = paletteNode("g", { display: "none" }, group);
  for (const s of [0.72, 2.24]) {
    const bx = fx + s * u;
    const out = s < 1 ? -1 : 1;
    if (s > 1) paletteNode("path", { d: `M${bx},${bodyTop + 4}q${4 * out},5 0,10M${bx + 5 * out},${bodyTop}q${5 * out},8 0,18`, class: "pic-shake" }, shake);
  }
  return { engine, stream, chevrons, puffs, shake, pipeY, bodyTop, length };
}

/** The hose as a tube: wall, air by its pressure on both sides of a loose liner, water, and the closed cover. */
function pictureDrawHose(svg, lay, course, rig, tube) {
  const defs = paletteNode("defs", {}, svg);
  const dots = paletteAirDots(defs, 8);
  const wall = tube < 16 ? 2 : 2.5;
  paletteNode("path", { d: course.path, class: "pic-hose-wall", "stroke-width": tube + 2 * wall }, svg);
  const inside = paletteNode("g", { class: "pic-tube" }, svg);
  const total = course.total;
  const choke = typeof rig.liner_at === "number" ? course.at(rig.liner_at).length : null;
  const body = (dash) => {
    const group = paletteNode("g", {}, inside);
    return paletteAirBody((className, paint) => {
      const node = paletteNode("path", { d: course.path, class: className, "stroke-width": tube }, group);
      if (paint) node.setAttribute("stroke", paint);
      if (dash) node.setAttribute("stroke-dasharray", dash);
      return node;
    }, dots);
  };
  const airs = choke === null ? [body(null)] : [body(`${choke} ${total + 9}`), body(`0 ${choke} ${total} 9`)];
  const water = paletteNode("path", { d: course.path, class: "pic-water-stroke", "stroke-width": tube }, inside);
  const flow = paletteNode("path", { d: course.path, class: "pic-flow", "stroke-width": Math.max(2, tube * 0.14) }, inside);
  const front = paletteNode("line", { y1: -tube / 2, y2: tube / 2, x1: 0, x2: 0, class: "pic-front" }, inside);
  const cover = paletteNode("g", {}, svg);
  paletteNode("path", { d: course.path, class: "pic-hose-cover", "stroke-width": tube }, cover);
  paletteNode("path", { d: course.path, class: "pic-hose-ribs", "stroke-width": tube, "stroke-dasharray": "1.4 5.6" }, cover);
  return { inside, cover, airs, water, flow, front };
}

/** Strainer with its rope, float and stake. */
function pictureDrawStrainer(svg, lay, course, tube, land) {
  const start = course.at(0);
  const long = Math.max(17, 0.42 * lay.scale);
  const wide = tube * 1.45 + 4;
  const group = paletteNode("g", { transform: `translate(${start.x},${start.y}) rotate(${start.angle})` }, svg);
  paletteNode("rect", { x: -long * 0.75, y: -wide / 2, width: long, height: wide, rx: 3, class: "pic-band" }, group);
  for (let i = 1; i < 5; i += 1) {
    const at = -long * 0.75 + (long * i) / 5;
    paletteNode("line", { x1: at, x2: at, y1: -wide / 2 + 3, y2: wide / 2 - 3, class: "pic-fine" }, group);
  }
  const tip = start.x - long * 0.5;
  const level = lay.y(0);
  const top = start.y - wide / 2;
  const stake = Math.min(land.shore + Math.max(8, 0.5 * lay.scale), lay.x(lay.end[1]) - 12);
  const rope = paletteNode("g", {}, svg);
  if (top > level) {
    paletteNode("path", { d: `M${tip},${top}L${tip + 2},${level}`, class: "pic-rope" }, rope);
    if (land.shore - tip > 26) {
      const sag = Math.min(26, 0.25 * (stake - tip));
      paletteNode("path", { d: `M${tip + 2},${level - 4}Q${(tip + stake) / 2},${level - sag} ${land.shore - 4},${level - 10}`, class: "pic-rope" }, rope);
      paletteNode("path", { d: `M${land.shore - 5},${level + 8}v-22`, class: "pic-stake" }, rope);
    }
    paletteNode("ellipse", { cx: tip + 2, cy: level - 1, rx: 7, ry: 4.5, class: "pic-float" }, rope);
  }
  const bubbles = paletteNode("g", { display: "none" }, svg);
  const rising = Math.max(8, top - level);
  const rings = [0, 1, 2, 3, 4].map((i) =>
    paletteNode("circle", { cx: tip + ((i * 7) % 17) - 8, cy: top - (rising * i) / 5, r: 2.4 + (i % 3), class: "pic-bubble" }, bubbles)
  );
  return { bubbles, rings, top, rising };
}

/** Bands at the joints, with the signs of air coming in. */
function pictureDrawJoints(svg, course, rig, tube) {
  return (rig.joints || []).map((s) => {
    const at = course.at(s);
    const group = paletteNode("g", { transform: `translate(${at.x},${at.y}) rotate(${at.angle})` }, svg);
    const reach = tube / 2 + 5;
    const air = paletteNode("g", { display: "none" }, group);
    for (const side of [-1, 1]) {
      const a = side * (reach + 15);
      const b = side * (reach + 2);
      paletteNode("path", { d: `M0,${a}L0,${b}M-4,${b + side * 5.5}L0,${b}L4,${b + side * 5.5}`, class: "pic-air-in" }, air);
    }
    const rings = [0, 1, 2, 3].map((i) =>
      paletteNode("circle", { cx: 8 + i * 9, cy: ((i % 2) - 0.5) * tube * 0.4, r: paletteClamp(tube * 0.13, 1.8, 4), class: "pic-bubble" }, air)
    );
    paletteNode("rect", { x: -4.5, y: -reach, width: 9, height: 2 * reach, rx: 2.5, class: "pic-band" }, group);
    paletteNode("line", { x1: 0, x2: 0, y1: -reach, y2: reach, class: "pic-fine" }, group);
    return { show: paletteToggle(air), rings: rings.map((ring) => paletteSetter(ring, "cx")), s };
  });
}

/** Two lips of a loose inner tube that close on each other. */
function pictureDrawLiner(svg, course, rig, tube) {
  if (typeof rig.liner_at !== "number") return null;
  const at = course.at(rig.liner_at);
  const group = paletteNode("g", { transform: `translate(${at.x},${at.y}) rotate(${at.angle})`, display: "none" }, svg);
  const lips = [-1, 1].map((side) =>
    paletteNode("ellipse", { cx: 0, cy: (side * tube) / 2, rx: Math.max(9, tube * 0.7), ry: 0, class: "pic-liner" }, group)
  );
  return { show: paletteToggle(group), lips: lips.map((lip) => paletteSetter(lip, "ry")) };
}

/** The longest stretch of hose that can carry its own name beneath it. */
function pictureHoseName(svg, lay, course, rig, tube, content) {
  const node = paletteLabel(svg, 0, 0, content, { "text-anchor": "middle", class: "pic-label pic-soft" });
  const wide = node.getComputedTextLength ? node.getComputedTextLength() || content.length * 7 : content.length * 7;
  let best = null;
  const joints = [0, ...(rig.joints || []), lay.end[0]];
  for (let i = 1; i < lay.vertices.length; i += 1) {
    const a = lay.vertices[i - 1];
    const b = lay.vertices[i];
    const run = (b[0] - a[0]) * lay.scale;
    const slope = Math.atan2(b[2] - a[2], b[1] - a[1]);
    const middle = (a[2] + b[2]) / 2;
    if (run > wide + 34 && slope < 1.2 && slope > -0.9 && middle > 0 && (!best || run > best.run)) best = { a, b, run, slope };
  }
  if (!best || !joints.length) {
    node.remove();
    return;
  }
  const s = (best.a[0] + best.b[0]) / 2;
  const at = course.at(s);
  const away = tube / 2 + 22;
  const cos = Math.cos(best.slope);
  const sin = Math.sin(best.slope);
  node.setAttribute("transform", `translate(${at.x + sin * away},${at.y + cos * away}) rotate(${(-best.slope * 180) / Math.PI})`);
}

/** What the colours and signs mean, in words beneath a picture. */
function pictureLegend(host, entries) {
  const list = paletteElement("ul", "pic-legend", host);
  for (const [kind, label] of entries) {
    const item = paletteElement("li", "", list);
    const svg = paletteNode("svg", { width: 22, height: 14, "aria-hidden": "true", class: "pic-swatch" }, item);
    const defs = paletteNode("defs", {}, svg);
    if (kind === "water") {
      paletteNode("rect", { width: 22, height: 14, class: "pic-water" }, svg);
    } else {
      const set = paletteAirBody((className, paint) => {
        const node = paletteNode("rect", { width: 22, height: 14, class: className }, svg);
        if (paint) node.setAttribute("fill", paint);
        return node;
      }, paletteAirDots(defs, 8));
      set(kind === "thin" ? 0.25 : kind === "pressed" ? 6 : 1);
    }
    paletteNode("rect", { x: 0.75, y: 0.75, width: 20.5, height: 12.5, class: "pic-swatch-edge" }, svg);
    paletteElement("span", "", item, label);
  }
  return list;
}

/**
 * Draw the site to scale from the rig's geometry (page.rig) into a host element.
 * options: {units: "metric"|"us", height: px, legend: bool}. Returns {update(frame), setUnits(units), resize(), destroy()}.
 */
function pictureSite(host, rig, words, options) {
  const settings = { units: "metric", legend: true, ...(options || {}) };
  host.classList.add("palette", "pic");
  const root = paletteElement("figure", "pic-root", host);
  const head = paletteElement("figcaption", "pic-head", root);
  const stage = paletteElement("div", "pic-stage", root);
  if (settings.legend) {
    pictureLegend(root, [
      ["water", words.legend_water],
      ["full", words.legend_air],
      ["thin", words.legend_thin],
    ]);
  }
  const motion = paletteMotion();
  let draw = null;
  let lastFrame = { t: 0 };
  let phase = 0;
  let spokenAt = -Infinity;

  function build() {
    stage.textContent = "";
    const width = Math.max(280, Math.floor(stage.clientWidth || host.clientWidth || 480));
    const lay = pictureSiteLayout(rig, width, settings);
    const lengths = pictureLengths(words, settings.units);
    const widening = pictureWidening(rig.bore_m * lay.scale, 14);
    const tube = rig.bore_m * lay.scale * widening;
    const hoseName = paletteFill(words.hose, { length: lengths.long(rig.hose_length_m, pictureDecimals(rig.hose_length_m)), bore: lengths.bore(rig.bore_m) });
    head.textContent = "";
    paletteElement("strong", "", head, words.site_title);
    paletteElement("span", "", head, `${hoseName}, ` + (widening === 1 ? words.bore_true : paletteFill(words.bore_wider, { n: widening })));
    const svg = paletteNode("svg", { class: "pic-svg", width: "100%", viewBox: `0 0 ${width} ${lay.height}`, role: "img" }, stage);
    const samples = pictureRounded(lay.vertices, 0.7).map((p) => [p[0], lay.x(p[1]), lay.y(p[2])]);
    const course = pictureCourse(samples);
    const land = pictureDrawLand(svg, lay, words, lengths, tube);
    const staff = pictureDrawStaff(svg, lay, words, lengths, land);
    const strainer = pictureDrawStrainer(svg, lay, course, tube, land);
    const hose = pictureDrawHose(svg, lay, course, rig, tube);
    const liner = pictureDrawLiner(hose.inside, course, rig, tube);
    const joints = pictureDrawJoints(svg, course, rig, tube);
    const rigNodes = pictureDrawRig(svg, lay, words, land);
    pictureHoseName(svg, lay, course, rig, tube, hoseName);
    const big = { class: "pic-label pic-strong" };
    const liftY = staff.tall > 26 ? staff.middle + 5 : Math.max(lay.y(0), lay.y(lay.end[2])) + 22;
    paletteLabel(svg, staff.at + 10, Math.max(liftY, land.padY + 18), staff.label, big);
    paletteLabel(svg, 8, lay.y(0) - 7, words.water_level, { class: "pic-label pic-soft" });
    const out = rig.discharge || {};
    const outName = paletteFill(words.to_discharge, {
      length: lengths.long(paletteFinite(out.length_m, 0), 0),
      rise: lengths.long(paletteFinite(out.rise_m, 0), pictureDecimals(paletteFinite(out.rise_m, 0))),
    });
    paletteLabel(svg, width - 6, Math.max(14, rigNodes.pipeY - 14), outName, { "text-anchor": "end", class: "pic-label pic-soft" });
    const metre = settings.units === "us" ? 0.3048 * 5 : lay.scale > 28 ? 1 : lay.scale > 12 ? 2 : 5;
    const barX = 10;
    const barY = lay.height - 9;
    paletteNode("path", { d: `M${barX},${barY - 5}v5h${metre * lay.scale}v-5`, class: "pic-bar" }, svg);
    paletteLabel(svg, barX + metre * lay.scale + 6, barY + 1, lengths.long(metre, 0), { class: "pic-label pic-soft" });
    const mark = paletteNode("g", { display: "none" }, svg);
    const leader = paletteNode("line", { class: "pic-leader" }, mark);
    const here = paletteLabel(mark, 0, 0, words.water_here, { class: "pic-label pic-here" });
    const hereWide = (here.getComputedTextLength && here.getComputedTextLength()) || words.water_here.length * 8;
    draw = {
      svg, lay, course, tube, strainer, hose, liner, joints, rigNodes, hereWide, labelTop: 16,
      showMark: paletteToggle(mark), showInside: paletteToggle(hose.inside), showCover: paletteToggle(hose.cover),
      showFlow: paletteToggle(hose.flow), showStream: paletteToggle(rigNodes.stream), showChevrons: paletteToggle(rigNodes.chevrons),
      showShake: paletteToggle(rigNodes.shake), showBubbles: paletteToggle(strainer.bubbles), showFront: paletteToggle(hose.front),
      setWater: paletteSetter(hose.water, "stroke-dasharray"), setFlow: paletteSetter(hose.flow, "stroke-dasharray"),
      setFront: paletteSetter(hose.front, "transform"), setEngine: paletteSetter(rigNodes.engine, "transform"),
      setChevron: paletteSetter(rigNodes.chevrons, "stroke-dashoffset"),
      setPuffs: rigNodes.puffs.map((p) => [paletteSetter(p, "opacity"), paletteSetter(p, "stroke-dasharray"), paletteSetter(p, "stroke-width")]),
      setRings: strainer.rings.map((r) => paletteSetter(r, "cy")),
      setHere: [paletteSetter(here, "x"), paletteSetter(here, "y"), paletteSetter(here, "text-anchor")],
      setLeader: ["x1", "y1", "x2", "y2"].map((n) => paletteSetter(leader, n)),
      land,
    };
    rigNodes.chevrons.setAttribute("stroke-dasharray", "7 11");
    spokenAt = -Infinity;
    update(lastFrame);
  }

  function placeMark(point) {
    const { hereWide, lay, tube, setHere, setLeader } = draw;
    const left = point.x > hereWide + 46;
    const x = left ? point.x - 30 : paletteClamp(point.x + 26, 8, lay.width - hereWide - 8);
    const y = Math.max(draw.labelTop, point.y - tube / 2 - 34);
    setHere[0](x);
    setHere[1](y);
    setHere[2](left ? "end" : "start");
    setLeader[0](left ? x + 4 : x - 4);
    setLeader[1](y - 3);
    setLeader[2](point.x);
    setLeader[3](point.y - 2);
  }

  function inside(frame, step) {
    const { course, hose, liner } = draw;
    const outside = paletteFinite(frame.atmosphere, 101325);
    const front = paletteClamp(paletteFinite(frame.front_position, 0), 0, rig.hose_length_m);
    const at = course.at(front);
    draw.setWater(`${at.length.toFixed(1)} 9999`);
    const pump = paletteFinite(frame.suction_pressure, outside) / outside;
    const outer = paletteFinite(frame.hose_pressure, frame.suction_pressure);
    hose.airs[0](paletteFinite(outer, outside) / outside);
    if (hose.airs[1]) hose.airs[1](pump);
    if (liner) {
      const open = paletteClamp(paletteFinite(frame.liner_open, 1), 0, 1);
      liner.show(open < 0.95);
      const reach = (draw.tube / 2) * (1 - Math.sqrt(open)) * 0.96;
      liner.lips[0](reach);
      liner.lips[1](reach);
    }
    const climbing = front < rig.hose_length_m - 0.02;
    draw.setFront(`translate(${at.x.toFixed(1)},${at.y.toFixed(1)}) rotate(${at.angle.toFixed(1)})`);
    draw.showFront(climbing);
    const flow = paletteFinite(frame.suction_flow, 0);
    const area = (Math.PI / 4) * rig.bore_m * rig.bore_m;
    draw.showFlow(Math.abs(flow) > 1e-4 && front > 0.2);
    phase += step * paletteClamp((flow / area) * 26, -60, 110);
    const shift = ((phase % 26) + 26) % 26;
    let dash = `0 ${shift.toFixed(1)}`;
    for (let d = shift; d + 9 < at.length - 3; d += 26) dash += ` 9 17`;
    draw.setFlow(`${dash} 0 9999`);
    const leaks = frame.joint_air;
    for (let i = 0; i < draw.joints.length; i += 1) {
      const joint = draw.joints[i];
      const air = Array.isArray(leaks) ? paletteFinite(leaks[i], 0) : 0;
      const leaking = air > 2e-6;
      joint.show(leaking);
      if (!leaking) continue;
      const wet = joint.s < front;
      joint.rings.forEach((set, k) => set(wet ? 6 + ((k * 9 + Math.abs(phase) * 0.9) % 36) : -400));
    }
    if (climbing) placeMark(at);
    draw.showMark(climbing && front >= 0);
  }

  function speak(frame) {
    if (Math.abs(frame.t - spokenAt) < 1) return;
    spokenAt = frame.t;
    const parts = [words.site_title];
    if (frame.see_through && Number.isFinite(frame.front_position)) {
      const lengths = pictureLengths(words, settings.units);
      parts.push(paletteFill(words.site_spoken, { front: lengths.long(frame.front_position, 1), length: lengths.long(rig.hose_length_m, 1) }));
    } else parts.push(words.outside_spoken);
    draw.svg.setAttribute("aria-label", parts.join(". "));
  }

  function update(frame) {
    lastFrame = frame;
    if (!draw) return;
    const step = motion(frame.t);
    const see = Boolean(frame.see_through);
    draw.showInside(see);
    draw.showCover(!see);
    const speed = paletteFinite(frame.speed, 0);
    const running = speed > 0.05;
    if (see) inside(frame, step);
    else {
      phase += step * 60 * (frame.discharging ? 1 : 0);
      draw.showMark(false);
      for (const joint of draw.joints) joint.show(false);
    }
    draw.showShake(running);
    const wobble = running && step > 0 ? Math.sin(performance.now() / 22) * 0.7 : 0;
    draw.setEngine(`translate(0,${wobble.toFixed(2)})`);
    const pumping = see ? paletteFinite(frame.line_fill, 0) > 0.01 : Boolean(frame.discharging);
    draw.showStream(see && pumping);
    const moving = see ? paletteFinite(frame.discharge_flow, 0) > 1e-4 : Boolean(frame.discharging);
    draw.showChevrons(moving);
    if (moving) draw.setChevron(-(Math.abs(phase) % 18));
    const level = pictureExhaustLevel(frame, rig);
    draw.setPuffs.forEach((set, i) => {
      set[0](level > 0.03 ? 0.35 + 0.65 * level : 0);
      set[1](pictureExhaustWet(frame) ? "3 4" : `${(draw.rigNodes.length * (0.35 + 0.65 * level)).toFixed(0)} 99`);
      set[2](1.2 + 1.4 * level - 0.3 * Math.abs(i - 1));
    });
    const blown = Boolean(frame.strainer_bubbles);
    draw.showBubbles(blown);
    if (blown) {
      const { top, rising } = draw.strainer;
      const lift = ((performance.now() / 1000) * 22) % rising;
      draw.setRings.forEach((set, i) => set(top - ((step > 0 ? lift : 0) + (rising * i) / 5) % rising));
    }
    speak(frame);
  }

  build();
  const unwatch = paletteWatchWidth(host, build);
  return {
    update,
    resize: build,
    setUnits(units) {
      settings.units = units;
      build();
    },
    destroy() {
      unwatch();
      root.remove();
      draw = null;
    },
  };
}
