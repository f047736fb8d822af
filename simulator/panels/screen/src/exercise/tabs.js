// What may stand beside the gauges in the whole window: the acts, the pictures where there is no room for both, notes, call.
import { node } from "../base/dom.js";
import { word } from "../base/format.js";
import { callTouched, placedSoFar } from "./call.js";
import { TABS } from "./whole_window.js";

/**
 * What a tab is called: how many notes there are, how far the call has got.
 * @param {ExerciseView} view
 * @param {string} tab
 */
function tabName(view, tab) {
  const { page } = view;
  if (tab === "notes") return word(page, "window.tabs.notes", { n: (page.notes || []).length });
  if (tab !== "call") return word(page, `window.tabs.${page.phase === "debrief" && tab === "do" ? "debrief" : tab}`);
  const locked = page.call?.locked?.length ?? 0;
  const placed = callTouched(view) ? placedSoFar(view) : 0;
  if (placed) return word(page, "window.tabs.call_placed", { n: placed, total: page.call.markers || 10 });
  return word(page, locked >= 2 ? "window.tabs.call_second" : locked ? "window.tabs.call_first" : "window.tabs.call");
}

/** @param {ExerciseView} view */
export function describeTabs(view) {
  const { page, whole } = view;
  if (!whole.open) return [];
  view.parts.tabs.setAttribute("aria-label", word(page, "window.parts"));
  const over = page.phase === "debrief";
  return TABS.filter((tab) => !over || tab === "do" || tab === "notes").map((tab) =>
    node(
      "button",
      {
        key: tab,
        type: "button",
        class: `ex-tab ex-tab-${tab}`,
        "data-tab": tab,
        "aria-pressed": whole.tab === tab ? "true" : "false",
        on: { click: () => whole.goTo(tab) },
      },
      tabName(view, tab),
    ),
  );
}
