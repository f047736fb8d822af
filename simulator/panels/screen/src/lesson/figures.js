// Blocks that draw themselves: a gauge to play with, a dial to read, pictures of the rig at one moment, the guided look.
import { htmlElement, node, patchChildren } from "../base/dom.js";
import { fillIn, formatNumber } from "../base/format.js";
import { prefersStill } from "../base/motion.js";
import { clamp } from "../base/numbers.js";
import { createDial } from "../gauges/dial.js";
import { pumpPicture } from "../picture/pump/view.js";
import { sitePicture } from "../picture/site/view.js";
import { placesIn, prose } from "./prose.js";

/**
 * A dial that stands at one value; made once, patched after.
 * @param {BlockSection} section
 * @param {HTMLElement} host
 * @param {any} block
 * @param {LessonView} view
 */
export function standingDial(section, host, block, view) {
  const { dial } = block;
  const made = JSON.stringify(dial.spec);
  if (section.lessonMade !== made) {
    section.lessonLive?.destroy?.();
    host.textContent = "";
    section.lessonMade = made;
    const live = createDial(
      htmlElement("div", "lesson-dial", host),
      { ...dial.spec, system: block.units },
      view.content.picture_words,
    );
    section.lessonLive = live;
  }
  section.lessonLive.setUnits(block.units);
  section.lessonLive.set(dial.value);
  host.classList.toggle("lesson-face-only", Boolean(dial.hide)); // the figure under the dial would be the answer
}

/**
 * A slider with a dial, and what the reading comes to in other units.
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function gaugeBlock(view, block, section) {
  const { face, words } = placesIn(section, "face", "words");
  section.classList.add("lesson-with-face");
  if (section.lessonValue === undefined) section.lessonValue = block.value;
  standingDial(section, face, { units: block.units, dial: { spec: block.spec, value: section.lessonValue } }, view);
  /** @param {number} value */
  const lines = (value) =>
    block.lines.map((/** @type {any} */ line, /** @type {number} */ i) =>
      node(
        "p",
        { key: i, class: "lesson-reading" },
        fillIn(
          line.text,
          Object.fromEntries(
            line.figures.map((/** @type {Unit} */ figure) => [
              figure.name,
              formatNumber(value / figure.size, figure.decimals),
            ]),
          ),
        ),
      ),
    );
  const show = () =>
    patchChildren(
      words,
      node("h3", { key: "title" }, block.title),
      prose(block.paragraphs),
      node(
        "label",
        { key: "slide", class: "lesson-slide" },
        node("span", {}, block.label),
        node("input", {
          type: "range",
          min: block.low,
          max: block.high,
          step: block.step,
          set: { value: String(section.lessonValue) },
          on: {
            input: (event) => {
              section.lessonValue = Number(event.target.value);
              section.lessonLive.set(section.lessonValue);
              show();
            },
          },
        }),
      ),
      node("div", { key: "lines", class: "lesson-readings", "aria-live": "polite" }, lines(section.lessonValue)),
      block.after ? node("p", { key: "after", class: "lesson-soft" }, block.after) : null,
    );
  show();
}

/**
 * Pictures of the rig at one moment of a run.
 * @param {BlockSection} section
 * @param {HTMLElement} host
 * @param {any} block
 * @param {LessonView} view
 * @param {Frame} frame
 */
function standingPictures(section, host, block, view, frame) {
  const made = JSON.stringify([block.rig, block.pictures, block.units]);
  if (section.lessonMade !== made) {
    section.lessonLive?.destroy?.();
    host.textContent = "";
    section.lessonMade = made;
    const words = view.content.picture_words;
    const parts = block.pictures.map((/** @type {string} */ which) => {
      const place = htmlElement("div", `lesson-picture lesson-picture-${which}`, host);
      return which === "site"
        ? sitePicture(place, block.rig, words, { units: block.units, height: block.height || 300 })
        : pumpPicture(place, block.rig, words, { units: block.units, height: (block.height || 300) + 22 });
    });
    section.lessonLive = {
      update: (/** @type {string} */ next) => parts.forEach((/** @type {any} */ part) => part.update(next)),
      destroy: () => parts.forEach((/** @type {any} */ part) => part.destroy()),
    };
  }
  section.lessonLive.update(frame);
}

/**
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function pictureBlock(view, block, section) {
  const { figure, words } = placesIn(section, "figure", "words");
  standingPictures(section, figure, block, view, block.frame);
  patchChildren(words, block.caption ? node("p", { class: "lesson-soft" }, block.caption) : null);
}

/**
 * One of several steps in words, with the way back and on under it; `go(index)` moves to another.
 * @param {LessonView} view
 * @param {any} item
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
 * Ideas one at a time, each with the rig at the moment that shows it.
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function ideasBlock(view, block, section) {
  const { figure, words } = placesIn(section, "figure", "words");
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
    standingPictures(section, figure, { ...block, rig: item.rig }, view, item.frame);
    patchChildren(words, steppedWords(view, item, index, count, go));
  };
  show();
}

/**
 * A guided look at a screen that stands below: one part of it is framed at a time.
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function tourBlock(view, block, section) {
  if (section.lessonIndex === undefined) section.lessonIndex = 0;
  const count = block.steps.length;
  const screen = () => (view.root.closest(".lesson-stack") || document).querySelector(".ex-root");
  /** @param {any} scroll */
  const light = (scroll) => {
    const root = screen();
    root?.querySelectorAll(".lesson-lit").forEach((part) => part.classList.remove("lesson-lit"));
    const target = root?.querySelector(block.steps[section.lessonIndex].where);
    target?.classList.add("lesson-lit");
    if (scroll && target) {
      const gentle = prefersStill() ? "auto" : "smooth";
      // The words stick to the top of the page: what they speak of comes to stand right under them.
      target.style.scrollMarginTop = `${view.root.getBoundingClientRect().height + 28}px`;
      target.scrollIntoView({ block: "start", behavior: gentle });
    }
  };
  section.lessonLive = {
    destroy: () =>
      screen()
        ?.querySelectorAll(".lesson-lit")
        .forEach((part) => part.classList.remove("lesson-lit")),
  };
  /** @param {number} index */
  const go = (index) => {
    section.lessonIndex = clamp(index, 0, count - 1);
    show();
    light(true);
    if (section.lessonIndex === count - 1 && !block.seen) view.act("seen", { what: block.id }, block.id);
  };
  const show = () => {
    const index = section.lessonIndex;
    const item = block.steps[index];
    patchChildren(section, node("div", { class: "lesson-tour" }, steppedWords(view, item, index, count, go)));
  };
  show();
  // The screen below may come a moment later than this part.
  setTimeout(() => light(false), 300);
}
