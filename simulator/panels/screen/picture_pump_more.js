// What else there is to look at on the pump end: cock, frost drain, float, filter, discharge valve, little gauges, plate,
// guard. From outside a part shows what was last seen of it; a dashed ring says that nobody has looked.

/** A dashed ring round what nobody has looked at. */
function picturePumpUnseen(parent, x, y, r) {
  return paletteToggle(paletteNode("circle", { cx: x, cy: y, r, class: "pic-unseen", display: "none" }, parent));
}

/** A small round gauge with a needle; returns a function of the share of its range [-]. */
function picturePumpGauge(svg, x, y, stem) {
  paletteNode("path", { d: stem, class: "pic-ink-line" }, svg);
  paletteNode("circle", { cx: x, cy: y, r: 8.5, class: "pic-dial" }, svg);
  const set = paletteSetter(paletteNode("line", { x1: x, y1: y, x2: x, y2: y - 6.5, class: "pic-ink-line" }, svg), "transform");
  return (share) => set(`rotate(${(-120 + 240 * paletteClamp(paletteFinite(share, 0), 0, 1)).toFixed(0)},${x},${y})`);
}

/** Dirt in a way through: speckles, the more the fuller. */
function picturePumpDirt(parent, x, y, width, height, count) {
  const group = paletteNode("g", { display: "none" }, parent);
  for (let i = 0; i < count; i += 1) {
    const u = ((i * 37) % 100) / 100;
    const v = ((i * 61 + 13) % 100) / 100;
    paletteNode("circle", { cx: x + width * u, cy: y + height * v, r: 2 + ((i * 7) % 3) * 0.6, class: "pic-dirt" }, group);
  }
  return paletteToggle(group);
}

/** Frost drain of the NRV housing, with its handle and its spray. */
function picturePumpFrostDrain(svg) {
  paletteNode("rect", { x: 213, y: 183, width: 16, height: 10, class: "pic-body" }, svg);
  paletteNode("path", { d: "M213,184H205V193H213", class: "pic-body" }, svg);
  const handle = paletteNode("g", {}, svg);
  paletteNode("rect", { x: 219, y: 177, width: 4.5, height: 22, rx: 2, class: "pic-handle" }, handle);
  const spray = paletteNode("path", { d: "M203,187L186,180M203,190H184M203,193L187,200", class: "pic-spray", "stroke-dasharray": "4 5", display: "none" }, svg);
  return { show: paletteToggle(handle), turn: paletteSetter(handle, "transform"), unseen: picturePumpUnseen(svg, 221, 188, 12), showSpray: paletteToggle(spray), setSpray: paletteSetter(spray, "stroke-dashoffset") };
}

/** Cock between casing and ejector: the handle along the pipe is open, across it is shut. */
function picturePumpCock(svg) {
  paletteNode("path", { d: "M110,167L132,181V167L110,181Z", class: "pic-body" }, svg);
  paletteNode("path", { d: "M121,174H143", class: "pic-ink-line" }, svg);
  const handle = paletteNode("rect", { x: 140.5, y: 163, width: 5, height: 22, rx: 2.5, class: "pic-handle" }, svg);
  return { show: paletteToggle(handle), turn: paletteSetter(handle, "transform"), unseen: picturePumpUnseen(svg, 143, 174, 12) };
}

/** Hand valve in the discharge line: a gate that comes down into the pipe, and a wheel. */
function picturePumpGate(svg) {
  const gate = paletteNode("rect", { x: 325, y: 32, width: 8, height: 29, class: "pic-gate" }, svg);
  paletteNode("path", { d: "M320,29H338V34H320ZM320,59H338V64H320Z", class: "pic-band" }, svg);
  paletteNode("path", { d: "M329,29V19M318,18H340", class: "pic-ink-line" }, svg);
  paletteNode("rect", { x: 316, y: 15, width: 26, height: 6, rx: 3, class: "pic-handle" }, svg);
  return { show: paletteToggle(gate), set: paletteSetter(gate, "height"), unseen: picturePumpUnseen(svg, 329, 46, 19) };
}

/** The belt guard: a mesh before belt and pulleys. */
function picturePumpGuard(svg) {
  const group = paletteNode("g", { display: "none" }, svg);
  paletteNode("rect", { x: 348, y: 166, width: 80, height: 204, rx: 14, class: "pic-guard" }, group);
  let mesh = "";
  for (let x = 358; x <= 418; x += 10) mesh += `M${x},174V362`;
  for (let y = 182; y <= 354; y += 10) mesh += `M356,${y}H420`;
  paletteNode("path", { d: mesh, class: "pic-guard-mesh" }, group);
  for (const [x, y] of [[356, 174], [420, 174], [356, 362], [420, 362]]) paletteNode("circle", { cx: x, cy: y, r: 2.6, class: "pic-bolt" }, group);
  return paletteToggle(group);
}

/** Air that blows out of the air line, and a kink in it. */
function picturePumpAirFaults(svg) {
  const blow = paletteNode("g", { display: "none" }, svg);
  for (const d of ["M246,133q-4,-9 2,-14", "M251,133q3,-9 10,-11", "M242,134q-9,-5 -10,-12"]) paletteNode("path", { d, class: "pic-puff" }, blow);
  const kink = paletteNode("path", { d: "M226,131L234,150M236,131L228,150", class: "pic-kink", display: "none" }, svg);
  return { blow: paletteToggle(blow), kink: paletteToggle(kink) };
}

/** Plate rated for vacuum: ready beside the rig, or on the suction flange. */
function picturePumpPlate(svg, words) {
  const ready = paletteNode("g", { display: "none" }, svg);
  paletteNode("path", { d: "M24,432L34,392L39,393L29,433Z", class: "pic-plate" }, ready);
  paletteLabel(ready, 44, 428, words.plate_ready, {});
  const fitted = paletteNode("g", { display: "none" }, svg);
  paletteNode("rect", { x: 59.5, y: 270, width: 6, height: 92, rx: 1.5, class: "pic-plate" }, fitted);
  paletteNode("path", { d: "M62.5,270V258M57,258H68", class: "pic-ink-line" }, fitted);
  const on = paletteLabel(fitted, 44, 428, words.plate_on, {});
  const off = paletteNode("rect", { x: -6, y: 260, width: 65, height: 116, class: "pic-away", display: "none" }, svg);
  svg.insertBefore(off, ready);
  return {
    ready: paletteToggle(ready),
    fitted: paletteToggle(fitted),
    /** With the hose off, as in a lesson that shows the test while it runs. */
    alone: (is) => {
      off.setAttribute("display", is ? "inline" : "none");
      on.setAttribute("display", is ? "none" : "inline"); // the label of the hose says so then
    },
  };
}

/** All of it; returns {update(frame, see, step, labels)}. */
function picturePumpMore(svg, rig, words) {
  const parts = rig.parts || {};
  const opened = rig.opened || [];
  const toSuction = picturePumpGauge(svg, 84, 243, "M84,262V251");
  const toDischarge = picturePumpGauge(svg, 297, 246, "M276,246H289");
  const filterPipe = paletteNode("path", { d: "M415,134H421", class: "pic-ink-line" }, svg);
  paletteNode("rect", { x: 420, y: 121, width: 17, height: 27, rx: 4, class: "pic-body" }, svg);
  for (const x of [424.5, 428.5, 432.5]) paletteNode("line", { x1: x, x2: x, y1: 124, y2: 145, class: "pic-fine" }, svg);
  const filterDirt = picturePumpDirt(svg, 422, 124, 13, 21, 16);
  const screenDirt = picturePumpDirt(svg, 104, 222, 34, 12, 22);
  const exhaustDirt = picturePumpDirt(svg, 17, 98, 10, 14, 14);
  const nozzleDirt = picturePumpDirt(svg, 136, 138, 12, 4, 4);
  const frost = picturePumpFrostDrain(svg);
  const gate = picturePumpGate(svg);
  const cock = rig.has_cock ? picturePumpCock(svg) : null;
  const air = picturePumpAirFaults(svg);
  const plate = picturePumpPlate(svg, words);
  const leak = paletteNode("path", { d: "M67,256V274M62,268L67,275L72,268M67,376V358M62,364L67,357L72,364", class: "pic-air-in", display: "none" }, svg);
  const guard = picturePumpGuard(svg);
  const showLeak = paletteToggle(leak);
  const alone = parts.plate === "alone";
  plate.alone(alone);
  filterPipe.setAttribute("stroke-width", 3);

  /** Where a handle or gate stands: shown where it was seen, else a dashed ring. */
  function stand(node, state, turn) {
    const known = state !== null && state !== undefined;
    node.show(known);
    node.unseen(!known);
    if (known) turn(paletteClamp(state, 0, 1));
  }

  return {
    guarded: (see) => !see && !opened.some((one) => one === "belt" || one === "intake" || one === "seal"),
    update(frame, see, step, labels) {
      const speed = paletteFinite(frame.speed, 0);
      toSuction(0.5 + paletteFinite(frame.suction_shown, 0) / 200e3);
      toDischarge(paletteFinite(frame.discharge_shown, 0) / 4e5);
      stand(frost, parts.frost_drain, (open) => frost.turn(`rotate(${open > 0.05 ? 90 : 0},221,188)`));
      const head = see ? paletteFinite(frame.frost_drain_water, 0) > 2e-5 : parts.frost_drain > 0.05 && speed > 0.05 && frame.discharge_shown > 0.3e5;
      frost.showSpray(Boolean(head));
      if (head) frost.setSpray(step > 0 ? -((performance.now() / 30) % 9) : 0);
      const unseen = parts.frost_drain === null || parts.frost_drain === undefined;
      const frosty = head ? words.frost_sprays : unseen ? words.frost_unseen : parts.frost_drain > 0.05 ? words.frost_open : words.frost_shut;
      if (labels.frost_state) labels.frost_state(frosty);
      else labels.frost_drain?.(words.part_frost_drain + ": " + frosty);
      stand(gate, parts.discharge_valve, (open) => gate.set((29 * (1 - open)).toFixed(1)));
      const known = parts.discharge_valve;
      labels.discharge_valve?.(known === null || known === undefined ? words.part_discharge_valve : known < 0.05 ? words.valve_shut : known < 0.95 ? words.valve_part : words.valve_open);
      if (cock) {
        stand(cock, frame.cock ?? parts.cock, (open) => cock.turn(`rotate(${(90 * (1 - open)).toFixed(0)},143,174)`));
        const cockOpen = frame.cock ?? parts.cock;
        labels.cock?.(cockOpen === null || cockOpen === undefined ? words.part_cock : cockOpen > 0.9 ? words.cock_open : words.cock_shut);
      }
      filterDirt(parts.filter === "blocked");
      labels.filter?.(parts.filter === "blocked" ? words.filter_blocked : words.part_filter);
      exhaustDirt(see ? parts.exhaust_blocked > 0.05 : parts.exhaust_hose === "blocked");
      screenDirt(see && parts.screen_plugged > 0.05);
      nozzleDirt(see && parts.nozzle_plugged > 0.05);
      const line = parts.air_line;
      air.blow(line === "holed" && paletteFinite(frame.motive_shown ?? frame.motive_pressure, 0) > 0.2e5 && speed > 0.05);
      air.kink(line === "kinked");
      plate.ready(parts.plate === "ready");
      plate.fitted(parts.plate === "flange" || alone);
      if (alone) labels.suction?.(words.plate_alone);
      showLeak(see && paletteFinite(frame.casing_leak_air, 0) > 2e-6);
      guard(this.guarded(see));
    },
  };
}

/** Where the parts of the pump end can be pressed: parts of the rig, the word that names them, and a point. */
function picturePumpSpots(rig, words) {
  const spots = [
    [["exhaust"], "exhaust", 22, 104],
    [["nozzle", "mixing_tube"], "nozzle", 150, 140],
    [["nozzle", "mixing_tube"], "ejector", 92, 140],
    [["air_line"], "air_line", 250, 140],
    [["screen"], "screen", 121, 228],
    [["relief", "compressor"], "relief", 318, 104],
    [["compressor"], "compressor", 386, 138],
    [["intake", "belt"], "filter", 428, 134],
    [["belt", "intake"], "belt", 388, 250],
    [["engine"], "engine", 380, 366],
    [["nrv"], "nrv", 256, 206],
    [["frost_drain"], "frost_drain", 214, 190],
    [["discharge_line"], "to_discharge_short", 420, 46],
    [["discharge_line"], "to_discharge_short", 256, 100],
    [["discharge_valve", "discharge_line"], "discharge_valve", 329, 46],
    [["casing_drain"], "drain", 206, 404],
    [["pump", "impeller", "seal"], "casing", 206, 316],
    [["flange", "suction_flange"], "flange", 66, 316],
    [["hose", "joint", "length"], "suction", 14, 316],
    [["suction_gauge"], "gauge", 84, 243],
    [["gauges", "suction_gauge", "motive_gauge"], "gauge", 297, 246],
    ...(rig.has_cock ? [[["cock"], "cock", 132, 174]] : []),
    ...(rig.has_float ? [[["float"], "float", 118, 200]] : []),
    ...(rig.has_motive_gauge !== false ? [[["motive_gauge", "gauges"], "gauge", 292, 118]] : []),
  ];
  return spots.map(([parts, name, x, y]) => ({ parts, name: words[`part_${name}`], x, y }));
}
