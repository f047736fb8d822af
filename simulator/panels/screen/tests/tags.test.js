import assert from "node:assert/strict";
import { test } from "node:test";
import { setApart } from "../src/picture/tags.js";

const WITHIN = { left: 10, right: 90, top: 10, bottom: 90 };

/** @param {number[][]} places */
const nearest = (places) =>
  Math.min(...places.flatMap((a, i) => places.slice(i + 1).map((b) => Math.hypot(a[0] - b[0], a[1] - b[1]))));

test("tags that stand clear stay where they are", () => {
  const places = /** @type {[number, number][]} */ ([
    [20, 20],
    [60, 70],
  ]);
  assert.deepEqual(setApart(places, 20, WITHIN), places);
});

test("tags on one another and over the edge end apart and inside", () => {
  const found = setApart(
    [
      [50, 50],
      [50, 50],
      [58, 52],
      [100, -5],
      [95, 5],
    ],
    20,
    WITHIN,
  );
  assert.ok(nearest(found) > 19.5, `${nearest(found)}`);
  for (const [x, y] of found) assert.ok(x >= 10 && x <= 90 && y >= 10 && y <= 90);
});
