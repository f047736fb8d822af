// What acts on the whole demonstration: the wall, and where one looks inside.
import { node } from "../base/dom.js";

/**
 * A button that is on or off.
 * @param {string} key
 * @param {string} label
 * @param {boolean} on
 * @param {() => void} press
 */
export function toggle(key, label, on, press) {
  return node(
    "button",
    { key, type: "button", class: "ex-choice", "aria-pressed": on ? "true" : "false", on: { click: press } },
    label,
  );
}

/** @param {BenchView} view */
export function describeTools(view) {
  const { page } = view;
  const { here, wall } = page.inside;
  const state = view.blocked ? "wall_blocked" : view.wallSeen ? "wall_open" : "wall_closed";
  return [
    node("p", { key: "rig", class: "bench-rig" }, page.header.rig_line ?? ""),
    node(
      "button",
      { key: "wall", type: "button", class: "ex-primary", on: { click: () => view.openWall() } },
      view.word(view.wallSeen ? "wall_again" : "open_wall"),
    ),
    node("span", { key: "state", class: "bench-soft", role: "status" }, view.word(state)),
    node(
      "div",
      { key: "inside", class: "ex-choices", role: "group", "aria-label": view.word("inside") },
      node("span", { class: "ex-choices-label" }, view.word("inside")),
      toggle("here", view.word("inside_here"), here, () => view.set("inside", "inside", { where: "here", on: !here })),
      toggle("on_wall", view.word("inside_wall"), wall, () =>
        view.set("inside", "inside", { where: "wall", on: !wall }),
      ),
    ),
    node(
      "div",
      { key: "units", class: "ex-choices", role: "group", "aria-label": view.word("units") },
      ["metric", "us"].map((system) =>
        toggle(system, page.unit_names[system] ?? system, view.units === system, () => view.setUnits(system)),
      ),
    ),
  ];
}
