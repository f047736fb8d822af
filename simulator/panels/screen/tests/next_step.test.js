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
  assert.equal(next({}).point, "start");
});

test("one place for one act: what the engine bar holds is pointed at, and has no second button", () => {
  const proving = { put_right: "something", call: { open: false, stage: 2, locked: [{}, {}] }, run: { id: 2 } };
  const dry = { run: { id: 1, overdue: true }, engine: { running: true } };
  for (const [step, point] of /** @type {[any, string | undefined][]} */ ([
    [next({}), "start"],
    [next(dry), "stop"],
    [next(proving), "start"],
    [next({ ...proving, engine: { running: true } }), "faster"],
    [next({ ...proving, engine: { running: true } }, { rate: 20 }), undefined],
  ])) {
    assert.equal(step.point, point);
    assert.ok(step.buttons.every((/** @type {any} */ one) => !["start", "stop", "faster"].includes(one.kind)));
  }
});

test("a lever left at slow is told before a prime and in a proof, and never where it is brought down to be stopped", () => {
  const slow = (/** @type {any} */ more = {}) => ({
    engine: { running: true, speed: "slow" },
    run: { id: 1 },
    ...more,
  });
  assert.deepEqual([next(slow()).key, next(slow()).point], ["slow", "rated"]);
  assert.equal(next(slow({ run: { id: 1, overdue: true } })).key, "slow");
  assert.equal(next(slow({ run: { id: 1, primed: true } })).key, "watch_pumps");
  const proof = {
    put_right: "something",
    call: { open: false, stage: 2, locked: [{}, {}] },
    run: { id: 2, primed: true },
  };
  assert.equal(next(slow(proof)).key, "slow_proof");
  assert.equal(next(slow({ ...proof, finish: { open: true } })).key, "proven");
  assert.notEqual(next(slow({ mode: "assessment" })).key, "slow");
  assert.equal(next({ engine: { running: false, first: [], speed: "slow" } }).key, "start_rated");
});

test("a start without the look round is told so, and leads to it", () => {
  const walk = { ...item("walk"), kind: "check", args: { check: "walk_round" } };
  const places = [{ id: "all_round", items: [walk] }];
  const step = next({ places, engine: { running: true }, run: { id: 1 } });
  assert.deepEqual([step.key, step.buttons[0].item?.id], ["walk_late", "walk"]);
  assert.equal(
    next({ places: [{ id: "a", items: [{ ...walk, done: true }] }], engine: { running: true }, run: { id: 1 } }).key,
    "watch",
  );
});

test("a pump that turns dry is stopped before markers are placed", () => {
  const dry = { run: { id: 1, overdue: true }, engine: { running: true } };
  for (const placed of [4, 10]) {
    const step = next(dry, { placed, tab: "call" });
    assert.deepEqual([step.key, step.point], ["overdue_call", "stop"]);
  }
  assert.equal(next({ ...dry, engine: { running: false } }, { placed: 4, tab: "call" }).key, "place_rest");
});

test("while the clock stands the next thing is to let it go on, and nothing else stands out", () => {
  const running = { run: { id: 1 }, engine: { running: true } };
  const step = next(running, { held: true });
  assert.deepEqual([step.key, step.point], ["clock_stands", "go_on"]);
  assert.deepEqual(
    step.buttons.map(({ kind }) => kind),
    ["tab"],
  );
  assert.equal(next({ run: { id: 1 } }, { held: true }).key, "look");
  // nobody helps in an assessment: whether a dry pump goes on is not said
  const alone = next({ ...running, mode: "assessment" }, { held: true });
  assert.deepEqual([alone.key, alone.point, alone.buttons.length], ["clock_stands_alone", undefined, 0]);
  assert.equal(next({ run: { id: 1, overdue: true }, engine: { running: true } }, { held: true }).point, "stop");
});

test("markers stand out only once there is something to place them on", () => {
  const running = { run: { id: 1 }, engine: { running: true } };
  assert.equal(next(running).quiet, true);
  const pumps = next({ ...running, run: { id: 1, primed: true } });
  assert.deepEqual([pumps.key, pumps.buttons[0].label, pumps.quiet], ["watch_pumps", "first_call", undefined]);
  assert.equal(next({ ...running, run: { id: 1, primed: true, lost: true } }).key, "watch");
});

test("whoever is asked whether the job is handed over is asked nothing else", () => {
  const step = next({ run: { id: 1 } }, { leaving: true, placed: 4, tab: "call" });
  assert.equal(step.key, "hand_over_unproven");
  assert.deepEqual(
    step.buttons.map(({ kind }) => kind),
    ["stay", "give_up"],
  );
  assert.equal(next({ finish: { open: true } }, { leaving: true }).key, "hand_over");
});

test("between the calls one tests, until something is found; the copy of the first call is no second one", () => {
  const between = { run: { id: 1 }, call: { open: true, stage: 2, locked: [{ markers: {} }], markers: 10 } };
  const testing = next(between, { placed: 10, at: "hose" });
  assert.deepEqual([testing.key, testing.quiet], ["test", true]);
  const away = next(between, { placed: 10, tab: "call" });
  assert.deepEqual([away.key, away.buttons[0].kind], ["test", "place"]);
  const found = next({ ...between, found: { place: "joint:1" } }, { placed: 10, at: "hose" });
  assert.deepEqual([found.key, found.buttons[0].label], ["test_found", "second_call"]);
  assert.equal(next(between, { placed: 10, tab: "call", touched: true }).key, "lock");
});

test("which of several joints is meant has to be known before one is put right", () => {
  const call = {
    open: false,
    stage: 2,
    locked: [{ markers: {} }, { markers: { joint_ring: 10 } }],
    suspects: [
      { id: "joint_ring", label: "Torn ring", mended_at: "hose", places: [{ id: "joint:0" }, { id: "joint:1" }] },
    ],
  };
  const called = { run: { id: 1 }, call, places: [{ id: "hose", label: "Along the hose", items: [] }] };
  const unknown = next(called, { at: "hose" });
  assert.deepEqual([unknown.key, unknown.buttons[0].label], ["put_right_which", "mend_here"]);
  assert.equal(next({ ...called, pointed: "joint:1" }, { at: "hose" }).key, "put_right_pointed"); // the foam has told
  assert.deepEqual(unknown.fields, { place: "Along the hose", name: "Torn ring" });
  assert.deepEqual(next(called, { at: "hose", works: true }).buttons, []);
  assert.equal(next({ ...called, found: { place: "joint:1" } }).key, "put_right_at");
  const look = (/** @type {string} */ place, /** @type {boolean} */ done) => ({
    ...item(`open ${place}`, done),
    kind: "check",
    opens: true,
    args: { check: "joint_apart", place },
  });
  const items = [look("joint:0", true), { ...look("joint:1", false), waits: ["x"] }, look("joint:1", false)];
  const opened = { ...called, places: [{ id: "hose", label: "Along the hose", items }] };
  assert.deepEqual([next(opened).key, next(opened).buttons[0].item], ["put_right_open", items[2]]);
  assert.equal(next({ ...opened, mode: "assessment" }).key, "put_right_which");
  const both = {
    ...called,
    places: [{ id: "hose", label: "", items: [look("joint:0", false), look("joint:1", false)] }],
  };
  assert.equal(next({ ...both, pointed: "joint:1" }).buttons[0].item.args?.place, "joint:1"); // where foam was drawn in
  assert.equal(next(both).buttons[0].item.args?.place, "joint:0");
  const ring = { ...item("ring"), kind: "remedy", args: { remedy: "renew_joint_ring", place: "joint:1" } };
  const mendable = { ...opened, places: [{ id: "hose", label: "Along the hose", items: [...items, ring] }] };
  const seen = next({ ...mendable, found: { place: "joint:1" } });
  assert.deepEqual([seen.key, seen.buttons[0].item], ["put_right_seen", ring]);
  assert.equal(next({ ...mendable, found: { place: "joint:1" }, mode: "assessment" }).key, "put_right_at");
  const placed = { ...call, locked: [{}, { markers: { joint_ring: 10 }, places: { joint_ring: "joint:1" } }] };
  assert.equal(next({ ...called, call: placed }).key, "put_right_at");
});

test("made safe, it leads to the walk round before the first start, and to the start once that was made", () => {
  const walk = (/** @type {boolean} */ done) => ({
    places: [
      { id: "before", items: [item("gear", true)] },
      { id: "all_round", items: [{ ...item("check:walk_round:rig", done), args: { check: "walk_round" } }] },
    ],
  });
  const before = next(walk(false));
  assert.equal(before.key, "walk_first");
  assert.equal(before.buttons[0].item?.id, "check:walk_round:rig");
  assert.equal(next(walk(true)).key, "start");
  // In an assessment it says the same whatever was done, and never a start as the next thing.
  const alone = [walk(false), walk(true)].map((places) => next({ ...places, mode: "assessment" }));
  for (const step of alone) {
    assert.equal(step.key, "begin_alone");
    assert.deepEqual(step.buttons, [{ kind: "place", label: "acts", to: "quick" }]);
  }
});

test("a pump that runs on without water past its time is stopped, whatever else is still to do", () => {
  const dry = { run: { id: 1, overdue: true }, engine: { running: true, first: [] } };
  const locked = (/** @type {number} */ n) => ({ open: n < 2, stage: 1, locked: Array(n).fill({ markers: {} }) });
  for (const n of [0, 1, 2]) {
    const step = next({ ...dry, call: locked(n) });
    assert.equal(step.key, n < 2 ? "overdue" : "overdue_not_mended");
    assert.equal(step.point, "stop");
  }
  const put_right = "something";
  assert.equal(next({ ...dry, put_right }).key, "overdue_proof");
  const lost = { ...dry, run: { id: 1, overdue: true, lost: true } };
  assert.equal(next(lost).key, "overdue_lost");
  assert.equal(next({ ...lost, put_right }).key, "overdue_lost_proof");
  assert.equal(next({ ...dry, engine: { running: false, first: [] } }).key, "look");
});

test("a pump that has to pump for longer than before it failed is left running", () => {
  const page = {
    run: { id: 2, counts: true, ended: { sentence: "x" } },
    engine: { running: true, first: [] },
    put_right: "something",
  };
  assert.equal(next(page).key, "not_proven");
  const step = next({ ...page, run: { ...page.run, holding: true } });
  assert.equal(step.key, "hold_longer");
  assert.equal(step.point, "faster");
});

test("after the second call it opens the place where the first suspect is put right", () => {
  const call = {
    open: false,
    stage: 2,
    locked: [{ markers: { belt_loose: 10 } }, { markers: { something_else: 1, pump_high: 6, belt_loose: 3 } }],
    suspects: [
      { id: "belt_loose", mended_at: "compressor" },
      { id: "pump_high", mended_at: "water" },
      { id: "sound", mended_at: "" },
    ],
  };
  const places = [
    { id: "compressor", label: "Compressor and air", items: [] },
    { id: "water", label: "At the water", items: [] },
  ];
  const step = next({ run: { id: 1 }, call, places });
  assert.deepEqual([step.key, step.fields], ["put_right_at", { place: "At the water", name: "" }]);
  assert.deepEqual([step.buttons[0].kind, step.buttons[0].to], ["mend", "water"]);
  const sound = { ...call, locked: [{ markers: {} }, { markers: { sound: 10 } }] };
  assert.equal(next({ run: { id: 1 }, call: sound, places }).key, "put_right");
});

test("the proof says once more only after a first start", () => {
  const put_right = "something";
  const call = { open: false, stage: 2, locked: [{}, {}] };
  assert.equal(next({ put_right, call }).key, "start_proof_first");
  assert.equal(next({ put_right, call, run: { id: 1 } }).key, "start_proof");
});

test("where nobody helps it names no single act", () => {
  const alone = next({ mode: "assessment", engine: { first: ["gear"] }, coach: { allowed: false } });
  assert.equal(alone.key, "begin_alone");
  assert.deepEqual(alone.buttons, [{ kind: "place", label: "safe", to: "before" }]);
});

test("a refused act leads to what it waits for, until that is done", () => {
  const pressed = next({ run: { id: 1 } }, { lacking: ["rope"], pressed: "Start the engine" });
  assert.deepEqual(pressed.fields, { act: "rope", pressed: "Start the engine" });
  assert.equal(next({ run: { id: 1 } }, { lacking: ["tag", "rope"] }).buttons[0].item?.id, "rope");
  assert.equal(next({ run: { id: 1 } }, { lacking: ["tag"] }).key, "look");
});

test("the call: markers left, one left, all placed", () => {
  const at = (/** @type {number} */ placed) => next({ run: { id: 1 } }, { placed, tab: "call" }).key;
  assert.deepEqual([0, 4, 9, 10].map(at), ["look", "place_rest", "place_one", "lock"]);
});

test("after the mend it leads to the proof and to the end", () => {
  const put_right = "something";
  const call = { open: false, stage: 2, locked: [{}, {}] };
  const after = { put_right, call, run: { id: 2 } };
  assert.equal(next({ ...after, engine: { running: false, first: ["gear"] } }).key, "make_ready");
  assert.equal(next({ ...after, engine: { running: false, first: [] } }).key, "start_proof");
  const tagged = next({ ...after, mode: "assessment", engine: { running: false, first: ["gear"] } });
  assert.deepEqual([tagged.key, tagged.buttons], ["ready_for_proof", []]); // never sent to a start with the tag on
  assert.equal(next({ ...after, engine: { running: true } }).point, "faster");
  assert.equal(next({ ...after, engine: { running: true } }, { rate: 20 }).point, undefined);
  assert.equal(next({ ...after, engine: { running: true }, run: { id: 2, ended: {} } }).key, "not_proven");
  const under_way = { id: 2, ended: {}, changed: true }; // put right as it ran: nothing more is to be looked for
  assert.equal(next({ ...after, engine: { running: true }, run: under_way }).key, "not_proven_running");
  assert.equal(next({ ...after, engine: { running: true }, run: { id: 2, counts: false } }).key, "not_counted");
  assert.equal(next({ ...after, engine: { running: true }, finish: { open: true } }).buttons[0].kind, "finish");
});

test("in an assessment the job is not called done by the line before anything was put right", () => {
  const finish = { open: true, at_word: true };
  const engine = { running: true };
  assert.equal(next({ mode: "assessment", run: { id: 1 }, finish, engine }).key, "watch");
  const put_right = "something";
  assert.equal(next({ mode: "assessment", run: { id: 1 }, finish, engine, put_right }).key, "at_word");
});

test("afterwards: marks under way, then the debrief and the way on", () => {
  assert.equal(next({ phase: "debrief", debrief_pending: true }).key, "marks_coming");
  assert.equal(next({ phase: "debrief", debrief: {}, yard: {} }).buttons[0].kind, "yard_next");
  assert.equal(next({ phase: "debrief", debrief: {} }).buttons[0].kind, "leave");
});

test("work that put nothing right does not lead to a proof", () => {
  assert.equal(next({ run: { id: 2 }, put_right: "nothing" }).key, "put_right_in_vain");
  assert.equal(next({ run: { id: 2 }, put_right: "something" }).key, "start_proof");
});

test("what the walk round has found is put right before a start", () => {
  assert.equal(next({ walk_found: true }).key, "walk_found");
  assert.equal(next({ walk_found: true, engine: { first: ["gear"], waits: [] } }).key, "walk_found");
  assert.equal(next({ walk_found: true, mode: "assessment" }).key, "begin_alone");
});

test("a proof that did not begin dry is told to tell little by its seconds", () => {
  const proving = (/** @type {boolean} */ wet) =>
    next({ put_right: "something", engine: { running: true }, run: { id: 2, counts: true, wet } }).key;
  assert.equal(proving(false), "prove");
  assert.equal(proving(true), "prove_wet");
});

test("what the walk round has found comes before the next start too", () => {
  const stopped = { walk_found: true, run: { id: 1 }, engine: { running: false, first: [] } };
  assert.equal(next(stopped).key, "walk_found");
  assert.equal(next({ ...stopped, mode: "assessment" }).key, "look");
  assert.equal(next({ ...stopped, put_right: "something" }).key, "start_proof");
});

test("one look may be made of a pump that turns dry, and then it is stopped", () => {
  const dry = { run: { id: 1, overdue: true, looked: true }, engine: { running: true } };
  assert.deepEqual([next(dry).key, next(dry).point], ["overdue_looked", "stop"]);
  const found = { run: { id: 1, overdue: true }, engine: { running: true }, walk_found: true };
  assert.equal(next(found).key, "overdue_looked");
  assert.equal(next({ ...dry, put_right: "something" }).key, "overdue_proof");
});

test("markers that lie beside what was found are moved before the call is locked, and the place is said", () => {
  const suspects = [
    { id: "hose", label: "hose" },
    { id: "ring", label: "ring", places: [{ id: "joint:1" }] },
  ];
  const open = {
    run: { id: 1 },
    found: { place: "joint:1", suspects: ["ring"] },
    call: { open: true, stage: 2, locked: [{ markers: { hose: 10 } }], markers: 10, suspects },
  };
  const at = { placed: 10, tab: "call", touched: true };
  const away = next(open, { ...at, markers: { hose: 10 } });
  assert.deepEqual([away.key, away.buttons], ["lock_elsewhere", []]);
  assert.equal(next(open, { ...at, markers: { ring: 10 } }).key, "lock_where");
  assert.equal(next(open, { ...at, markers: { ring: 10 }, spots: { ring: "joint:1" } }).key, "lock");
  assert.equal(next({ ...open, found: null }, { ...at, markers: { hose: 10 } }).key, "lock");
});

test("while the clock waits for who looks at a pump that pumps, it says what may come next", () => {
  const pumps = { run: { id: 1, primed: true }, engine: { running: true } };
  const step = next(pumps, { held: true });
  assert.deepEqual([step.key, step.point, step.buttons[0].label], ["pumps_waits", undefined, "first_call"]);
});
