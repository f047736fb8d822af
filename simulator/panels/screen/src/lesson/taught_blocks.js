// Blocks of the taught lessons: where the learner stands, ideas with their figures, needles, what the expert says, hints.
import { htmlElement, node, patchChildren } from "../base/dom.js";
import { askedText, goToBlock, inlineText, placesIn, prose } from "./prose.js";
import { lessonDial } from "./rig_pictures.js";
import { stepThrough } from "./stepping.js";

/** @type {Record<string, string>} */
const STEP_SIGNS = { done: "✓", now: "▸", open: "·" };

export const TAUGHT_BLOCKS = {
  /**
   * The steps of the lesson, the one to do now marked in words.
   * @param {LessonView} view
   * @param {StepsBlock} block
   * @param {BlockSection} section
   */
  steps(view, block, section) {
    patchChildren(
      section,
      node("h2", { key: "title" }, block.title),
      node(
        "ol",
        { key: "list", class: `lesson-steps${block.row ? " lesson-steps-row" : ""}` },
        block.items.map(({ part, ...item }, i) =>
          node(
            "li",
            { key: i, "data-state": item.state, "aria-current": item.state === "now" ? "step" : false },
            node("span", { class: "lesson-sign", "aria-hidden": "true" }, STEP_SIGNS[item.state]),
            !part || item.state === "now"
              ? node("span", { key: "name", class: part ? "lesson-steps-name" : "lesson-steps-plain" }, item.label)
              : node(
                  "button",
                  { key: "to", type: "button", class: "lesson-steps-name", on: { click: () => goToBlock(part) } },
                  item.label,
                ),
            part && item.state === "now"
              ? node(
                  "button",
                  {
                    key: "go",
                    type: "button",
                    class: "lesson-primary lesson-steps-go",
                    "aria-label": `${item.says}: ${item.label}`,
                    on: { click: () => goToBlock(part) },
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
   * @param {PagesBlock} block
   * @param {BlockSection} section
   */
  pages(view, block, section) {
    const { words, figure } = placesIn(section, "words", "figure");
    figure.className = "lesson-page-figure";
    section.lessonLive = { destroy: () => section.lessonInner?.lessonLive?.destroy?.() };
    stepThrough(view, block, section, block.items, (item, said) => {
      const made = JSON.stringify([section.lessonIndex, block.units]);
      if (section.lessonPage !== made) {
        section.lessonPage = made;
        section.lessonInner?.lessonLive?.destroy?.();
        figure.textContent = "";
        section.lessonInner = /** @type {any} */ (htmlElement("div", `lesson-block-${item.figure.kind}`, figure));
      }
      view.drawBlock(item.figure, section.lessonInner);
      patchChildren(words, said);
    });
  },

  /**
   * Needles as they stand.
   * @param {LessonView} view
   * @param {DialsBlock} block
   * @param {BlockSection} section
   */
  dials(view, block, section) {
    const { figure, words } = placesIn(section, "figure", "words");
    figure.className = "lesson-dials";
    const made = JSON.stringify(block.items.map((item) => item.spec.id));
    if (section.lessonMade !== made) {
      section.lessonLive?.destroy?.();
      figure.textContent = "";
      section.lessonMade = made;
      const live = block.items.map((item) => lessonDial(figure, item.spec, block.units, view.content.picture_words));
      section.lessonLive = { live, destroy: () => live.forEach((dial) => dial.destroy()) };
    }
    section.lessonLive.live.forEach((/** @type {Dial} */ dial, /** @type {number} */ i) => {
      dial.setUnits(block.units);
      dial.set(block.items[i].value);
    });
    patchChildren(words, block.caption ? node("p", { class: "lesson-soft" }, inlineText(block.caption)) : null);
  },

  /**
   * A step that the expert has done, with the reason.
   * @param {LessonView} view
   * @param {ExpertBlock} block
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
