// A part of a lesson: blocks of prose, pictures and questions, described by the kernel and drawn here. A block keeps
// its own section, so that what is typed, the focus and what moves survive a change of the others.

const LESSON_PATIENCE = 6000; // ms after which a missing answer is worth a sentence

/** An id for a click, so that a click that arrives twice acts once. */
function lessonFreshId() {
  if (globalThis.crypto && crypto.randomUUID) return crypto.randomUUID();
  return `click-${Date.now()}-${Math.random().toString(36).slice(2)}`;
}

const LESSON_FIGURE = /(\d) (?=(?:kPa|bar|inHg|psi|mm|m|ft|s|min|kg|lb|L|gal)\b|%)/g;

/** Words with **strong** parts, as descriptions; a figure and its unit stay on one line. */
function lessonInline(sentence) {
  return String(sentence === undefined || sentence === null ? "" : sentence)
    .replace(LESSON_FIGURE, "$1\u00a0")
    .split(/\*\*(.+?)\*\*/g)
    .map((part, i) => (i % 2 ? node("strong", { key: i }, part) : part))
    .filter((part) => part !== "");
}

/** Bring a place into view unless it is there. What comes below it a little later must not push it out again. */
function lessonBring(section, how) {
  const away = () => {
    const box = section.getBoundingClientRect();
    if (!box.height) return false;
    return how === "start" ? box.top < 0 || box.top > 0.2 * window.innerHeight : box.top < 0 || box.bottom > window.innerHeight;
  };
  let mine = true; // until the learner moves the page by hand
  const leave = () => (mine = false);
  const kinds = ["wheel", "pointerdown", "touchstart", "keydown"];
  kinds.forEach((kind) => window.addEventListener(kind, leave, { once: true, passive: true, capture: true }));
  const go = () => {
    if (mine && section.isConnected && away()) section.scrollIntoView({ block: how, behavior: paletteStill() ? "auto" : "smooth" });
  };
  section.style.scrollMargin = "12px";
  go();
  setTimeout(go, 700);
  setTimeout(() => {
    go();
    kinds.forEach((kind) => window.removeEventListener(kind, leave, { capture: true }));
  }, 1600);
}

/** The address of another lesson beside this one, inside JupyterLab and as a page of its own. */
function lessonAddress(file) {
  const found = /^(.*\/tree\/)(.*\/)?[^/]+\.ipynb$/.exec(window.location.pathname);
  return found ? found[1] + (found[2] || "") + file : file;
}

const LESSON_BESIDE = new Set(["chart", "dials", "picture", "replay"]); // what stands beside a question
const LESSON_ASKED = new Set(["question", "expert"]);
const LESSON_GOES_ON = new Set(["buttons", "notice"]); // what comes right after an answer

/** For each block the number of the pair it stands in, questions beside what they are about; -1 for all others. */
function lessonPairs(blocks) {
  const pairs = blocks.map(() => -1);
  let count = 0;
  for (let i = 0; i < blocks.length; i += 1) {
    let end = i;
    while (end < blocks.length && (LESSON_ASKED.has(blocks[end].kind) || LESSON_BESIDE.has(blocks[end].kind))) end += 1;
    if (!blocks.slice(i, end).some((block) => LESSON_ASKED.has(block.kind))) continue;
    while (end < blocks.length && [LESSON_ASKED, LESSON_BESIDE, LESSON_GOES_ON].some((kinds) => kinds.has(blocks[end].kind))) end += 1;
    pairs.fill(count, i, end);
    count += 1;
    i = end - 1;
  }
  return pairs;
}

class LessonView {
  constructor(model, host) {
    this.model = model;
    this.pending = null;
    this.sections = new Map();
    this.pairs = [];
    this.root = paletteElement("div", "lesson-root palette", host);
    this.sheet = paletteElement("div", "lesson-sheet", this.root);
    this.status = paletteElement("div", "lesson-status", this.root);
    this.status.setAttribute("role", "status");
    this.status.hidden = true;
  }

  get content() {
    return this.model.get("content") || {};
  }

  /** A fixed label by its key. */
  word(key, fields) {
    return paletteFill((this.content.words || {})[key], fields);
  }

  start() {
    this.onContent = () => this.draw();
    this.onCustom = (message) => this.take(message);
    this.onKey = (event) => {
      // The notebook's one-letter commands must not act on a cell while someone types into this page.
      if (event.target instanceof Element && this.root.contains(event.target)) {
        event.target.setAttribute("data-lm-suppress-shortcuts", "true");
      }
    };
    this.model.on("change:content", this.onContent);
    this.model.on("msg:custom", this.onCustom);
    window.addEventListener("keydown", this.onKey, true);
    this.draw();
    this.stopGlossary = lessonGlossary(this);
  }

  stop() {
    this.stopGlossary?.();
    this.model.off("change:content", this.onContent);
    this.model.off("msg:custom", this.onCustom);
    window.removeEventListener("keydown", this.onKey, true);
    clearTimeout(this.waiting);
    for (const section of this.sections.values()) section.lessonLive?.destroy?.();
  }

  /** Ask the kernel to do something; one thing at a time, and one more that waits its turn. */
  act(action, args, key) {
    if (this.pending) {
      // What is new on the page may be clicked before the kernel has said that it is done: that click waits its turn.
      if ((key || action) !== this.pending.key) this.following = [action, args, key];
      return;
    }
    this.pending = { id: lessonFreshId(), key: key || action };
    if (action === "answer" || action === "hint") this.answered = args.question;
    this.model.send({ kind: "do", id: this.pending.id, action, args: args || {} });
    this.waiting = setTimeout(() => this.say(this.word("silent"), "wait"), LESSON_PATIENCE);
    this.draw();
  }

  take(message) {
    if (message.kind === "progress" && message.sentence !== undefined) {
      clearTimeout(this.waiting);
      this.say(message.sentence, "said");
      return;
    }
    if (message.kind === "done" && this.quiet?.has(message.id)) {
      const done = this.quiet.get(message.id);
      this.quiet.delete(message.id);
      if (!message.accepted) this.say(message.sentence || "", "wait");
      done(message);
      return;
    }
    if (message.kind !== "done" || !this.pending || message.id !== this.pending.id) return;
    clearTimeout(this.waiting);
    this.pending = null;
    this.say(message.sentence || "", message.accepted ? "said" : "wait");
    const following = this.following;
    this.following = null;
    if (following) this.act(...following);
    else this.draw();
  }

  say(sentence, tone) {
    this.status.hidden = !sentence;
    this.status.dataset.tone = tone;
    this.status.textContent = sentence;
  }

  draw() {
    const blocks = this.content.blocks || [];
    this.root.dataset.part = this.content.part || "";
    const wanted = new Set(blocks.map((block) => block.id));
    for (const [id, section] of [...this.sections]) {
      if (wanted.has(id)) continue;
      section.lessonLive?.destroy?.();
      section.remove();
      this.sections.delete(id);
    }
    const arrived = [];
    const pairs = lessonPairs(blocks);
    const held = document.activeElement;
    const last = new Map(); // the last that stands in each place
    blocks.forEach((block, number) => {
      let section = this.sections.get(block.id);
      if (!section || section.dataset.kind !== block.kind) {
        section?.lessonLive?.destroy?.();
        section?.remove();
        section = paletteElement("section", `lesson-block lesson-block-${block.kind}`);
        section.dataset.kind = block.kind;
        section.dataset.block = block.id;
        this.sections.set(block.id, section);
        section.lessonFresh = true;
      }
      // What comes of a click elsewhere on the page, such as a case handed in, asks to be brought into view by itself.
      const fresh = section.lessonFresh || section.lessonFor !== block.arrive_for;
      if (block.arrive && fresh && this.drawn && (this.pending || block.arrive_for !== undefined)) arrived.push([section, block.arrive]);
      section.lessonFresh = false;
      section.lessonFor = block.arrive_for;
      const place = this.placeOf(pairs[number], LESSON_BESIDE.has(block.kind), last);
      section.style.order = place === this.sheet ? "" : number;
      this.follow(place, section, last);
      LESSON_BLOCKS[block.kind](this, block, section);
    });
    this.pairs.splice(new Set(pairs.filter((pair) => pair >= 0)).size).forEach((pair) => pair.remove());
    this.pairs.forEach((pair) => pair.classList.toggle("lesson-pair-two", pair.firstChild.childElementCount > 0));
    if (held !== document.activeElement && held?.isConnected && this.root.contains(held)) held.focus({ preventScroll: true });
    this.drawn = true;
    if (this.answered && !this.pending) {
      const section = this.sections.get(this.answered);
      this.answered = null;
      if (section) arrived.unshift([section, "nearest"]);
    }
    arrived.forEach(([section, how]) => this.bring(section, how));
  }

  /** Where a block stands: in the sheet, or on one side of a pair, which is made when it is first wanted. */
  placeOf(number, figure, last) {
    if (number < 0) return this.sheet;
    let pair = this.pairs[number];
    if (!pair) {
      pair = this.pairs[number] = paletteElement("div", "lesson-pair");
      paletteElement("div", "lesson-pair-figures", pair);
      paletteElement("div", "lesson-pair-words", pair);
    }
    if (!last.has(pair)) {
      last.set(pair, null);
      this.follow(this.sheet, pair, last);
    }
    return figure ? pair.firstChild : pair.lastChild;
  }

  /** Put an element behind the last one of its place, without a move where it stands there already. */
  follow(place, element, last) {
    const before = last.get(place);
    const spot = before ? before.nextSibling : place.firstChild;
    if (spot !== element) place.insertBefore(element, spot);
    last.set(place, element);
  }

  /** Something new has come of a click in this part: bring it into view, and give it the focus where that was lost with what went. */
  bring(section, how) {
    lessonBring(section, how);
    if (document.activeElement === document.body || !document.activeElement) {
      section.tabIndex = -1;
      section.focus({ preventScroll: true });
    }
  }

  /** A button that asks the kernel for something. */
  button(label, action, args, options) {
    const { primary = false, key = action, off = false } = options || {};
    const busy = this.pending && this.pending.key === key;
    return node(
      "button",
      {
        key: `button:${key}`,
        type: "button",
        class: (primary ? "lesson-primary" : "lesson-secondary") + (busy ? " lesson-pending" : ""),
        "aria-disabled": off ? "true" : false,
        on: { click: () => !off && this.act(action, args, key) },
      },
      label
    );
  }
}

/** A place inside a section for something that draws itself, and a place for what is described. */
function lessonPlaces(section, ...names) {
  if (!section.lessonPlaces) {
    section.lessonPlaces = {};
    for (const name of names) section.lessonPlaces[name] = paletteElement("div", `lesson-${name}`, section);
  }
  return section.lessonPlaces;
}

function lessonRender({ model, el }) {
  const view = new LessonView(model, el);
  view.start();
  return () => view.stop();
}
