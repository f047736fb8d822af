// One question at a time, and hints in three steps.
import { node } from "../base/dom.js";
import { word } from "../base/format.js";

const ASK_SEEN = 140; // px of a question in sight, from which nobody has to be led to it
const LAST = "finish"; // the act that ends a call-out, and with it every question

/**
 * The first press of what ends the call-out shows the question that is still open; a second one does it.
 * @param {ExerciseView} view
 * @param {string} action
 */
export function questionFirst(view, action) {
  if (action !== LAST || !view.page.ask || view.warned === LAST) return false;
  view.warn(LAST, "ask.still_open");
  if (view.whole.open) view.whole.unfold();
  else view.showAsk();
  return true;
}

/**
 * On the page a question may stand below the window's edge: the line at the foot then leads to it.
 * @param {ExerciseView} view
 */
export function watchAsk(view) {
  const { ask } = view.parts;
  let away = false;
  if (!view.whole.open && !ask.hidden) {
    const { top, bottom } = ask.getBoundingClientRect();
    away = top > window.innerHeight - ASK_SEEN || bottom < ASK_SEEN;
  }
  if (away === view.askAway) return;
  view.askAway = away;
  view.redraw();
}

/** @param {ExerciseView} view */
export function describeAsk(view) {
  const { page, link } = view;
  const ask = page.ask;
  if (!ask) return [];
  const key = `ask:${ask.id}`;
  /** @param {number} value */
  const answer = (value) => view.act(key, "predict", { question: ask.id, answer: value });
  const refused = link.reply && !link.reply.accepted && link.reply.key === key;
  const last = view.warned === LAST;
  const title = node(
    "h2",
    { key: "title", id: view.ids.ask, class: last ? "ex-ask-first" : null },
    word(page, last ? "ask.first" : "ask.title"),
  );
  const question = node("p", { key: `question:${ask.id}`, class: "ex-question" }, ask.question);
  const body = ask.number ? describeNumber(view, ask, answer) : describeOptions(view, ask, answer);
  return [
    title,
    question,
    body,
    refused ? node("p", { key: "no", class: "ex-refusal", role: "status" }, link.reply?.sentence) : null,
  ];
}

/**
 * @param {ExerciseView} view
 * @param {Ask} ask
 * @param {(value: any) => void} answer
 */
function describeOptions(view, ask, answer) {
  const pending = view.link.busy(`ask:${ask.id}`);
  return node(
    "div",
    { key: `options:${ask.id}`, class: "ex-options", role: "group", "aria-label": ask.question },
    (ask.options || []).map((option) =>
      node(
        "button",
        {
          key: option.id,
          type: "button",
          class: `ex-option${pending ? " ex-pending" : ""}`,
          on: { click: () => answer(option.id) },
        },
        option.label,
      ),
    ),
    unsureButton(view, answer),
  );
}

/**
 * Honest ignorance is an answer too.
 * @param {ExerciseView} view
 * @param {(value: any) => void} answer
 */
function unsureButton(view, answer) {
  return node(
    "button",
    { key: "unsure", type: "button", class: "ex-option ex-unsure", on: { click: () => answer(null) } },
    word(view.page, "ask.unsure"),
  );
}

/**
 * @param {ExerciseView} view
 * @param {Ask} ask
 * @param {(value: any) => void} answer
 */
function describeNumber(view, ask, answer) {
  const { page } = view;
  const { number } = ask;
  if (!number) return null;
  /** @param {any} field */
  const send = (field) => {
    if (field.value !== "" && Number.isFinite(field.valueAsNumber)) answer(field.valueAsNumber);
    else field.focus();
  };
  return node(
    "div",
    { key: `number:${ask.id}`, class: "ex-number", role: "group" },
    node("input", {
      type: "number",
      inputmode: "decimal",
      min: number.low,
      max: number.high,
      step: number.step ?? "any",
      "aria-label": ask.question,
      on: { keydown: (event) => event.key === "Enter" && send(event.target) },
    }),
    number.unit ? node("span", { class: "ex-number-unit" }, number.unit) : null,
    node(
      "button",
      {
        type: "button",
        class: "ex-primary",
        on: { click: (event) => send(event.target.closest(".ex-number").querySelector("input")) },
      },
      word(page, "ask.send"),
    ),
    unsureButton(view, answer),
  );
}

/**
 * The coach's latest words, and the button for the next hint; nothing where the lesson gives none.
 * @param {ExerciseView} view
 */
export function describeCoach(view) {
  const { page, link } = view;
  const coach = page.coach;
  // In the whole window the line that says what comes next has the button for the first hint.
  if (!coach || ((!coach.allowed || view.whole.open) && !coach.lines.length)) return [];
  const pending = link.busy("hint");
  return [
    node("h2", { key: "title" }, word(page, "coach.title")),
    coach.lines.map((/** @type {any} */ line, /** @type {number} */ index) =>
      node("p", { key: `line${index}`, class: "ex-coach-line" }, line),
    ),
    coach.allowed
      ? node(
          "button",
          {
            key: "more",
            type: "button",
            class: `ex-secondary${pending ? " ex-pending" : ""}`,
            on: { click: () => view.act("hint", "ask_hint", {}) },
          },
          word(page, coach.fresh ? "coach.more" : "coach.hint"),
          coach.cost === null || coach.cost === undefined
            ? null
            : node(
                "small",
                { class: "ex-hint-cost" },
                coach.cost ? word(page, "coach.cost", { percent: coach.cost }) : word(page, "coach.free"),
              ),
        )
      : null,
  ];
}
