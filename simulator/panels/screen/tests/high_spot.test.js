// Air that a high spot of the hose holds back stands in the picture where the model has it.
import assert from "node:assert/strict";
import { test } from "node:test";
import { courseAlong, highSpot, pocketBetween, standingRatio } from "../src/picture/site/geometry.js";

const humped = /** @type {HoseProfile} */ ([
  [0, -1],
  [9.6, 8.65],
  [10.8, 7.85],
  [12, 8.5],
]);
const straight = /** @type {HoseProfile} */ ([
  [0, -1],
  [10, 3],
]);

test("a high spot goes from its crest to the dip behind it; a hose that only climbs has none", () => {
  assert.deepEqual(highSpot(humped), [9.6, 10.8]);
  assert.equal(highSpot(straight), null);
});

test("air stays behind the crest, once water has gone over it, and no further than the water goes", () => {
  const spot = highSpot(humped);
  assert.equal(pocketBetween(spot, 0.78, 9.0), null);
  assert.equal(pocketBetween(spot, 0, 12), null);
  assert.deepEqual(pocketBetween(spot, 0.78, 12), [9.6, 9.6 + 0.78]);
  assert.deepEqual(pocketBetween(spot, 0.78, 10), [9.6, 10]);
  assert.equal(pocketBetween(null, 0.78, 12), null);
});

test("it is as thin as standing water leaves it there", () => {
  const rig = /** @type {Rig} */ ({ profile: humped, bore_m: 0.15, hose_length_m: 12, atmosphere_pa: 101325 });
  assert.ok(Math.abs(standingRatio(rig, 9.6) - (1 - (9.81e3 * 8.65) / 101325)) < 1e-9);
});

test("a line beside the hose lies below it where it is told to", () => {
  const course = courseAlong([
    [0, 0, 100],
    [10, 100, 100],
  ]);
  assert.equal(course.between(2, 4, 5), "M20.00,105.00L40.00,105.00");
});
