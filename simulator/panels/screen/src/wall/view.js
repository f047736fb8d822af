// The wall: gauges, curve and pictures of a demonstration, fed by the line from the trainer's page and by nothing else.
import { htmlElement, node, patchChildren } from "../base/dom.js";
import { fillIn, wholeSeconds } from "../base/format.js";
import { EngineRoomLink } from "../exercise/link.js";
import { RunPlayer } from "../exercise/playback.js";
import { ExerciseStage } from "../exercise/stage.js";

const TICK = 100; // ms between two words that the wall is there: they keep the clock going where the other window is covered
const LOST = 4000; // ms without a word after which the wall says so
const APART = 0.2; // s of the wall's clock beside the trainer's that no eye sees, at single speed

export class WallView {
  /**
   * @param {HTMLElement} host
   * @param {Pick<BroadcastChannel, "postMessage">} channel
   */
  constructor(host, channel) {
    this.channel = channel;
    this.player = new RunPlayer();
    this.link = new EngineRoomLink(
      { send: (/** @type {any} */ message) => message.kind === "need" && this.post(message) },
      () => {},
    );
    /** @type {WallPage} */
    this.page = /** @type {any} */ ({});
    this.units = "metric";
    /** @type {Record<string, any>} */
    this.words = {};
    this.whole = { open: true };
    this.heardAt = -Infinity;
    this.toldAt = -Infinity;
    this.lookingBack = false;
    this.held = false;
    this.second = "";
    /** @type {[SamplesMessage, Float32Array][]} */
    this.early = [];
    this.root = htmlElement("div", "ex-root palette wall-root", host);
    const head = htmlElement("header", "wall-head", this.root);
    const pictures = htmlElement("div", "ex-pictures", this.root);
    const instruments = htmlElement("div", "ex-instruments", this.root);
    const says = htmlElement("div", "wall-says", this.root);
    says.setAttribute("aria-live", "polite");
    const foot = htmlElement("footer", "wall-foot", this.root);
    this.parts = { head, pictures, instruments, says, foot };
    this.stage = new ExerciseStage(this);
  }

  /** @param {any} message */
  post(message) {
    this.channel.postMessage({ ...message, to: "bench" });
  }

  /** @param {any} message */
  take(message) {
    if (message?.to !== "wall") return;
    this.heardAt = performance.now();
    if (message.theme !== undefined) document.body.dataset.jpThemeLight = message.theme;
    if (message.kind === "begin") this.words = message.words;
    if (message.page) this.takePage(message.page);
    if (message.kind === "samples") this.takeSamples(message.message, message.floats);
    if (message.kind === "clock") this.takeClock(message);
    if (message.kind === "gone") this.heardAt = -Infinity;
  }

  /** @param {WallPage} page */
  takePage(page) {
    const newRun = (page.run?.id ?? null) !== this.player.run;
    const inside = page.see_through !== this.page.see_through;
    this.page = { ...page, drawing_words: this.words.picture };
    if (page.units !== this.units) {
      this.units = page.units;
      this.stage.setUnits(this.units);
    }
    this.player.follow(page.run);
    if (newRun) this.player.hold("learner", true); // until the trainer's clock is heard
    if (inside) {
      this.player.channels.clear(); // what was seen inside is not kept, and what is to be seen there is asked for
      this.player.count = 0;
    }
    for (const [message, floats] of this.early.splice(0)) this.takeSamples(message, floats);
    this.stage.setPage(this.page, newRun);
    this.redraw();
  }

  /**
   * @param {SamplesMessage} message
   * @param {Float32Array} floats
   */
  takeSamples(message, floats) {
    if (message.run !== this.player.run) {
      if (this.early.length < 8) this.early.push([message, floats]);
      return;
    }
    this.player.accept(message, floats);
    this.stage.dirty = true;
  }

  /** @param {{ run: any, time: number, furthest: number, rate: number, held: boolean }} clock */
  takeClock({ run, time, furthest, rate, held }) {
    const { player } = this;
    if (run !== player.run) return;
    const looking = time < furthest - 1e-6;
    const changed = held !== this.held || looking !== this.lookingBack;
    player.rate = rate;
    player.hold("learner", held);
    player.furthest = held ? furthest : Math.max(player.furthest, furthest);
    if (held || Math.abs(player.time - time) > APART * rate + 0.1) player.time = time;
    this.held = held;
    this.lookingBack = looking;
    if (changed) this.redraw();
  }

  pressPart() {}

  /** @param {number} now */
  frame(now) {
    const { player } = this;
    player.advance(now);
    this.link.need(player, now);
    this.stage.draw(player.sample());
    if (now - this.toldAt > TICK) {
      this.toldAt = now;
      this.post({ kind: this.page.header ? "tick" : "hello" });
    }
    const second = `${wholeSeconds(player.time)}|${now - this.heardAt > LOST}`;
    if (second !== this.second) {
      this.second = second;
      this.redraw();
    }
  }

  /**
   * @param {string} key
   * @param {Fields} [fields]
   */
  word(key, fields) {
    return fillIn(this.words.wall?.[key], fields);
  }

  redraw() {
    const { page, parts, player } = this;
    if (!page.header) return;
    const lost = performance.now() - this.heardAt > LOST;
    const running = player.run !== null;
    const state = this.lookingBack ? "looking" : this.held && running && page.engine?.running ? "held" : "";
    patchChildren(parts.head, [
      node("h1", { key: "rig" }, page.header.rig_line ?? ""),
      node(
        "p",
        { key: "clock", class: "wall-clock" },
        running ? this.word("clock", { t: wholeSeconds(player.time) }) : this.word("waits"),
        state ? node("span", { key: "state", class: "wall-state" }, ` ${this.word(state)}`) : null,
      ),
    ]);
    const { asked: ask, told } = page;
    const most = Math.max(1, ...(ask?.options ?? []).map((option) => option.hands));
    patchChildren(parts.says, [
      lost ? node("p", { key: "lost", class: "wall-lost" }, this.word("lost")) : null,
      told.length
        ? node(
            "ul",
            { key: "told", class: "wall-told" },
            told.map((each) => node("li", { key: each }, each)),
          )
        : null,
      ask
        ? node(
            "section",
            { key: ask.id, class: "wall-ask" },
            node("h2", {}, ask.question),
            node(
              "ul",
              {},
              ask.options.map((option) =>
                node(
                  "li",
                  { key: option.id, style: `--wall-share:${((100 * option.hands) / most).toFixed(0)}%` },
                  node("span", { key: "label" }, option.label),
                  node(
                    "span",
                    { key: "hands", class: "wall-hands" },
                    option.hands ? this.word(option.hands === 1 ? "hand" : "hands", { n: option.hands }) : "",
                  ),
                ),
              ),
            ),
          )
        : null,
    ]);
    parts.says.hidden = !parts.says.childElementCount;
    const button = (/** @type {string} */ key, /** @type {string} */ label, /** @type {() => void} */ press) =>
      node("button", { key, type: "button", class: "ex-choice", on: { click: press } }, label);
    const held = this.word(this.held ? "go_on" : "hold");
    patchChildren(parts.foot, [
      page.follows ? null : button("hold", held, () => this.post({ kind: "hold", on: !this.held })),
      page.follows ? null : button("back", this.word("back"), () => this.post({ kind: "back" })),
      document.fullscreenElement
        ? null
        : button("large", this.word("large"), () => document.documentElement.requestFullscreen?.()),
      node("p", { key: "caution", class: "ex-caution" }, page.caution ?? ""),
    ]);
  }
}

/** @param {HTMLElement} host */
export function openWall(host) {
  const channel = new BroadcastChannel(host.dataset.channel ?? "");
  const view = new WallView(host, channel);
  channel.onmessage = ({ data }) => view.take(data);
  const tick = (/** @type {number} */ now) => {
    view.frame(now);
    requestAnimationFrame(tick);
  };
  requestAnimationFrame(tick);
}
