// The head of the page: the call, what it has cost so far, units and sound, and the practice yard's own controls.
import { node } from "../base/dom.js";
import { minutesText, word } from "../base/format.js";

/** @param {ExerciseView} view */
export function describeHeader(view) {
  const { page } = view;
  view.parts.header.dataset.told = view.whole.told ? "yes" : "no";
  const { header } = page;
  const used = page.yard_minutes;
  return [
    node(
      "div",
      { key: "words", class: "ex-header-words" },
      node("h1", {}, header.title),
      node("p", {}, header.rig_line || ""),
    ),
    node(
      "div",
      { key: "tools", class: "ex-tools" },
      (header.badges || []).map((badge) => node("span", { key: badge, class: "ex-badge" }, badge)),
      used === null || used === undefined
        ? null
        : node(
            "span",
            { key: "used", class: "ex-badge ex-used" },
            word(page, "header.minutes_used", { n: minutesText(used) }),
          ),
      page.yard ? node("span", { key: "yard", class: "ex-tools ex-yard" }, describeYard(view)) : null,
    ),
    node(
      "div",
      { key: "switches", class: "ex-tools" },
      node(
        "label",
        { key: "units", class: "ex-units" },
        node("span", { class: "ex-hidden" }, word(page, "header.units")),
        node(
          "select",
          { set: { value: view.units }, on: { change: (event) => view.setUnits(event.target.value) } },
          node("option", { key: "metric", value: "metric" }, word(page, "header.units_metric")),
          node("option", { key: "us", value: "us" }, word(page, "header.units_us")),
        ),
      ),
      node(
        "button",
        {
          key: "sound",
          type: "button",
          class: "ex-choice",
          "aria-pressed": view.sound.on ? "true" : "false",
          on: { click: () => view.setSound(!view.sound.on) },
        },
        word(page, view.sound.on ? "header.sound_on" : "header.sound_off"),
      ),
      describeWindow(view),
    ),
    header.brief
      ? node(
          "div",
          { key: "brief", class: "ex-brief" },
          node("q", {}, header.brief),
          view.whole.told
            ? node(
                "button",
                {
                  key: "away",
                  type: "button",
                  class: "ex-choice ex-told-away",
                  on: { click: () => view.whole.tell(false) },
                },
                word(page, "window.said_away"),
              )
            : null,
        )
      : null,
  ];
}

/**
 * Into the whole window and back to the page.
 * @param {ExerciseView} view
 */
function describeWindow(view) {
  const { page, whole } = view;
  if (!whole.wanted) return null;
  if (!whole.open) {
    return node(
      "button",
      {
        key: "enter",
        type: "button",
        class: `${page.yard?.waits ? "ex-primary" : "ex-secondary"} ex-enter`,
        on: { click: () => whole.enter() },
      },
      word(page, page.yard?.waits ? "window.take" : "window.enter"),
    );
  }
  return [
    page.header.brief
      ? node(
          "button",
          {
            key: "said",
            type: "button",
            class: "ex-choice ex-told",
            "aria-expanded": whole.told ? "true" : "false",
            on: { click: () => whole.tell(!whole.told) },
          },
          word(page, "window.said"),
        )
      : null,
    node(
      "button",
      { key: "leave", type: "button", class: "ex-choice ex-leave", on: { click: () => whole.leave() } },
      word(page, "window.leave"),
    ),
  ];
}

/**
 * The practice yard's own controls: level and the next call-out.
 * @param {ExerciseView} view
 */
function describeYard(view) {
  const { page } = view;
  const { yard } = page;
  if (!yard) return null;
  return [
    node(
      "label",
      { key: "level", class: "ex-units" },
      node("span", { class: "ex-hidden" }, word(page, "yard.level")),
      node(
        "select",
        {
          set: { value: String(yard.level) },
          on: {
            change: (event) =>
              view.act(`yard:level:${event.target.value}`, "yard_level", { level: event.target.value }),
          },
        },
        (yard.levels || []).map((level) => node("option", { key: level.id, value: String(level.id) }, level.label)),
      ),
    ),
    describeNext(view),
  ];
}

/**
 * The way on to the next call-out: above the rig, and again at the end of a debrief.
 * @param {ExerciseView} view
 */
export function describeNext(view) {
  const { page, link } = view;
  return node(
    "button",
    {
      key: "next",
      type: "button",
      class: (page.phase === "debrief" ? "ex-primary" : "ex-secondary") + (link.busy("yard:next") ? " ex-pending" : ""),
      on: { click: () => view.act("yard:next", "yard_next", {}) },
    },
    word(page, "yard.next"),
  );
}
