// Moments of a run that is played on the page alone.
import assert from "node:assert/strict";
import { test } from "node:test";
import { momentOf } from "../src/lesson/replay.js";

/** @type {any} */
const track = {
  see_through: true,
  step_s: 0.5,
  series: { suction_pressure: [100, 80, 60], nrv_open: [0, 1, 1], motive_flow: [null, 2, 4] },
};

test("a moment lies on the straight line between two that were sent; a valve is open or shut", () => {
  const frame = momentOf(track, 0.75);
  assert.equal(frame.t, 0.75);
  assert.equal(frame.suction_pressure, 70);
  assert.equal(frame.motive_flow, 3);
  assert.equal(momentOf(track, 0.25).nrv_open, 0);
});

test("what is not known at one end is not shown between them, and after the last moment that one stands", () => {
  assert.equal("motive_flow" in momentOf(track, 0.25), false);
  assert.equal(momentOf(track, 9).suction_pressure, 60);
});

test("an exhaust hose that may not be looked into is not seen", () => {
  assert.equal(momentOf({ ...track, see_through: false }, 0).exhaust_unseen, true);
  assert.equal(momentOf(track, 0).exhaust_unseen, false);
});
