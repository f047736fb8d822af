// What is read one at a time: the words of one step, with the way back and on under them.
import { node } from "../base/dom.js";
import { clamp } from "../base/numbers.js";
import { bringIntoView, prose } from "./prose.js";

/**
 * One of several steps in words, with the way back and on under it; `go(index)` moves to another.
 * @param {LessonView} view
 * @param {Stepped} item
 * @param {number} index
 * @param {number} count
 * @param {(index: number) => void} go
 */
function steppedWords(view, item, index, count, go) {
  /**
   * @param {string} label
   * @param {number} to
   * @param {boolean} primary
   */
  const way = (label, to, primary) =>
    node(
      "button",
      {
        key: label,
        type: "button",
        class: primary ? "lesson-primary" : "lesson-secondary",
        "aria-disabled": to < 0 || to >= count ? "true" : false,
        on: { click: () => to >= 0 && to < count && go(to) },
      },
      label,
    );
  return [
    node(
      "div",
      { key: "idea", class: "lesson-idea", "aria-live": "polite" },
      node("p", { key: "step", class: "lesson-step" }, view.word("step", { n: index + 1, total: count })),
      node("h3", { key: "title" }, item.title),
      prose(item.paragraphs),
    ),
    node(
      "div",
      { key: "row", class: "lesson-row" },
      way(view.word("back"), index - 1, false),
      way(view.word("next"), index + 1, index + 1 < count),
    ),
  ];
}

/**
 * Show the step that the learner has come to, and each one moved to; the last one seen is told to the kernel.
 * @template {Stepped} Item
 * @param {LessonView} view
 * @param {{ id: string, seen?: boolean }} block
 * @param {BlockSection} section that keeps how far the learner has come
 * @param {Item[]} items
 * @param {(item: Item, words: Described[], moved: boolean) => void} draw `moved` where the learner asked for it
 */
export function stepThrough(view, block, section, items, draw) {
  section.lessonIndex ??= 0;
  const last = items.length - 1;
  /** @param {boolean} moved */
  const show = (moved) => {
    const index = section.lessonIndex;
    draw(items[index], steppedWords(view, items[index], index, items.length, go), moved);
  };
  /** @param {number} index */
  const go = (index) => {
    section.lessonIndex = clamp(index, 0, last);
    show(true);
    // a picture above its words belongs to them: where both fit the window, both are in it
    if (section.dataset.kind !== "tour" && section.offsetHeight < window.innerHeight - 24)
      bringIntoView(section, "nearest");
    if (section.lessonIndex === last && !block.seen) view.act("seen", { what: block.id }, block.id);
  };
  show(false);
}
