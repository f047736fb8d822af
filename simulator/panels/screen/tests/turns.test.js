// What is pressed on a lesson's page while the kernel is at something: it waits, in order, and none is dropped.
import assert from "node:assert/strict";
import { test } from "node:test";
import { Turns } from "../src/lesson/turns.js";

/** @param {string} key @param {any} args */
const press = (key, args = {}) => ({ action: "do", key, args });

test("everything pressed is sent, one thing at a time and in order", () => {
  const turns = new Turns();
  const sent = ["a", "b", "c", "d"].map((key) => turns.take(press(key)));
  assert.deepEqual(
    sent.map((one) => one?.key),
    ["a", undefined, undefined, undefined],
  );
  assert.equal(turns.busy("d"), true);
  assert.deepEqual(
    [1, 2, 3, 4].map(() => turns.done()?.key),
    ["b", "c", "d", undefined],
  );
  assert.equal(turns.busy("d"), false);
});

test("a double click is one press; another value under the same key is another, also on the way back", () => {
  const turns = new Turns();
  turns.take(press("units", { value: "us" }));
  turns.take(press("units", { value: "us" }));
  assert.equal(turns.queue.length, 0);
  turns.take(press("units", { value: "metric" }));
  turns.take(press("units", { value: "metric" }));
  turns.take(press("units", { value: "us" }));
  assert.deepEqual(
    turns.queue.map((one) => one.args.value),
    ["metric", "us"],
  );
});

test("steps back and on count each time they are pressed, however fast", () => {
  const turns = new Turns();
  for (const action of ["undo", "undo", "redo", "undo"]) turns.take({ action, key: action, args: {} });
  assert.deepEqual(
    turns.queue.map((one) => one.action),
    ["undo", "redo", "undo"],
  );
});
