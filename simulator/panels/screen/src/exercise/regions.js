// The regions of the exercise screen, in the order they are read.
import { htmlElement, patchChildren } from "../base/dom.js";

/**
 * The regions of the screen, made once.
 * @param {HTMLElement} host
 * @param {Record<string, string>} ids names of the headings that label regions
 */
export function buildParts(host, ids) {
  /**
   * @param {keyof HTMLElementTagNameMap} tag
   * @param {string} name
   * @param {Element} parent
   * @param {Record<string, string>} [attributes]
   */
  const part = (tag, name, parent, attributes) => {
    const element = htmlElement(tag, `ex-${name}`, parent);
    for (const [key, value] of Object.entries(attributes || {})) element.setAttribute(key, value);
    return element;
  };
  const root = part("div", "root palette", host, { "data-exercise": "" });
  const sheet = part("div", "sheet", root);
  const header = part("header", "header", sheet);
  const stage = part("section", "stage", sheet);
  const pictures = part("div", "pictures", stage);
  const instruments = part("div", "instruments", stage);
  const controls = part("div", "controls", stage);
  const upper = {
    header,
    stage,
    pictures,
    instruments,
    bar: part("div", "bar", controls),
    status: part("div", "status", controls, { role: "status" }),
    caption: part("p", "caption", controls),
    debrief: part("section", "debrief", sheet, { "aria-labelledby": ids.debrief }),
    ask: part("section", "ask", sheet, { "aria-labelledby": ids.ask }),
  };
  const lower = part("div", "lower", sheet);
  const tabs = part("div", "tabs", lower, { role: "group" });
  const acts = part("section", "card ex-card-acts", lower, { "aria-labelledby": ids.acts });
  const side = part("div", "side", lower);
  const parts = {
    ...upper,
    tabs,
    lower,
    acts,
    notes: part("section", "card ex-card-notes", side, { "aria-labelledby": ids.notes }),
    hint: part("section", "card ex-card-hint", side),
    call: part("section", "card ex-card-call", side, { "aria-labelledby": ids.call }),
    next: part("section", "next", sheet, { "aria-labelledby": ids.next }),
    caution: part("footer", "caution", sheet),
    live: part("div", "hidden", sheet, { "aria-live": "polite" }),
  };
  return { root, sheet, parts };
}

/**
 * Patch a part; an empty one leaves the page.
 * @param {HTMLElement} part
 * @param {Children} description
 */
export function fill(part, description) {
  const empty = !description || (Array.isArray(description) && description.length === 0);
  part.hidden = empty;
  patchChildren(part, empty ? [] : description);
}
