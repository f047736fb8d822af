// A part of a lesson: blocks of prose, pictures and questions, described by the kernel and drawn here. A block keeps
// its own section, so that what is typed, the focus and what moves survive a change of the others.
import { htmlElement, node } from "../base/dom.js";
import { fillIn } from "../base/format.js";
import { showHeld } from "../base/held.js";
import { freshId } from "../base/ids.js";
import { BLOCK_KINDS } from "./block_kinds.js";
import { watchGlossary } from "./glossary.js";
import { pairBlocks, STANDS_BESIDE } from "./pairs.js";
import { bringIntoView } from "./prose.js";
import { Turns } from "./turns.js";

const PATIENCE = 6000; // ms after which it is said that the work goes on

const MOST_PATIENCE = 60000; // ms after which it is said what to do: a busy machine answers late

/**
 * A question that waits for its answer: when it comes, it and its options are what one goes on with.
 * @param {any} block
 */
const openQuestion = (block) => block.kind === "question" && (block.answer ?? null) === null;

export class LessonView {
  /**
   * @param {WidgetModel} model
   * @param {HTMLElement} host
   */
  constructor(model, host) {
    this.model = model;
    /** @type {string | null} */
    this.pending = null; // the id of what is under way
    this.turns = new Turns();
    /** @type {Map<string, (message: any) => void>} questions that hold nothing up, by their id */
    this.quiet = new Map();
    /** @type {string | null} */
    this.answered = null;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.waiting = undefined;
    this.drawn = false;
    /** @type {Element | null | undefined} Where the press stood that is being answered. */
    this.pressedIn = null;
    /** @type {[section: BlockSection, how: string][]} */
    this.arrived = []; // what has come of the press under way, and how it is brought into view
    /** @type {BlockSection | null} */
    this.newest = null; // the first section that has come of it
    /** @type {(() => void) | undefined} */
    this.stopGlossary = undefined;
    /** @type {Map<string, any>} */
    this.sections = new Map();
    /** @type {any[]} */
    this.pairs = [];
    /** @type {HTMLElement | undefined} */
    this.aside = undefined;
    this.root = htmlElement("div", "lesson-root palette", host);
    this.sheet = htmlElement("div", "lesson-sheet", this.root);
    this.status = htmlElement("div", "lesson-status", this.root);
    this.status.setAttribute("role", "status");
    this.status.hidden = true;
    this.listeners = this.createListeners();
  }

  get content() {
    return this.model.get("content") || {};
  }

  /**
   * A fixed label by its key.
   * @param {string} key
   * @param {Fields} [fields]
   */
  word(key, fields) {
    return fillIn(this.content.words?.[key], fields);
  }

  /** What is listened for, under names by which it can be let go again. */
  createListeners() {
    const onContent = () => this.draw();
    const onCustom = (/** @type {any} */ message) => this.take(message);
    const onKey = (/** @type {any} */ event) => {
      // The notebook's one-letter commands must not act on a cell while someone types into this page.
      if (event.target instanceof Element && this.root.contains(event.target)) {
        event.target.setAttribute("data-lm-suppress-shortcuts", "true");
      }
    };
    return { onContent, onCustom, onKey };
  }

  start() {
    this.model.on("change:content", this.listeners.onContent);
    this.model.on("msg:custom", this.listeners.onCustom);
    window.addEventListener("keydown", this.listeners.onKey, true);
    this.draw();
    this.stopGlossary = watchGlossary(this);
  }

  stop() {
    this.stopGlossary?.();
    this.model.off("change:content", this.listeners.onContent);
    this.model.off("msg:custom", this.listeners.onCustom);
    window.removeEventListener("keydown", this.listeners.onKey, true);
    clearTimeout(this.waiting);
    for (const section of this.sections.values()) section.lessonLive?.destroy?.();
  }

  /**
   * Ask the kernel to do something; one thing at a time. What is new on the page may be pressed before the kernel has
   * said that it is done: all of that waits its turn.
   * @param {string} action
   * @param {any} args
   * @param {string} [key]
   */
  act(action, args, key) {
    this.pressedIn = document.activeElement?.closest?.(".lesson-block");
    const now = this.turns.take({ action, args: args || {}, key: key || action });
    if (now) this.ask(now);
    else this.draw();
  }

  /** @param {import("./turns.js").Press} press */
  ask(press) {
    this.pending = freshId();
    this.arrived = [];
    this.newest = null;
    if (press.action === "answer" || press.action === "hint") this.answered = press.args.question;
    this.model.send({ kind: "do", id: this.pending, action: press.action, args: press.args });
    // The kernel takes it once the rest of the page has come: who presses early is told that it is not lost.
    if (document.body.dataset.lessonState === "running") this.say(this.word("early"), "said");
    this.waiting = setTimeout(() => {
      this.say(this.word("still"), "said");
      this.waiting = setTimeout(() => this.say(this.word("silent"), "wait"), MOST_PATIENCE - PATIENCE);
    }, PATIENCE);
    this.draw();
  }

  /** @param {any} message */
  take(message) {
    if (message.kind === "progress" && message.sentence !== undefined) {
      clearTimeout(this.waiting);
      this.say(message.sentence, "said");
      return;
    }
    if (message.kind === "done" && this.quiet.has(message.id)) {
      const done = this.quiet.get(message.id);
      this.quiet.delete(message.id);
      if (!message.accepted) this.say(message.sentence || "", "wait");
      done?.(message);
      return;
    }
    if (message.kind !== "done" || message.id !== this.pending) return;
    clearTimeout(this.waiting);
    this.pending = null;
    this.say(message.sentence || "", message.accepted ? "said" : "wait");
    const next = this.turns.done();
    if (next) this.ask(next);
    else this.draw();
  }

  /**
   * @param {string | null | undefined} sentence
   * @param {string} tone
   */
  say(sentence, tone) {
    this.status.hidden = !sentence;
    this.status.dataset.tone = tone;
    this.status.textContent = sentence ?? "";
  }

  draw() {
    const blocks = this.content.blocks || [];
    this.root.dataset.part = this.content.part || "";
    showHeld(this.content.held);
    const wanted = new Set(blocks.map((/** @type {any} */ block) => block.id));
    for (const [id, section] of [...this.sections]) {
      if (wanted.has(id)) continue;
      section.lessonLive?.destroy?.();
      section.remove();
      this.sections.delete(id);
    }
    /** @type {[section: BlockSection, how: string][]} */
    const arrived = [];
    const pairs = pairBlocks(blocks);
    const held = /** @type {HTMLElement | null} */ (document.activeElement);
    const last = new Map(); // the last that stands in each place
    blocks.forEach((/** @type {any} */ block, /** @type {number} */ number) => {
      let section = this.sections.get(block.id);
      if (!section || section.dataset.kind !== block.kind) {
        section?.lessonLive?.destroy?.();
        section?.remove();
        section = htmlElement("section", `lesson-block lesson-block-${block.kind}`);
        section.dataset.kind = block.kind;
        section.dataset.block = block.id;
        this.sections.set(block.id, section);
        section.lessonFresh = true;
      }
      // What comes of a click elsewhere on the page, such as a case handed in, asks to be brought into view by itself.
      const fresh = section.lessonFresh || section.lessonFor !== block.arrive_for;
      const comes = block.arrive && block.arrive !== "not";
      if (comes && fresh && this.drawn && (this.pending || block.arrive_for !== undefined))
        arrived.push([section, block.arrive]);
      else if (section.lessonFresh && this.drawn && this.pending && openQuestion(block) && block.arrive !== "not")
        arrived.push([section, "nearest"]);
      if (section.lessonFresh) this.newest ??= section;
      section.lessonFresh = false;
      section.lessonFor = block.arrive_for;
      const place = block.aside
        ? this.asidePlace(last)
        : this.placeOf(pairs[number], STANDS_BESIDE.has(block.kind), last);
      section.style.order = place === this.sheet ? "" : number;
      this.follow(place, section, last);
      this.drawBlock(block, section);
    });
    if (!last.has(this.aside)) this.aside?.remove();
    this.placeAnswer(blocks.at(-1));
    this.pairs.splice(new Set(pairs.filter((pair) => pair >= 0)).size).forEach((pair) => pair.remove());
    this.pairs.forEach((pair) => pair.classList.toggle("lesson-pair-two", pair.firstChild.childElementCount > 0));
    if (held !== document.activeElement && held?.isConnected && this.root.contains(held))
      held.focus({ preventScroll: true });
    this.drawn = true;
    const news = arrived.length > 0;
    if (this.pending) arrived.unshift(...this.arrived.splice(0));
    else if (!news) arrived.push(...this.arrived.splice(0)); // the answer has come: all that came of the press is in place
    if (this.answered && !this.pending) {
      const section = this.sections.get(this.answered);
      this.answered = null;
      if (section) arrived.unshift([section, "nearest"]);
    }
    if (!this.pending && this.pressedIn) {
      // What was pressed has gone and nothing says where to look now: nobody is left before an empty page.
      const gone = !this.root.contains(this.pressedIn);
      const shown = this.newest?.isConnected ? this.newest : this.sections.get(blocks.at(-1)?.id);
      if (gone && !arrived.length && shown) arrived.push([shown, "start"]);
      this.pressedIn = null;
    }
    if (this.pending) this.arrived = arrived;
    if (news || !this.pending) this.bringAll(arrived);
  }

  /**
   * What a press came to stands behind the blocks, but before the folded lines of how a work is done safely: they would
   * slip in between.
   * @param {Block | undefined} block the last one
   */
  placeAnswer(block) {
    const section = block?.kind === "safe" ? this.sections.get(block.id) : null;
    const before = section?.parentElement === this.sheet ? section : null;
    const home = before ? this.sheet : this.root;
    const own = this.status.parentElement === this.root || this.status.parentElement === this.sheet; // a desk has another
    if (own && (this.status.parentElement !== home || (before && before.previousElementSibling !== this.status)))
      home.insertBefore(this.status, before);
  }

  /**
   * @param {Block} block
   * @param {BlockSection} section
   */
  drawBlock(block, section) {
    const draw = /** @type {Record<string, (view: LessonView, block: Block, section: BlockSection) => unknown>} */ (
      BLOCK_KINDS
    );
    draw[block.kind](this, block, section);
  }

  /**
   * Where a block stands: in the sheet, or on one side of a pair, which is made when it is first wanted.
   * @param {number} number
   * @param {boolean} figure
   * @param {Map<Element, Element | null>} last
   */
  placeOf(number, figure, last) {
    if (number < 0) return this.sheet;
    let pair = this.pairs[number];
    if (!pair) {
      pair = this.pairs[number] = htmlElement("div", "lesson-pair");
      htmlElement("div", "lesson-pair-figures", pair);
      htmlElement("div", "lesson-pair-words", pair);
    }
    if (!last.has(pair)) {
      last.set(pair, null);
      this.follow(this.sheet, pair, last);
    }
    return figure ? pair.firstChild : pair.lastChild;
  }

  /**
   * The box beside a desk, which stays in sight while one works further down; made when it is first wanted.
   * @param {Map<any, Element | null>} last
   */
  asidePlace(last) {
    this.aside ??= htmlElement("div", "lesson-aside");
    if (!last.has(this.aside)) {
      last.set(this.aside, null);
      this.follow(this.sheet, this.aside, last);
    }
    return this.aside;
  }

  /**
   * Put an element behind the last one of its place, without a move where it stands there already.
   * @param {HTMLElement} place
   * @param {HTMLElement} element
   * @param {Map<Element, Element | null>} last
   */
  follow(place, element, last) {
    const before = last.get(place);
    const next = before ? before.nextSibling : place.firstChild;
    const spot = next === this.status && element !== this.status ? next.nextSibling : next;
    if (spot !== element) place.insertBefore(element, spot);
    last.set(place, element);
  }

  /**
   * Something new has come of a click: bring it into view as one stretch, and give it the focus where it is the next thing to
   * begin with, or where the focus was lost with what went.
   * @param {[section: BlockSection, how: string][]} arrived
   */
  bringAll(arrived) {
    const here = arrived.filter(([section]) => section.isConnected);
    if (!here.length) return;
    const start = here.find(([, how]) => how === "start");
    const [section, how] = start ?? here[0];
    bringIntoView(section, how, start ? section : here[here.length - 1][0]);
    if (how === "start" || document.activeElement === document.body || !document.activeElement) {
      section.tabIndex = -1;
      section.focus({ preventScroll: true });
    }
  }

  /**
   * A button that asks the kernel for something.
   * @param {string} label
   * @param {string} action
   * @param {any} args
   * @param {any} [options]
   */
  button(label, action, args, options) {
    const { primary = false, key = action, off = false } = options || {};
    const busy = this.turns.busy(key);
    return node(
      "button",
      {
        key: `button:${key}`,
        type: "button",
        class: (primary ? "lesson-primary" : "lesson-secondary") + (busy ? " lesson-pending" : ""),
        "aria-disabled": off ? "true" : false,
        on: { click: () => !off && this.act(action, args, key) },
      },
      label,
    );
  }
}

/** @param {{ model: WidgetModel, el: HTMLElement }} place */
export function renderLesson({ model, el }) {
  const view = new LessonView(model, el);
  view.start();
  return () => view.stop();
}
