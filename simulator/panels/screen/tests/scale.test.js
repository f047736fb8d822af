// Scales: marks of a gauge, round steps, and values between samples.
import assert from "node:assert/strict";
import { test } from "node:test";
import { facePoint, scaleMarks } from "../src/gauges/dial.js";
import {
  axisBounds,
  indexAfter,
  roundStep,
  roundTimeStep,
  stripUnits,
  tracePath,
  valueAt,
  widened,
} from "../src/trend/scale.js";

test("marks are multiples of the step inside the range, without drift", () => {
  const marks = scaleMarks(-1, 10, 0.1);
  assert.equal(marks.length, 111);
  assert.equal(marks[110], 10);
  assert.deepEqual(scaleMarks(0, 1, 0), []);
  assert.deepEqual(scaleMarks(3, 11, 5), [5, 10]);
});

test("a face counts its angle from the top, clockwise", () => {
  const [x, y] = facePoint(90, 10);
  assert.ok(Math.abs(x - 10) < 1e-9 && Math.abs(y) < 1e-9);
});

test("steps are 1, 2 or 5 times a power of ten, and as a clock is read", () => {
  assert.deepEqual([roundStep(70, 5), roundStep(0.9, 5), roundStep(100, 5)], [20, 0.2, 20]);
  assert.deepEqual([roundTimeStep(300, 10), roundTimeStep(64, 6), roundTimeStep(1e5, 2)], [30, 15, 3600]);
});

test("an axis holds all there is in whole steps, and has room below zero only for pressure worth seeing", () => {
  assert.deepEqual(axisBounds(1e3, 8e4, 0), { top: 8e4, low: 0, step: 20 });
  assert.deepEqual(axisBounds(1e3, 31e3, -1e3), { top: 4e4, low: 0, step: 10 });
  assert.deepEqual(axisBounds(1e3, 31e3, -1.2e4), { top: 4e4, low: -2e4, step: 10 });
  assert.deepEqual(axisBounds(1, 100, 0), { top: 100, low: 0, step: 20 });
});

test("an axis is widened to all that the curves have shown, and by nothing that is still to come", () => {
  const times = [0, 1, 2];
  assert.deepEqual(widened([[times, [0, 9e4, 1e5], 1]], [0, 8e4]), [0, 9e4]);
  assert.deepEqual(widened([[times, [0, Number.NaN, -3e4], 2]], [0, 8e4]), [-3e4, 8e4]);
  assert.deepEqual(widened([[times, [0, 9e4, 1e5], -1]], [0, 8e4]), [0, 8e4]);
  const [low, high] = widened([[times, [0, 5e4, 9e4], 2]], [0, 8e4]);
  assert.ok(axisBounds(1e3, high, low).top >= 9e4);
});

test("a value lies on the straight line between samples and nowhere outside", () => {
  const times = [0, 1, 3];
  const values = [0, 10, 30];
  assert.equal(valueAt(times, values, 2), 20);
  assert.equal(valueAt(times, values, 3), 30);
  assert.ok(Number.isNaN(valueAt(times, values, 3.1)));
  assert.ok(Number.isNaN(valueAt([], [], 0)));
  assert.deepEqual([indexAfter(times, -1), indexAfter(times, 1), indexAfter(times, 9)], [0, 2, 3]);
});

test("a path keeps peaks that fall between two pixels and breaks where there is no value", () => {
  /** @type {any[]} */
  const drawn = [];
  const pen = {
    beginPath: () => drawn.push("begin"),
    moveTo: (/** @type {number} */ x, /** @type {number} */ y) => drawn.push(["move", x, y]),
    lineTo: (/** @type {number} */ x, /** @type {number} */ y) => drawn.push(["line", x, y]),
    stroke: () => drawn.push("stroke"),
  };
  const times = [0, 0.1, 0.2, 10, 20, 30];
  const values = [0, 50, 0, 5, Number.NaN, 7];
  tracePath(
    /** @type {any} */ (pen),
    times,
    values,
    0,
    30,
    (t) => t,
    (v) => v,
  );
  assert.ok(
    drawn.some((one) => one[0] === "line" && one[2] === 50),
    "the peak is drawn",
  );
  assert.equal(drawn.filter((one) => one[0] === "move").length, 2);
});

test("the strips have the units of the catalogue and the sizes of the units", () => {
  const words = { unit_kpa: "kPa", unit_inhg: "inHg", unit_bar: "bar", unit_psi: "psi" };
  assert.deepEqual(stripUnits(words, "us").vacuum, { name: "inHg", size: 3386.389, decimals: 1 });
  assert.deepEqual(stripUnits(words, "metric").pressure, { name: "bar", size: 1e5, decimals: 1 });
});
