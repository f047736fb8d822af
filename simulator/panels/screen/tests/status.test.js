// The line under the engine bar: the newest of what was done and what a run has come to.
import assert from "node:assert/strict";
import { test } from "node:test";
import { describeStatus } from "../src/exercise/engine_bar.js";
import { ExerciseView } from "../src/exercise/view.js";

/**
 * @param {Record<string, any>} page
 * @param {{ sentence: string, accepted: boolean } | null} reply
 * @returns {any}
 */
const view = (page, reply) => ({
  page: { phase: "work", words: {}, ...page },
  player: { lookingBack: false, holds: new Set() },
  link: { lost: false, pending: null, reply },
  warned: null,
  starved: false,
});
const primed = { run: { primed: true, ended: { sentence: "primed" } }, engine: { running: true } };

test("what was done since a prime stands in place of it", () => {
  assert.equal(describeStatus(view(primed, null)).key, "ended");
  assert.equal(describeStatus(view(primed, { accepted: true, sentence: "Tag on." })).key, "reply");
});

test("what a run has come to stands in place of an older answer, and of the act that led to it", () => {
  const seen = view(primed, { accepted: true, sentence: "older" });
  ExerciseView.prototype.tellOfRun.call(seen);
  assert.equal(describeStatus(seen).key, "ended");
  assert.equal(seen.toldByRun, null);
  seen.link.pending = { message: { id: "stop" } };
  ExerciseView.prototype.tellOfRun.call(seen);
  assert.equal(seen.toldByRun, "stop");
});

test("what waits says what was pressed", () => {
  const refused = view({ places: [], words: { bar: { start: "Start it", pressed: "You pressed {name}." } } }, null);
  refused.link.reply = { accepted: false, sentence: "Not yet.", key: "engine:start" };
  const said = describeStatus(refused).children.map((/** @type {any} */ part) => part.children.flat().join(""));
  assert.deepEqual(said, ["You pressed Start it. Not yet."]);
});
