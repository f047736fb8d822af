// Blocks of the taught lessons: where the learner stands, ideas with their figures, needles, what the expert says, hints.
import { htmlElement, node, patchChildren } from "../base/dom.js";
import { clamp } from "../base/numbers.js";
import { createDial } from "../gauges/dial.js";
import { askedText, goToBlock, inlineText, placesIn, prose } from "./prose.js";

/** @type {Record<string, string>} */
const STEP_SIGNS = { done: "✓", now: "▸", open: "·" };

export const TAUGHT_BLOCKS = {
  /**
   * The steps of the lesson, the one to do now marked in words.
   * @param {LessonView} view
   * @param {any} block
   * @param {BlockSection} section
   */
  steps(view, block, section) {
    patchChildren(
      section,
      node("h2", { key: "title" }, block.title),
      node(
        "ol",
        { key: "list", class: `lesson-steps${block.row ? " lesson-steps-row" : ""}` },
        block.items.map((/** @type {any} */ item, /** @type {number} */ i) =>
          node(
            "li",
            { key: i, "data-state": item.state, "aria-current": item.state === "now" ? "step" : false },
            node("span", { class: "lesson-sign", "aria-hidden": "true" }, STEP_SIGNS[item.state]),
            !item.part || item.state === "now"
              ? node("span", { key: "name", class: item.part ? "lesson-steps-name" : "lesson-steps-plain" }, item.label)
              : node(
                  "button",
                  { key: "to", type: "button", class: "lesson-steps-name", on: { click: () => goToBlock(item.part) } },
                  item.label,
                ),
            item.part && item.state === "now"
              ? node(
                  "button",
                  {
                    key: "go",
                    type: "button",
                    class: "lesson-primary lesson-steps-go",
                    "aria-label": `${item.says}: ${item.label}`,
                    on: { click: () => goToBlock(item.part) },
                  },
                  `${item.says} ↓`,
                )
              : block.row && item.state === "open"
                ? null
                : node("span", { key: "state", class: "lesson-steps-state" }, item.says),
          ),
        ),
      ),
    );
  },

  /**
   * Ideas one at a time, each with a figure of any kind.
   * @param {LessonView} view
   * @param {any} block
   * @param {BlockSection} section
   */
  pages(view, block, section) {
    const { words, figure } = placesIn(section, "words", "figure");
    figure.className = "lesson-page-figure";
    if (section.lessonIndex === undefined) section.lessonIndex = 0;
    const count = block.items.length;
    /** @param {number} index */
    const go = (index) => {
      section.lessonIndex = clamp(index, 0, count - 1);
      show();
      if (section.lessonIndex === count - 1 && !block.seen) view.act("seen", { what: block.id }, block.id);
    };
    const show = () => {
      const index = section.lessonIndex;
      const item = block.items[index];
      const made = JSON.stringify([index, block.units]);
      if (section.lessonPage !== made) {
        section.lessonPage = made;
        section.lessonInner?.lessonLive?.destroy?.();
        figure.textContent = "";
        section.lessonInner = /** @type {any} */ (htmlElement("div", `lesson-block-${item.figure.kind}`, figure));
      }
      view.drawBlock(item.figure, section.lessonInner);
      /**
       * @param {string} label
       * @param {number} to
       * @param {boolean} primary
       */
      const step = (label, to, primary) =>
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
      patchChildren(
        words,
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
          step(view.word("back"), index - 1, false),
          step(view.word("next"), index + 1, index + 1 < count),
        ),
      );
    };
    section.lessonLive = { destroy: () => section.lessonInner?.lessonLive?.destroy?.() };
    show();
  },

  /**
   * Needles as they stand.
   * @param {LessonView} view
   * @param {any} block
   * @param {BlockSection} section
   */
  dials(view, block, section) {
    const { figure, words } = placesIn(section, "figure", "words");
    figure.className = "lesson-dials";
    const made = JSON.stringify(block.items.map((/** @type {any} */ item) => item.spec.id));
    if (section.lessonMade !== made) {
      section.lessonLive?.destroy?.();
      figure.textContent = "";
      section.lessonMade = made;
      const live = block.items.map((/** @type {any} */ item) =>
        createDial(
          htmlElement("div", "lesson-dial", figure),
          { ...item.spec, system: block.units },
          view.content.picture_words,
        ),
      );
      section.lessonLive = { live, destroy: () => live.forEach((/** @type {any} */ one) => one.destroy()) };
    }
    section.lessonLive.live.forEach((/** @type {any} */ one, /** @type {number} */ i) => {
      one.setUnits(block.units);
      one.set(block.items[i].value);
    });
    patchChildren(words, block.caption ? node("p", { class: "lesson-soft" }, inlineText(block.caption)) : null);
  },

  /**
   * A step that the expert has done, with the reason.
   * @param {LessonView} view
   * @param {any} block
   * @param {BlockSection} section
   */
  expert(view, block, section) {
    patchChildren(
      section,
      node("p", { key: "step", class: "lesson-step" }, block.step),
      ...askedText(block.text),
      node(
        "p",
        { key: "answer", class: "lesson-expert-answer" },
        node("span", { key: "by", class: "lesson-soft" }, `${block.by} `),
        inlineText(block.answer),
      ),
      prose(block.paragraphs),
    );
  },
};
