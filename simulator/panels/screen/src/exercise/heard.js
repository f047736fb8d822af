// What can be heard at a moment of the run, and the line of words that goes with it.
import { word } from "../base/format.js";
import { finiteOr } from "../base/numbers.js";

/**
 * The name a code stands for; undefined where nobody looked.
 * @param {PageWords} page
 * @param {string} channel
 * @param {number} value
 */
export function codeName(page, channel, value) {
  return value >= 0 ? page.codes?.[channel]?.[Math.round(value)] : undefined;
}

/** @type {Record<string, number>} */
export const RELIEF_PERIODS = { pops_seldom: 5, pops_often: 1.2 }; // s between two pops as they are played

const HISS_HEARD = 4e-4; // kg/s of leaking air that is heard beside a running engine

/**
 * What the pump sounds like: from inside where one may look, else as somebody heard it who stood beside it.
 * @param {Frame} sample
 * @param {PageWords} page
 */
function pumpHeard(sample, page) {
  const told = codeName(page, "pump_sound", sample.pump_sound);
  if (told || !page.see_through || !(sample.speed > 0.2)) return told;
  const flows = sample.discharge_flow > 1e-3;
  if (sample.casing_fill < 0.7) return "turns_dry";
  if (!flows) return sample.discharge_shown > 0.5e5 ? "churns" : undefined;
  if (sample.npsh_margin < 0.25) return "rattles";
  return sample.air_fraction > 0.02 ? "pulses" : "smooth";
}

/**
 * Where a leak is heard to hiss.
 * @param {Frame} sample
 * @param {PageWords} page
 */
function hissHeard(sample, page) {
  const told = codeName(page, "line_sound", sample.line_sound);
  if (told || !page.see_through) return told;
  const pump = Math.max(0, sample.casing_leak_air || 0) + Math.max(0, sample.drain_air || 0);
  const hose = Math.max(0, sample.joint_air || 0);
  if (Math.max(pump, hose) < HISS_HEARD) return undefined;
  return pump >= hose ? "hiss_pump" : "hiss_hose";
}

/**
 * What can be heard at a moment: from inside where one may look, else from what was listened to.
 * @param {Frame} sample
 * @param {PageWords} page
 */
export function heardFrom(sample, page) {
  /** @param {number | undefined} value */
  const number = (value) => finiteOr(value, 0);
  const sound = codeName(page, "relief_sound", sample.relief_sound);
  const rated = page.rig?.exhaust_rated_kg_s || 0.018;
  const period = RELIEF_PERIODS[sound ?? ""];
  const slack = page.see_through ? number(page.rig?.belt_slack_shown) : 0;
  const squeal = page.see_through && slack > 0.2 && slack < 0.95 && sample.speed > 0.2 ? "belt_squeal" : undefined;
  return {
    speed: number(sample.speed),
    exhaust: sample.exhaust_level >= 0 ? sample.exhaust_level : Math.min(1, number(sample.exhaust_air) / rated),
    known: page.see_through || sample.exhaust_level >= 0,
    stream: codeName(page, "exhaust_kind", sample.exhaust_kind),
    wet: codeName(page, "exhaust_kind", sample.exhaust_kind) === "water_spray" || number(sample.exhaust_water) > 2e-5,
    sound: sound || (number(sample.relief_open) > 0.5 ? "pops_often" : squeal),
    pops: period ? Math.floor(sample.t / period) : number(sample.relief_open),
    pump: pumpHeard(sample, page),
    hiss: hissHeard(sample, page),
    spray: sample.drain_spray > 0.5,
    water: codeName(page, "water_seen", sample.water_seen),
  };
}

/**
 * The line of words that goes with the sounds.
 * @param {PageWords} page
 * @param {Heard} heard
 * @param {boolean} playing
 */
export function captionText(page, heard, playing) {
  /** @type {any[]} */
  const parts = [];
  /** @param {string} key */
  const say = (key) => parts.push(word(page, `sound.${key}`));
  if (!playing || heard.speed < 0.05) return word(page, "sound.heard", { what: word(page, "sound.engine_off") });
  say(heard.speed > 0.85 ? "engine_rated" : "engine_slow");
  if (heard.wet) say("exhaust_water_spray");
  else if (heard.known && heard.stream) say(`exhaust_${heard.stream}`);
  if (heard.sound && heard.sound !== "even") say(heard.sound);
  if (heard.pump && heard.pump !== "smooth") say(`pump_${heard.pump}`);
  if (heard.hiss && heard.hiss !== "quiet") say(heard.hiss);
  if (heard.spray) say("drain_sprays");
  const line = word(page, "sound.heard", { what: parts.join(" ") });
  const seen = heard.water === "bubbles" || heard.water === "whirl" ? word(page, `sound.seen_${heard.water}`) : "";
  return seen ? `${line} ${word(page, "sound.seen", { what: seen })}` : line;
}
