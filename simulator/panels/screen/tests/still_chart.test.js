// What of a still chart only computes: inks, the way of the keys along the curves, the zoomed window.
import assert from "node:assert/strict";
import { test } from "node:test";
import { inked, pointAfter, sketchOf, zoomed } from "../src/base/still_chart.js";

test("inks by name become the theme's colours, all else stays", () => {
  const part = { color: "ink:lift", width: 2, deep: [{ fill: "ink:act" }, "plain", null] };
  const out = inked(part, (name) => `<${name}>`);
  assert.deepEqual(out, { color: "<lift>", width: 2, deep: [{ fill: "<act>" }, "plain", null] });
  assert.equal(part.color, "ink:lift");
});

test("keys go along a curve and over to the next at the same time", () => {
  const curve = (/** @type {number[]} */ x) => ({ x, customdata: x.map(String), hovertemplate: "" });
  const data = [curve([0, 10, 20, 30]), curve([0, 19, 40])];
  assert.deepEqual(pointAfter(data, { curve: 0, point: 1 }, "ArrowRight"), { curve: 0, point: 2 });
  assert.deepEqual(pointAfter(data, { curve: 0, point: 0 }, "ArrowLeft"), { curve: 0, point: 0 });
  assert.deepEqual(pointAfter(data, { curve: 0, point: 1 }, "End"), { curve: 0, point: 3 });
  assert.deepEqual(pointAfter(data, { curve: 0, point: 2 }, "ArrowDown"), { curve: 1, point: 1 });
  assert.deepEqual(pointAfter(data, { curve: 0, point: 0 }, "ArrowUp"), { curve: 1, point: 0 });
  assert.equal(pointAfter(data, { curve: 0, point: 0 }, "x"), null);
});

test("a zoom stays within the whole and comes back to it", () => {
  assert.deepEqual(zoomed([0, 100], [0, 100], 0.5), [25, 75]);
  assert.deepEqual(zoomed([0, 20], [0, 100], 2), [0, 40]);
  assert.deepEqual(zoomed([25, 75], [0, 100], Number.POSITIVE_INFINITY), [0, 100]);
  assert.deepEqual(zoomed([50, 51], [0, 100], 0.1), [49.5, 51.5]);
});

test("a sketch holds what of the curves lies within the frame", () => {
  const figure = /** @type {any} */ ({
    data: [
      { x: [0, 30, 60, 90], y: [0, 20, 40, 40] },
      { x: [0, 10], y: [null, 10] },
    ],
    layout: { xaxis: { range: [0, 60] }, yaxis: { range: [0, 40] } },
  });
  const [whole, short] = sketchOf(figure);
  assert.deepEqual(whole, [
    [0, 100],
    [50, 50],
    [100, 0],
  ]);
  assert.deepEqual(short, [[(100 * 10) / 60, 75]]);
});
