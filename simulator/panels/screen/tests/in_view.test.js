// What of a page is brought into view when something has come of a press.
import assert from "node:assert/strict";
import { test } from "node:test";
import { stretchMove } from "../src/lesson/prose.js";

const HIGH = 700;
const box = (/** @type {number} */ top, /** @type {number} */ bottom) => ({ top, bottom });

test("what is in sight stays where it is", () => {
  assert.equal(stretchMove(box(100, 200), box(300, 500), HIGH, "nearest"), null);
  assert.equal(stretchMove(box(50, 900), box(50, 900), HIGH, "start"), null);
});

test("an answered question and the next one come into view together where they fit", () => {
  assert.deepEqual(stretchMove(box(300, 500), box(520, 900), HIGH, "nearest"), ["last", "end"]);
  assert.deepEqual(stretchMove(box(-50, 150), box(170, 500), HIGH, "nearest"), ["first", "start"]);
});

test("where they do not fit, the next question and its options are what is in sight", () => {
  assert.deepEqual(stretchMove(box(-100, 500), box(520, 900), HIGH, "nearest"), ["last", "end"]);
  assert.deepEqual(stretchMove(box(-900, -500), box(-480, -100), HIGH, "nearest"), ["last", "start"]);
  assert.equal(stretchMove(box(-500, 100), box(120, 600), HIGH, "nearest"), null);
});

test("what is higher than the window is read from its top", () => {
  assert.deepEqual(stretchMove(box(500, 1400), box(500, 1400), HIGH, "nearest"), ["last", "start"]);
  assert.deepEqual(stretchMove(box(-300, 600), box(-300, 600), HIGH, "nearest"), ["last", "start"]);
  assert.equal(stretchMove(box(10, 900), box(10, 900), HIGH, "nearest"), null);
});
