// Words of the trade in the text of a lesson: the first of each in a section opens what it means, with a picture. The text
// is searched after it is drawn, so no lesson has to mark anything; what a redraw takes away is put back at once.
import { htmlElement } from "../base/dom.js";
import { fillIn } from "../base/format.js";
import { glossaryPicture } from "./glossary_pictures.js";
import { bringIntoView } from "./prose.js";

const GLOSSARY_SEARCHED = ".lesson-sheet .lesson-block :is(p, li, dd)";

const GLOSSARY_LEFT_OUT =
  "button, a, label, summary, select, input, h1, h2, h3, svg, [aria-hidden='true'], .gloss-panel, .gloss-word, .still-chart, .lesson-step, .lesson-kicker";

const GLOSSARY_MOVING = "svg, .pic, .still-chart, .lesson-face, .lesson-figure"; // drawings that change while they play

class LessonGlossary {
  /**
   * @param {HTMLElement} root
   * @param {any} glossary
   */
  constructor(root, glossary) {
    this.root = root;
    this.words = glossary.words || {};
    this.terms = glossary.terms || {};
    /** @type {any} */
    this.open = null; // {section, term}
    const forms = Object.entries(this.terms).flatMap(([id, term]) =>
      term.forms.map((/** @type {any} */ form) => [form.toLowerCase(), id]),
    );
    this.byForm = new Map(forms);
    const longest = forms.map(([form]) => form).sort((a, b) => b.length - a.length);
    const escaped = longest.map((form) => form.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
    /** @type {any} the words of the trade as one pattern; null where there are none */
    this.pattern = forms.length
      ? new RegExp(`(?<![\\p{L}\\p{N}-])(?:${escaped.join("|")})(?![\\p{L}\\p{N}])`, "giu")
      : null;
    /** @type {any} */
    this.focused = null;
    this.watcher = new MutationObserver((changes) => {
      if (
        changes.some(
          ({ target }) => !(/** @type {Element} */ (target.parentElement || target).closest(GLOSSARY_MOVING)),
        )
      )
        this.link();
    });
  }

  start() {
    if (!this.pattern) return;
    this.link();
  }

  stop() {
    this.watcher.disconnect();
  }

  link() {
    this.watcher.disconnect();
    const held = this.focused;
    const sections = new Map();
    for (const place of this.root.querySelectorAll(GLOSSARY_SEARCHED)) {
      if (place.closest(GLOSSARY_LEFT_OUT)) continue;
      const section = place.closest("section");
      if (!sections.has(section)) sections.set(section, []);
      sections.get(section).push(place);
    }
    for (const [section, places] of sections) this.linkSection(section, places);
    this.showOpen();
    if (held && !held.isConnected && document.activeElement === document.body)
      this.find(held.glossSection, held.dataset.term)?.focus({ preventScroll: true });
    this.watcher.observe(this.root, { childList: true, subtree: true, characterData: true });
  }

  /**
   * @param {BlockSection} section
   * @param {any} places
   */
  linkSection(section, places) {
    const seen = new Set();
    for (const place of places) {
      for (const text of this.texts(place)) {
        if (text.word) seen.add(text.word);
        else this.linkText(text.node, section, seen);
      }
    }
  }

  /**
   * The pieces of text of a place in their order; words that are linked already give their term.
   * @param {HTMLElement} place
   */
  texts(place) {
    const walk = document.createTreeWalker(place, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
    const out = [];
    while (walk.nextNode()) {
      /** @type {any} */
      const at = walk.currentNode;
      if (at.nodeType === Node.TEXT_NODE) {
        if (!at.parentElement.closest(GLOSSARY_LEFT_OUT)) out.push({ node: at });
      } else if (at.classList.contains("gloss-word")) out.push({ word: at.dataset.term });
    }
    return out;
  }

  /**
   * @param {any} text
   * @param {BlockSection} section
   * @param {any} seen
   */
  linkText(text, section, seen) {
    let rest = text;
    this.pattern.lastIndex = 0;
    for (const found of [...text.data.matchAll(this.pattern)]) {
      const id = this.byForm.get(found[0].toLowerCase());
      if (seen.has(id)) continue;
      seen.add(id);
      const from = (found.index ?? 0) - this.offset(text, rest);
      const word = rest.splitText(from);
      rest = word.splitText(found[0].length);
      word.replaceWith(this.word(word.data, id, section));
    }
  }

  /**
   * How many signs of the first piece of text stand before another piece of it.
   * @param {any} first
   * @param {any} piece
   */
  offset(first, piece) {
    let count = 0;
    for (let node = first; node !== piece; node = node?.nextSibling) count += node.textContent?.length ?? 0;
    return count;
  }

  /**
   * @param {string} content
   * @param {string} id
   * @param {BlockSection} section
   */
  word(content, id, section) {
    /** @type {any} a word of the text that keeps the section it stands in */
    const node = htmlElement("span", "gloss-word", null, content);
    node.dataset.term = id;
    node.glossSection = section.dataset.block;
    node.tabIndex = 0;
    node.setAttribute("role", "button");
    node.setAttribute("aria-expanded", "false");
    node.title = this.words.hint || "";
    node.addEventListener("click", () => this.toggle(node));
    node.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Enter" || event.key === " ") {
        event.preventDefault();
        this.toggle(node);
      } else if (event.key === "Escape" && this.open) {
        event.stopPropagation();
        this.close();
      }
    });
    node.addEventListener("focus", () => (this.focused = node));
    node.addEventListener("blur", () => {
      if (node.isConnected) this.focused = null;
    });
    return node;
  }

  /**
   * @param {BlockSection} section
   * @param {string} term
   */
  find(section, term) {
    return /** @type {any[]} */ ([...this.root.querySelectorAll(".gloss-word")]).find(
      (node) => node.glossSection === section && node.dataset.term === term,
    );
  }

  /** @param {any} node */
  toggle(node) {
    /** @type {any} */
    const same = this.open && this.open.section === node.glossSection && this.open.term === node.dataset.term;
    this.open = same ? null : { section: node.glossSection, term: node.dataset.term };
    this.link();
    // Its meaning comes into view, with the words it belongs to where there is room for both.
    const panel = this.root.querySelector(".gloss-panel");
    if (this.open && panel) bringIntoView(node.closest("p, li, dd") ?? panel, "nearest", panel);
  }

  close() {
    const { section, term } = this.open;
    this.open = null;
    this.link();
    this.find(section, term)?.focus({ preventScroll: true });
  }

  /** The open meaning stands right under the paragraph of its word, where reading goes on. */
  showOpen() {
    for (const node of this.root.querySelectorAll('.gloss-word[aria-expanded="true"]'))
      node.setAttribute("aria-expanded", "false");
    const word = this.open && this.find(this.open.section, this.open.term);
    /** @type {HTMLElement | null} */
    const there = this.root.querySelector(".gloss-panel");
    if (!word) {
      there?.remove();
      return;
    }
    word.setAttribute("aria-expanded", "true");
    const place = word.closest("p, li, dd");
    if (
      there &&
      there.dataset.term === this.open.term &&
      there.parentElement === (place.localName === "p" ? place.parentElement : place)
    )
      return;
    there?.remove();
    const panel = this.panel(this.open.term);
    if (place.localName === "p") place.after(panel);
    else place.append(panel);
  }

  /** @param {string} id */
  panel(id) {
    const term = this.terms[id];
    const panel = htmlElement("div", "gloss-panel palette pic");
    panel.dataset.term = id;
    panel.setAttribute("role", "note");
    panel.setAttribute("aria-label", term.name);
    const figure = htmlElement("div", "gloss-picture", panel);
    glossaryPicture(figure, term.picture, fillIn(this.words.picture, { name: term.name }));
    const words = htmlElement("div", "gloss-words", panel);
    htmlElement("strong", "gloss-name", words, term.name);
    htmlElement("span", "gloss-text", words, term.text);
    const button = htmlElement("button", "lesson-secondary", words, this.words.close);
    button.type = "button";
    button.addEventListener("click", () => this.close());
    panel.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      event.stopPropagation();
      this.close();
    });
    return panel;
  }
}

/**
 * Link the words of a lesson part; returns a function that stops it.
 * @param {LessonView} view
 */
export function watchGlossary(view) {
  const glossary = new LessonGlossary(view.root, view.model.get("glossary") || {});
  glossary.start();
  return () => glossary.stop();
}
