// The curve that grows with a run: suction vacuum, and under it the motive pressure, against seconds since the start. A
// lesson's replay may draw other quantities, and several of them.
import { createSpeaker, htmlElement, watchWidth } from "../base/dom.js";
import { fillIn, formatNumber, wholeSeconds } from "../base/format.js";
import { clamp } from "../base/numbers.js";
import { themeColour, watchTheme } from "../base/theme.js";
import { paintChart, plotArea } from "./paint.js";
import { listenOnCanvas } from "./pointing.js";
import { namedReading, readingText } from "./readings.js";
import { stripUnits, valueAt } from "./scale.js";

const PAINT_PAUSE = 60; // ms between two drawings of a curve that only grows

const VACUUM_HIGH = 8e4; // Pa, full scale of the needle's vacuum

const LEAST_FOR_TWO = 165; // px, height from which on there is room for a second strip

const PRESSURE_HIGH = 10e5; // Pa, full scale of the motive pressure

/**
 * Make the curve in a host element.
 * Series are SI: vacuum in Pa below, motive pressure in Pa above the outside pressure.
 * @param {HTMLElement} host
 * @param {Words} words
 * @param {StripOptions} options
 */
export function createStripChart(host, words, options) {
  const { span_s: span = 60, motive: showMotive = true } = options;
  let wanted = options.height;
  host.classList.add("palette", "trend");
  const root = htmlElement("div", "trend-root", host);
  const head = htmlElement("div", "trend-head", root);
  const title = htmlElement("strong", "trend-title", head);
  const buttons = htmlElement("div", "trend-buttons", head);
  const stage = htmlElement("div", "trend-stage", root);
  const canvas = htmlElement("canvas", "trend-canvas", stage);
  const readout = htmlElement("div", "trend-readout", root);
  readout.setAttribute("aria-live", "polite");
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "application");
  canvas.setAttribute("aria-roledescription", words.trend_role);
  /**
   * @param {string} label
   * @param {string} spokenName
   * @param {() => void} act
   */
  const button = (label, spokenName, act) => {
    const node = htmlElement("button", "trend-button", buttons, label);
    node.type = "button";
    node.setAttribute("aria-label", spokenName);
    node.title = spokenName;
    node.addEventListener("click", act);
  };
  htmlElement("span", "trend-zoom", buttons, words.zoom).setAttribute("aria-hidden", "true");
  button("+", words.zoom_in, () => zoom(0.5));
  button("\u2212", words.zoom_out, () => zoom(2));
  button(words.zoom_all, words.zoom_all_spoken, () => {
    chosen = null;
    ask();
  });
  button(words.save_short, words.save_spoken, () => save());

  /** @type {Series} */
  let times = [];
  /** @type {Series} */
  let values = [];
  /** @type {Series} */
  let motive = [];
  /** @type {Strip[]} */
  let beside = [];
  let ownName = "";
  /** @type {Strip[]} */
  let earlier = [];
  /** @type {BandPoint[] | null} */
  let band = null;
  /** @type {CurveMark[]} */
  let marks = [];
  /** @type {StripLevel} */
  let level = { at: NaN, label: "" };
  let shown = Infinity;
  /** @type {Point | null} */
  let chosen = null; // zoomed window [from, to]; null: from the start to the span
  /** @type {number | null} */
  let cursor = null;
  /** @type {Point | null} */
  let mark = null;
  let waiting = 0;
  let pausing = 0;
  let drawnAt = 0;
  /** @type {{ colours: Record<string, string>, family: string } | null} */
  let theme = null;
  /** @type {Plot} */
  let plot = plotArea(0, 0, false);
  let ratio = 1;
  let units = stripUnits(words, options.units ?? "metric");
  let lowStrip = showMotive; // the motive pressure has a strip of its own where there is room for two

  /** @returns {StripQuantity} */
  function quantity() {
    if (options.quantity) return options.quantity;
    const title = fillIn(words.vacuum_axis, { unit: units.vacuum.name });
    return { title, spoken: title, unit: units.vacuum, high: VACUUM_HIGH, low: 0 };
  }

  function present() {
    return times.length ? Math.min(shown, times[times.length - 1]) : NaN;
  }

  /**
   * The whole run so far: the span, doubled until the run fits.
   * @returns {Point}
   */
  function whole() {
    let to = span;
    while (to < present() - 1e-6) to *= 2;
    return [0, to];
  }

  function inView() {
    return chosen || whole();
  }

  function ask() {
    if (!waiting) waiting = requestAnimationFrame(paint);
  }

  /** At once, in the frame in which the clock of the page is written: the two never tell two times. */
  function paintNow() {
    if (waiting) cancelAnimationFrame(waiting);
    clearTimeout(pausing);
    pausing = 0;
    paint();
  }

  /** While a run plays the pen moves a pixel or so a frame: within a second it is drawn less often than the pictures. */
  function askSoon() {
    if (waiting || pausing) return;
    pausing = setTimeout(
      () => {
        pausing = 0;
        ask();
      },
      Math.max(0, drawnAt + PAINT_PAUSE - performance.now()),
    );
  }

  /** @returns {StripView} */
  function view() {
    const [from, to] = inView();
    theme ??= readTheme();
    return {
      from,
      to,
      now: present(),
      quantity: quantity(),
      times,
      values,
      motive,
      earlier,
      beside,
      name: ownName,
      band,
      level,
      marks,
      cursor,
      mark,
      pressure: units.pressure,
      words,
      ratio,
      ...theme,
      showMotive: lowStrip,
      pressureHigh: PRESSURE_HIGH,
    };
  }

  function readTheme() {
    /** @type {Record<string, string>} */
    const colours = {};
    for (const name of ["ink", "soft", "line", "band", "lift", "paper", "act", "water-deep"])
      colours[name] = themeColour(host, `--pal-${name}`);
    return { colours, family: getComputedStyle(host).fontFamily || "sans-serif" };
  }

  function paint() {
    waiting = 0;
    drawnAt = performance.now();
    paintChart(canvas, plot, view());
    speaker.say();
  }

  const speaker = createSpeaker(() => {
    const now = present();
    const seen = view();
    const v = valueAt(times, values, now);
    const reading = Number.isFinite(v) ? [readingText(seen, v, now)] : [];
    for (const run of beside) {
      const other = valueAt(run.times, run.values, now);
      if (Number.isFinite(other)) reading.push(namedReading(seen, run.label, other));
    }
    canvas.setAttribute(
      "aria-label",
      [seen.quantity.spoken.replace(/\.$/, ""), ...reading, words.trend_help].join(". "),
    );
  });

  function resize() {
    const width = Math.max(240, stage.clientWidth || 400);
    const height = wanted || Math.round(clamp(width * 0.7, showMotive ? 270 : 210, 420));
    ratio = window.devicePixelRatio || 1;
    canvas.style.height = `${height}px`;
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    lowStrip = showMotive && height >= LEAST_FOR_TWO;
    plot = plotArea(width, height, lowStrip);
    theme = null;
    paint();
  }

  function name() {
    title.textContent = quantity().title;
  }

  /** @param {number | null} t of the cursor [s]; null takes it away */
  function move(t) {
    if (t === null && cursor === null) return;
    if (t === null) {
      cursor = null;
      readout.textContent = "";
      ask();
      return;
    }
    const [from, to] = inView();
    const now = present();
    const at = clamp(t, Math.max(0, from), Math.max(from, Math.min(Number.isFinite(now) ? now : to, to)));
    cursor = at;
    const seen = view();
    const v = valueAt(times, values, at);
    const m = motive.length ? valueAt(times, motive, at) : NaN;
    const parts = [];
    if (Number.isFinite(v)) parts.push(readingText(seen, v, at));
    for (const run of beside.concat(earlier)) {
      const other = valueAt(run.times, run.values, at);
      if (run.label && Number.isFinite(other)) parts.push(namedReading(seen, run.label, other));
    }
    if (Number.isFinite(m)) {
      const { size, decimals, name: unit } = units.pressure;
      parts.splice(1, 0, fillIn(words.motive_reading, { value: formatNumber(m / size, decimals), unit }));
    }
    readout.textContent = parts.join(" · ");
    ask();
  }

  /**
   * @param {number} from
   * @param {number} to
   */
  function choose(from, to) {
    const end = whole()[1];
    if (to - from < 2) return;
    chosen = [Math.max(0, from), Math.min(end, to)];
    ask();
  }

  /** @param {number} factor */
  function zoom(factor) {
    const [from, to] = inView();
    const end = whole()[1];
    const wide = Math.max(4, (to - from) * factor);
    // About the cursor where there is one; else from where the window begins, so that the climb stays in sight.
    const start = clamp(cursor !== null ? cursor - wide / 2 : from, 0, Math.max(0, end - wide));
    chosen = wide >= end ? null : [start, start + wide];
    ask();
  }

  /** The curve as it stands, on paper and under its title, as a file. */
  function save() {
    const sheet = document.createElement("canvas");
    const head = Math.round(26 * ratio);
    sheet.width = canvas.width;
    sheet.height = canvas.height + head;
    const c = /** @type {CanvasRenderingContext2D} */ (sheet.getContext("2d"));
    const { colours, family } = view();
    c.fillStyle = colours.paper;
    c.fillRect(0, 0, sheet.width, sheet.height);
    c.drawImage(canvas, 0, head);
    c.fillStyle = colours.ink;
    c.font = `600 ${14 * ratio}px ${family}`;
    c.textBaseline = "middle";
    c.fillText(quantity().title, 8 * ratio, head / 2);
    const link = document.createElement("a");
    link.href = sheet.toDataURL("image/png");
    link.download = words.save_file;
    link.click();
  }

  name();
  resize();
  listenOnCanvas(canvas, {
    /** @param {number} px */
    timeAt(px) {
      const [from, to] = inView();
      return from + ((px - plot.left) / (plot.right - plot.left)) * (to - from);
    },
    window: inView,
    plot: () => plot,
    cursor: () => cursor,
    now: present,
    move,
    zoom,
    choose,
    /** @param {Point | null} range */
    mark(range) {
      mark = range;
      ask();
    },
  });
  const unwatchWidth = watchWidth(stage, resize);
  const unwatchTheme = watchTheme(() => {
    theme = null;
    ask();
  });

  return {
    /**
     * Replace the run; nothing is copied.
     * @param {StripData} series
     */
    setData(series) {
      times = series.time;
      values = series.values;
      motive = series.motive ?? [];
      ownName = series.name ?? "";
      beside = series.beside ?? [];
      ask();
    },
    /**
     * Draw the run only up to this second; where it is another than before, the words beside the curve say so at once.
     * @param {number} t
     */
    setShown(t) {
      if (t === shown) return;
      const other = wholeSeconds(t) !== wholeSeconds(shown);
      shown = t;
      if (other) paintNow();
      else askSoon();
    },
    /**
     * Expected band of a sound rig, or none.
     * @param {BandPoint[] | null} points
     */
    setBand(points) {
      band = points;
      ask();
    },
    /**
     * A value to compare with: the static lift, unless it has another name.
     * @param {number | undefined} at none where it is missing
     * @param {string} [label]
     */
    setLevel(at, label = words.static_lift) {
      level = { at: at !== undefined && at > 0 ? at : NaN, label };
      ask();
    },
    /**
     * Earlier runs: [{label, points: [[t, pa], ...]}].
     * @param {EarlierRun[]} list
     */
    setEarlier(list) {
      earlier = (list || []).map((run) => ({
        label: run.label,
        times: run.points.map((q) => q[0]),
        values: run.points.map((q) => q[1]),
      }));
      ask();
    },
    /**
     * What was done to the rig while it ran.
     * @param {CurveMark[]} list
     */
    setMarks(list) {
      marks = list;
      ask();
    },
    /** @param {UnitSystem} system */
    setUnits(system) {
      units = stripUnits(words, system);
      name();
      ask();
    },
    setCursor: move,
    /** @param {number} height of the drawing itself [px] */
    setHeight(height) {
      if (height === wanted) return;
      wanted = height;
      resize();
    },
    sizes: () => ({ cell: host.clientHeight, words: root.offsetHeight - stage.offsetHeight }),
    destroy() {
      unwatchWidth();
      unwatchTheme();
      if (waiting) cancelAnimationFrame(waiting);
      clearTimeout(pausing);
      speaker.stop();
      root.remove();
    },
  };
}
