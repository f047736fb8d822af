// A part has one number, on every rig and in every layout.
import assert from "node:assert/strict";
import { test } from "node:test";
import { NUMBER, PART_NAMES } from "../src/picture/pump/names.js";

test("each part that is named has a number of its own", () => {
  const named = PART_NAMES.map(([name]) => name).filter((name) => name !== "frost_state");
  const numbers = named.map((name) => NUMBER[name]);
  assert.ok(numbers.every((number) => number > 0));
  assert.equal(new Set(numbers).size, named.length);
});
