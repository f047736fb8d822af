// Your call: ten markers over at most three suspects and "something else". Asked twice, each time locked.
import { node } from "../base/dom.js";
import { capitalised, word } from "../base/format.js";
import { describeProof, nextHas } from "./proof.js";

const OTHER = "something_else";

/** @param {ExerciseView} view */
function freshDraft(view) {
  const locked = view.page.call?.locked || [];
  const last = locked[locked.length - 1];
  /** @type {CallDraft} */
  const draft = { stage: view.page.call?.stage, suspects: [], markers: { [OTHER]: 0 }, places: { ...last?.places } };
  for (const [id, count] of Object.entries(last?.markers || {})) {
    if (id !== OTHER) draft.suspects.push(id);
    draft.markers[id] = count;
  }
  return draft;
}

/** @param {ExerciseView} view */
function draftStore(view) {
  return `call-draft:${view.page.attempt}:${view.page.call?.stage}`;
}

/**
 * The draft survives a page opened anew: it is kept in the browser until it is locked.
 * @param {ExerciseView} view
 */
function callDraft(view) {
  if (view.draft && view.draft.stage === view.page.call?.stage) return view.draft;
  /** @type {CallDraft | null} */
  let draft = null;
  try {
    draft = JSON.parse(sessionStorage.getItem(draftStore(view)) || "null");
  } catch {
    draft = null; // storage switched off: start afresh
  }
  view.draft = draft && Array.isArray(draft.suspects) && draft.markers && draft.places ? draft : freshDraft(view);
  return /** @type {CallDraft} */ (view.draft);
}

/**
 * @param {ExerciseView} view
 * @param {(draft: CallDraft) => void} change
 */
function changeDraft(view, change) {
  change(callDraft(view));
  callDraft(view).touched = true;
  try {
    sessionStorage.setItem(draftStore(view), JSON.stringify(view.draft));
  } catch {
    // storage switched off: the draft lives as long as the page
  }
  view.redraw();
}

/**
 * Whether this call is being made; the second begins as a copy of the first, which says nothing yet.
 * @param {ExerciseView} view
 */
export function callTouched(view) {
  return Boolean(view.page.call?.open && callDraft(view).touched);
}

/**
 * The call is being made from now on, whatever markers it begins with.
 * @param {ExerciseView} view
 */
export function openCall(view) {
  if (view.page.call?.open) changeDraft(view, () => {});
}

/** @param {CallDraft} draft */
function placedMarkers(draft) {
  return [...draft.suspects, OTHER].reduce((sum, id) => sum + (draft.markers[id] || 0), 0);
}

/**
 * @param {ExerciseView} view
 * @param {string} id
 * @param {number} count
 */
function setMarkers(view, id, count) {
  changeDraft(view, (draft) => {
    const total = view.page.call.markers || 10;
    const others = placedMarkers(draft) - (draft.markers[id] || 0);
    draft.markers[id] = Math.max(0, Math.min(count, total - others));
  });
}

/**
 * @param {number} count
 * @param {number} total
 */
function markerDots(count, total) {
  return "●".repeat(count) + "○".repeat(Math.max(0, total - count));
}

/**
 * @param {ExerciseView} view
 * @param {string} id
 * @param {string} label
 */
function describeMarkers(view, id, label) {
  const { page } = view;
  const draft = callDraft(view);
  const total = page.call.markers || 10;
  const count = draft.markers[id] || 0;
  const left = total - placedMarkers(draft);
  const spoken = word(page, "call.markers_spoken", { n: count, total });
  return node(
    "div",
    { class: "ex-markers" },
    node(
      "button",
      {
        key: "less",
        type: "button",
        class: "ex-step",
        "aria-label": word(page, "call.less", { name: label }),
        "aria-disabled": count <= 0 ? "true" : null,
        on: { click: () => setMarkers(view, id, count - 1) },
      },
      "−",
    ),
    node(
      "span",
      { key: "dots", class: "ex-dots" },
      node("span", { class: "ex-dots-shown", "aria-hidden": "true" }, markerDots(count, total)),
      node("input", {
        type: "range",
        min: "0",
        max: String(total),
        step: "1",
        "aria-label": word(page, "call.markers_for", { name: label }),
        "aria-valuetext": spoken,
        set: { value: String(count) },
        on: {
          input: (event) => {
            setMarkers(view, id, Number(event.target.value));
            event.target.value = String(callDraft(view).markers[id] || 0);
          },
        },
      }),
    ),
    node(
      "button",
      {
        key: "more",
        type: "button",
        class: "ex-step",
        "aria-label": word(page, "call.more", { name: label }),
        "aria-disabled": left <= 0 ? "true" : null,
        on: { click: () => setMarkers(view, id, count + 1) },
      },
      "+",
    ),
  );
}

/**
 * How many markers of the call that is open are placed.
 * @param {ExerciseView} view
 */
export function placedSoFar(view) {
  return view.page.call?.open ? placedMarkers(callDraft(view)) : 0;
}

/**
 * Where the markers of the call that is open lie, and where each suspect is said to be.
 * @param {ExerciseView} view
 */
export function saidSoFar(view) {
  if (!view.page.call?.open) return {};
  const { markers, places } = callDraft(view);
  return { markers, spots: places };
}

/**
 * Lock the call as it stands, once all markers are placed.
 * @param {ExerciseView} view
 */
export function lockCall(view) {
  const draft = callDraft(view);
  const left = (view.page.call.markers || 10) - placedMarkers(draft);
  if (left > 0) return view.announce(word(view.page, "call.left", { n: left }));
  /** @type {Record<string, number>} */
  const markers = {};
  /** @type {Record<string, string>} */
  const places = {};
  for (const id of draft.suspects) if (draft.places[id]) places[id] = draft.places[id];
  for (const id of [...draft.suspects, OTHER]) if (draft.markers[id] > 0) markers[id] = draft.markers[id];
  view.act("call", "call", { markers, places });
}

/** @param {ExerciseView} view */
function describeSuspects(view) {
  const { page } = view;
  const call = page.call;
  const draft = callDraft(view);
  const known = new Map((call.suspects || []).map((suspect) => [suspect.id, suspect]));
  const families = new Map();
  for (const suspect of call.suspects || []) {
    if (suspect.id === OTHER || draft.suspects.includes(suspect.id)) continue;
    const family = suspect.family_label || "";
    families.set(family, [...(families.get(family) || []), suspect]);
  }
  const rows = draft.suspects.map((id) => {
    const label = known.get(id)?.label || id;
    return node(
      "li",
      { key: id, class: "ex-suspect" },
      node("span", { class: "ex-suspect-name" }, label),
      node(
        "button",
        {
          key: "drop",
          type: "button",
          class: "ex-drop",
          "aria-label": word(page, "call.drop", { name: label }),
          on: {
            click: () =>
              changeDraft(view, (d) => {
                d.suspects = d.suspects.filter((other) => other !== id);
                delete d.markers[id];
                delete d.places[id];
              }),
          },
        },
        "×",
      ),
      describePlaces(view, known.get(id), draft),
      describeMarkers(view, id, label),
    );
  });
  if (draft.suspects.length < (call.most || 3)) {
    rows.push(
      node(
        "li",
        { key: "add", class: "ex-suspect ex-suspect-add" },
        node(
          "select",
          {
            "aria-label": word(page, "call.add"),
            set: { value: "" },
            on: {
              change: (event) => {
                const id = event.target.value;
                if (!id) return;
                changeDraft(view, (d) => {
                  d.suspects.push(id);
                  d.markers[id] = 0;
                });
              },
            },
          },
          node("option", { key: "none", value: "" }, word(page, "call.add")),
          [...families].map(([family, some]) =>
            node(
              "optgroup",
              { key: family, label: capitalised(family) || " " },
              some.map((/** @type {Suspect} */ suspect) =>
                node("option", { key: suspect.id, value: suspect.id }, capitalised(suspect.label)),
              ),
            ),
          ),
        ),
      ),
    );
  }
  const other = word(page, "call.other");
  rows.push(
    node(
      "li",
      { key: OTHER, class: "ex-suspect" },
      node("span", { class: "ex-suspect-name" }, other),
      describeMarkers(view, OTHER, other),
    ),
  );
  return node("ul", { key: "rows", class: "ex-suspects" }, rows);
}

/**
 * Where a suspect sits, asked only where the rig has more than one such place.
 * @param {ExerciseView} view
 * @param {Suspect | undefined} suspect
 * @param {CallDraft} draft
 */
function describePlaces(view, suspect, draft) {
  const places = suspect?.places || [];
  if (!suspect || !places.length) return null;
  const { page } = view;
  return node(
    "select",
    {
      key: "place",
      class: "ex-suspect-place",
      "aria-label": word(page, "call.where", { name: suspect.label }),
      set: { value: draft.places[suspect.id] || "" },
      on: { change: (event) => changeDraft(view, (d) => (d.places[suspect.id] = event.target.value)) },
    },
    node("option", { key: "none", value: "" }, word(page, "call.where_unsure")),
    places.map((place) => node("option", { key: place.id, value: place.id }, place.label)),
  );
}

/**
 * @param {ExerciseView} view
 * @param {LockedCall} locked
 */
function describeLocked(view, locked) {
  const { page } = view;
  const known = new Map((page.call.suspects || []).map((suspect) => [suspect.id, suspect.label]));
  const total = page.call.markers || 10;
  return node(
    "section",
    { key: `locked${locked.stage}`, class: "ex-locked" },
    node("h3", {}, word(page, locked.stage === 2 ? "call.locked_second" : "call.locked_first")),
    node(
      "ul",
      {},
      Object.entries(locked.markers || {})
        .filter(([, count]) => count > 0)
        .map(([id, count]) =>
          node(
            "li",
            { key: id },
            node("span", { class: "ex-locked-name" }, id === OTHER ? word(page, "call.other") : known.get(id) || id),
            node("span", { class: "ex-dots-shown", "aria-hidden": "true" }, markerDots(count, total)),
            node("span", { class: "ex-hidden" }, word(page, "call.markers_spoken", { n: count, total })),
          ),
        ),
    ),
  );
}

/**
 * Whether the call is locked at its card: where the line that says what comes next speaks of something else. A question
 * that is open comes first.
 * @param {ExerciseView} view
 * @param {number} left markers to place
 */
function locksHere(view, left) {
  return left === 0 && view.parts.ask.hidden && !nextHas(view, "lock");
}

/**
 * The open question comes before a call is locked; it may stand far above.
 * @param {ExerciseView} view
 */
function toQuestion(view) {
  view.parts.ask.scrollIntoView({ block: "center" });
  /** @type {HTMLElement | null} */ (view.parts.ask.querySelector("button, input"))?.focus({ preventScroll: true });
}

/**
 * It pumps and may be handed over: then that comes next, and a second call only for who has changed his mind.
 * @param {ExercisePage} page
 */
const proven = (page) => Boolean(page.finish?.open && !page.finish.at_word);

/** @param {ExerciseView} view */
export function describeCall(view) {
  const { page, link } = view;
  const call = page.call || {};
  const locked = call.locked || [];
  const head = node(
    "header",
    { key: "head", class: "ex-card-head" },
    node("h2", { id: view.ids.call }, word(page, "call.title")),
    call.open
      ? node(
          "p",
          {},
          word(
            page,
            call.stage === 2 ? (proven(page) ? "call.subtitle_proven" : "call.subtitle_second") : "call.subtitle_first",
          ),
        )
      : null,
  );
  /** @type {Children[]} */
  const body = locked.map((one) => describeLocked(view, one));
  if (call.open) {
    const draft = callDraft(view);
    const total = call.markers || 10;
    const left = total - placedMarkers(draft);
    const pending = link.busy("call");
    const refused = link.reply && !link.reply.accepted && link.reply.key === "call";
    body.push(
      describeSuspects(view),
      node(
        "p",
        { key: "left", class: `ex-left${left > 0 && left < total ? " ex-left-some" : ""}`, "aria-live": "polite" },
        left > 0 ? word(page, left === 1 ? "call.left_one" : "call.left", { n: left }) : word(page, "call.left_none"),
      ),
      refused ? node("p", { key: "no", class: "ex-refusal" }, link.reply?.sentence) : null,
      locksHere(view, left)
        ? node(
            "button",
            {
              key: "lock",
              type: "button",
              class: `ex-secondary ex-lock${pending ? " ex-pending" : ""}`,
              "aria-busy": pending ? "true" : null,
              "aria-disabled": left > 0 ? "true" : null,
              on: { click: () => lockCall(view) },
            },
            word(page, call.stage === 2 ? (proven(page) ? "call.lock_proven" : "call.lock_second") : "call.lock_first"),
          )
        : null,
      left === 0 && !view.parts.ask.hidden
        ? node(
            "button",
            { key: "ask", type: "button", class: "ex-secondary", on: { click: () => toQuestion(view) } },
            word(page, "call.question_first"),
          )
        : null,
    );
  }
  body.push(describeProof(view));
  return [head, node("div", { key: "body", class: "ex-card-body" }, body)];
}
