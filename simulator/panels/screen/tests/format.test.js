// Figures and sentences as people read them.
import assert from "node:assert/strict";
import { test } from "node:test";
import {
  capitalised,
  clockText,
  fillIn,
  formatNumber,
  formatVacuum,
  minutesText,
  shareText,
  UNIT_SIZES,
  word,
} from "../src/base/format.js";
import { clamp, finiteOr } from "../src/base/numbers.js";

test("numbers have a true minus, no minus nought, and a dash where there is none", () => {
  assert.equal(formatNumber(-1.25, 1), "\u22121.3");
  assert.equal(formatNumber(-0.04, 1), "0.0");
  assert.equal(formatNumber(Number.NaN, 1), "–");
});

test("clock, minutes and shares", () => {
  assert.equal(clockText(72.4), "1:12");
  assert.equal(clockText(59.9999999), "1:00");
  assert.equal(clockText(-3), "0:00");
  assert.deepEqual([minutesText(8), minutesText(0.5), minutesText(-2)], ["8", "0.5", "\u22122"]);
  assert.equal(shareText(0.256), "26 %");
  assert.equal(capitalised("third"), "Third");
  assert.equal(capitalised(""), "");
});

test("places of a sentence are filled, unknown ones left to be seen", () => {
  assert.equal(fillIn("{a} of {b}", { a: 0 }), "0 of {b}");
  assert.equal(fillIn(undefined, {}), "");
  const page = { words: { bar: { now: "Now {t}" } } };
  assert.equal(word(page, "bar.now", { t: 4 }), "Now 4");
  assert.equal(word(page, "bar.later"), "bar.later");
});

test("unit sizes are those of NIST SP 811", () => {
  // NIST SP 811 (2008), appendix B.8: inch of mercury, conventional 3.386 389 E+03 Pa; psi 6.894 757 E+03 Pa.
  assert.equal(UNIT_SIZES.inhg, 3386.389);
  assert.equal(Math.round(UNIT_SIZES.psi * 1000), 6894757);
  assert.deepEqual([UNIT_SIZES.kpa, UNIT_SIZES.bar], [1e3, 1e5]);
});

test("bounds and what is missing", () => {
  assert.deepEqual([clamp(-1, 0, 2), clamp(1, 0, 2), clamp(3, 0, 2)], [0, 1, 2]);
  assert.deepEqual([finiteOr(Number.NaN, 7), finiteOr(undefined, 7), finiteOr(0, 7)], [7, 7, 0]);
});

test("vacuum counts upward; pressure above the air outside bears a plus, and nought bears none", () => {
  assert.deepEqual([formatVacuum(29.4, 0), formatVacuum(-3.2, 0), formatVacuum(-0.2, 0)], ["29", "+3", "0"]);
  assert.equal(formatVacuum(Number.NaN, 1), "–");
});
