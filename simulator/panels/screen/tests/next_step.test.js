// What the line at the foot of the whole window says comes next.
import assert from "node:assert/strict";
import { test } from "node:test";
import { nextStep } from "../src/exercise/next_step.js";

const item = (/** @type {string} */ id, done = false) => ({
  id,
  label: id,
  kind: "precaution",
  done,
  action: id,
  args: {},
});

/**
 * A page at some stage of a call-out.
 * @param {Record<string, any>} more
 * @returns {any}
 */
const page = (more = {}) => ({
  phase: "work",
  mode: "practice",
  run: { id: null },
  engine: { running: false, first: [], waits: [] },
  places: [{ id: "before", items: [item("gear"), item("rope"), item("tag", true)] }],
  notes: [],
  call: { open: true, stage: 1, locked: [], markers: 10 },
  finish: { open: false, waits: [] },
  coach: { allowed: true },
  ...more,
});

/**
 * @param {Record<string, any>} more
 * @param {Record<string, any>} [standing]
 */
const next = (more, standing = {}) =>
  nextStep({ page: page(more), placed: 0, tab: "do", folded: false, lacking: [], rate: 1, ...standing });

test("before the first start it names what the start waits for, then the start", () => {
  const waiting = next({ engine: { first: ["gear", "rope"] } });
  assert.equal(waiting.key, "make_safe");
  assert.equal(waiting.buttons[0].item?.id, "gear");
  assert.equal(next({}).buttons[0].kind, "start");
});

test("where nobody helps it names no single act", () => {
  const alone = next({ mode: "assessment", engine: { first: ["gear"] }, coach: { allowed: false } });
  assert.equal(alone.key, "begin_alone");
  assert.deepEqual(alone.buttons, [{ kind: "place", label: "safe", to: "before" }]);
});

test("a refused act leads to what it waits for, until that is done", () => {
  assert.equal(next({ run: { id: 1 } }, { lacking: ["tag", "rope"] }).buttons[0].item?.id, "rope");
  assert.equal(next({ run: { id: 1 } }, { lacking: ["tag"] }).key, "look");
});

test("the call: markers left, one left, all placed", () => {
  const at = (/** @type {number} */ placed) => next({ run: { id: 1 } }, { placed, tab: "call" }).key;
  assert.deepEqual([0, 4, 9, 10].map(at), ["look", "place_rest", "place_one", "lock"]);
});

test("after the mend it leads to the proof and to the end", () => {
  const notes = [{ kind: "remedy", clock: "5", text: "" }];
  const call = { open: false, stage: 2, locked: [{}, {}] };
  const after = { notes, call, run: { id: 2 } };
  assert.equal(next({ ...after, engine: { running: false, first: ["gear"] } }).key, "make_ready");
  assert.equal(next({ ...after, engine: { running: false, first: [] } }).key, "start_proof");
  assert.equal(next({ ...after, engine: { running: true } }).buttons[0].kind, "faster");
  assert.equal(next({ ...after, engine: { running: true } }, { rate: 20 }).buttons[0].kind, "stop");
  assert.equal(next({ ...after, engine: { running: true }, run: { id: 2, ended: {} } }).key, "not_proven");
  assert.equal(next({ ...after, engine: { running: true }, run: { id: 2, counts: false } }).key, "not_counted");
  assert.equal(next({ ...after, engine: { running: true }, finish: { open: true } }).buttons[0].kind, "finish");
});

test("in an assessment the job is not called done by the line before anything was put right", () => {
  const finish = { open: true, at_word: true };
  const engine = { running: true };
  assert.equal(next({ mode: "assessment", run: { id: 1 }, finish, engine }).key, "watch");
  const notes = [{ kind: "remedy", clock: "5", text: "" }];
  assert.equal(next({ mode: "assessment", run: { id: 1 }, finish, engine, notes }).key, "at_word");
});

test("afterwards: marks under way, then the debrief and the way on", () => {
  assert.equal(next({ phase: "debrief", debrief_pending: true }).key, "marks_coming");
  assert.equal(next({ phase: "debrief", debrief: {}, yard: {} }).buttons[0].kind, "yard_next");
  assert.equal(next({ phase: "debrief", debrief: {} }).buttons[0].kind, "leave");
});
