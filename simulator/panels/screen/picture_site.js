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
  let legend = null;
  if (settings.legend) {
    legend = pictureLegend(root, [
      ["water", words.legend_water],
      ["full", words.legend_air],
      ["thin", words.legend_thin],
      ["in", words.legend_in],
      ...(typeof rig.liner_at === "number" ? [["liner", words.legend_liner]] : []),
    ]);
    legend.items.in.style.visibility = "hidden";
    if (legend.items.liner) legend.items.liner.style.visibility = "hidden";
  }
  const motion = paletteMotion();
  let draw = null;
  let lastFrame = { t: 0 };
  let phase = 0;
  let bubbling = 0;
  let blow = 0;
  const jointAir = pictureJointAir(rig);

  function build() {
    stage.textContent = "";
    const width = Math.max(280, Math.floor(stage.clientWidth || host.clientWidth || 480));
    const lay = pictureSiteLayout(rig, width, settings);
    const lengths = pictureLengths(words, settings.units);
    const widening = pictureWidening(rig.bore_m * lay.scale, width < 440 ? 11 : 14);
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
    const strainer = pictureDrawStrainer(svg, lay, course, tube, land, rig);
    const hose = pictureDrawHose(svg, lay, course, rig, tube);
    const liner = pictureDrawLiner(hose.inside, course, rig, tube);
    const joints = pictureDrawJoints(svg, course, rig, tube);
    const rigNodes = pictureDrawRig(svg, lay, words, land);
    const more = pictureSiteMore(svg, lay, course, rig, tube, land, rigNodes, words);
    const names = [rigNodes.group, ...staff.group.querySelectorAll("rect"), ...more.numbers];
    const write = (x, y, content, attributes) => names.push(paletteLabel(svg, x, y, content, attributes));
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
    const outName = paletteFill(words.to_discharge, {
      length: lengths.long(paletteFinite(out.length_m, 0), 0),
      rise: lengths.long(paletteFinite(out.rise_m, 0), pictureDecimals(paletteFinite(out.rise_m, 0))),
    });
    const away = land.flooded ? Math.min(rigNodes.pipeY - 12, lay.y(0.35) - 8) : rigNodes.pipeY - 12;
    write(width - 6, Math.max(15, away), outName, { "text-anchor": "end", class: "pic-label pic-soft" });
    const outBox = names[names.length - 1].getBBox();
    if (outBox.x < rigNodes.plumeRight) names[names.length - 1].setAttribute("y", Math.max(15, Math.min(away, rigNodes.plumeTop - 5)));
    const metre = settings.units === "us" ? 0.3048 * 5 : lay.scale > 28 ? 1 : lay.scale > 12 ? 2 : 5;
    const barX = 10;
    const barY = lay.height - 9;
    paletteNode("path", { d: `M${barX},${barY - 5}v5h${metre * lay.scale}v-5`, class: "pic-bar" }, svg);
    write(barX + metre * lay.scale + 6, barY + 1, lengths.long(metre, 0), { class: "pic-label pic-soft" });
    const mark = paletteNode("g", { display: "none" }, svg);
    const leader = paletteNode("line", { class: "pic-leader" }, mark);
    const here = paletteLabel(mark, 0, 0, words.water_here, { class: "pic-label pic-here" });
    const hereWide = (here.getComputedTextLength && here.getComputedTextLength()) || words.water_here.length * 8;
    picturePress(svg, pictureSiteSpots(lay, course, rig, rigNodes, words), settings.onPart);
    draw = {
      svg, more, lay, course, tube, strainer, hose, liner, joints, rigNodes, hereWide, place: 0, places: picturePlaces(hereWide, tube / 2), rest: pictureRest(rig.profile), obstacles: pictureObstacles(course, rig.hose_length_m, tube, names),
      showMark: paletteToggle(mark), showInside: paletteToggle(hose.inside), showCover: paletteToggle(hose.cover),
      showFlow: paletteToggle(hose.flow), showStream: paletteToggle(rigNodes.stream), showChevrons: paletteToggle(rigNodes.chevrons),
      showShake: paletteToggle(rigNodes.shake), showBubbles: paletteToggle(strainer.bubbles), showFront: paletteToggle(hose.front),
      setWater: paletteSetter(hose.water, "stroke-dasharray"), setFlow: paletteSetter(hose.flow, "stroke-dasharray"),
      setFront: paletteSetter(hose.front, "transform"), setEngine: paletteSetter(rigNodes.engine, "transform"),
      setChevron: paletteSetter(rigNodes.chevrons, "stroke-dashoffset"),
      setRings: strainer.rings.map((r) => paletteSetter(r, "cy")),
      setHere: [paletteSetter(here, "x"), paletteSetter(here, "y")],
      setLeader: ["x1", "y1", "x2", "y2"].map((n) => paletteSetter(leader, n)),
      land,
    };
    rigNodes.chevrons.setAttribute("stroke-dasharray", "7 11");
    update(lastFrame);
    speaker.now();
  }

  /** Put the name of the front where it covers nothing, and keep it there while it does. */
  function placeMark(point) {
    const { hereWide, lay, setHere, setLeader, obstacles } = draw;
    const { places } = draw;
    const clear = (place) => {
      const x = point.x + place[0];
      const y = point.y + place[1];
      if (x < 6 || x + hereWide > lay.width - 6 || y < 17 || y > lay.height - 8) return false;
      return !obstacles.some((box) => x < box[2] && x + hereWide > box[0] && y - 14 < box[3] && y + 4 > box[1]);
    };
    if (!clear(places[draw.place])) {
      const better = places.findIndex(clear);
      draw.place = better < 0 ? 0 : better;
    }
    const place = places[draw.place];
    const x = paletteClamp(pictureHalf(point.x) + place[0], 6, lay.width - 6 - hereWide);
    const y = paletteClamp(pictureHalf(point.y) + place[1], 17, lay.height - 8);
    setHere[0](x);
    setHere[1](y);
    setLeader[0](paletteClamp(pictureHalf(point.x), x - 4, x + hereWide + 4));
    setLeader[1](y < point.y - 10 ? y + 4 : y > point.y + 20 ? y - 14 : y - 5);
    setLeader[2](pictureHalf(point.x));
    setLeader[3](pictureHalf(point.y));
  }

  /** A sign stands in the legend from the moment it is first drawn: not before, or it would tell. */
  function sign(kind, drawn) {
    if (drawn && legend && legend.items[kind].style.visibility) legend.items[kind].style.visibility = "";
  }

  function inside(frame, step) {
    const { course, hose, liner } = draw;
    const outside = pictureOutside(frame, rig);
    const front = paletteClamp(paletteFinite(frame.front_position, draw.rest), 0, rig.hose_length_m);
    const at = course.at(front);
    draw.setWater(`${pictureHalf(at.length)} 9999`);
    const pump = paletteFinite(frame.suction_pressure, outside) / outside;
    const outer = paletteFinite(frame.hose_pressure, frame.suction_pressure);
    hose.airs[0](paletteFinite(outer, outside) / outside);
    if (hose.airs[1]) hose.airs[1](pump);
    if (liner) {
      const open = paletteClamp(paletteFinite(frame.liner_open, 1), 0, 1);
      liner.show(open < 0.95);
      const reach = (draw.tube / 2) * (1 - Math.sqrt(open)) * 0.96;
      liner.close(reach);
      sign("liner", open < 0.95);
    }
    const climbing = front < rig.hose_length_m - 0.02;
    draw.setFront(`translate(${pictureHalf(at.x)},${pictureHalf(at.y)}) rotate(${at.angle.toFixed(0)})`);
    draw.showFront(climbing);
    const flow = paletteFinite(frame.suction_flow, 0);
    const area = (Math.PI / 4) * rig.bore_m * rig.bore_m;
    draw.showFlow(Math.abs(flow) > 1e-4 && front > 0.2);
    phase += step * paletteClamp((flow / area) * 26, -60, 110);
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
    draw.showMark(climbing && front >= 0);
  }

  const speaker = paletteSpeaker(() => {
    if (!draw) return;
    const frame = lastFrame;
    const parts = [words.site_title];
    if (frame.see_through) {
      const lengths = pictureLengths(words, settings.units);
      const front = Math.min(paletteFinite(frame.front_position, draw.rest), rig.hose_length_m);
      parts.push(paletteFill(words.site_spoken, { front: lengths.long(front, 1), length: lengths.long(rig.hose_length_m, 1) }));
    } else parts.push(words.outside_spoken);
    draw.svg.setAttribute("aria-label", parts.join(". "));
  });

  function update(frame) {
    lastFrame = frame;
    if (!draw) return;
    const step = motion(frame.t);
    const see = Boolean(frame.see_through);
    draw.showInside(see);
    if (legend && legend.list.hidden === see) legend.list.hidden = !see;
    draw.showCover(!see);
    const speed = paletteFinite(frame.speed, 0);
    const running = speed > 0.05;
    if (see) inside(frame, step);
    else {
      draw.showMark(false);
      for (const joint of draw.joints) {
        joint.show(false);
        joint.showWet(false);
      }
    }
    draw.showShake(running);
    draw.setEngine(`translate(0,${running && step > 0 ? pictureTremble(0.6) : 0})`);
    draw.showStream(see && paletteFinite(frame.line_fill, 0) > 0.01);
    const moving = see && paletteFinite(frame.discharge_flow, 0) > 1e-4;
    draw.showChevrons(moving);
    if (moving) draw.setChevron(-(Math.abs(phase) % 18));
    const level = pictureExhaustLevel(frame, rig);
    blow = (blow + step * (0.5 + level)) % 1;
    draw.rigNodes.setPlume(level, blow, pictureExhaustWet(frame));
    draw.more.update(frame, see, step);
    const blown = see ? paletteFinite(frame.strainer_bubbles, 0) > 1e-5 : frame.water_seen === "bubbles";
    draw.showBubbles(blown);
    if (blown) {
      const { top, rising } = draw.strainer;
      const lift = ((performance.now() / 1000) * 22) % rising;
      draw.setRings.forEach((set, i) => set(top - ((step > 0 ? lift : 0) + (rising * i) / 5) % rising));
    }
    speaker.say();
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
      speaker.stop();
      root.remove();
      draw = null;
    },
  };
}
