// The end of a call-out: proof by a restart, or handing the job over.
import { node } from "../base/dom.js";
import { word } from "../base/format.js";

/**
 * Whether the line that says what comes next has a button of this kind.
 * @param {ExerciseView} view
 * @param {string} kind
 */
export function nextHas(view, kind) {
  return Boolean(view.step?.buttons.some((one) => one.kind === kind));
}

/**
 * The end of a call-out: proof by a restart, or handing the job over.
 * @param {ExerciseView} view
 */
export function describeProof(view) {
  const { page, link } = view;
  const finish = page.finish || { open: false, waits: [] };
  /**
   * @param {string} key
   * @param {string} action
   * @param {string} classes
   * @param {boolean} off
   * @param {string} label
   * @param {Record<string, unknown>} [args]
   */
  const button = (key, action, classes, off, label, args = {}) =>
    node(
      "button",
      {
        key,
        type: "button",
        class: classes + (link.busy(key) ? " ex-pending" : ""),
        "aria-describedby": off ? `${view.ids.call}-proof` : null,
        "aria-disabled": off ? "true" : null,
        on: { click: () => (off ? view.announce(finish.waits.join(" ")) : view.act(key, action, args)) },
      },
      word(page, label),
    );
  const ready = Boolean(finish.open);
  const never = (page.run?.id ?? null) === null;
  const still = never ? "finish.how_first" : "finish.how";
  const pumps = Boolean(page.engine?.running && page.run?.primed && !page.run.lost && page.run.counts !== false);
  const waiting = pumps && (page.call?.locked?.length ?? 0) === 0 ? "finish.how_pumps" : still;
  const how = finish.at_word ? "finish.at_word" : ready ? "finish.ready" : waiting;
  return node(
    "section",
    { key: "proof", class: "ex-proof" },
    node("h3", {}, word(page, "finish.title")),
    node("p", { id: `${view.ids.call}-proof` }, (!ready && finish.why) || word(page, how)),
    // It pumps, and yet it is no proof: what is lacking stands where one presses.
    pumps && !ready && !finish.why && waiting === still
      ? node("p", { key: "waits", class: "ex-finish-waits" }, finish.waits.join(" "))
      : null,
    nextHas(view, "finish")
      ? null
      : button("finish", "finish", "ex-secondary ex-finish", !ready, "finish.done", finish.args),
    view.leaving && !nextHas(view, "stay")
      ? node(
          "div",
          { key: "sure", class: "ex-sure" },
          node("p", {}, word(page, "finish.sure")),
          button("give_up", "give_up", "ex-secondary", false, "finish.give_up_yes"),
          node(
            "button",
            { key: "stay", type: "button", class: "ex-choice", on: { click: () => view.setLeaving(false) } },
            word(page, "finish.stay"),
          ),
        )
      : node(
          "button",
          {
            key: "leave",
            type: "button",
            class: "ex-quiet",
            "aria-disabled": view.leaving ? "true" : null, // asked already, in the line below
            on: { click: () => view.setLeaving(true) },
          },
          word(page, "finish.give_up"),
        ),
  );
}
