// What comes next in a call-out, and what brings it: read from the page alone, so it can tell nothing that is not there.

/** The fastest that the clock goes. */
export const FASTEST = 20;

/**
 * A button of the line that says what comes next.
 * @typedef {object} NextButton
 * @property {string} kind act | start | stop | faster | rated | finish | tab | place | mend | lock | unfold | hint | stay | give_up |
 *   yard_next | leave
 * @property {string} label a key under panel.next.buttons, or "" where an act lends its own name
 * @property {Record<string, string>} [fields] of the label
 * @property {string} [to] the tab or place it leads to
 * @property {ActItem} [item] the act it does
 */

/**
 * @typedef {object} NextStep
 * @property {string} key under panel.next
 * @property {Record<string, string | number>} [fields]
 * @property {NextButton[]} buttons the first is the one that brings the step about, where none of the engine bar does
 * @property {"start" | "stop" | "faster" | "go_on" | "rated"} [point] the control of the engine bar that brings it about: one place for one act
 * @property {boolean} [quiet] no button brings it about: what is to be done stands in the list
 */

/**
 * @typedef {object} Standing
 * @property {ExercisePage} page
 * @property {number} placed markers of the call that is being made
 * @property {Record<string, number>} [markers] where they lie
 * @property {Record<string, string>} [spots] where it is said to be, by suspect
 * @property {string} tab
 * @property {boolean} folded the question was put aside
 * @property {string[]} lacking acts that the one last refused waits for
 * @property {string} [pressed] what that one is called
 * @property {boolean} [touched] the call that may be made is being made: the second begins as a copy of the first
 * @property {boolean} [beside] the call stands beside the acts
 * @property {string} [at] the place whose acts are in sight
 * @property {boolean} [works] the works of that place are in sight, not the looks above them alone
 * @property {boolean} [leaving] it was asked whether the job is handed over
 * @property {number} rate of the clock
 * @property {boolean} [warned] a work was pressed before the second call
 * @property {boolean} [held] the learner let the clock stand
 * @property {boolean} [slowed] the proof has slowed the clock
 */

/**
 * @param {ExercisePage} page
 * @param {string[]} ids
 */
function firstOpen(page, ids) {
  const items = (page.places || []).flatMap((place) => place.items);
  return ids.map((id) => items.find((item) => item.id === id)).find((item) => item && !item.done);
}

/**
 * The walk round that comes before every first start, while it was not made.
 * @param {ExercisePage} page
 */
function firstLook(page) {
  const items = (page.places || []).flatMap((place) => place.items);
  return items.find(({ args, done }) => /** @type {{ check?: string }} */ (args)?.check === "walk_round" && !done);
}

/** @param {ExercisePage} page */
function mended(page) {
  return page.put_right === "something";
}

/**
 * @param {string} key
 * @param {(NextButton | false | null | undefined)[]} buttons
 * @param {NextStep["fields"]} [fields]
 * @returns {NextStep}
 */
function step(key, buttons, fields) {
  const there = /** @type {NextButton[]} */ (buttons.filter(Boolean));
  const kind = there[0]?.kind;
  if (kind === "start" || kind === "stop" || kind === "faster" || kind === "rated")
    return { key, fields, buttons: there.slice(1), point: kind };
  return { key, fields, buttons: there };
}

/** @type {(kind: string, label: string, to?: string) => NextButton} */
const button = (kind, label, to) => ({ kind, label, to });

/**
 * @param {Standing} now
 * @returns {NextStep}
 */
export function nextStep(now) {
  const next = chosenStep(now);
  // While the clock stands there is nothing to watch: first it goes on.
  if (now.held && next.key === "watch_pumps") return { ...next, key: "pumps_waits" };
  const watched = now.held && now.page.engine?.running && WATCHING.has(next.key);
  if (watched && now.page.mode === "assessment") return { key: "clock_stands_alone", buttons: [], quiet: true };
  return watched
    ? { key: "clock_stands", buttons: next.buttons.filter(({ kind }) => kind !== "hint"), point: "go_on" }
    : next;
}

/** Steps that take a running clock. */
const WATCHING = new Set(["watch", "prove", "prove_wet", "hold_longer"]);

/**
 * @param {Standing} now
 * @returns {NextStep}
 */
function chosenStep(now) {
  const { page } = now;
  if (page.phase === "debrief") return afterwards(page);
  if (now.leaving) {
    const unproven = !page.finish?.open && !page.finish?.at_word;
    return step(unproven ? "hand_over_unproven" : "hand_over", [button("stay", "stay"), button("give_up", "give_up")]);
  }
  if (page.ask && now.folded) return step("question", [button("unfold", "answer")]);
  const wanted = firstOpen(page, now.lacking);
  if (wanted)
    return step("lacking", [{ kind: "act", label: "", item: wanted }], {
      act: wanted.label,
      pressed: now.pressed ?? "",
    });
  if (leftSlow(page)) return step(mended(page) ? "slow_proof" : "slow", [button("rated", ""), hint(page)]);
  const call = calling(now);
  // A pump that turns dry is stopped before markers are placed: they stay where they are.
  if (call && page.engine?.running && page.run?.overdue && !mended(page))
    return step("overdue_call", [button("stop", "stop")]);
  if (call) return call;
  if (page.finish?.open && (!page.finish.at_word || mended(page))) {
    if (!page.finish.at_word) return step(now.slowed ? "proven_slowed" : "proven", [button("finish", "finish")]);
    if (page.engine?.running) return step("at_word", [button("finish", "finish")]);
  }
  // Long past the time in which a sound rig would pump, and no water: that harms the rig, whatever else is still to do.
  const locked = page.call?.locked?.length ?? 0;
  if (page.engine?.running && page.run?.overdue) {
    // Started by mistake where the work was to come: that it was left out is what one has to know.
    if (locked >= 2 && !mended(page)) return step("overdue_not_mended", [button("stop", "stop"), hint(page)]);
    // One quick look may be made of it as it runs, and no more; none where the walk round has found something.
    if ((page.run.looked || page.walk_found) && !mended(page))
      return step("overdue_looked", [button("stop", "stop"), hint(page)]);
    return step(`${page.run.lost ? "overdue_lost" : "overdue"}${mended(page) ? "_proof" : ""}`, [
      button("stop", "stop"),
      hint(page),
    ]);
  }
  if (mended(page)) return proving(now);
  // What was worked on was good, or takes other work: a proof would be a start for nothing.
  if (page.put_right === "nothing") return step("put_right_in_vain", [button("place", "acts", "now"), hint(page)]);
  if (locked >= 2) return puttingRight(now);
  if (locked === 1 && now.warned) return step("call_first", [button("tab", "second_call", "call")]);
  if (locked === 1) return testing(now);
  return looking(page);
}

/**
 * Whether it runs with its lever left at slow where that alone makes it late: before its prime, or in a proof. Who brings it
 * down before a stop has primed, and is told nothing.
 * @param {ExercisePage} page
 */
function leftSlow(page) {
  if (page.mode === "assessment" || !page.engine?.running || page.engine.speed !== "slow") return false;
  if (page.run?.counts === false || page.finish?.open) return false;
  return !page.run?.primed || mended(page);
}

/**
 * Between the calls: tests, until something is found; only then is the second call what comes next.
 * @param {Standing} now
 */
function testing({ page, at }) {
  const call = button("tab", "second_call", "call");
  if (page.found) return step("test_found", [call, hint(page)]);
  if (at === undefined) return step("test", [button("place", "acts", "now"), call, hint(page)]);
  return { ...step("test", [call, hint(page)]), quiet: true };
}

/**
 * Both calls are made: the way to the place where the suspect with the most markers is put right.
 * @param {Standing} now
 */
function puttingRight({ page, at, works }) {
  const locked = page.call?.locked?.at(-1);
  const markers = Object.entries(locked?.markers || {}).sort((a, b) => b[1] - a[1]);
  const suspect = (page.call?.suspects || []).find(({ id }) => id === markers[0]?.[0]);
  const place = (page.places || []).find(({ id }) => id === suspect?.mended_at);
  if (!place) return step("put_right", [button("place", "acts", "now")]);
  const label = at === place.id ? "mend_here" : "mend";
  // Which of several joints it is says the call, or what was found there.
  const name = suspect?.label ?? "";
  const unknown = (suspect?.places?.length ?? 0) > 1 && !locked?.places?.[suspect?.id ?? ""] && !page.found?.place;
  // Which one shows by opening them: the next of them that can be opened now is what comes next, where somebody helps.
  const open = unknown && page.mode !== "assessment" ? nextToOpen(place, suspect?.places ?? [], page.pointed) : null;
  if (open) return step("put_right_open", [{ kind: "act", label: "", item: open }], { name, act: open.label });
  const seen = page.found?.place;
  const work = seen && page.mode !== "assessment" ? workAt(place, seen) : null;
  if (work) return step("put_right_seen", [{ kind: "act", label: "", item: work }], { name, act: work.label });
  const there = at === place.id && works;
  const pointed = unknown && suspect?.places?.some(({ id }) => id === page.pointed);
  return step(
    pointed ? "put_right_pointed" : unknown ? "put_right_which" : "put_right_at",
    [!there && { kind: "mend", label, to: place.id, fields: { place: place.label } }],
    { place: place.label, name },
  );
}

/**
 * The one work that can be done now where something was seen to be bad; null where there are several, or none.
 * @param {NonNullable<ExercisePage["places"]>[number]} place
 * @param {string} seen
 */
function workAt(place, seen) {
  const works = place.items.filter(
    ({ args, kind, done, waits }) =>
      kind === "remedy" && !done && !waits?.length && /** @type {{ place?: string }} */ (args)?.place === seen,
  );
  return works.length === 1 ? works[0] : null;
}

/**
 * The first look at a place of a suspect that opens it, can be made now and was not made yet.
 * @param {NonNullable<ExercisePage["places"]>[number]} place
 * @param {{ id: string }[]} spots
 * @param {string} [pointed] where a look from outside found something: there first
 */
function nextToOpen(place, spots, pointed) {
  const ids = new Set(spots.map(({ id }) => id));
  /** @param {{ args?: unknown }} item */
  const where = ({ args }) => /** @type {{ place?: string }} */ (args)?.place ?? "";
  const open = place.items.filter(
    (item) => item.kind === "check" && item.opens && !item.done && !item.waits?.length && ids.has(where(item)),
  );
  return open.find((item) => where(item) === pointed) ?? open[0];
}

/** @param {ExercisePage} page */
function hint(page) {
  return page.coach?.allowed ? button("hint", "") : null;
}

/** @param {ExercisePage} page */
function afterwards(page) {
  if (page.debrief_pending) return step("marks_coming", []);
  const on = page.yard ? button("yard_next", "next_call") : button("leave", "back");
  return step(page.debrief ? "read" : "over", [on]);
}

/**
 * While the call is being made.
 * @param {Standing} now
 */
function calling({ page, placed, tab, touched, beside, markers, spots }) {
  if (!page.call?.open || placed === 0 || (page.call.stage === 2 && !touched)) return null;
  const left = (page.call.markers || 10) - placed;
  if (tab !== "call" && (!beside || left > 0)) return null;
  if (left > 0) return step(left === 1 ? "place_one" : "place_rest", [], { n: left });
  const lock = button("lock", page.call.stage === 2 ? "lock_second" : "lock_first");
  const found = page.found;
  const named = (found?.suspects ?? []).filter((id) => (markers?.[id] ?? 0) > 0);
  // What a look has shown comes before what was thought: the lock stays where the markers are.
  if (found?.suspects?.length && !named.length) return step("lock_elsewhere", []);
  const several = (/** @type {string} */ id) =>
    (page.call?.suspects ?? []).find((one) => one.id === id)?.places?.some((one) => one.id === found?.place);
  if (named.some((id) => several(id) && !spots?.[id])) return step("lock_where", [lock]);
  return step("lock", [lock]);
}

/**
 * Before the first call: made safe, started, looked at.
 * @param {ExercisePage} page
 */
function looking(page) {
  const call = button("tab", "first_call", "call");
  if (page.run?.id === null || page.run?.id === undefined) {
    const first = firstOpen(page, page.engine?.first || []);
    // Where nobody helps, what to make safe and to look at is the learner's own to know.
    if (page.mode === "assessment")
      return step("begin_alone", [first ? button("place", "safe", "before") : button("place", "acts", "quick")]);
    // Nobody is led on to a start with what the walk has found.
    if (page.walk_found) return step("walk_found", [call]);
    if (first) return step("make_safe", [{ kind: "act", label: "", item: first }], { act: first.label });
    const walk = firstLook(page);
    if (walk) return step("walk_first", [{ kind: "act", label: "", item: walk }]);
    if (page.engine?.speed === "slow") return step("start_rated", [button("rated", "")]);
    return step("start", [button("start", "start")]);
  }
  // Nor to the next start, once it stands still again.
  if (page.walk_found && !page.engine?.running && page.mode !== "assessment") return step("walk_found", [call]);
  const late = page.mode === "assessment" ? undefined : firstLook(page);
  if (late && page.engine?.running && !page.run?.primed)
    return step("walk_late", [{ kind: "act", label: "", item: late }, call, hint(page)]);
  if (page.engine?.running && page.run?.primed && !page.run.lost) return step("watch_pumps", [call, hint(page)]);
  // What is wanted stands in the list: markers come once there is something to suspect.
  return { ...step(page.engine?.running ? "watch" : "look", [call, hint(page)]), quiet: true };
}

/**
 * Something was put right: the proof is a start that primes in the time it should.
 * @param {Standing} now
 */
function proving({ page, rate }) {
  const engine = page.engine || {};
  if (!engine.running) {
    const first = firstOpen(page, engine.first || []);
    if (first && page.mode !== "assessment")
      return step("make_ready", [{ kind: "act", label: "", item: first }], { act: first.label });
    if (first) return step("ready_for_proof", []); // nobody helps here, and nobody is sent to a start that is not safe
    if (page.engine?.speed === "slow" && page.mode !== "assessment") return step("start_rated", [button("rated", "")]);
    const never = (page.run?.id ?? null) === null; // put right before it ever ran
    return step(never ? "start_proof_first" : "start_proof", [button("start", "start")]);
  }
  if (page.run?.counts === false) return step("not_counted", [button("stop", "stop")]);
  if (page.run?.holding) return step("hold_longer", [rate < FASTEST && button("faster", "faster")]);
  if (page.run?.ended && page.run.changed) return step("not_proven_running", [button("stop", "stop")]);
  if (page.run?.ended) return step("not_proven", [button("place", "acts", "now"), hint(page)]);
  return step(page.run?.wet ? "prove_wet" : "prove", [rate < FASTEST && button("faster", "faster")]);
}
