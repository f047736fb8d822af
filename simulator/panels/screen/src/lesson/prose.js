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
 * What must scroll so that a stretch of the page can be read: the edge that is brought to the window's edge, or null where
 * all is in sight. A stretch higher than the window is shown from the top of its last part, where one goes on.
 * @param {{ top: number, bottom: number }} first
 * @param {{ top: number, bottom: number }} last
 * @param {number} high of the window [px]
 * @param {string} how start: to the top of the window; nearest: just into it
 * @returns {["first" | "last", "start" | "end"] | null}
 */
export function stretchMove(first, last, high, how) {
  if (how === "start") return first.top < 0 || first.top > 0.2 * high ? ["first", "start"] : null;
  if (last.bottom - first.top > high) {
    const tall = last.bottom - last.top > high;
    if (last.top < 0 || (tall && last.top > 0.2 * high)) return ["last", "start"];
    return !tall && last.bottom > high ? ["last", "end"] : null;
  }
  if (first.top < 0) return ["first", "start"];
  return last.bottom > high ? ["last", "end"] : null;
}

let latest = 0; // the newest place that was brought into view: an older one no longer pulls the page about

/**
 * Bring a place into view unless it is there. What comes below it a little later must not push it out again.
 * @param {Element} section
 * @param {string} how
 * @param {Element} [last] the end of the stretch that is brought into view together
 */
export function bringIntoView(section, how, last = section) {
  latest += 1;
  const number = latest;
  let mine = true; // until the learner moves the page by hand
  const leave = () => (mine = false);
  const kinds = ["wheel", "pointerdown", "touchstart", "keydown"];
  kinds.forEach((kind) => window.addEventListener(kind, leave, { once: true, passive: true, capture: true }));
  const go = () => {
    if (!mine || number !== latest || !section.isConnected || !last.isConnected) return;
    const [from, to] = [section.getBoundingClientRect(), last.getBoundingClientRect()];
    if (!from.height && !to.height) return;
    const move = stretchMove(from, to, window.innerHeight, how);
    if (move)
      (move[0] === "first" ? section : last).scrollIntoView({
        block: move[1],
        behavior: prefersStill() ? "auto" : "smooth",
      });
  };
  for (const end of [section, last]) /** @type {HTMLElement} */ (end).style.scrollMargin = "12px";
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
 * Where a link leads: to another lesson, or to a page of the class at an address of its own.
 * @param {{ file?: string, address?: string }} link
 */
export function linkAddress(link) {
  return link.address || lessonAddress(link.file || "");
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
