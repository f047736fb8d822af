// Whatever sounds or shows stands in words.
import assert from "node:assert/strict";
import { test } from "node:test";
import { captionText, heardFrom } from "../src/exercise/heard.js";

const codes = {
  exhaust_kind: ["none", "weak", "steady", "water_spray"],
  relief_sound: ["even", "belt_squeal", "pops_seldom", "pops_often"],
  pump_sound: ["smooth", "pulses"],
  line_sound: ["quiet", "hiss_hose"],
  water_seen: ["still", "bubbles"],
};

/** Without a catalogue a word is its key: enough to see which are said. @param {object} sample */
const said = (sample) => {
  const page = { words: { sound: { heard: "{what}", seen: "{what}" } }, codes, see_through: false };
  return captionText(page, heardFrom({ t: 3, speed: 1, ...sample }, page), true);
};

test("each thing heard or seen is said", () => {
  const caption = said({
    exhaust_kind: 1,
    exhaust_level: 0.25,
    relief_sound: 1,
    pump_sound: 1,
    line_sound: 1,
    water_seen: 1,
    drain_spray: 1,
  });
  for (const key of [
    "engine_rated",
    "exhaust_weak",
    "belt_squeal",
    "pump_pulses",
    "hiss_hose",
    "drain_sprays",
    "seen_bubbles",
  ]) {
    assert.ok(caption.includes(`sound.${key}`), `${key} in ${caption}`);
  }
});

test("what nobody looked at is not spoken of", () => {
  const away = {
    exhaust_kind: -1,
    exhaust_level: -1,
    relief_sound: -1,
    pump_sound: -1,
    line_sound: -1,
    water_seen: -1,
    drain_spray: -1,
  };
  assert.equal(said(away), "sound.engine_rated");
});

test("from inside the relief valve's pops, a leak's hiss and a slack belt are heard as computed", () => {
  const page = { words: {}, codes, see_through: true, rig: { belt_slack_shown: 0.5 } };
  const heard = heardFrom({ t: 1, speed: 1, joint_air: 1e-3, casing_leak_air: 0, drain_air: 0 }, page);
  assert.equal(heard.hiss, "hiss_hose");
  assert.equal(heard.sound, "belt_squeal");
  assert.equal(heardFrom({ t: 1, speed: 1, relief_open: 1 }, page).sound, "pops_often");
});
