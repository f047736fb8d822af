import assert from "node:assert/strict";
import { test } from "node:test";
import { setApart, setBeside } from "../src/picture/tags.js";

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

test("tags beside a picture keep the order of their parts, apart and within their column", () => {
  const tags = /** @type {{ part: [number, number], side: "left" | "right" }[]} */ (
    [50, 52, 12, 50, 88].map((y, i) => ({ part: [40 + i, y], side: i < 4 ? "left" : "right" }))
  );
  const found = setBeside(tags, WITHIN, 20);
  assert.deepEqual(found[4], [90, 88]);
  const left = found.slice(0, 4);
  assert.ok(left.every(([x, y]) => x === 10 && y >= 10 && y <= 90));
  assert.ok(nearest(left) > 19.5, `${nearest(left)}`);
  assert.ok(left[2][1] < left[0][1] && left[0][1] < left[1][1]);
  // more than there is room for stand closer, and none leaves its column
  const many = setBeside([...tags, ...tags, ...tags], WITHIN, 20);
  assert.ok(many.every(([, y]) => y >= 10 - 1e-9 && y <= 90 + 1e-9));
});
