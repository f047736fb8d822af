// The line at the foot of the whole window that always says what comes next, with the button for it.
import { node } from "../base/dom.js";
import { minutesText, word } from "../base/format.js";
import { actKey } from "./acts.js";
import { callTouched, lockCall, openCall, placedSoFar, saidSoFar } from "./call.js";
import { nextStep } from "./next_step.js";

const OF_CARD = { lock: "ex-lock", finish: "ex-finish" }; // acts that the card of the call leaves to the line below it

/** @param {HTMLElement} part */
const inSight = (part) => part.getClientRects().length > 0;

/**
 * What comes next; null while a question is in sight, as then that comes next. On the page the lesson leads on below a call
 * that is over.
 * @param {ExerciseView} view
 */
export function stepNow(view) {
  const { page, whole } = view;
  // No button: who goes there by key has it in sight before a button of this line is reached.
  if (!view.parts.ask.hidden) return view.askAway ? { key: "question_away", buttons: [] } : null;
  if (!whole.open && page.phase === "debrief") {
    if (page.yard || !(page.debrief || page.debrief_pending)) return null;
    return { key: page.debrief ? "read_below" : "marks_coming", buttons: [] };
  }
  const wide = inSight(view.parts.acts) && inSight(view.parts.call);
  return nextStep({
    page,
    placed: placedSoFar(view),
    ...saidSoFar(view),
    touched: callTouched(view),
    beside: wide,
    at: !whole.open || whole.tab === "do" || wide ? view.where : undefined,
    works: view.more.works,
    leaving: view.leaving,
    tab: whole.tab,
    folded: whole.askFolded,
    lacking: view.lacking?.first || [],
    pressed: view.lacking?.label,
    rate: view.player.rate,
    slowed: view.player.slowed && !view.player.holds.has("learner"), // a clock that stands goes at no speed
    held: view.player.holds.has("learner"),
    warned: Boolean(view.warned) && view.warnedOf === "acts.second_call",
  });
}

/**
 * Where a call begins: on the page making safe stands beside the list anyway.
 * @param {{ wanted: boolean }} whole
 * @param {ExercisePage} page
 */
export function firstPlace(whole, page) {
  return whole.wanted && (page.run?.id ?? null) === null ? "before" : "quick";
}

/**
 * On the page: who is told to start it and watch has gauges, curve and engine bar in sight.
 * @param {ExerciseView} view
 */
export function showStage({ whole, parts }) {
  if (whole.open) return;
  const stage = /** @type {HTMLElement} */ (parts.bar.closest(".ex-stage"));
  const { top, bottom } = stage.getBoundingClientRect();
  const line = parts.next.getBoundingClientRect().height;
  if (top >= 0 && bottom <= window.innerHeight - line) return;
  stage.style.scrollMarginBottom = `${line + 24}px`;
  stage.scrollIntoView({ block: "end" }); // at once: a focus on its way would stop a smooth one
}

/** @param {ExerciseView} view */
export function describeNextLine(view) {
  const { page, step } = view;
  if (!step) return [];
  return [
    node("h2", { key: "title" }, word(page, "next.title")),
    node(
      "p",
      { key: "words", class: "ex-next-words", id: view.ids.next },
      word(page, `next.${step.key}`, step.fields),
      step.point ? [" ", node("span", { class: "ex-next-point" }, word(page, `next.points.${step.point}`))] : null,
    ),
    node(
      "div",
      { key: "buttons", class: "ex-next-buttons" },
      step.buttons.map((one, index) => describeButton(view, one, index === 0 && !step.point && !step.quiet)),
    ),
  ];
}

/**
 * @param {ExerciseView} view
 * @param {import("./next_step.js").NextButton} one
 * @param {boolean} main
 */
function describeButton(view, one, main) {
  const { page } = view;
  const { label, busy, press } = buttonActs(view, one);
  const cost = one.kind === "hint" ? page.coach?.cost : null;
  return node(
    "button",
    {
      // The focus stays on the button of the next step while one step follows the other.
      key: main ? "main" : one.kind,
      type: "button",
      class: [
        main && one.kind !== "hint" ? "ex-primary" : "ex-secondary",
        `ex-next-${one.kind}`,
        /** @type {Record<string, string>} */ (OF_CARD)[one.kind] ?? "",
        busy ? "ex-pending" : "",
      ]
        .filter(Boolean)
        .join(" "),
      "aria-busy": busy ? "true" : null,
      "aria-describedby": main ? view.ids.next : null,
      on: { click: press },
    },
    label,
    one.item?.minutes
      ? node("small", { class: "ex-next-minutes" }, word(page, "acts.minutes", { n: minutesText(one.item.minutes) }))
      : null,
    cost === null || cost === undefined
      ? null
      : node(
          "small",
          { class: "ex-hint-cost" },
          cost ? word(page, "coach.cost_short", { percent: cost }) : word(page, "coach.free"),
        ),
  );
}

/**
 * What a button is called, whether it is under way, and what it does: always what the control of that name does.
 * @param {ExerciseView} view
 * @param {import("./next_step.js").NextButton} one
 * @returns {{ label: string, busy?: boolean, press: () => void }}
 */
function buttonActs(view, one) {
  const { page, link, whole } = view;
  const label = one.label ? word(page, `next.buttons.${one.label}`, one.fields) : "";
  const { item } = one;
  if (item) {
    const press = () => {
      view.lacking = item.waits?.length ? item : view.lacking;
      view.act(actKey(item), item.action, item.args, item.risk);
    };
    return { label: item.label, busy: link.busy(actKey(item)), press };
  }
  switch (one.kind) {
    case "hint":
      return {
        label: word(page, page.coach?.fresh ? "coach.more" : "coach.hint"),
        busy: link.busy("hint"),
        press: () => view.act("hint", "ask_hint", {}),
      };
    case "finish":
      return {
        label,
        busy: link.busy("finish"),
        press: () => view.act("finish", "finish", page.finish?.args || {}),
      };
    case "lock":
      return { label, busy: link.busy("call"), press: () => lockCall(view) };
    case "yard_next":
      return { label, busy: link.busy("yard:next"), press: () => view.act("yard:next", "yard_next", {}) };
    case "stay":
      return { label, press: () => view.setLeaving(false) };
    case "give_up":
      return { label, busy: link.busy("give_up"), press: () => view.act("give_up", "give_up", {}) };
    case "unfold":
      return { label, press: () => whole.unfold() };
    case "place":
      return {
        label,
        press: () => {
          view.goTo(one.to ?? "quick");
          whole.goTo("do");
          /** @type {HTMLElement | null} */
          const list = view.parts.acts.querySelector(one.to === "before" ? ".ex-before" : ".ex-lists");
          (list?.querySelector("button") ?? view.parts.acts.querySelector("button"))?.focus();
        },
      };
    case "mend":
      return {
        label,
        press: () => {
          whole.goTo("do");
          view.goTo(one.to ?? "now");
          // The work stands below the looks of its place; which of it is wanted is the learner's to say.
          /** @type {HTMLElement | null} */
          const work = view.parts.acts.querySelector(".ex-kind-remedy");
          if (!work) return;
          work.tabIndex = -1;
          work.scrollIntoView({ block: "start" });
          work.focus({ preventScroll: true });
        },
      };
    case "tab":
      return {
        label,
        press: () => {
          if (one.to === "call") openCall(view);
          whole.goTo(one.to ?? "do");
          /** @type {HTMLElement | null} */ (view.parts.call.querySelector("select, .ex-card-body button"))?.focus();
        },
      };
    default:
      return { label, press: () => whole.leave() };
  }
}
