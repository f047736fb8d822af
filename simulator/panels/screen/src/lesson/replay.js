// Runs to play on the page alone: the rig cut open, the needles and the curve, with a clock to stop and to move.
import { htmlElement, node, patchChildren, watchWidth } from "../base/dom.js";
import { fillIn, wholeSeconds } from "../base/format.js";
import { clamp } from "../base/numbers.js";
import { createStripChart } from "../trend/strip_chart.js";
import { bringIntoView, goToBlock, inlineText, placesIn } from "./prose.js";
import { drawRigPictures, lessonDial } from "./rig_pictures.js";

const REPLAY_RATES = [1, 5, 20];
const LONG_RUN = 300; // s from which a run takes a faster clock too: nobody waits a minute with nothing to do
const LONG_RATE = 100;

const CHART_HEIGHT = 224; // px of the curve

/**
 * One moment of a track, by straight lines between what was sent.
 * @param {ReplayTrack} track
 * @param {number} t
 */
export function momentOf(track, t) {
  const at = t / track.step_s;
  const i = Math.floor(at);
  const share = at - i;
  /** @type {Frame} */
  const frame = { t, see_through: track.see_through, exhaust_unseen: !track.see_through };
  for (const [name, values] of Object.entries(track.series)) {
    const a = values[Math.min(i, values.length - 1)];
    const b = values[Math.min(i + 1, values.length - 1)];
    if (a === null || b === null) continue;
    if (typeof a === "string" || typeof b === "string") frame[name] = a;
    else frame[name] = name === "nrv_open" || name === "relief_open" ? a : a + (b - a) * share;
  }
  return frame;
}

/**
 * The lowest value of a chart's lines: below zero where there is pressure instead of vacuum.
 * @param {ChartSpec} chart
 */
function lowestOf(chart) {
  return Math.min(0, ...chart.lines.flatMap((line) => line.points.map((point) => point[1])));
}

/**
 * The live chart of a track: its own curve, others of the same run beside it, and what to compare with.
 * @param {HTMLElement} host
 * @param {ChartSpec} spec
 * @param {UnitSystem} units
 * @param {Words} words
 */
function trackChart(host, spec, units, words) {
  host.textContent = "";
  const chart = createStripChart(host, words, {
    units,
    quantity: { title: spec.axis_y, spoken: spec.spoken, unit: spec.unit, high: spec.high_pa, low: lowestOf(spec) },
    span_s: spec.span_s,
    height: CHART_HEIGHT,
    motive: false,
  });
  const [own, ...beside] = spec.lines.map(({ label, points }) => ({
    label,
    times: points.map((point) => point[0]),
    values: points.map((point) => point[1]),
  }));
  chart.setData({ time: own.times, values: own.values, name: beside.length ? own.label : "", beside });
  chart.setLevel(spec.levels[0]?.pa, spec.levels[0]?.label);
  return chart;
}

/**
 * The last second of a run.
 * @param {ReplayBlock["tracks"][number]} track
 */
const lastOf = ({ series, step_s: step }) => (Object.values(series)[0].length - 1) * step;

class LessonReplay {
  /**
   * @param {LessonView} view
   * @param {BlockSection} section
   */
  constructor(view, section) {
    this.view = view;
    this.section = section;
    /** @type {ReplayBlock | null} */
    this.block = null;
    /** @type {string | undefined} */
    this.chosen = undefined;
    this.made = "";
    this.second = 0;
    this.ticket = 0;
    this.height = 0;
    /** @type {Pick<Picture, "update" | "destroy"> | null} */
    this.pictures = null;
    /** @type {{ channel: string, dial: Dial }[]} */
    this.dials = [];
    /** @type {StripChart | null} */
    this.chart = null;
    this.time = 0;
    this.rate = 5;
    this.playing = false;
    const places = placesIn(section, "tracks", "pictures", "bar", "remark", "instruments");
    places.pictures.className = "lesson-figure";
    places.instruments.className = "lesson-instruments";
    this.places = places;
    this.dialsHost = htmlElement("div", "lesson-dials", places.instruments);
    this.chartHost = htmlElement("div", "lesson-replay-chart", places.instruments);
    this.unwatch = watchWidth(section, () => this.resized());
  }

  destroy() {
    this.playing = false;
    this.unwatch();
    cancelAnimationFrame(this.ticket);
    this.letGo();
  }

  letGo() {
    this.pictures?.destroy();
    this.chart?.destroy();
    for (const { dial } of this.dials) dial.destroy();
    this.dials = [];
  }

  /** What the kernel has sent; there is some as soon as there is a replay to be seen. */
  get sent() {
    return /** @type {ReplayBlock} */ (this.block);
  }

  get track() {
    const { tracks } = this.sent;
    return tracks.find((track) => track.id === this.chosen) || tracks[0];
  }

  get last() {
    return lastOf(this.track);
  }

  /** The rates of the clock: a faster one where one of the runs is long. */
  get rates() {
    return this.sent.tracks.some((track) => lastOf(track) > LONG_RUN) ? [...REPLAY_RATES, LONG_RATE] : REPLAY_RATES;
  }

  /** @param {ReplayBlock} block */
  set(block) {
    this.block = block;
    if (!block.tracks.some((track) => track.id === this.chosen)) {
      this.chosen = (block.tracks.find((track) => !block.seen.includes(track.id)) || block.tracks[0]).id;
      this.time = 0;
    }
    const made = JSON.stringify([this.chosen, block.units, block.pictures, this.track.rig]);
    if (made !== this.made) {
      this.made = made;
      this.build();
    }
    this.show();
  }

  /** Beside needles and curve there is room for names on the parts; a tablet on end has height to spare. */
  heightNow() {
    const wide = this.section.clientWidth;
    return this.sent.height + (wide >= 1088 ? 150 : wide < 900 ? 90 : 0);
  }

  build() {
    const { sent: block, track, places } = this;
    const words = this.view.content.picture_words;
    this.letGo();
    this.height = this.heightNow();
    places.pictures.hidden = !block.pictures.length;
    const { pictures, units } = block;
    this.pictures = drawRigPictures(places.pictures, { rig: track.rig, pictures, units, height: this.height }, words);
    this.dialsHost.textContent = "";
    this.dials = block.dials
      .map((spec) => ({ spec, channel: `${spec.id}_shown` }))
      .filter(({ channel }) => track.series[channel])
      .map(({ spec, channel }) => ({ channel, dial: lessonDial(this.dialsHost, spec, units, words) }));
    this.chart = trackChart(this.chartHost, track.chart, units, words);
    this.moment();
  }

  /** Another width may leave another height for the pictures. */
  resized() {
    if (this.block && this.height !== this.heightNow()) this.build();
  }

  moment() {
    const frame = momentOf(this.track, this.time);
    this.pictures?.update(frame);
    for (const { channel, dial } of this.dials) dial.set(frame[channel]);
    this.chart?.setShown(this.time);
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
    if (!this.sent.seen.includes(this.track.id))
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
    this.set(this.sent);
  }

  show() {
    const { sent: block, places, track } = this;
    const { words } = block;
    const fresh = block.tracks.find((each) => !block.seen.includes(each.id));
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
            block.tracks.map((each) =>
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
    const on = atEnd && !fresh ? block.on : undefined;
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
        on
          ? node(
              "button",
              {
                key: "on",
                type: "button",
                class: "lesson-primary lesson-goto",
                on: { click: () => goToBlock(on.part, on.block) },
              },
              on.label,
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
            "aria-valuetext": fillIn(words.clock, { n: wholeSeconds(this.time) }),
            set: { value: String(this.time) },
            on: {
              input: (event) => {
                this.playing = false;
                this.seek(Number(event.target.value));
              },
            },
          }),
        ),
        node(
          "span",
          { key: "clock", class: "lesson-replay-clock" },
          fillIn(words.clock, { n: wholeSeconds(this.time) }),
        ),
        node(
          "div",
          { key: "rates", class: "lesson-choices", role: "group", "aria-label": words.rate },
          this.rates.map((rate) =>
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
    const said = track.says.filter((each) => each.t <= this.time + 1e-6);
    const latest = said[said.length - 1];
    patchChildren(
      places.remark,
      node(
        "p",
        { key: "remark", class: "lesson-remark-words", "aria-live": "polite" },
        latest
          ? [
              node("strong", { key: "t" }, `${fillIn(words.at, { n: Math.floor(latest.t) })} `),
              ...inlineText(latest.text),
            ]
          : inlineText(words.to_end),
      ),
    );
  }
}

/**
 * @param {LessonView} view
 * @param {ReplayBlock} block
 * @param {BlockSection} section
 */
export function replayBlock(view, block, section) {
  if (!section.lessonLive) section.lessonLive = new LessonReplay(view, section);
  section.lessonLive.set(block);
}
