// What is typed while the kernel is at something else stays in its field until it is heard.
import assert from "node:assert/strict";
import { test } from "node:test";
import { Typed } from "../src/lesson/typed.js";

test("what was typed stands in its field until the kernel has heard it", () => {
  const typed = new Typed(0);
  typed.put("lift", "1");
  assert.deepEqual(typed.toSend(), [{ field: "lift", value: "1", n: 1, more: false }]);
  typed.heard(0); // the kernel answers something that was pressed before
  assert.equal(typed.textOf("lift", "3"), "1");
  typed.put("lift", "12");
  typed.heard(1); // the first figure has been heard, the second not
  assert.equal(typed.textOf("lift", "1"), "12");
  assert.deepEqual(typed.toSend(), [{ field: "lift", value: "12", n: 2, more: true }]);
  typed.heard(2);
  assert.equal(typed.textOf("lift", "12.0"), "12.0");
});

test("each text is sent once, and a field that was left begins another word", () => {
  const typed = new Typed(0);
  typed.put("lift", "1");
  assert.equal(typed.toSend().length, 1);
  assert.equal(typed.toSend().length, 0);
  typed.endWord();
  typed.put("lift", "2");
  assert.equal(typed.toSend()[0].more, false);
});

test("on a page that comes after another one, what is typed is not taken for what was heard there", () => {
  const typed = new Typed(7);
  typed.put("lift", "30");
  typed.heard(7);
  assert.equal(typed.textOf("lift", "3"), "30");
  const late = new Typed(0);
  late.heard(7);
  late.put("lift", "30");
  late.heard(7);
  assert.equal(late.textOf("lift", "3"), "30");
});
