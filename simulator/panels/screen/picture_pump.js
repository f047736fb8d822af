// The pump end: cut open where the lesson lets one look inside, closed as in the yard where not.

/** Names beside the parts: [key, x, y, anchor]. Those of parts with a state change with the frame. */
const PICTURE_PUMP_LABELS = [
  ["exhaust", 46, 80, "start"],
  ["ejector", 112, 114, "middle"],
  ["air_line", 203, 122, "middle"],
  ["screen", 96, 229, "end"],
  ["relief", 325, 81, "middle"],
  ["compressor", 382, 100, "middle"],
  ["filter", 440, 116, "end"],
  ["nrv", 288, 225, "start"],
  ["belt", 343, 268, "end"],
  ["engine", 438, 417, "end"],
  ["drain", 184, 424, "end"],
  ["suction", 5, 378, "start"],
  ["casing", 82, 336, "start"],
  ["nozzle", 184, 168, "middle"],
  ["to_discharge_short", 438, 51, "end"],
  ["discharge_valve", 346, 24, "start"],
  ["frost_drain", 145, 212, "start"],
  ["frost_state", 145, 227, "start"],
  ["cock", 105, 179, "end"],
  ["float", 99, 204, "end"],
];

/**
 * Draw the pump end into a host element. options: {height: px, legend: bool, labels: "auto"|"names"|"numbers"}.
 * Returns {update(frame), resize(), destroy()}.
 */
function picturePump(host, rig, words, options) {
  const settings = { labels: "auto", legend: false, ...(options || {}) };
  host.classList.add("palette", "pic");
  const root = paletteElement("figure", "pic-root", host);
  const head = paletteElement("figcaption", "pic-head", root);
  const title = paletteElement("strong", "", head, words.pump_title);
  paletteElement("span", "", head, words.pump_note);
  const stage = paletteElement("div", "pic-stage", root);
  const key = paletteElement("ol", "pic-key", root);
  if (settings.legend) pictureLegend(root, [["pressed", words.legend_pressed], ["full", words.legend_air], ["thin", words.legend_thin], ["water", words.legend_water]]);
  const motion = paletteMotion();
  const lipFill = rig.casing ? rig.casing.lip_fill : 0.3;
  let lastFrame = { t: 0 };
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
    const { width, height, top } = PICTURE_PUMP_SIZE;
    const room = Math.max(240, stage.clientWidth || host.clientWidth || 440);
    const scale = Math.min(room / width, settings.height ? settings.height / height : 2);
    const numbers = settings.labels === "numbers" || (settings.labels === "auto" && scale < 0.735);
    const svg = paletteNode("svg", {
      class: "pic-svg", role: "img", width: Math.floor(width * scale), height: Math.floor(height * scale),
      viewBox: `0 ${top} ${width} ${height}`,
    }, stage);
    const font = paletteClamp(12.6 * scale, 12.1, 17) / scale;
    svg.style.setProperty("--pic-font", `${font}px`);
    const defs = paletteNode("defs", {}, svg);
    const dots = paletteAirDots(defs, 8);
    const inside = picturePumpCavities(svg, defs, dots);
    const impeller = picturePumpImpeller(svg);
    const outlines = picturePumpOutlines(svg);
    const cover = picturePumpCover(svg);
    const exhaust = picturePumpExhaust(svg);
    const fittings = picturePumpFittings(svg, rig);
    const airSide = picturePumpAirSide(svg, defs, dots, rig);
    const drive = picturePumpDrive(svg);
    const drain = picturePumpDrain(svg);
    const more = picturePumpMore(svg, rig, words);
    const labels = {};
    const entries = [];
    PICTURE_PUMP_LABELS.forEach(([name, x, y, anchor]) => {
      if (name === "casing" && scale < 0.9 && !numbers) return;
      if ((name === "cock" && !rig.has_cock) || (name === "float" && !rig.has_float)) return;
      if (numbers && name === "frost_state") return; // in the key it stands in one line with its name
      const content = words[`part_${name}`] || "";
      if (!numbers) {
        const node = paletteLabel(svg, x, y, content, { "text-anchor": anchor });
        labels[name] = (text) => {
          if (node.textContent !== text) node.textContent = text;
        };
      } else entries.push([name, x, y, anchor, content]);
    });
    entries.forEach(([name, x, y, anchor, content], i) => {
      const r = 9.5 / scale;
      const cx = anchor === "start" ? x + r : anchor === "end" ? x - r : x;
      paletteNode("circle", { cx, cy: y - 4, r, class: "pic-tag" }, svg);
      paletteLabel(svg, cx, y - 4, String(i + 1), { "text-anchor": "middle", "dominant-baseline": "central", class: "pic-label pic-tag-text" });
      const item = paletteElement("li", "", key, content);
      labels[name] = (text) => {
        if (item.textContent !== text) item.textContent = text;
      };
    });
    const set = paletteSetter;
    const show = paletteToggle;
    picturePress(svg, picturePumpSpots(rig, words), settings.onPart);
    draw = {
      svg, labels, inside, airSide, more, setFloat: fittings.float ? set(fittings.float, "transform") : null,
      see: [show(inside.group), show(impeller.group), show(fittings.screenOpen), show(fittings.seat), show(fittings.ball), show(airSide.jet), show(airSide.receiverIn), show(airSide.bore), show(outlines), show(airSide.pipeIn), show(exhaust.inside), ...(fittings.float ? [show(fittings.float)] : [])],
      shut: [show(cover), show(fittings.screenShut), show(airSide.receiverCover), show(airSide.nozzleCover), show(airSide.pipeCover), show(exhaust.cover)],
      pull: show(airSide.pull), feed: show(airSide.feed), setFeed: set(airSide.feed, "stroke-dashoffset"),
      setCasing: set(inside.water.casing, "y"), setNeck: set(inside.water.neck, "y"), setLine: set(inside.water.line, "y"),
      setSuctionY: set(inside.water.suction, "y"), setSuctionW: set(inside.water.suction, "width"),
      wetEjector: show(inside.water.ejector), setWet: set(inside.water.ejector, "fill-opacity"),
      flowSuction: show(inside.flow.suction), flowLine: show(inside.flow.line),
      setFlowSuction: set(inside.flow.suction, "stroke-dashoffset"), setFlowLine: set(inside.flow.line, "stroke-dashoffset"),
      setVanes: set(impeller.vanes, "transform"), setBall: set(fittings.ball, "transform"),
      setJet: set(airSide.jetDash, "stroke-dashoffset"), setJetWidth: set(airSide.jetDash, "stroke-width"), setJetBody: set(airSide.jetBody, "fill-opacity"), setJetShown: show(airSide.jetBlown),
      bonnet: set(airSide.bonnet, "transform"), puff: show(airSide.puff), setPuff: set(airSide.puff, "opacity"), sound: show(airSide.sound),
      needle: airSide.needle ? set(airSide.needle, "transform") : null,
      beltTaut: show(drive.beltTaut), beltSlack: show(drive.beltSlack), beltOff: show(drive.beltOff), beltDash: show(drive.beltDash), setBelt: set(drive.beltDash, "stroke-dashoffset"),
      spokes: [drive.small, drive.large].map((w) => [set(w.spokes, "transform"), w]), setEngine: set(drive.engine, "transform"), shake: show(drive.shake),
      setPlume: exhaust.setPlume,
      handle: show(drain.handle), setHandle: set(drain.handle, "transform"), unseen: show(drain.unseen), drainAir: show(drain.air), drainSpray: show(drain.spray), setSpray: set(drain.spray, "stroke-dashoffset"),
    };
    update(lastFrame);
    speaker.now();
  }

  /** Water, air and the jet, where one may look inside. */
  function updateInside(frame, step) {
    const outside = pictureOutside(frame, rig);
    const suction = paletteFinite(frame.suction_pressure, outside) / outside;
    // A compressor at rest lets air in through its own valves, so its side never stands below the air outside.
    const motive = Math.max(1, paletteFinite(frame.motive_pressure, outside) / outside);
    const { air } = draw.inside;
    for (const name of ["suction", "casing", "neck"]) air[name](Math.min(1.02, suction));
    air.ejector(Math.min(1.02, suction));
    air.nrv(1);
    air.line(1);
    draw.airSide.pipe(motive);
    draw.airSide.receiver(motive);
    draw.airSide.nozzle(motive);
    const fill = paletteClamp(paletteFinite(frame.casing_fill, 0), 0, 1);
    const { bottom, lip, crown } = PICTURE_PUMP_CASING;
    const level = fill <= 0.001 ? bottom + 4 : pictureFillLevel(fill, lipFill, bottom, lip, crown);
    const full = fill > 0.985;
    draw.setCasing(full ? 230 : level);
    const wet = pictureExhaustWet(frame);
    draw.setNeck(wet ? 150 : full ? 226 : 442);
    draw.wetEjector(wet);
    draw.setWet(0.55);
    // the last stretch of hose before the flange
    const reach = 0.6;
    const arrived = paletteClamp((paletteFinite(frame.front_position, 0) - (rig.hose_length_m - reach)) / reach, 0, 1);
    draw.setSuctionW(arrived > 0 ? 6 + 66 * arrived : 0);
    draw.setSuctionY(arrived >= 0.999 ? Math.max(290, Math.min(level, 326)) : 290);
    const open = paletteClamp(paletteFinite(frame.nrv_open, 0), 0, 1);
    draw.setBall(`translate(${(open * 7).toFixed(1)},${(open * -20).toFixed(1)})`);
    const line = paletteFinite(frame.line_fill, 0);
    const nearby = 2.5 / paletteFinite(rig.discharge && rig.discharge.length_m, 40);
    draw.setLine(234 - 206 * paletteClamp(line / nearby, 0, 1));
    flow += step * paletteClamp(paletteFinite(frame.suction_flow, 0) * 1400, -70, 100);
    const taking = Math.abs(paletteFinite(frame.suction_flow, 0)) > 1e-4 && arrived >= 0.999;
    draw.flowSuction(taking && level < 312);
    draw.setFlowSuction(-flow % 28);
    draw.flowLine(paletteFinite(frame.discharge_flow, 0) > 1e-4 && line > nearby);
    draw.setFlowLine(-flow % 28);
    const power = paletteClamp(paletteFinite(frame.motive_flow, 0) / pictureMotiveRated(rig), 0, 1.2);
    jet += step * 90 * power;
    draw.setJetShown(power > 0.02);
    draw.setJet(-jet % 16);
    draw.setJetWidth(1 + 2.4 * power);
    draw.setJetBody(0.25 + 0.5 * power);
    draw.pull(paletteFinite(frame.entrained_flow, 0) > 2e-5 && !wet);
    draw.feed(power > 0.02);
    draw.setFeed(-jet % 18);
    return { open, motive: (motive - 1) * outside };
  }

  /** The little gauge on the receiver: 10 bar over 240 degrees. */
  function turnNeedle(pa) {
    if (draw.needle) draw.needle(`rotate(${(-120 + 240 * paletteClamp(pa / 10e5, 0, 1)).toFixed(0)},292,118)`);
  }

  function updateDrive(frame, step) {
    const speed = paletteFinite(frame.speed, 0);
    const running = speed > 0.05;
    const told = paletteFinite(frame.belt_slack, paletteFinite(rig.belt_slack_shown, NaN));
    const guarded = draw.more.guarded(Boolean(frame.see_through)); // what goes on behind the guard is not drawn
    const slack = guarded ? 0 : paletteClamp(paletteFinite(told, 0), 0, 1);
    const loose = slack >= 0.08;
    const off = slack >= 0.999;
    turn = (turn + step * 200 * speed) % 360;
    if (!guarded) run = (run + step * 75 * speed * (1 - slack)) % 18000;
    draw.setVanes(`rotate(${(-turn).toFixed(1)},206,316)`);
    draw.beltTaut(!loose);
    draw.beltSlack(loose && !off);
    draw.beltOff(off);
    draw.beltDash(running && !loose && !guarded);
    draw.setBelt(-run % 18);
    draw.spokes[0][0](`rotate(${((run * 2.94) % 360).toFixed(1)},${draw.spokes[0][1].x},${draw.spokes[0][1].y})`);
    draw.spokes[1][0](`rotate(${turn.toFixed(1)},${draw.spokes[1][1].x},${draw.spokes[1][1].y})`);
    draw.shake(running);
    draw.setEngine(running && step > 0 ? `translate(0,${pictureTremble(0.5)})` : "");
    const turns = running ? words.belt_runs : words.part_belt;
    draw.labels.belt(guarded ? words.belt_guarded : off ? words.belt_off : loose ? words.belt_slack : turns);
    draw.labels.engine(running ? words.engine_runs : words.engine_stopped);
  }

  function updateExhaust(frame, step) {
    const level = pictureExhaustLevel(frame, rig);
    const wet = pictureExhaustWet(frame);
    blow = (blow + step * (0.5 + level)) % 1;
    draw.setPlume(level, blow, wet);
    const word = level <= 0.03 ? words.exhaust_none : level < 0.3 ? words.exhaust_weak : level < 0.7 ? words.exhaust_steady : words.exhaust_strong;
    draw.labels.exhaust(pictureExhaustUnseen(frame) ? words.exhaust_unseen : wet ? words.exhaust_wet : word);
  }

  function updateRelief(frame, see) {
    const open = see ? paletteFinite(frame.relief_open, 0) > 0.5 : frame.relief_sound === true || frame.relief_sound === 1;
    const now = performance.now();
    if (open) popAt = now;
    const fade = paletteClamp(1 - (now - popAt) / 450, 0, 1);
    const popping = open || (fade > 0 && !paletteStill());
    draw.puff(see && popping);
    draw.setPuff(open ? 1 : fade);
    draw.sound(!see && popping);
    draw.bonnet(see && open ? "translate(0,-3.5)" : "");
    draw.labels.relief(popping ? (see ? words.relief_pops : words.relief_heard) : words.part_relief);
  }

  function updateDrain(frame, see, step) {
    const known = see ? paletteFinite(frame.drain_open, paletteFinite(rig.drain_open_shown, 0)) : rig.drain_open_shown;
    const shown = known !== null && known !== undefined;
    draw.handle(shown);
    draw.unseen(!shown);
    if (shown) draw.setHandle(`rotate(${(90 * paletteClamp(Math.sqrt(known), 0, 1)).toFixed(0)},206,405)`);
    const spraying = see ? paletteFinite(frame.drain_water, 0) > 1e-7 : Boolean(frame.drain_spray);
    draw.drainAir(see && paletteFinite(frame.drain_air, 0) > 1e-6 && !spraying);
    draw.drainSpray(spraying);
    if (spraying) draw.setSpray(step > 0 ? -((performance.now() / 30) % 9) : 0);
    draw.labels.drain(spraying ? words.drain_sprays : !shown ? words.drain_unseen : known > 0.02 ? words.drain_open : words.drain_shut);
  }

  /** The float hangs where it is stuck, else it goes up with the water; outside nobody sees it. */
  function updateFloat(frame, see) {
    if (!draw.setFloat) return;
    const stuck = see ? rig.parts?.float : null;
    const up = stuck === "shut" ? 1 : stuck === "open" || !see ? 0 : paletteClamp((paletteFinite(frame.casing_fill, 0) - 0.95) / 0.05, 0, 1);
    draw.setFloat(`translate(0,${(-9 * up).toFixed(1)})`);
  }

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
      turnNeedle(paletteFinite(frame.motive_shown, motive)); // a gauge shows what its needle shows
      draw.labels.nrv(open > 0.5 ? words.nrv_open : words.nrv_shut);
    } else {
      draw.pull(false);
      draw.feed(false);
      draw.labels.nrv(words.part_nrv);
      turnNeedle(paletteFinite(frame.motive_shown, 0));
    }
    updateDrive(frame, step);
    updateExhaust(frame, step);
    updateRelief(frame, see);
    updateDrain(frame, see, step);
    draw.more.update(frame, see, step, draw.labels);
    updateFloat(frame, see);
    speaker.say();
  }

  const speaker = paletteSpeaker(() => {
    if (!draw) return;
    const frame = lastFrame;
    const parts = [title.textContent];
    if (frame.see_through) {
      parts.push(paletteFill(words.pump_spoken, { fill: Math.round(100 * paletteFinite(frame.casing_fill, 0)) }));
      parts.push(paletteFinite(frame.nrv_open, 0) > 0.5 ? words.nrv_open : words.nrv_shut);
    }
    parts.push(paletteFinite(frame.speed, 0) > 0.05 ? words.engine_runs : words.engine_stopped);
    draw.svg.setAttribute("aria-label", parts.join(". "));
  });

  build();
  const unwatch = paletteWatchWidth(host, build);
  return {
    update,
    resize: build,
    destroy() {
      unwatch();
      speaker.stop();
      root.remove();
      draw = null;
    },
  };
}
