// One view of one exercise: builds the parts once, patches them when the page changes, and plays the run every frame.
import { node, patchChildren } from "../base/dom.js";
import { clockText, word } from "../base/format.js";
import { showHeld } from "../base/held.js";
import { freshId } from "../base/ids.js";
import { prefersStill } from "../base/motion.js";
import { YardSound } from "../base/sound.js";
import { actKey, describeActs, placeOfParts } from "./acts.js";
import { describeAsk, describeCoach, questionFirst, watchAsk } from "./ask.js";
import { describeCall } from "./call.js";
import { debriefBegins, describeDebrief } from "./debrief.js";
import { describeEngineBar, describeStatus, drawEngineBar } from "./engine_bar.js";
import { describeHeader } from "./header.js";
import { captionText, heardFrom } from "./heard.js";
import { EngineRoomLink } from "./link.js";
import { listen } from "./listening.js";
import { MoreBelow } from "./more_below.js";
import { describeNextLine, firstPlace, showStage, stepNow } from "./next_line.js";
import { describeNotes, settleNotes } from "./notes.js";
import { RunPlayer, takeSamples } from "./playback.js";
import { buildParts, fill } from "./regions.js";
import { ExerciseStage } from "./stage.js";
import { describeTabs } from "./tabs.js";
import { WholeWindow } from "./whole_window.js";

const SPANS = [60, 120, 180, 300, 600]; // s, what curve and slider reach over

export class ExerciseView {
  /**
   * @param {WidgetModel} model
   * @param {HTMLElement} host
   */
  constructor(model, host) {
    this.model = model;
    this.player = new RunPlayer();
    this.link = new EngineRoomLink(model, () => this.redraw());
    this.sound = new YardSound();
    /** @type {ExercisePage} */
    this.page = this.worded(model.get("page"));
    this.units = model.get("units") || "metric";
    /** @type {Record<string, string>} */
    this.ids = {};
    for (const name of ["acts", "notes", "call", "ask", "debrief", "next"]) this.ids[name] = `ex-${name}-${freshId()}`;
    this.back = false; // the learner has moved the slider to look back
    /** @type {string | null} */
    this.waitTold = null; // why the clock was last made to wait for the learner
    /** @type {number | null} */
    this.notesShown = null;
    /** @type {CallDraft | null} */
    this.draft = null;
    /** @type {string | null} */
    this.warned = null; // the act of which a first press has warned
    this.warnedOf = "acts.grave"; // the words that say what is at stake
    this.where = "quick"; // the place whose acts are listed
    /** @type {string[] | null} */
    this.partsPressed = null; // parts of the rig that were pressed in a picture, and their name
    this.partName = "";
    /** @type {Map<string, string>} */
    this.told = new Map(); // what each act told last
    /** @type {Pick<ActItem, "id" | "first" | "label"> | null} */
    this.lacking = null; // the act that was pressed while it still waited
    /** @type {[SamplesMessage, Float32Array][]} */
    this.early = []; // samples that overtook the page they belong to
    /** @type {Answer | null} */
    this.answer = null; // an answer that overtook its page
    this.frameState = "";
    this.askAway = false; // the open question is out of sight
    this.leaving = false;
    /** @type {import("./next_step.js").NextStep | null} */
    this.step = null; // what comes next in the whole window
    this.starved = false;
    this.caption = "";
    /** @type {string | null} */
    this.toldByRun = null; // the act with which a run came to something
    /** @type {{ done: number, total: number } | null} */
    this.progress = null;
    /** @type {{ run: RunPlayer["run"], version: number, upto: number, rpm: number } | null} */
    this.measured = null; // the tachometer's last figure
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.announcing = undefined;
    this.ticking = 0;
    const { root, sheet, parts } = buildParts(host, this.ids);
    this.root = root;
    this.sheet = sheet;
    this.parts = parts;
    this.more = new MoreBelow(this);
    this.whole = new WholeWindow(this);
    this.where = firstPlace(this.whole, this.page);
    this.stage = new ExerciseStage(this);
    this.unlisten = () => {};
  }

  start() {
    this.unlisten = listen(this);
    this.takePage(this.page);
    /** @param {number} now */
    const tick = (now) => {
      this.frame(now);
      this.ticking = requestAnimationFrame(tick);
    };
    this.ticking = requestAnimationFrame(tick);
    return () => this.stop();
  }

  stop() {
    cancelAnimationFrame(this.ticking);
    this.unlisten();
    this.sound.close();
    this.more.close();
    this.stage.close();
  }

  /**
   * The page with the words and codes that were sent once.
   * @param {ExercisePage} page
   */
  worded(page) {
    const { panel, picture, codes } = this.model.get("words") || {};
    return { words: panel, drawing_words: picture, codes, ...page };
  }

  // ---- what arrives ------------------------------------------------------------------------------------------

  /** @param {ExercisePage} page */
  takePage(page) {
    const before = this.page;
    const newRun = Boolean(page.run) && page.run?.id !== null && page.run?.id !== this.player.run;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    if (before.attempt !== page.attempt) {
      this.draft = null;
      this.notesShown = null;
      this.link.reply = null;
      this.leaving = false;
      this.where = firstPlace(this.whole, page);
      this.partsPressed = this.lacking = null;
      this.told.clear();
    }
    this.page = page;
    if (before.attempt !== page.attempt) this.player.forget();
    this.player.follow(page.run, page.phase === "debrief");
    if (page.run?.ended && page.run.ended.sentence !== before.run?.ended?.sentence) this.tellOfRun();
    this.player.heed(before, page);
    this.player.hold("class", Boolean(page.held)); // the trainer holds the class: the same second until it goes on
    showHeld(page.held);
    if (newRun) {
      if (this.where === "before") this.where = "quick"; // made safe and started: now one looks round
      this.back = false;
      this.player.hold("learner", false);
    } else if (page.run && this.player.run !== null) {
      // Minutes spent on an act while the engine ran: the clock runs on over them.
      this.player.reach(page.run.shown || 0, still);
    }
    const wait = page.phase === "debrief" ? null : page.run?.wait;
    if (wait && wait.key !== this.waitTold && this.player.skipTo === null) {
      this.player.hold("learner", true);
      this.announce(wait.sentence);
    }
    this.waitTold = wait ? wait.key : null;
    for (const [message, floats] of this.early.splice(0)) takeSamples(this, message, floats);
    this.whole.follow(page);
    this.stage.setPage(page, newRun);
    this.redraw();
    if (page.ask && before.attempt === page.attempt && before.ask?.id !== page.ask.id) this.showAsk();
    if (page.phase === "debrief" && before.phase && before.phase !== "debrief") this.showDebrief();
    if (before.attempt && before.attempt !== page.attempt && before.phase === "debrief") this.showTop();
    if (this.answer && (page.serial || 0) >= (this.answer.serial || 0)) this.takeAnswer(this.answer);
  }

  /**
   * @param {any} message
   * @param {DataView[]} buffers
   */
  takeMessage(message, buffers) {
    this.link.newest = Math.max(this.link.newest, message.serial || 0);
    if (message.kind === "samples") {
      const raw = buffers?.[0];
      const floats = raw
        ? new Float32Array(raw.buffer.slice(raw.byteOffset, raw.byteOffset + raw.byteLength))
        : new Float32Array();
      takeSamples(this, message, floats);
    } else if (message.kind === "progress") {
      this.progress = message;
      if (this.page.debrief_pending) this.redraw();
    } else if (message.kind === "ack") {
      if ((this.page.serial || 0) < (message.serial || 0)) this.answer = message;
      else this.takeAnswer(message);
    }
  }

  /** @param {any} message */
  takeAnswer(message) {
    this.answer = null;
    if (this.link.pending?.message.id === message.id && message.accepted) {
      const { key } = /** @type {NonNullable<typeof this.link.pending>} */ (this.link.pending);
      if (message.sentence) this.told.set(key, message.sentence);
      if (this.lacking && key === actKey(this.lacking)) this.lacking = null;
    }
    if (!this.link.answered(message, this.player)) return;
    if (message.accepted && message.id === this.toldByRun) this.link.reply = null;
    this.player.hold("act", this.link.pending !== null);
    if (message.sentence) this.announce(message.sentence);
    if (!message.accepted && this.lacking) this.showLacking();
  }

  /** What a run has come to is told in the status, in place of any answer before it and of the act that led to it. */
  tellOfRun() {
    this.toldByRun = this.link.pending?.message.id ?? null;
    this.link.reply = null;
  }

  /** What a refused act lacks stands among what makes it safe: have the first of it in sight. */
  showLacking() {
    const wanted = this.parts.acts.querySelector(".ex-wanted");
    const box = wanted?.getBoundingClientRect();
    if (box && (box.top < 0 || box.bottom > window.innerHeight))
      wanted?.scrollIntoView({ block: "center", behavior: prefersStill() ? "auto" : "smooth" });
  }

  // ---- what the learner does ---------------------------------------------------------------------------------

  /**
   * @param {string} key
   * @param {string} action
   * @param {any} args
   * @param {any} [risk]
   */
  act(key, action, args, risk) {
    if (this.link.busy(key) || this.link.lost || questionFirst(this, action)) return;
    if (risk === "grave" && this.warned !== key) {
      // One press says what is at stake; a slip of the finger must not end the call-out.
      this.warn(key, "acts.grave");
      // That it was tried is noted, with the reason; a second press does it.
      this.link.act(key, "nearly", { act: action, args }, this.player);
      return;
    }
    // An answer that is asked for in between is no change of mind.
    if (!key.startsWith("ask:")) this.warned = null;
    if (this.player.lookingBack) {
      this.announce(word(this.page, "bar.acts_now", { now: clockText(this.player.furthest) }));
      this.player.seek(this.player.furthest);
    }
    this.back = false;
    if (this.whole.told) this.whole.tell(false); // it lies over the gauges
    this.player.hold("act", true);
    this.link.act(key, action, args, this.player);
  }

  /** Say what is at stake at the first press of an act. @param {string} key @param {string} of in which words */
  warn(key, of) {
    this.warned = key;
    this.warnedOf = of;
    this.redraw();
    this.announce(word(this.page, of));
  }

  /**
   * List the acts of another place.
   * @param {string} where
   */
  goTo(where) {
    this.where = where;
    this.partsPressed = null;
    this.redraw();
    if (this.whole.open)
      this.parts.acts.querySelector(":is(.ex-lists, .ex-before)")?.scrollIntoView({ block: "nearest" });
  }

  /**
   * A part was pressed in a picture: list what can be done there, that part's acts first.
   * @param {string[]} parts
   * @param {string} name
   */
  pressPart(parts, name) {
    const where = placeOfParts(this.page, parts);
    if (!where || this.page.phase === "debrief") return;
    this.where = where;
    this.whole.tab = "do";
    this.partsPressed = parts;
    this.partName = name;
    this.redraw();
    const list = this.parts.acts.querySelector(".ex-lists");
    list?.scrollIntoView({ behavior: prefersStill() ? "auto" : "smooth", block: "nearest" });
    this.announce(this.parts.acts.querySelector(".ex-lists h3")?.textContent || "");
  }

  /** @param {number} rate */
  setRate(rate) {
    this.player.goAt(rate);
    this.player.hold("learner", false);
    this.link.shown(this.player, performance.now(), true);
    this.redraw();
  }

  /** @param {boolean} on */
  setHold(on) {
    this.player.hold("learner", on);
    this.link.shown(this.player, performance.now(), true);
    this.redraw();
  }

  /** @param {number} time */
  seek(time) {
    this.player.hold("learner", true);
    this.player.seek(time);
    this.back = this.player.lookingBack;
    this.redraw();
  }

  backToNow() {
    this.player.seek(this.player.furthest);
    this.player.hold("learner", false);
    this.back = false;
    this.redraw();
    /** @type {HTMLElement | null} */ (this.parts.bar.querySelector(".ex-slider"))?.focus();
  }

  /** @param {boolean} on */
  setLeaving(on) {
    this.leaving = on;
    this.redraw();
    if (this.whole.open) this.whole.focusNext();
  }

  /** @param {string} units */
  setUnits(units) {
    this.model.set("units", units);
    this.model.save_changes();
  }

  /** @param {boolean} on */
  async setSound(on) {
    await this.sound.set(on);
    this.redraw();
  }

  /** After the engine room has gone: ask the page to run the notebook again; where nobody listens, load it anew. */
  recover() {
    const event = new CustomEvent("simulator-continue", { bubbles: true, cancelable: true });
    if (this.root.dispatchEvent(event)) window.location.reload();
  }

  /** @param {string} sentence */
  announce(sentence) {
    this.parts.live.textContent = "";
    clearTimeout(this.announcing);
    this.announcing = setTimeout(() => (this.parts.live.textContent = sentence), 60);
  }

  /** A question that an act brought up is answered where one looks: in sight, with the focus. */
  showAsk() {
    if (!this.whole.open) this.parts.ask.scrollIntoView({ block: "center" });
    /** @type {HTMLElement | null} */ (this.parts.ask.querySelector("input, button"))?.focus({ preventScroll: true });
  }

  /** Start or stop the engine; what a start still waits for is shown if it is refused. */
  pressEngine() {
    const engine = this.page.engine || {};
    this.lacking =
      engine.running || !engine.first?.length
        ? null
        : { id: "start", first: engine.first, label: word(this.page, "bar.start") };
    const key = engine.running ? "engine:stop" : "engine:start";
    this.act(key, engine.running ? "stop_engine" : "start_engine", {}, engine.running ? "" : engine.risk);
  }

  showDebrief() {
    debriefBegins(this.parts.debrief);
    this.bring(this.parts.debrief);
  }

  /** A new call begins at its top, whatever was pressed at the foot of the last one. */
  showTop() {
    this.bring(this.parts.header);
  }

  /** @param {HTMLElement} part */
  bring(part) {
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    if (!this.whole.open) part.scrollIntoView({ behavior: still ? "auto" : "smooth", block: "start" });
  }

  // ---- drawing -----------------------------------------------------------------------------------------------

  /** How many seconds curve and slider reach over. */
  span() {
    const wanted = Math.max(this.page.curve?.span_s || 60, this.player.furthest + 1);
    return SPANS.find((span) => span >= wanted) || wanted;
  }

  /** @param {number} now */
  frame(now) {
    const { player, link, page } = this;
    this.whole.watch();
    watchAsk(this);
    player.advance(now);
    link.watch(now);
    link.keepUp(page.serial || 0, now);
    link.need(player, now);
    link.shown(player, now, false);
    if (this.back && !player.lookingBack) this.back = false;
    const sample = player.sample();
    this.stage.draw(sample);
    const heard = heardFrom(sample, page);
    this.sound.follow(heard, player.playing);
    this.caption = this.sound.on ? captionText(page, heard, player.playing) : "";
    this.starved = player.starved;
    drawEngineBar(this);
    const state = [this.starved, this.back && Math.floor(player.time), this.caption, player.playing].join("|");
    if (state !== this.frameState) {
      this.frameState = state;
      this.drawStatus();
    }
  }

  drawStatus() {
    const line = describeStatus(this);
    this.parts.status.dataset.tone = line.tone;
    this.parts.caption.textContent = this.caption || "";
    this.parts.caption.hidden = !this.caption;
    patchChildren(this.parts.status, node("div", { key: line.key, class: "ex-status-line" }, line.children));
  }

  redraw() {
    const { parts, page } = this;
    if (!page.header) return;
    const focused = Object.values(parts).find((part) => part.contains(document.activeElement));
    this.root.dataset.phase = page.phase || "work";
    this.root.dataset.mode = page.mode || "";
    patchChildren(parts.header, describeHeader(this));
    fill(parts.ask, this.whole.askFolded ? [] : describeAsk(this));
    this.sheet.dataset.tab = this.whole.tab;
    const was = this.step;
    this.step = stepNow(this);
    patchChildren(parts.bar, describeEngineBar(this));
    this.drawStatus();
    fill(parts.debrief, describeDebrief(this));
    fill(parts.tabs, describeTabs(this));
    fill(parts.acts, page.phase === "debrief" ? [] : describeActs(this));
    fill(parts.notes, describeNotes(this));
    fill(parts.hint, page.phase === "debrief" ? [] : describeCoach(this));
    fill(parts.call, page.phase === "debrief" ? [] : describeCall(this));
    fill(parts.next, describeNextLine(this));
    patchChildren(parts.caution, page.caution || "");
    settleNotes(this);
    drawEngineBar(this);
    this.more.ask();
    if (focused && !this.root.contains(document.activeElement)) this.refocus(focused);
    if (was && was.point !== "start" && this.step?.point === "start") showStage(this);
  }

  /**
   * The control that had the focus is gone: go on from the same part; where that is done, from the next step, else from
   * the engine bar.
   * @param {HTMLElement} part
   */
  refocus(part) {
    if (this.whole.open || part.hidden) this.whole.focusNext();
    if (this.whole.open || this.root.contains(document.activeElement)) return;
    const where = part.hidden ? this.parts.bar : part;
    /** @type {HTMLElement | null} */ (
      where.querySelector("button, select, input, [tabindex]") || this.parts.bar.querySelector("button")
    )?.focus();
  }
}

/** @param {{ model: WidgetModel, el: HTMLElement }} place */
export function renderExercise({ model, el }) {
  return new ExerciseView(model, el).start();
}
