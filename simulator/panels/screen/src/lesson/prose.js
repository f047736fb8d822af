// Words of a lesson, the places they stand in, and bringing a place into view.
import { htmlElement, node } from "../base/dom.js";
import { prefersStill } from "../base/motion.js";

/**
 * Plain paragraphs of a block.
 * @param {string[] | undefined} list
 */
export function prose(list) {
  return (list || []).map((paragraph, i) => node("p", { key: i }, inlineText(paragraph)));
}

/**
 * What is asked, in bold; what it is asked about stands before it, in plain type.
 * @param {string} words
 */
export function askedText(words) {
  const [, facts, asked] = /^(.*[.:!”"])\s+([^.!]+\?)$/s.exec(words) || [null, "", words];
  return [
    facts ? node("p", { key: "facts", class: "lesson-facts" }, inlineText(facts)) : null,
    node("h3", { key: "text", class: "lesson-question" }, inlineText(asked)),
  ];
}

const FIGURE_AND_UNIT = /(\d) (?=(?:kPa|bar|inHg|psi|mm|m|ft|s|min|kg|lb|L|gal)\b|%)/g;

/**
 * Words with **strong** parts, as descriptions; a figure and its unit stay on one line.
 * @param {string | null | undefined} sentence
 */
export function inlineText(sentence) {
  return String(sentence === undefined || sentence === null ? "" : sentence)
    .replace(FIGURE_AND_UNIT, "$1\u00a0")
    .split(/\*\*(.+?)\*\*/g)
    .map((part, i) => (i % 2 ? node("strong", { key: i }, part) : part))
    .filter((part) => part !== "");
}

/**
 * Bring a place into view unless it is there. What comes below it a little later must not push it out again.
 * @param {BlockSection} section
 * @param {any} how
 */
export function bringIntoView(section, how) {
  const away = () => {
    const box = section.getBoundingClientRect();
    if (!box.height) return false;
    return how === "start"
      ? box.top < 0 || box.top > 0.2 * window.innerHeight
      : box.top < 0 || box.bottom > window.innerHeight;
  };
  let mine = true; // until the learner moves the page by hand
  const leave = () => (mine = false);
  const kinds = ["wheel", "pointerdown", "touchstart", "keydown"];
  kinds.forEach((kind) => window.addEventListener(kind, leave, { once: true, passive: true, capture: true }));
  const go = () => {
    if (mine && section.isConnected && away())
      section.scrollIntoView({ block: how, behavior: prefersStill() ? "auto" : "smooth" });
  };
  section.style.scrollMargin = "12px";
  go();
  setTimeout(go, 700);
  setTimeout(() => {
    go();
    kinds.forEach((kind) => window.removeEventListener(kind, leave, { capture: true }));
  }, 1600);
}

/**
 * The address of another lesson beside this one, inside JupyterLab and as a page of its own.
 * @param {string} file
 */
export function lessonAddress(file) {
  const found = /^(.*\/tree\/)(.*\/)?[^/]+\.ipynb$/.exec(window.location.pathname);
  return found ? found[1] + (found[2] || "") + file : file;
}

/**
 * A place inside a section for something that draws itself, and a place for what is described.
 * @param {BlockSection} section
 * @param {...any} names
 */
export function placesIn(section, ...names) {
  if (!section.lessonPlaces) {
    section.lessonPlaces = {};
    for (const name of names) section.lessonPlaces[name] = htmlElement("div", `lesson-${name}`, section);
  }
  return section.lessonPlaces;
}

/**
 * Steps of a hint taken so far, and a button for the next.
 * @param {LessonView} view
 * @param {QuestionBlock} block
 */
export function hintSteps(view, block) {
  if (!block.hint) return null;
  const { shown, more } = block.hint;
  if (!shown.length && !more) return null;
  return node(
    "div",
    { key: "hint", class: "lesson-hint" },
    shown.map((hint, i) => node("p", { key: i }, inlineText(hint))),
    more ? view.button(more, "hint", { question: block.id }, { key: `${block.id}:hint` }) : null,
  );
}

/**
 * Bring a part of the lesson into view and give it the focus.
 * @param {string} name
 * @param {any} [block]
 */
export function goToBlock(name, block) {
  const part = document.querySelector(`.lesson-root[data-part="${name}"]`);
  const root = (block && part?.querySelector(`[data-block="${block}"]`)) || part;
  if (!root) return;
  root.tabIndex = -1;
  root.focus({ preventScroll: true });
  root.scrollIntoView({ block: "start", behavior: prefersStill() ? "auto" : "smooth" });
}
