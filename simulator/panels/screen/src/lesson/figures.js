// Blocks that draw themselves: a gauge to play with, a dial to read, pictures of the rig at one moment, the guided look.
import { node, patchChildren } from "../base/dom.js";
import { fillIn, formatNumber } from "../base/format.js";
import { prefersStill } from "../base/motion.js";
import { placesIn, prose } from "./prose.js";
import { drawRigPictures, lessonDial } from "./rig_pictures.js";
import { stepThrough } from "./stepping.js";

/**
 * A dial that stands at one value; made once, patched after.
 * @param {BlockSection} section
 * @param {HTMLElement} host
 * @param {StandingDial} dial
 * @param {UnitSystem} units
 * @param {LessonView} view
 */
export function standingDial(section, host, dial, units, view) {
  const made = JSON.stringify(dial.spec);
  if (section.lessonMade !== made) {
    section.lessonLive?.destroy?.();
    host.textContent = "";
    section.lessonMade = made;
    section.lessonLive = lessonDial(host, dial.spec, units, view.content.picture_words);
  }
  section.lessonLive.setUnits(units);
  section.lessonLive.set(dial.value);
  host.classList.toggle("lesson-face-only", Boolean(dial.hide)); // the figure under the dial would be the answer
}

/**
 * A slider with a dial, and what the reading comes to in other units.
 * @param {LessonView} view
 * @param {GaugeBlock} block
 * @param {BlockSection} section
 */
export function gaugeBlock(view, block, section) {
  const { face, words } = placesIn(section, "face", "words");
  section.classList.add("lesson-with-face");
  if (section.lessonValue === undefined) section.lessonValue = block.value;
  standingDial(section, face, { spec: block.spec, value: section.lessonValue }, block.units, view);
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
 * @param {RigPictures} block
 * @param {LessonView} view
 * @param {Frame} frame
 */
function standingPictures(section, host, block, view, frame) {
  const made = JSON.stringify([block.rig, block.pictures, block.units]);
  if (section.lessonMade !== made) {
    section.lessonLive?.destroy?.();
    section.lessonMade = made;
    section.lessonLive = drawRigPictures(host, block, view.content.picture_words);
  }
  section.lessonLive.update(frame);
}

/**
 * @param {LessonView} view
 * @param {PictureBlock} block
 * @param {BlockSection} section
 */
export function pictureBlock(view, block, section) {
  const { figure, words } = placesIn(section, "figure", "words");
  standingPictures(section, figure, block, view, block.frame);
  patchChildren(words, block.caption ? node("p", { class: "lesson-soft" }, block.caption) : null);
}

/**
 * Ideas one at a time, each with the rig at the moment that shows it.
 * @param {LessonView} view
 * @param {IdeasBlock} block
 * @param {BlockSection} section
 */
export function ideasBlock(view, block, section) {
  const { figure, words } = placesIn(section, "figure", "words");
  stepThrough(view, block, section, block.items, (item, said) => {
    standingPictures(section, figure, { ...block, rig: item.rig }, view, item.frame);
    patchChildren(words, said);
  });
}

/**
 * A guided look at a screen that stands below: one part of it is framed at a time.
 * @param {LessonView} view
 * @param {TourBlock} block
 * @param {BlockSection} section
 */
export function tourBlock(view, block, section) {
  const screen = () => (view.root.closest(".lesson-stack") || document).querySelector(".ex-root");
  /** @param {boolean} scroll */
  const light = (scroll) => {
    const root = screen();
    root?.querySelectorAll(".lesson-lit").forEach((part) => part.classList.remove("lesson-lit"));
    /** @type {HTMLElement | null | undefined} */
    const target = root?.querySelector(block.steps[section.lessonIndex].where);
    target?.classList.add("lesson-lit");
    if (scroll && target) {
      const gentle = prefersStill() ? "auto" : "smooth";
      // The words stick to the top of the page: what they speak of comes to stand right under them.
      target.style.scrollMarginTop = `${view.root.getBoundingClientRect().height + 28}px`;
      target.scrollIntoView({ block: "start", behavior: gentle });
    }
  };
  // Once all of it was shown, whoever works on the screen has all of it: the words no longer lie over it.
  const letGo = (/** @type {Event} */ event) => {
    if (section.lessonIndex === block.steps.length - 1 && screen()?.contains(/** @type {Node} */ (event.target)))
      view.root.closest(".lesson-stick")?.classList.remove("lesson-stick");
  };
  // At the last step a sentence more comes with the answer: the words grow over what they speak of.
  const grown = new ResizeObserver(() => {
    const lit = screen()?.querySelector(".lesson-lit");
    const stuck = view.root.closest(".lesson-stick");
    const top = lit?.getBoundingClientRect().top ?? Number.POSITIVE_INFINITY;
    const bottom = view.root.getBoundingClientRect().bottom;
    if (stuck && top < bottom && top > bottom - window.innerHeight / 2) light(true);
  });
  grown.observe(view.root);
  document.addEventListener("click", letGo, true);
  section.lessonLive = {
    destroy: () => {
      grown.disconnect();
      document.removeEventListener("click", letGo, true);
      screen()
        ?.querySelectorAll(".lesson-lit")
        .forEach((part) => part.classList.remove("lesson-lit"));
    },
  };
  stepThrough(view, block, section, block.steps, (_step, said, moved) => {
    patchChildren(section, node("div", { class: "lesson-tour" }, said));
    if (moved) light(true);
  });
  // The screen below may come a moment later than this part.
  setTimeout(() => light(false), 300);
}
