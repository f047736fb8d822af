// Geometry of the site picture and of the strip chart's plot.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DRAIN, PUMP_SIZE } from "../src/picture/pump/body.js";
import {
  boreWidening,
  courseAlong,
  lineBeside,
  profileVertices,
  restingFront,
  roundedCorners,
  siteLayout,
} from "../src/picture/site/geometry.js";
import { plotArea } from "../src/trend/paint.js";

const profile = /** @type {[number, number][]} */ ([
  [0, -0.5],
  [5, 3.5],
  [10, 3.5],
]);
const close = (/** @type {number} */ a, /** @type {number} */ b) =>
  assert.ok(Math.abs(a - b) < 1e-9, `${a} is not ${b}`);

test("a hose laid out keeps its length: dx is what Pythagoras leaves of ds", () => {
  const [a, b, c] = profileVertices(profile);
  close(b[1], 3); // 3, 4, 5
  close(c[1], 8);
  close(Math.hypot(b[1] - a[1], b[2] - a[2]), 5);
});

test("rounded corners begin and end where the hose does, and s goes only up", () => {
  const samples = roundedCorners(profileVertices(profile), 1);
  assert.deepEqual(samples[0], [0, 0, -0.5]);
  close(samples[samples.length - 1][1], 8);
  for (let i = 1; i < samples.length; i += 1) assert.ok(samples[i][0] >= samples[i - 1][0]);
});

test("a course gives point, direction and drawn length at any s", () => {
  const course = courseAlong([
    [0, 0, 0],
    [10, 30, 40],
    [20, 30, 140],
  ]);
  close(course.total, 150);
  const half = course.at(5);
  close(half.x, 15);
  close(half.y, 20);
  close(half.length, 25);
  close(course.at(15).angle, 90);
  close(course.at(99).y, 140);
});

test("a line beside a straight hose keeps its distance", () => {
  const beside = lineBeside(
    [
      [0, 0, 0],
      [10, 10, 0],
    ],
    () => 2,
  );
  for (const [, z] of beside) close(z, -2);
});

test("at rest the water stands where the hose passes the outside level", () => {
  close(restingFront(profile), 0.625); // 0.5 of 4 m up, over 5 m of hose
  close(
    restingFront([
      [0, -2],
      [4, -1],
    ]),
    4,
  );
});

test("the widening is the smallest that makes the bore readable", () => {
  assert.deepEqual([boreWidening(20, 14), boreWidening(5, 14), boreWidening(0.5, 14)], [1, 3, 8]);
});

test("a site fits its width, and one scale serves both ways", () => {
  const rig = { profile, bore_m: 0.15, casing: { height_m: 0.65 } };
  for (const width of [360, 640, 1000]) {
    const lay = siteLayout(rig, width, { height: 400 });
    close(lay.x(1) - lay.x(0), lay.scale);
    close(lay.y(0) - lay.y(1), lay.scale);
    assert.ok(lay.x(lay.extent.left) >= 0 && lay.x(lay.extent.right) <= width + 1e-6);
    assert.equal(lay.height, 400);
  }
});

test("the plot leaves room for the motive strip only where there is one", () => {
  const with_ = plotArea(600, 300, true);
  const without = plotArea(600, 300, false);
  assert.ok(with_.bottom < with_.lowTop && with_.lowTop < with_.floor);
  assert.ok(without.bottom > with_.bottom);
});

test("the handle of an open drain valve is drawn whole", () => {
  assert.ok(PUMP_SIZE.top + PUMP_SIZE.height >= DRAIN.pivot + DRAIN.reach + 2);
});
