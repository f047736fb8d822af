// The pump end: cut open where the lesson lets one look inside, closed as in the yard where not.
import { createSpeaker, htmlElement } from "../../base/dom.js";
import { fillIn } from "../../base/format.js";
import { motionClock, prefersStill } from "../../base/motion.js";
import { clamp, finiteOr } from "../../base/numbers.js";
import { attributeSetter, displayToggle, svgNode, svgText } from "../../base/svg.js";
import { airDots } from "../air.js";
import {
  createLegend,
  exhaustLevel,
  exhaustWet,
  exhaustWord,
  fillLevel,
  motiveRated,
  outsidePressure,
  tremble,
} from "../frame.js";
import { makePressable } from "../press.js";
import { drawnToSize } from "../sizes.js";
import {
  CASING,
  DRAIN,
  drawAirSide,
  drawCavities,
  drawCover,
  drawDrive,
  drawExhaust,
  drawImpeller,
  drawOutlines,
  PUMP_SIZE,
} from "./body.js";
import { drawDrain, drawFittings, drawSmallParts } from "./fittings.js";
import { pumpHotspots } from "./hotspots.js";
import { besideSpots, drawLetters, drawNumbers, PART_NAMES, roomBeside } from "./names.js";

const SPRAYS = 2e-5; // [m3/s] of water out at a drain that is seen
const DRAWS = 3e-4; // [kg/s] of air in at a drain that is drawn: none at a rig that has come to rest

/**
 * Draw the pump end into a host element. options: {height: px, legend: bool, labels: "auto"|"names"|"numbers",
 * letters: names of parts that the words beside it letter}.
 * Returns {update(frame), resize(), destroy()}.
 * @param {HTMLElement} host
 * @param {Rig} rig
 * @param {Words} words
 * @param {any} options
 */
export function pumpPicture(host, rig, words, options) {
  const settings = { labels: "auto", legend: false, ...(options || {}) };
  host.classList.add("palette", "pic");
  const root = htmlElement("figure", "pic-root", host);
  const head = htmlElement("figcaption", "pic-head", root);
  const title = htmlElement("strong", "", head, words.pump_title);
  htmlElement("span", "", head, words.pump_note);
  const stage = htmlElement("div", "pic-stage", root);
  const key = htmlElement("ol", "pic-key", root);
  if (settings.legend)
    createLegend(root, [
      ["pressed", words.legend_pressed],
      ["full", words.legend_air],
      ["thin", words.legend_thin],
      ["water", words.legend_water],
    ]);
  const motion = motionClock();
  const lipFill = rig.casing ? rig.casing.lip_fill : 0.3;
  /** @type {Frame} */
  let lastFrame = { t: 0 };
  /** @type {any} */
  let draw = null;
  let turn = 0;
  let run = 0;
  let jet = 0;
  let flow = 0;
  let blow = 0;
  let popAt = -Infinity;

  function build() {
    stage.textContent = "";
    key.textContent = "";
    const { width, height, top } = PUMP_SIZE;
    const room = Math.max(240, stage.clientWidth || host.clientWidth || 440);
    const scale = Math.min(room / width, settings.height ? settings.height / height : 2);
    const numbers = settings.labels === "numbers" || (settings.labels === "auto" && scale < 0.735);
    const margin = numbers ? roomBeside(room, scale) : 0;
    const svg = svgNode(
      "svg",
      {
        class: "pic-svg",
        role: "img",
        width: Math.floor((width + 2 * margin) * scale),
        height: Math.floor(height * scale),
        viewBox: `${-margin} ${top} ${width + 2 * margin} ${height}`,
      },
      stage,
    );
    const font = clamp(12.6 * scale, 12.1, 17) / scale;
    svg.style.setProperty("--pic-font", `${font}px`);
    const defs = svgNode("defs", {}, svg);
    const dots = airDots(defs, 8);
    const inside = drawCavities(svg, defs, dots);
    const impeller = drawImpeller(svg);
    const outlines = drawOutlines(svg);
    const cover = drawCover(svg);
    const exhaust = drawExhaust(svg);
    const fittings = drawFittings(svg, rig);
    const airSide = drawAirSide(svg, defs, dots, rig);
    const drive = drawDrive(svg);
    const drain = drawDrain(svg);
    const more = drawSmallParts(svg, rig, words);
    /** @type {PartLabels} */
    const labels = {};
    /** @type {any[]} */
    const entries = [];
    PART_NAMES.forEach(([name, x, y, anchor]) => {
      if (name === "casing" && scale < 0.9 && !numbers) return;
      if ((name === "cock" && !rig.has_cock) || (name === "float" && !rig.has_float)) return;
      if (numbers && name === "frost_state") return; // in the key it stands in one line with its name
      const content = words[`part_${name}`] || "";
      if (!numbers) {
        const node = svgText(svg, x, y, content, { "text-anchor": anchor });
        labels[name] = (/** @type {any} */ text) => {
          if (node.textContent === text) return;
          node.textContent = text;
          const beyond = anchor === "end" ? node.getComputedTextLength() - x + 2 : 0; // words for a state may be longer
          node.setAttribute("x", String(x + Math.max(0, beyond)));
        };
      } else entries.push([name, x, y, anchor, content]);
    });
    const places = drawNumbers(svg, entries, scale, margin);
    entries.forEach(([name, , , , content], i) => {
      const item = htmlElement("li", "", key, content);
      item.dataset.number = String(i + 1);
      labels[name] = (/** @type {any} */ text) => {
        if (item.textContent !== text) item.textContent = text;
      };
    });
    drawLetters(svg, settings.letters || [], scale);
    const set = attributeSetter;
    const show = displayToggle;
    const spots = pumpHotspots(rig, words);
    const beside = margin ? besideSpots(spots, entries, places) : [];
    makePressable(svg, [...spots, ...beside], settings.onPart);
    draw = {
      svg,
      labels,
      inside,
      airSide,
      more,
      setFloat: fittings.float ? set(fittings.float, "transform") : null,
      see: [
        show(inside.group),
        show(impeller.group),
        show(fittings.screenOpen),
        show(fittings.seat),
        show(fittings.ball),
        show(airSide.jet),
        show(airSide.receiverIn),
        show(airSide.bore),
        show(outlines),
        show(airSide.pipeIn),
        show(exhaust.inside),
        ...(fittings.float ? [show(fittings.float)] : []),
      ],
      shut: [
        show(cover),
        show(fittings.screenShut),
        show(airSide.receiverCover),
        show(airSide.nozzleCover),
        show(airSide.pipeCover),
        show(exhaust.cover),
      ],
      pull: show(airSide.pull),
      feed: show(airSide.feed),
      setFeed: set(airSide.feed, "stroke-dashoffset"),
      setCasing: set(inside.water.casing, "y"),
      setNeck: set(inside.water.neck, "y"),
      setLine: set(inside.water.line, "y"),
      setSuctionY: set(inside.water.suction, "y"),
      setSuctionW: set(inside.water.suction, "width"),
      wetEjector: show(inside.water.ejector),
      setWet: set(inside.water.ejector, "fill-opacity"),
      flowSuction: show(inside.flow.suction),
      flowLine: show(inside.flow.line),
      setFlowSuction: set(inside.flow.suction, "stroke-dashoffset"),
      setFlowLine: set(inside.flow.line, "stroke-dashoffset"),
      setVanes: set(impeller.vanes, "transform"),
      setBall: set(fittings.ball, "transform"),
      setJet: set(airSide.jetDash, "stroke-dashoffset"),
      setJetWidth: set(airSide.jetDash, "stroke-width"),
      setJetBody: set(airSide.jetBody, "fill-opacity"),
      setJetShown: show(airSide.jetBlown),
      bonnet: set(airSide.bonnet, "transform"),
      puff: show(airSide.puff),
      setPuff: set(airSide.puff, "opacity"),
      sound: show(airSide.sound),
      needle: airSide.needle ? set(airSide.needle, "transform") : null,
      beltTaut: show(drive.beltTaut),
      beltUnseen: set(drive.beltTaut, "class"),
      beltSlack: show(drive.beltSlack),
      beltOff: show(drive.beltOff),
      beltDash: show(drive.beltDash),
      setBelt: set(drive.beltDash, "stroke-dashoffset"),
      spokes: [drive.small, drive.large].map((w) => [set(w.spokes, "transform"), w]),
      setEngine: set(drive.engine, "transform"),
      shake: show(drive.shake),
      setPlume: exhaust.setPlume,
      handle: show(drain.handle),
      setHandle: set(drain.handle, "transform"),
      unseen: show(drain.unseen),
      drainAir: show(drain.air),
      drainSpray: show(drain.spray),
      setSpray: set(drain.spray, "stroke-dashoffset"),
    };
    update(lastFrame);
    speaker.now();
  }

  /**
   * Water, air and the jet, where one may look inside.
   * @param {Frame} frame
   * @param {any} step
   */
  function updateInside(frame, step) {
    const outside = outsidePressure(frame, rig);
    const suction = finiteOr(frame.suction_pressure, outside) / outside;
    // A compressor at rest lets air in through its own valves, so its side never stands below the air outside.
    const motive = Math.max(1, finiteOr(frame.motive_pressure, outside) / outside);
    const { air } = draw.inside;
    for (const name of ["suction", "neck"]) air[name](Math.min(1.02, suction));
    // Once it pumps the wheel puts the casing under pressure: what air is in it is thin no more.
    air.casing(finiteOr(frame.discharge_flow, 0) > 1e-4 ? 1 : Math.min(1.02, suction));
    air.ejector(Math.min(1.02, suction));
    air.nrv(1);
    air.line(1);
    draw.airSide.pipe(motive);
    draw.airSide.receiver(motive);
    draw.airSide.nozzle(motive);
    const fill = clamp(finiteOr(frame.casing_fill, 0), 0, 1);
    const { bottom, lip, crown } = CASING;
    const level = fill <= 0.001 ? bottom + 4 : fillLevel(fill, lipFill, bottom, lip, crown);
    const full = fill > 0.985;
    draw.setCasing(full ? 230 : level);
    const wet = exhaustWet(frame);
    draw.setNeck(wet ? 150 : full ? 226 : 442);
    draw.wetEjector(wet);
    draw.setWet(0.55);
    // the last stretch of hose before the flange
    const reach = 0.6;
    const arrived = clamp((finiteOr(frame.front_position, 0) - (rig.hose_length_m - reach)) / reach, 0, 1);
    draw.setSuctionW(arrived > 0 ? 6 + 66 * arrived : 0);
    draw.setSuctionY(arrived >= 0.999 ? Math.max(290, Math.min(level, 326)) : 290);
    const open = clamp(finiteOr(frame.nrv_open, 0), 0, 1);
    draw.setBall(`translate(${(open * 7).toFixed(1)},${(open * -20).toFixed(1)})`);
    const line = finiteOr(frame.line_fill, 0);
    const nearby = 2.5 / finiteOr(rig.discharge?.length_m, 40);
    draw.setLine(234 - 206 * clamp(line / nearby, 0, 1));
    flow += step * clamp(finiteOr(frame.suction_flow, 0) * 1400, -70, 100);
    const taking = Math.abs(finiteOr(frame.suction_flow, 0)) > 1e-4 && arrived >= 0.999;
    draw.flowSuction(taking && level < 312);
    draw.setFlowSuction(-flow % 28);
    draw.flowLine(finiteOr(frame.discharge_flow, 0) > 1e-4 && line > nearby);
    draw.setFlowLine(-flow % 28);
    const power = clamp(finiteOr(frame.motive_flow, 0) / motiveRated(rig), 0, 1.2);
    jet += step * 90 * power;
    draw.setJetShown(power > 0.02);
    draw.setJet(-jet % 16);
    draw.setJetWidth(1 + 2.4 * power);
    draw.setJetBody(0.25 + 0.5 * power);
    draw.pull(finiteOr(frame.entrained_flow, 0) > 2e-5 && !wet);
    draw.feed(power > 0.02);
    draw.setFeed(-jet % 18);
    return { open, motive: (motive - 1) * outside };
  }

  /**
   * The little gauge on the receiver: 10 bar over 240 degrees.
   * @param {number} pa
   */
  function turnNeedle(pa) {
    if (draw.needle) draw.needle(`rotate(${(-120 + 240 * clamp(pa / 10e5, 0, 1)).toFixed(0)},292,118)`);
  }

  /**
   * @param {Frame} frame
   * @param {any} step
   */
  function updateDrive(frame, step) {
    const speed = finiteOr(frame.speed, 0);
    const running = speed > 0.05;
    const told = finiteOr(frame.belt_slack, finiteOr(rig.belt_slack_shown, NaN));
    const guarded = draw.more.guarded(Boolean(frame.see_through)); // what goes on behind the guard is not drawn
    const slack = guarded ? 0 : clamp(finiteOr(told, 0), 0, 1);
    const unknown = !guarded && !Number.isFinite(told); // nobody has pressed it: that it is on is all that is seen
    const loose = slack >= 0.08;
    const off = slack >= 0.999;
    turn = (turn + step * 200 * speed) % 360;
    if (!guarded) run = (run + step * 75 * speed * (1 - slack)) % 18000;
    draw.setVanes(`rotate(${(-turn).toFixed(1)},206,316)`);
    draw.beltTaut(!loose && !guarded);
    draw.beltUnseen(unknown ? "pic-belt pic-belt-unseen" : "pic-belt");
    draw.beltSlack(loose && !off);
    draw.beltOff(off);
    draw.beltDash(running && !loose && !guarded && !unknown);
    draw.setBelt(-run % 18);
    draw.spokes[0][0](`rotate(${((run * 2.94) % 360).toFixed(1)},${draw.spokes[0][1].x},${draw.spokes[0][1].y})`);
    draw.spokes[1][0](`rotate(${turn.toFixed(1)},${draw.spokes[1][1].x},${draw.spokes[1][1].y})`);
    draw.shake(running);
    draw.setEngine(running && step > 0 ? `translate(0,${tremble(0.5)})` : "");
    const turns = unknown
      ? rig.parts?.belt === "on"
        ? words.belt_on
        : words.part_belt
      : running
        ? words.belt_runs
        : words.part_belt;
    draw.labels.belt(guarded ? words.belt_guarded : off ? words.belt_off : loose ? words.belt_slack : turns);
    draw.labels.engine(running ? words.engine_runs : words.engine_stopped);
  }

  /**
   * @param {Frame} frame
   * @param {any} step
   */
  function updateExhaust(frame, step) {
    const level = exhaustLevel(frame, rig);
    const wet = exhaustWet(frame);
    blow = (blow + step * (0.5 + level)) % 1;
    draw.setPlume(level, blow, wet);
    draw.labels.exhaust(exhaustWord(frame, words));
  }

  /**
   * @param {Frame} frame
   * @param {boolean} see
   */
  function updateRelief(frame, see) {
    const open = see ? finiteOr(frame.relief_open, 0) > 0.5 : frame.relief_sound === true || frame.relief_sound === 1;
    const now = performance.now();
    if (open) popAt = now;
    const fade = clamp(1 - (now - popAt) / 450, 0, 1);
    const popping = open || (fade > 0 && !prefersStill());
    draw.puff(see && popping);
    draw.setPuff(open ? 1 : fade);
    draw.sound(!see && popping);
    draw.bonnet(see && open ? "translate(0,-3.5)" : "");
    draw.labels.relief(popping ? (see ? words.relief_pops : words.relief_heard) : words.part_relief);
  }

  /**
   * @param {Frame} frame
   * @param {boolean} see
   * @param {any} step
   */
  function updateDrain(frame, see, step) {
    const known = see ? finiteOr(frame.drain_open, finiteOr(rig.drain_open_shown, 0)) : rig.drain_open_shown;
    const shown = known !== null && known !== undefined;
    draw.handle(shown);
    draw.unseen(!shown);
    if (shown) draw.setHandle(`rotate(${(90 * clamp(Math.sqrt(known), 0, 1)).toFixed(0)},206,${DRAIN.pivot})`);
    const spraying = see ? finiteOr(frame.drain_water, 0) > SPRAYS : Boolean(frame.drain_spray);
    draw.drainAir(see && finiteOr(frame.drain_air, 0) > DRAWS && !spraying);
    draw.drainSpray(spraying);
    if (spraying) draw.setSpray(step > 0 ? -((performance.now() / 30) % 9) : 0);
    const shut = see ? words.drain_shut : words.drain_looks_shut; // from outside it is what a look made of it
    const name = !shown ? words.drain_unseen : known > 0.02 ? words.drain_open : shut;
    draw.labels.drain(spraying ? words.drain_sprays : name);
  }

  /**
   * The float hangs where it is stuck, else it goes up with the water; outside nobody sees it.
   * @param {Frame} frame
   * @param {boolean} see
   */
  function updateFloat(frame, see) {
    if (!draw.setFloat) return;
    const stuck = see ? rig.parts?.float : null;
    const up =
      stuck === "shut" ? 1 : stuck === "open" || !see ? 0 : clamp((finiteOr(frame.casing_fill, 0) - 0.95) / 0.05, 0, 1);
    draw.setFloat(`translate(0,${(-9 * up).toFixed(1)})`);
  }

  /** @param {Frame} frame */
  function update(frame) {
    lastFrame = frame;
    if (!draw) return;
    const step = motion(frame.t);
    const see = Boolean(frame.see_through);
    for (const toggle of draw.see) toggle(see);
    for (const toggle of draw.shut) toggle(!see);
    const heading = see ? words.pump_title : words.pump_title_shut;
    if (title.textContent !== heading) title.textContent = heading;
    if (see) {
      const { open, motive } = updateInside(frame, step);
      turnNeedle(finiteOr(frame.motive_shown, motive)); // a gauge shows what its needle shows
      draw.labels.nrv(open > 0.5 ? words.nrv_open : words.nrv_shut);
    } else {
      draw.pull(false);
      draw.feed(false);
      draw.labels.nrv(words.part_nrv);
      turnNeedle(finiteOr(frame.motive_shown, 0));
    }
    updateDrive(frame, step);
    updateExhaust(frame, step);
    updateRelief(frame, see);
    updateDrain(frame, see, step);
    draw.more.update(frame, see, step, draw.labels);
    updateFloat(frame, see);
    speaker.say();
  }

  const speaker = createSpeaker(() => {
    if (!draw) return;
    const frame = lastFrame;
    const parts = [title.textContent];
    if (frame.see_through) {
      parts.push(fillIn(words.pump_spoken, { fill: Math.round(100 * finiteOr(frame.casing_fill, 0)) }));
      parts.push(finiteOr(frame.nrv_open, 0) > 0.5 ? words.nrv_open : words.nrv_shut);
    }
    parts.push(finiteOr(frame.speed, 0) > 0.05 ? words.engine_runs : words.engine_stopped);
    draw.svg.setAttribute("aria-label", parts.join(". "));
  });

  const drawn = drawnToSize(host, root, stage, settings, build, () => {
    speaker.stop();
    draw = null;
  });
  return {
    ...drawn,
    update,
  };
}
