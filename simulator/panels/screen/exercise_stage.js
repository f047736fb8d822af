// The stage: two pictures, the gauges and the curve, each drawn by its own file and fed here with what the page knows
// and what the shown moment of the run says.

const GAUGE_CHANNELS = { suction: "suction_shown", motive: "motive_shown", discharge: "discharge_shown" };

/** Height of the pictures [px]: stage and the start of the lists share one screen; a large one gets larger pictures. */
function stageHeight() {
  return Math.round(Math.min(wideStage() ? 480 : 400, Math.max(346, 0.43 * window.innerHeight)));
}

/** A projector has room for large gauges; the curve below them takes what they leave. */
function wideStage() {
  return window.innerWidth >= 1600;
}

class ExerciseStage {
  constructor(view) {
    this.view = view;
    this.parts = [];
    this.dials = [];
    this.dirty = true;
    this.drawn = "";
    this.made = "";
  }

  /** Draw anew what the page has changed. */
  setPage(page, newRun) {
    if (!page.rig) return;
    const made = JSON.stringify([page.rig, page.gauges, page.see_through]);
    if (made !== this.made) {
      this.close();
      this.made = made;
      this.make(page);
    }
    const { curve } = page;
    if (curve) {
      this.trend.setStaticLift(curve.static_lift_pa);
      this.trend.setBand(curve.band || null);
      this.trend.setEarlier(curve.earlier || []);
    }
    if (newRun) this.fed = -1;
    this.dirty = true;
  }

  make(page) {
    const { view } = this;
    const words = page.drawing_words || {};
    const { units } = view;
    const place = (parent, name) => paletteElement("div", "ex-" + name, parent);
    const height = stageHeight();
    const onPart = (parts, name) => view.pressPart(parts, name);
    const { pictures, instruments } = view.parts;
    pictures.textContent = "";
    instruments.textContent = "";
    this.site = pictureSite(place(pictures, "picture ex-site"), page.rig, words, { units, height: height - 22, onPart });
    this.pump = picturePump(place(pictures, "picture ex-pump"), page.rig, words, { units, height, onPart });
    const row = place(instruments, "gauges");
    row.classList.toggle("ex-gauges-two", (page.gauges || []).length < 3);
    this.dials = (page.gauges || []).map((gauge) => ({
      id: gauge.id,
      dial: dialCreate(place(row, "gauge"), { ...gauge, system: units }, words),
    }));
    this.trend = trendCreate(place(instruments, "trend"), words, {
      units,
      span_s: page.curve?.span_s || 60,
      height: height - (wideStage() ? 178 : 122),
      motive: (page.gauges || []).some((gauge) => gauge.id === "motive"),
    });
    this.fed = -1;
  }

  setUnits(units) {
    for (const part of [this.site, this.pump, this.trend, ...this.dials.map(({ dial }) => dial)]) part?.setUnits?.(units);
    this.dirty = true;
  }

  /** Draw one moment of the run. Nothing is done while nothing moves. */
  draw(sample) {
    if (!this.made) return;
    const { player, page } = this.view;
    const state = player.run + "|" + sample.t.toFixed(3) + "|" + player.count;
    if (state === this.drawn && !this.dirty) return;
    this.drawn = state;
    this.dirty = false;
    const frame = pictureFrame(sample, page);
    this.site.update(frame);
    this.pump.update(frame);
    for (const { id, dial } of this.dials) dial.set(sample[GAUGE_CHANNELS[id]] ?? NaN);
    this.drawTrend(player);
  }

  /** The curve keeps all that was seen; while the learner looks back its cursor marks the moment. */
  drawTrend(player) {
    if (this.fed !== player.version) {
      this.fed = player.version;
      this.trend.setData({
        time: player.series("time"),
        vacuum: player.series("suction_shown"),
        motive: player.series("motive_shown"),
      });
    }
    this.trend.setShown(player.furthest);
    if (player.lookingBack) this.trend.setCursor(player.time);
    else if (this.marked) this.trend.setCursor(null);
    this.marked = player.lookingBack;
  }

  close() {
    for (const part of [this.site, this.pump, this.trend, ...this.dials.map(({ dial }) => dial)]) part?.destroy?.();
    this.dials = [];
    this.site = this.pump = this.trend = null;
  }
}

/** The name a code stands for; undefined where nobody looked. */
function codeName(page, channel, value) {
  return value >= 0 ? page.codes?.[channel]?.[Math.round(value)] : undefined;
}

/** A sample as the pictures read it. What nobody looked at is left out rather than drawn as nothing. */
function pictureFrame(sample, page) {
  const frame = { ...sample, see_through: page.see_through };
  const kind = codeName(page, "exhaust_kind", sample.exhaust_kind);
  frame.exhaust_kind = kind === "water_spray" ? "spray" : kind;
  if (!(sample.exhaust_level >= 0)) delete frame.exhaust_level;
  frame.exhaust_unseen = !page.see_through && kind === undefined;
  frame.water_seen = codeName(page, "water_seen", sample.water_seen);
  frame.relief_sound = RELIEF_PERIODS[codeName(page, "relief_sound", sample.relief_sound)] !== undefined;
  return frame;
}

const RELIEF_PERIODS = { pops_seldom: 5, pops_often: 1.2 }; // s between two pops as they are played

const HISS_HEARD = 4e-4; // kg/s of leaking air that is heard beside a running engine

/** What the pump sounds like: from inside where one may look, else as somebody heard it who stood beside it. */
function pumpHeard(sample, page) {
  const told = codeName(page, "pump_sound", sample.pump_sound);
  if (told || !page.see_through || !(sample.speed > 0.2)) return told;
  const flows = sample.discharge_flow > 1e-3;
  if (sample.casing_fill < 0.7) return "turns_dry";
  if (!flows) return sample.discharge_shown > 0.5e5 ? "churns" : undefined;
  if (sample.npsh_margin < 0.25) return "rattles";
  return sample.air_fraction > 0.02 ? "pulses" : "smooth";
}

/** Where a leak is heard to hiss. */
function hissHeard(sample, page) {
  const told = codeName(page, "line_sound", sample.line_sound);
  if (told || !page.see_through) return told;
  const pump = Math.max(0, sample.casing_leak_air || 0) + Math.max(0, sample.drain_air || 0);
  const hose = Math.max(0, sample.joint_air || 0);
  if (Math.max(pump, hose) < HISS_HEARD) return undefined;
  return pump >= hose ? "hiss_pump" : "hiss_hose";
}

/** What can be heard at a moment: from inside where one may look, else from what was listened to. */
function heardFrom(sample, page) {
  const number = (value) => (Number.isFinite(value) ? value : 0);
  const sound = codeName(page, "relief_sound", sample.relief_sound);
  const rated = page.rig?.exhaust_rated_kg_s || 0.018;
  const period = RELIEF_PERIODS[sound];
  const slack = page.see_through ? number(page.rig?.belt_slack_shown) : 0;
  const squeal = page.see_through && slack > 0.2 && slack < 0.95 && sample.speed > 0.2 ? "belt_squeal" : undefined;
  return {
    speed: number(sample.speed),
    exhaust: sample.exhaust_level >= 0 ? sample.exhaust_level : Math.min(1, number(sample.exhaust_air) / rated),
    known: page.see_through || sample.exhaust_level >= 0,
    wet: codeName(page, "exhaust_kind", sample.exhaust_kind) === "water_spray" || number(sample.exhaust_water) > 2e-5,
    sound: sound || (number(sample.relief_open) > 0.5 ? "pops_often" : squeal),
    pops: period ? Math.floor(sample.t / period) : number(sample.relief_open),
    pump: pumpHeard(sample, page),
    hiss: hissHeard(sample, page),
    spray: sample.drain_spray > 0.5,
    water: codeName(page, "water_seen", sample.water_seen),
  };
}

/** The line of words that goes with the sounds. */
function captionText(page, heard, playing) {
  const parts = [];
  const say = (key) => parts.push(word(page, "sound." + key));
  if (!playing || heard.speed < 0.05) return word(page, "sound.heard", { what: word(page, "sound.engine_off") });
  say(heard.speed > 0.85 ? "engine_rated" : "engine_slow");
  if (heard.wet) say("exhaust_spray");
  else if (heard.exhaust > 0.75) say("exhaust_strong");
  else if (heard.exhaust > 0.35) say("exhaust_some");
  else if (heard.exhaust > 0.03) say("exhaust_weak");
  else if (heard.known) say("exhaust_none");
  if (heard.sound && heard.sound !== "even") say(heard.sound);
  if (heard.pump && heard.pump !== "smooth") say("pump_" + heard.pump);
  if (heard.hiss && heard.hiss !== "quiet") say(heard.hiss);
  if (heard.spray) say("drain_sprays");
  const line = word(page, "sound.heard", { what: parts.join(" ") });
  const seen = heard.water === "bubbles" || heard.water === "whirl" ? word(page, "sound.seen_" + heard.water) : "";
  return seen ? line + " " + word(page, "sound.seen", { what: seen }) : line;
}
