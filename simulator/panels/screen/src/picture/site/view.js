// The site to scale: pond, strainer, hose on its real profile, bank, rig and the lift, with the water in the hose.
import { createSpeaker, htmlElement } from "../../base/dom.js";
import { fillIn, formatNumber } from "../../base/format.js";
import { motionClock } from "../../base/motion.js";
import { clamp, finiteOr } from "../../base/numbers.js";
import { attributeSetter, displayToggle, svgNode, svgText } from "../../base/svg.js";
import { createLegend, exhaustLevel, exhaustWet, jointAirReader, outsidePressure, toHalf, tremble } from "../frame.js";
import { makePressable } from "../press.js";
import { drawnToSize } from "../sizes.js";
import { drawDetails } from "./details.js";
import {
  boreWidening,
  courseAlong,
  highSpot,
  pocketBetween,
  restingFront,
  roundedCorners,
  siteLayout,
  standingRatio,
} from "./geometry.js";
import { drawHose, drawJoints, drawLiner, drawStrainer, nameHeldAir, obstaclesAlong, spotsAround } from "./hose.js";
import { siteHotspots } from "./hotspots.js";
import { drawLand, drawRig, drawStaff } from "./land.js";

/**
 * Lengths in the units in use; the foot and the inch are exact (0.3048 m, 25.4 mm).
 * @param {Words} words
 * @param {UnitSystem} units
 */
export function lengthWords(words, units) {
  const us = units === "us";
  /**
   * @param {number} m
   * @param {number} decimals
   */
  const long = (m, decimals) =>
    fillIn(us ? words.feet : words.metres, {
      n: formatNumber(us ? m / 0.3048 : m, us ? Math.min(decimals, 1) : decimals),
    });
  /** @param {number} m */
  const bore = (m) => fillIn(us ? words.inches : words.millimetres, { n: formatNumber(us ? m / 0.0254 : m * 1000, 0) });
  return { long, bore };
}

/**
 * Whole metres without decimals, else one.
 * @param {number} m
 */
function lengthDecimals(m) {
  return Math.abs(m - Math.round(m)) < 0.05 ? 0 : 1;
}

/**
 * Draw the site to scale from the rig's geometry (page.rig) into a host element.
 * options: {units: "metric"|"us", height: px, legend: bool}. Returns {update(frame), setUnits(units), resize(), destroy()}.
 * @param {HTMLElement} host
 * @param {Rig} rig
 * @param {Words} words
 * @param {any} options
 */
export function sitePicture(host, rig, words, options) {
  const settings = { units: "metric", legend: true, ...(options || {}) };
  /** Nobody has measured it: it is drawn as the caller said. */
  const title = () => (rig.as_told ? words.site_title_told : words.site_title);

  host.classList.add("palette", "pic");
  const root = htmlElement("figure", "pic-root", host);
  const head = htmlElement("figcaption", "pic-head", root);
  const stage = htmlElement("div", "pic-stage", root);
  /** @type {any} */
  let legend = null;
  if (settings.legend) {
    legend = createLegend(root, [
      ["water", words.legend_water],
      ["full", words.legend_air],
      ["thin", words.legend_thin],
      ["in", words.legend_in],
      ...(typeof rig.liner_at === "number" ? [["liner", words.legend_liner]] : []),
    ]);
    legend.items.in.style.visibility = "hidden";
    if (legend.items.liner) legend.items.liner.style.visibility = "hidden";
  }
  const motion = motionClock();
  /** @type {any} */
  let draw = null;
  /** @type {Frame} */
  let lastFrame = { t: 0 };
  let phase = 0;
  let bubbling = 0;
  let blow = 0;
  const jointAir = jointAirReader(rig);

  function build() {
    stage.textContent = "";
    const width = Math.max(280, Math.floor(stage.clientWidth || host.clientWidth || 480));
    const lay = siteLayout(rig, width, settings);
    const lengths = lengthWords(words, settings.units);
    const widening = boreWidening(rig.bore_m * lay.scale, width < 440 ? 11 : 14);
    const tube = rig.bore_m * lay.scale * widening;
    const hoseName = fillIn(words.hose, {
      length: lengths.long(rig.hose_length_m, lengthDecimals(rig.hose_length_m)),
      bore: lengths.bore(rig.bore_m),
    });
    head.textContent = "";
    htmlElement("strong", "", head, title());
    htmlElement(
      "span",
      "",
      head,
      `${hoseName}, ${widening === 1 ? words.bore_true : fillIn(words.bore_wider, { n: widening })}`,
    );
    const svg = svgNode(
      "svg",
      { class: "pic-svg", width: "100%", viewBox: `0 0 ${width} ${lay.height}`, role: "img" },
      stage,
    );
    const samples = roundedCorners(lay.vertices, 0.7).map(
      (p) => /** @type {Sample} */ ([p[0], lay.x(p[1]), lay.y(p[2])]),
    );
    const course = courseAlong(samples);
    const land = drawLand(svg, lay, words, lengths, tube);
    const staff = drawStaff(svg, lay, words, lengths, land);
    const strainer = drawStrainer(svg, lay, course, tube, land, rig);
    const hose = drawHose(svg, lay, course, rig, tube);
    const liner = drawLiner(hose.inside, course, rig, tube);
    const joints = drawJoints(svg, course, rig, tube);
    const rigNodes = drawRig(svg, lay, words, land);
    const more = drawDetails(svg, lay, course, rig, tube, land, rigNodes, words);
    const names = [rigNodes.group, ...staff.group.querySelectorAll("rect"), ...more.numbers];
    /**
     * @param {number} x
     * @param {number} y
     * @param {string} content
     * @param {Record<string, any>} attributes
     */
    const write = (x, y, content, attributes) => names.push(svgText(svg, x, y, content, attributes));
    const level = lay.y(0);
    if (land.flooded) {
      write(8, level - 7, words.water_level, { class: "pic-label pic-soft" });
      write(width - 8, land.padY + 20, staff.label, { "text-anchor": "end", class: "pic-label pic-strong" });
    } else {
      const tight = level - land.padY < 44;
      const liftY = tight ? land.padY + 19 : Math.max(staff.middle + 5, land.padY + 18);
      write(staff.at + 10, liftY, staff.label, { class: "pic-label pic-strong" });
      write(staff.at + 20, Math.max(level + 4.5, liftY + 18), words.water_level, { class: "pic-label pic-soft" });
    }
    const out = rig.discharge || {};
    const outName = fillIn(words.to_discharge, {
      length: lengths.long(finiteOr(out.length_m, 0), 0),
      rise: lengths.long(finiteOr(out.rise_m, 0), lengthDecimals(finiteOr(out.rise_m, 0))),
    });
    const away = land.flooded ? Math.min(rigNodes.pipeY - 12, lay.y(0.35) - 8) : rigNodes.pipeY - 12;
    write(width - 6, Math.max(15, away), outName, { "text-anchor": "end", class: "pic-label pic-soft" });
    const outBox = names[names.length - 1].getBBox();
    if (outBox.x < rigNodes.plumeRight)
      names[names.length - 1].setAttribute("y", String(Math.max(15, Math.min(away, rigNodes.plumeTop - 5))));
    const metre = settings.units === "us" ? 0.3048 * 5 : lay.scale > 28 ? 1 : lay.scale > 12 ? 2 : 5;
    const barX = 10;
    const barY = lay.height - 9;
    svgNode("path", { d: `M${barX},${barY - 5}v5h${metre * lay.scale}v-5`, class: "pic-bar" }, svg);
    write(barX + metre * lay.scale + 6, barY + 1, lengths.long(metre, 0), { class: "pic-label pic-soft" });
    const spot = highSpot(rig.profile);
    const held = spot ? nameHeldAir(svg, course.at(spot[0]), tube, words.air_held) : null;
    if (held) names.push(held);
    const mark = svgNode("g", { display: "none" }, svg);
    const leader = svgNode("line", { class: "pic-leader" }, mark);
    const here = svgText(mark, 0, 0, words.water_here, { class: "pic-label pic-here" });
    const hereWide = here.getComputedTextLength?.() || words.water_here.length * 8;
    makePressable(svg, siteHotspots(lay, course, rig, rigNodes, words), settings.onPart);
    draw = {
      svg,
      more,
      lay,
      course,
      tube,
      strainer,
      hose,
      liner,
      joints,
      rigNodes,
      hereWide,
      place: 0,
      places: spotsAround(hereWide, tube / 2),
      rest: restingFront(rig.profile),
      spot,
      spotRatio: spot ? standingRatio(rig, spot[0]) : 1,
      showHeld: held ? displayToggle(held) : null,
      obstacles: obstaclesAlong(course, rig.hose_length_m, tube, names),
      showMark: displayToggle(mark),
      showInside: displayToggle(hose.inside),
      showCover: displayToggle(hose.cover),
      showFlow: displayToggle(hose.flow),
      showStream: displayToggle(rigNodes.stream),
      setStream: attributeSetter(rigNodes.stream, "stroke-dasharray"),
      showChevrons: displayToggle(rigNodes.chevrons),
      showShake: displayToggle(rigNodes.shake),
      showBubbles: displayToggle(strainer.bubbles),
      showFront: displayToggle(hose.front),
      setWater: attributeSetter(hose.water, "stroke-dasharray"),
      setFlow: attributeSetter(hose.flow, "stroke-dasharray"),
      setFront: attributeSetter(hose.front, "transform"),
      setEngine: attributeSetter(rigNodes.engine, "transform"),
      setChevron: attributeSetter(rigNodes.chevrons, "stroke-dashoffset"),
      setRings: strainer.rings.map((r) => attributeSetter(r, "cy")),
      setHere: [attributeSetter(here, "x"), attributeSetter(here, "y")],
      setLeader: ["x1", "y1", "x2", "y2"].map((n) => attributeSetter(leader, n)),
      land,
    };
    rigNodes.chevrons.setAttribute("stroke-dasharray", "7 11");
    update(lastFrame);
    speaker.now();
  }

  /**
   * Put the name of the front where it covers nothing, and keep it there while it does.
   * @param {any} point
   */
  function placeMark(point) {
    const { hereWide, lay, setHere, setLeader, obstacles } = draw;
    const { places } = draw;
    /** @param {any} place */
    const clear = (place) => {
      const x = point.x + place[0];
      const y = point.y + place[1];
      if (x < 6 || x + hereWide > lay.width - 6 || y < 17 || y > lay.height - 8) return false;
      return !obstacles.some(
        (/** @type {any} */ box) => x < box[2] && x + hereWide > box[0] && y - 14 < box[3] && y + 4 > box[1],
      );
    };
    if (!clear(places[draw.place])) {
      const better = places.findIndex(clear);
      draw.place = Math.max(better, 0);
    }
    const place = places[draw.place];
    const x = clamp(toHalf(point.x) + place[0], 6, lay.width - 6 - hereWide);
    const y = clamp(toHalf(point.y) + place[1], 17, lay.height - 8);
    setHere[0](x);
    setHere[1](y);
    setLeader[0](clamp(toHalf(point.x), x - 4, x + hereWide + 4));
    setLeader[1](y < point.y - 10 ? y + 4 : y > point.y + 20 ? y - 14 : y - 5);
    setLeader[2](toHalf(point.x));
    setLeader[3](toHalf(point.y));
  }

  /**
   * A sign stands in the legend from the moment it is first drawn: not before, or it would tell.
   * @param {string} kind
   * @param {any} drawn
   */
  function sign(kind, drawn) {
    if (drawn && legend?.items[kind].style.visibility) legend.items[kind].style.visibility = "";
  }

  /**
   * @param {Frame} frame
   * @param {any} step
   */
  function inside(frame, step) {
    const { course, hose, liner } = draw;
    const outside = outsidePressure(frame, rig);
    const front = clamp(finiteOr(frame.front_position, draw.rest), 0, rig.hose_length_m);
    const at = course.at(front);
    draw.setWater(`${toHalf(at.length)} 9999`);
    const pump = finiteOr(frame.suction_pressure, outside) / outside;
    const outer = finiteOr(frame.hose_pressure, frame.suction_pressure);
    hose.airs[0](finiteOr(outer, outside) / outside);
    if (hose.airs[1]) hose.airs[1](pump);
    const pocket = pocketBetween(draw.spot, finiteOr(frame.trapped_length, 0), front);
    hose.pocket.lie(pocket);
    if (pocket) hose.pocket.paint(draw.spotRatio);
    draw.showHeld?.(pocket !== null);
    if (liner) {
      const open = clamp(finiteOr(frame.liner_open, 1), 0, 1);
      liner.show(open < 0.95);
      const reach = (draw.tube / 2) * (1 - Math.sqrt(open)) * 0.96;
      liner.close(reach);
      sign("liner", open < 0.95);
    }
    const climbing = front < rig.hose_length_m - 0.02;
    draw.setFront(`translate(${toHalf(at.x)},${toHalf(at.y)}) rotate(${at.angle.toFixed(0)})`);
    draw.showFront(climbing);
    const flow = finiteOr(frame.suction_flow, 0);
    const area = (Math.PI / 4) * rig.bore_m * rig.bore_m;
    // A bare end draws air: no water comes in there, whatever still stands in the hose.
    const bare = -finiteOr(frame.water_level, 0) >= finiteOr(rig.submergence_m, 0.8);
    draw.showFlow(Math.abs(flow) > 1e-4 && front > 0.2 && !bare);
    phase += step * clamp((flow / area) * 26, -60, 110);
    bubbling = (bubbling + step * 22) % 36;
    const shift = ((phase % 26) + 26) % 26;
    let dash = `0 ${shift.toFixed(1)}`;
    for (let d = shift; d + 9 < at.length - 3; d += 26) dash += ` 9 17`;
    draw.setFlow(`${dash} 0 9999`);
    for (let i = 0; i < draw.joints.length; i += 1) {
      const joint = draw.joints[i];
      const leaking = jointAir(frame, i) > 2e-6;
      const wet = leaking && joint.s < front;
      joint.show(leaking);
      joint.showWet(wet);
      sign("in", leaking);
      if (wet) for (let k = 0; k < 4; k += 1) joint.rings[k](6 + ((k * 9 + bubbling) % 36));
    }
    if (climbing) placeMark(at);
    draw.showMark(climbing && front >= 0 && !bare);
  }

  const speaker = createSpeaker(() => {
    if (!draw) return;
    const frame = lastFrame;
    const parts = [title()];
    if (frame.see_through) {
      const lengths = lengthWords(words, settings.units);
      const front = Math.min(finiteOr(frame.front_position, draw.rest), rig.hose_length_m);
      parts.push(
        fillIn(words.site_spoken, { front: lengths.long(front, 1), length: lengths.long(rig.hose_length_m, 1) }),
      );
      if (pocketBetween(draw.spot, finiteOr(frame.trapped_length, 0), front)) parts.push(words.air_held_spoken);
    } else parts.push(words.outside_spoken);
    draw.svg.setAttribute("aria-label", parts.join(". "));
  });

  /** @param {Frame} frame */
  function update(frame) {
    lastFrame = frame;
    if (!draw) return;
    const step = motion(frame.t);
    const see = Boolean(frame.see_through);
    draw.showInside(see);
    if (legend && legend.list.hidden === see) legend.list.hidden = !see;
    draw.showCover(!see);
    const speed = finiteOr(frame.speed, 0);
    const running = speed > 0.05;
    if (see) inside(frame, step);
    else {
      draw.showMark(false);
      draw.showHeld?.(false);
      for (const joint of draw.joints) {
        joint.show(false);
        joint.showWet(false);
      }
    }
    draw.showShake(running);
    draw.setEngine(`translate(0,${running && step > 0 ? tremble(0.6) : 0})`);
    const line = clamp(finiteOr(frame.line_fill, 0), 0, 1); // what is left in it stands at the pump's end
    draw.showStream(see && line > 0.01);
    draw.setStream(`${line.toFixed(2)} 1`);
    const moving = see && finiteOr(frame.discharge_flow, 0) > 1e-4;
    draw.showChevrons(moving);
    if (moving) draw.setChevron(-(Math.abs(phase) % 18));
    const level = exhaustLevel(frame, rig);
    blow = (blow + step * (0.5 + level)) % 1;
    draw.rigNodes.setPlume(level, blow, exhaustWet(frame));
    draw.more.update(frame, see, step);
    const blown = see ? finiteOr(frame.strainer_bubbles, 0) > 1e-5 : frame.water_seen === "bubbles";
    draw.showBubbles(blown);
    if (blown) {
      const { top, rising } = draw.strainer;
      const lift = ((performance.now() / 1000) * 22) % rising;
      draw.setRings.forEach((/** @type {any} */ set, /** @type {number} */ i) =>
        set(top - (((step > 0 ? lift : 0) + (rising * i) / 5) % rising)),
      );
    }
    speaker.say();
  }

  const drawn = drawnToSize(host, root, stage, settings, build, () => {
    speaker.stop();
    draw = null;
  });
  return {
    ...drawn,
    update,
    /** @param {UnitSystem} units */
    setUnits(units) {
      settings.units = units;
      build();
    },
  };
}
