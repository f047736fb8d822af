// A part has one number in every layout of a rig's picture, and the numbers run in order without a gap.
import assert from "node:assert/strict";
import { test } from "node:test";
import { byNumber, PART_NAMES } from "../src/picture/pump/names.js";

test("each part that is named has a place of its own in the order, whatever order they come in", () => {
  const named = PART_NAMES.map(([name]) => name).filter((name) => name !== "frost_state");
  const sorted = [...named].sort(byNumber);
  assert.deepEqual([...named].reverse().sort(byNumber), sorted);
  assert.equal(new Set(sorted).size, named.length);
  assert.equal(sorted[0], "exhaust");
});
