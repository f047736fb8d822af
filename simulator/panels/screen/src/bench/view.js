// The trainer's view of a demonstration: stage and engine bar of the exercise, what is done to the rig, and the wall.
import { htmlElement, node, patchChildren } from "../base/dom.js";
import { fillIn } from "../base/format.js";
import { watchTheme } from "../base/theme.js";
import { describeEngineBar, drawEngineBar } from "../exercise/engine_bar.js";
import { EngineRoomLink } from "../exercise/link.js";
import { RunPlayer, takeSamples } from "../exercise/playback.js";
import { ExerciseStage } from "../exercise/stage.js";
import { PageAddress } from "../lesson/page_address.js";
import { describeCards } from "./cards.js";
import { describeTools } from "./tools.js";
import { WallLine } from "./wall_line.js";

const SPANS = [60, 120, 180, 300, 600, 1200, 1800]; // s, what curve and slider reach over
const BACK = 10; // s
const LOOK_EVERY = 400; // ms between two seconds that are told while one looks back
const FRAME_LATE = 150; // ms without a frame after which the wall's ticks drive the clock: this window is covered

export class BenchView {
  /**
   * @param {WidgetModel} model
   * @param {HTMLElement} host
   */
  constructor(model, host) {
    this.model = model;
    this.player = new RunPlayer();
    this.link = new EngineRoomLink(model, () => this.redraw());
    /** @type {BenchPage} */
    this.page = this.worded(model.get("page"));
    this.units = model.get("units") || "metric";
    /** @type {Record<string, any>} */
    this.draft = { fault: "", place: "", size: "", over: "0", question: "", name: "" };
    /** @type {Map<string, string>} what is typed and not sent yet */
    this.typed = new Map();
    /** @type {string | null} */
    this.warned = null;
    /** @type {EngineBarHost["measured"]} */
    this.measured = null;
    this.whole = { open: false };
    this.back = false;
    this.status = "";
    this.blocked = false;
    this.wallSeen = false;
    /** @type {string | undefined} */
    this.asked = this.page.asked?.id;
    /** @type {[SamplesMessage, Float32Array][]} */
    this.early = [];
    /** @type {Answer | null} */
    this.answer = null;
    this.framed = 0;
    this.looked = 0; // ms, when the second was told that is looked at again
    /** @type {number | null} */
    this.lookedAt = null; // s, which one that was
    this.ticking = 0;
    this.address = new PageAddress();
    /** @type {Window | null} */
    this.wallWindow = null;
    this.root = htmlElement("div", "ex-root palette bench-root", host);
    const sheet = htmlElement("div", "ex-sheet", this.root);
    const tools = htmlElement("div", "bench-tools", sheet);
    const stage = htmlElement("section", "ex-stage", sheet);
    const pictures = htmlElement("div", "ex-pictures", stage);
    const instruments = htmlElement("div", "ex-instruments", stage);
    const controls = htmlElement("div", "ex-controls", stage);
    const bar = htmlElement("div", "ex-bar", controls);
    const status = htmlElement("div", "ex-status", controls);
    const cards = htmlElement("div", "bench-cards", sheet);
    const caution = htmlElement("footer", "ex-caution", sheet);
    this.parts = { tools, pictures, instruments, bar, status, cards, caution };
    this.stage = new ExerciseStage(this);
    const kit = model.get("wall_kit");
    this.kit = kit;
    this.wall = new WallLine(
      kit,
      () => model.get("wall"),
      (message) => this.hearWall(message),
    );
    this.listeners = {
      onPage: () => this.takePage(this.worded(model.get("page"))),
      onWall: () => this.wall.sendPage(),
      onUnits: () => {
        this.units = model.get("units") || "metric";
        this.stage.setUnits(this.units);
        this.redraw();
      },
      /** @param {any} message @param {DataView[]} buffers */
      onCustom: (message, buffers) => this.takeMessage(message, buffers),
      onComm: () => {
        setTimeout(() => this.root.closest(".jupyter-widgets-disconnected") && this.link.lose(), 0);
      },
      /** @param {KeyboardEvent} event */
      onKey: (event) => {
        // The notebook's one-letter commands must not act on a cell while someone types into this page.
        if (event.target instanceof Element && this.root.contains(event.target))
          event.target.setAttribute("data-lm-suppress-shortcuts", "true");
      },
    };
    this.unwatch = () => {};
  }

  start() {
    const { model, listeners } = this;
    model.on("change:page", listeners.onPage);
    model.on("change:wall", listeners.onWall);
    model.on("change:units", listeners.onUnits);
    model.on("msg:custom", listeners.onCustom);
    model.on("comm_live_update", listeners.onComm);
    window.addEventListener("keydown", listeners.onKey, true);
    this.unwatch = watchTheme(() => this.wall.sendPage());
    this.takePage(this.page);
    this.wall.greet(); // a wall that is open since before goes on
    /** @param {number} now */
    const tick = (now) => {
      this.frame(now);
      this.ticking = requestAnimationFrame(tick);
    };
    this.ticking = requestAnimationFrame(tick);
  }

  stop() {
    const { model, listeners } = this;
    cancelAnimationFrame(this.ticking);
    model.off("change:page", listeners.onPage);
    model.off("change:wall", listeners.onWall);
    model.off("change:units", listeners.onUnits);
    model.off("msg:custom", listeners.onCustom);
    model.off("comm_live_update", listeners.onComm);
    window.removeEventListener("keydown", listeners.onKey, true);
    this.unwatch();
    this.wall.close();
    this.address.end();
    this.stage.close();
  }

  /**
   * The page with the words that were sent once.
   * @param {BenchPage} page
   */
  worded(page) {
    const { panel, picture, codes } = this.model.get("words") || {};
    return { words: panel, drawing_words: picture, codes, ...page };
  }

  /**
   * A word of the bench's own.
   * @param {string} key
   * @param {Fields} [fields]
   */
  word(key, fields) {
    return fillIn(this.model.get("words")?.bench?.view?.[key], fields);
  }

  // ---- what arrives ------------------------------------------------------------------------------------------

  /** @param {BenchPage} page */
  takePage(page) {
    const newRun = (page.run?.id ?? null) !== this.player.run;
    this.page = page;
    this.player.follow(page.run);
    if (newRun) {
      this.back = false;
      this.player.hold("learner", (page.run?.shown ?? 0) > 0); // one that was taken up or taken back begins held
    }
    if (page.asked && page.asked.id !== this.asked) this.player.hold("learner", true);
    this.asked = page.asked?.id;
    for (const [message, floats] of this.early.splice(0)) takeSamples(this, message, floats);
    this.stage.setPage(page, newRun);
    if (this.answer && (page.serial || 0) >= (this.answer.serial || 0)) this.takeAnswer(this.answer);
    this.redraw();
  }

  /**
   * @param {any} message
   * @param {DataView[]} buffers
   */
  takeMessage(message, buffers) {
    if (message.kind === "ack") {
      if ((this.page.serial || 0) < (message.serial || 0)) this.answer = message;
      else this.takeAnswer(message);
      return;
    }
    const raw = buffers?.[0];
    const floats = raw
      ? new Float32Array(raw.buffer.slice(raw.byteOffset, raw.byteOffset + raw.byteLength))
      : new Float32Array();
    if (message.kind === "samples") takeSamples(this, message, floats);
    else if (message.kind === "wall") this.wall.sendSamples(message.message, floats);
  }

  /** @param {Answer} message */
  takeAnswer(message) {
    this.answer = null;
    if (!this.link.answered(message, this.player)) return;
    this.player.hold("act", this.link.pending !== null);
    this.status = message.sentence || "";
    this.redraw();
  }

  /** @param {any} message */
  hearWall(message) {
    const { player } = this;
    if (message.kind === "need")
      this.link.post({ kind: "need", wall: true, run: message.run, from: message.from, shown: player.furthest });
    else if (message.kind === "hold") this.setHold(message.on === true);
    else if (message.kind === "back") this.goBack();
    const now = performance.now();
    if (now - this.framed > FRAME_LATE) this.frame(now);
  }

  // ---- what the trainer does -----------------------------------------------------------------------------------

  /**
   * @param {string} key
   * @param {string} action
   * @param {any} args
   */
  act(key, action, args) {
    if (this.link.busy(key) || this.link.lost) return;
    if (this.player.lookingBack && action !== "back_to") this.player.seek(this.player.furthest);
    if (action !== "back_to") this.back = false;
    this.status = "";
    this.player.hold("act", true);
    this.link.act(key, action, args, this.player);
  }

  /**
   * An act that changes no run, such as what is told or shown: time goes on.
   * @param {string} key
   * @param {string} action
   * @param {any} args
   */
  set(key, action, args) {
    this.status = "";
    this.link.act(key, action, args, this.player);
  }

  pressEngine() {
    const running = this.page.engine?.running;
    this.act(running ? "engine:stop" : "engine:start", running ? "stop_engine" : "start_engine", {});
  }

  /** @param {number} rate */
  setRate(rate) {
    this.player.rate = rate;
    this.setHold(false);
  }

  /** @param {boolean} on */
  setHold(on) {
    this.player.hold("learner", on);
    this.link.shown(this.player, performance.now(), true);
    this.wall.sendClock(this.player, performance.now());
    this.redraw();
  }

  /** @param {number} time */
  seek(time) {
    this.player.hold("learner", true);
    this.player.seek(time);
    this.back = this.player.lookingBack;
    this.wall.sendClock(this.player, performance.now());
    this.redraw();
  }

  goBack() {
    this.seek(this.player.time - BACK);
  }

  replay() {
    this.seek(0);
    this.setHold(false);
  }

  fromHere() {
    this.act("back_to", "back_to", { t: this.player.time });
  }

  openWall() {
    const url = this.address.of(this.kit.document);
    if (this.wallWindow && !this.wallWindow.closed) this.wallWindow.focus();
    else this.wallWindow = window.open(url, this.kit.channel, "popup,width=1280,height=720");
    this.blocked = !this.wallWindow;
    this.redraw();
  }

  /** @param {string} units */
  setUnits(units) {
    this.model.set("units", units);
    this.model.save_changes();
  }

  pressPart() {}

  /** After the engine room has gone: ask the page to run the notebook again; where nobody listens, load it anew. */
  recover() {
    const event = new CustomEvent("simulator-continue", { bubbles: true, cancelable: true });
    if (this.root.dispatchEvent(event)) window.location.reload();
  }

  // ---- drawing -----------------------------------------------------------------------------------------------

  /** How many seconds curve and slider reach over. */
  span() {
    const wanted = Math.max(60, this.player.furthest + 1);
    return SPANS.find((span) => span >= wanted) || wanted;
  }

  /** @param {number} now */
  frame(now) {
    const { player, link } = this;
    this.framed = performance.now();
    player.advance(now);
    link.watch(now);
    link.need(player, now);
    link.shown(player, now, false);
    if (this.back && !player.lookingBack) {
      this.back = false;
      this.redraw();
    }
    if (this.wallSeen !== this.wall.open) {
      this.wallSeen = this.wall.open;
      this.redraw();
    }
    this.tellLook(now);
    this.stage.draw(player.sample());
    drawEngineBar(this);
    this.wall.sendClock(player, now);
  }

  /**
   * While one looks back, tell which second that is: what had come by then is told and drawn, on the wall too.
   * @param {number} now
   */
  tellLook(now) {
    const { player, link } = this;
    const at = player.lookingBack ? Math.floor(player.time) : null;
    if (at === this.lookedAt || (at !== null && now - this.looked < LOOK_EVERY)) return;
    this.lookedAt = at;
    this.looked = now;
    if (player.run !== null) link.post({ kind: "look", run: player.run, t: at });
    this.redraw();
  }

  describeStatus() {
    const { link, player } = this;
    if (link.lost || link.pending?.silent)
      return [
        node("span", { key: "lost" }, this.page.words?.link?.lost ?? ""),
        node(
          "button",
          { key: "go", type: "button", class: "ex-small", on: { click: () => this.recover() } },
          this.page.words?.link?.lost_go ?? "",
        ),
      ];
    if (this.back && player.lookingBack)
      return [
        node("span", { key: "says" }, this.word("from_here_says", { t: Math.floor(player.time) })),
        node(
          "button",
          { key: "here", type: "button", class: "ex-small bench-here", on: { click: () => this.fromHere() } },
          this.word("from_here"),
        ),
      ];
    return [node("span", { key: "said" }, this.status || this.word("caption"))];
  }

  redraw() {
    const { parts } = this;
    if (!this.page.header) return;
    patchChildren(parts.tools, describeTools(this));
    patchChildren(parts.bar, describeEngineBar(this));
    // a replay says its second each second: to eyes alone
    const live = this.back && !this.player.holds.has("learner") ? "off" : "polite";
    parts.status.dataset.tone = this.back ? "back" : "quiet";
    const button = (/** @type {string} */ key, /** @type {string} */ label, /** @type {() => void} */ press) =>
      node("button", { key, type: "button", class: "ex-small", on: { click: press } }, this.word(label));
    patchChildren(
      parts.status,
      node(
        "div",
        { key: "line", class: "ex-status-line bench-status" },
        node("div", { key: "says", class: "ex-status-line", role: "status", "aria-live": live }, this.describeStatus()),
        node(
          "div",
          { key: "back", class: "ex-choices" },
          button("ten", "back", () => this.goBack()),
          button("replay", "replay", () => this.replay()),
        ),
      ),
    );
    patchChildren(parts.cards, describeCards(this));
    patchChildren(parts.caution, this.page.caution || "");
    drawEngineBar(this);
  }
}

/** @param {{ model: WidgetModel, el: HTMLElement }} place */
export function renderBench({ model, el }) {
  const view = new BenchView(model, el);
  view.start();
  return () => view.stop();
}
