// Runs to play on the page alone: the rig cut open, the needles and the curve, with a clock to stop and to move.
import { htmlElement, node, patchChildren, watchWidth } from "../base/dom.js";
import { fillIn } from "../base/format.js";
import { clamp } from "../base/numbers.js";
import { svgNode } from "../base/svg.js";
import { createDial } from "../gauges/dial.js";
import { pumpPicture } from "../picture/pump/view.js";
import { sitePicture } from "../picture/site/view.js";
import { drawChart } from "./chart.js";
import { bringIntoView, inlineText, placesIn } from "./prose.js";

const REPLAY_RATES = [1, 5, 20];

/**
 * One moment of a track, by straight lines between what was sent.
 * @param {ReplayTrack} track
 * @param {number} t
 */
function momentOf(track, t) {
  const at = t / track.step_s;
  const i = Math.floor(at);
  const share = at - i;
  /** @type {Frame} */
  const frame = { t, see_through: track.see_through, exhaust_unseen: !track.see_through };
  for (const [name, values] of Object.entries(track.series)) {
    const a = values[Math.min(i, values.length - 1)];
    const b = values[Math.min(i + 1, values.length - 1)];
    if (a === null || b === null) continue;
    frame[name] = name === "nrv_open" || name === "relief_open" ? a : a + (b - a) * share;
  }
  return frame;
}

class LessonReplay {
  /**
   * @param {LessonView} view
   * @param {BlockSection} section
   */
  constructor(view, section) {
    this.view = view;
    this.section = section;
    /** @type {any} */
    this.block = null;
    /** @type {string | undefined} */
    this.chosen = undefined;
    this.made = "";
    this.second = 0;
    this.ticket = 0;
    this.height = 0;
    /** @type {{ left: number, right: number }} */
    this.area = { left: 0, right: 0 };
    /** @type {Picture[]} */
    this.parts = [];
    /** @type {ReturnType<typeof createDial>[]} */
    this.needles = [];
    /** @type {GaugeSpec[]} */
    this.shownDials = [];
    /** @type {SVGElement | undefined} */
    this.cover = undefined;
    /** @type {SVGElement | undefined} */
    this.coverBox = undefined;
    /** @type {SVGElement | undefined} */
    this.cursor = undefined;
    this.time = 0;
    this.rate = 5;
    this.playing = false;
    const places = placesIn(section, "tracks", "pictures", "bar", "remark", "instruments");
    places.pictures.className = "lesson-figure";
    places.instruments.className = "lesson-instruments";
    this.places = places;
    this.dialsHost = htmlElement("div", "lesson-dials", places.instruments);
    this.chartHost = htmlElement("div", "lesson-replay-chart", places.instruments);
    const stops = [watchWidth(this.chartHost, () => this.drawChart()), watchWidth(section, () => this.resized())];
    this.unwatch = () => stops.forEach((stop) => stop());
  }

  destroy() {
    this.playing = false;
    this.unwatch();
    cancelAnimationFrame(this.ticket);
    this.parts?.forEach((/** @type {any} */ part) => part.destroy());
    this.needles?.forEach((/** @type {any} */ needle) => needle.destroy());
  }

  get track() {
    return (
      this.block.tracks.find((/** @type {ReplayTrack} */ track) => track.id === this.chosen) || this.block.tracks[0]
    );
  }

  get last() {
    const { series, step_s: step } = this.track;
    return (Object.values(series)[0].length - 1) * step;
  }

  /** @param {any} block */
  set(block) {
    this.block = block;
    if (!block.tracks.some((/** @type {ReplayTrack} */ track) => track.id === this.chosen)) {
      this.chosen = (
        block.tracks.find((/** @type {ReplayTrack} */ track) => !block.seen.includes(track.id)) || block.tracks[0]
      ).id;
      this.time = 0;
    }
    const made = JSON.stringify([this.chosen, block.units, block.pictures, this.track.rig]);
    if (made !== this.made) {
      /** @type {any} */
      this.made = made;
      this.build();
    }
    this.show();
  }

  /** Beside needles and curve there is room for names on the parts; a tablet on end has height to spare. */
  heightNow() {
    const wide = this.section.clientWidth;
    return this.block.height + (wide >= 1088 ? 150 : wide < 900 ? 90 : 0);
  }

  build() {
    const { block, track, places } = this;
    this.parts?.forEach((/** @type {any} */ part) => part.destroy());
    places.pictures.textContent = "";
    places.pictures.hidden = !block.pictures.length;
    const words = this.view.content.picture_words;
    const height = this.heightNow();
    this.height = height;
    this.parts = block.pictures.map((/** @type {string} */ which) => {
      const place = htmlElement("div", `lesson-picture lesson-picture-${which}`, places.pictures);
      return which === "site"
        ? sitePicture(place, track.rig, words, { units: block.units, height })
        : pumpPicture(place, track.rig, words, { units: block.units, height: height + 22 });
    });
    this.needles?.forEach((/** @type {any} */ needle) => needle.destroy());
    this.dialsHost.textContent = "";
    this.shownDials = block.dials.filter((/** @type {GaugeSpec} */ spec) => track.series[`${spec.id}_shown`]);
    this.needles = this.shownDials.map((spec) =>
      createDial(htmlElement("div", "lesson-dial", this.dialsHost), { ...spec, system: block.units }, words),
    );
    this.drawChart();
  }

  /** Another width may leave another height for the pictures. */
  resized() {
    if (this.block && this.height !== this.heightNow()) {
      this.build();
    }
  }

  /** The whole curve is drawn once; what is not yet played is covered. */
  drawChart() {
    if (!this.block) return;
    const { chart } = this.track;
    drawChart(this.chartHost, chart);
    const svg = /** @type {SVGSVGElement} */ (this.chartHost.querySelector("svg"));
    const width = Number(svg.getAttribute("viewBox")?.split(" ")[2]);
    this.area = { left: 46, right: width - 14 };
    const height = Number(svg.getAttribute("height"));
    this.cover = svgNode("clipPath", { id: `lesson-clip-${Math.random().toString(36).slice(2)}` }, svg);
    this.coverBox = svgNode("rect", { x: 0, y: 0, width: this.area.left, height }, this.cover);
    svg
      .querySelectorAll(".lesson-chart-line")
      .forEach((line) => line.setAttribute("clip-path", `url(#${this.cover?.id})`));
    this.cursor = svgNode("line", { y1: 30, y2: height - 44, class: "lesson-chart-cursor" }, svg);
    this.moment();
  }

  moment() {
    const frame = momentOf(this.track, this.time);
    this.parts.forEach((/** @type {any} */ part) => part.update(frame));
    this.needles.forEach((/** @type {any} */ needle, /** @type {number} */ i) =>
      needle.set(frame[`${this.shownDials[i].id}_shown`]),
    );
    const x = this.area.left + (this.time / this.track.chart.span_s) * (this.area.right - this.area.left);
    this.coverBox?.setAttribute("width", String(Math.max(0, x)));
    this.cursor?.setAttribute("x1", String(x));
    this.cursor?.setAttribute("x2", String(x));
  }

  play() {
    if (this.time >= this.last - 1e-6) this.time = 0;
    this.playing = true;
    bringIntoView(this.section, "start");
    let before = performance.now();
    /** @param {number} now */
    const tick = (now) => {
      if (!this.playing) return;
      this.time = Math.min(this.last, this.time + (Math.max(0, now - before) / 1000) * this.rate);
      before = now;
      this.moment();
      if (this.time >= this.last - 1e-6) this.end();
      else this.ticket = requestAnimationFrame(tick);
      if (Math.floor(this.time) !== this.second) {
        this.second = Math.floor(this.time);
        this.show();
      }
    };
    this.ticket = requestAnimationFrame(tick);
    this.show();
  }

  end() {
    this.playing = false;
    if (!this.block.seen.includes(this.track.id))
      this.view.act("seen", { what: `run:${this.track.id}` }, `run:${this.track.id}`);
    this.show();
  }

  /**
   * Where the clock is moved to by hand.
   * @param {number} time
   */
  seek(time) {
    this.time = clamp(time, 0, this.last);
    this.moment();
    if (this.time >= this.last - 1e-6) this.end();
    else this.show();
  }

  /** @param {string} id */
  choose(id) {
    this.playing = false;
    this.chosen = id;
    this.time = 0;
    this.set(this.block);
  }

  show() {
    const { block, places, track } = this;
    const { words } = block;
    const fresh = block.tracks.find((/** @type {any} */ each) => !block.seen.includes(each.id));
    const atEnd = this.time >= this.last - 1e-6;
    patchChildren(
      places.tracks,
      block.tracks.length > 1
        ? node(
            "div",
            { class: "lesson-choices", role: "group", "aria-label": words.choose },
            node(
              "span",
              { key: "count", class: "lesson-replay-count" },
              fillIn(words.count, { n: block.seen.length, total: block.tracks.length }),
            ),
            block.tracks.map((/** @type {any} */ each) =>
              node(
                "button",
                {
                  key: each.id,
                  type: "button",
                  class: "lesson-choice",
                  "aria-pressed": each.id === track.id ? "true" : "false",
                  on: { click: () => this.choose(each.id) },
                },
                each.label,
                block.seen.includes(each.id)
                  ? node("span", { key: "seen", class: "lesson-choice-seen" }, ` ✓ ${words.seen}`)
                  : null,
              ),
            ),
          )
        : null,
    );
    const toNext = atEnd && fresh && fresh.id !== track.id ? fresh : null;
    const play = this.playing ? words.pause : atEnd ? words.again : words.play;
    patchChildren(
      places.bar,
      node(
        "div",
        { class: "lesson-row lesson-replay-bar" },
        toNext
          ? node(
              "button",
              { key: "to", type: "button", class: "lesson-primary", on: { click: () => this.choose(toNext.id) } },
              `${this.view.word("next")}: ${toNext.label}`,
            )
          : null,
        node(
          "button",
          {
            key: "play",
            type: "button",
            class: this.playing || toNext || (atEnd && !fresh) ? "lesson-secondary" : "lesson-primary",
            on: {
              click: (event) => {
                if (event.detail > 1) return; // a double click means once
                if (this.playing) {
                  this.playing = false;
                  this.show();
                } else this.play();
              },
            },
          },
          play,
        ),
        node(
          "label",
          { key: "slide", class: "lesson-replay-slide" },
          node("span", { class: "lesson-hidden" }, words.time),
          node("input", {
            type: "range",
            min: 0,
            max: this.last,
            step: track.step_s,
            "aria-valuetext": fillIn(words.clock, { n: Math.round(this.time) }),
            set: { value: String(this.time) },
            on: {
              input: (event) => {
                this.playing = false;
                this.seek(Number(event.target.value));
              },
            },
          }),
        ),
        node("span", { key: "clock", class: "lesson-replay-clock" }, fillIn(words.clock, { n: Math.round(this.time) })),
        node(
          "div",
          { key: "rates", class: "lesson-choices", role: "group", "aria-label": words.rate },
          REPLAY_RATES.map((rate) =>
            node(
              "button",
              {
                key: rate,
                type: "button",
                class: "lesson-choice",
                "aria-pressed": rate === this.rate ? "true" : "false",
                on: {
                  click: () => {
                    this.rate = rate;
                    this.show();
                  },
                },
              },
              `×${rate}`,
            ),
          ),
        ),
      ),
    );
    const said = track.says.filter((/** @type {any} */ each) => each.t <= this.time + 1e-6);
    const latest = said[said.length - 1];
    patchChildren(
      places.remark,
      node(
        "p",
        { key: "remark", class: "lesson-remark-words", "aria-live": "polite" },
        latest
          ? [
              node("strong", { key: "t" }, `${fillIn(words.at, { n: Math.round(latest.t) })} `),
              ...inlineText(latest.text),
            ]
          : inlineText(words.to_end),
      ),
    );
  }
}

/**
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function replayBlock(view, block, section) {
  if (!section.lessonLive) section.lessonLive = new LessonReplay(view, section);
  section.lessonLive.set(block);
}
