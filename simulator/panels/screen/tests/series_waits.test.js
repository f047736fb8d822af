import assert from "node:assert/strict";
import { test } from "node:test";
import { seriesMinutes, seriesWaits } from "../src/exercise/acts.js";

/** @type {any} */
const page = { words: { acts: { waits: "waits for: {what}", lapse: "{n} points off" } }, lapse: { serious: 15 } };
/** @param {string} short @param {string[]} waits */
const at = (short, waits) => /** @type {any} */ ({ short, waits, risk: waits.length ? "serious" : "" });

test("one line for a row of places that all wait for the same", () => {
  assert.deepEqual(seriesWaits(page, [at("joint 1", ["guard"]), at("joint 2", ["guard"])]), [
    "waits for: guard. 15 points off",
  ]);
});

test("a line names the places that wait where others do not", () => {
  assert.deepEqual(seriesWaits(page, [at("joint 1", ["guard"]), at("joint 2", []), at("joint 3", [])]), [
    "Joint 1: waits for: guard. 15 points off",
  ]);
});

test("nothing waits, nothing is said", () => {
  assert.deepEqual(seriesWaits(page, [at("joint 1", []), at("joint 2", [])]), []);
});

test("the minutes of a row are those of a place that is not open yet", () => {
  assert.equal(seriesMinutes([{ minutes: 3 }, { minutes: 6 }, { minutes: 6 }]), 6);
});
