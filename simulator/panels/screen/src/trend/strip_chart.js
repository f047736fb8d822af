// The curve: suction vacuum, and under it the motive pressure, against seconds since the start.
import { createSpeaker, htmlElement, watchWidth } from "../base/dom.js";
import { fillIn, formatNumber } from "../base/format.js";
import { clamp, finiteOr } from "../base/numbers.js";
import { themeColour, watchTheme } from "../base/theme.js";
import { paintChart, plotArea, readingText } from "./paint.js";
import { listenOnCanvas } from "./pointing.js";
import { stripUnits, valueAt } from "./scale.js";

const PAINT_PAUSE = 60; // ms between two drawings of a curve that only grows

/**
 * Make the curve in a host element.
 * options: {units: "metric"|"us", span_s, height, motive: bool, vacuum_high_pa, pressure_high_pa, onCursor(reading|null)}
 * Series are SI: vacuum in Pa below, motive pressure in Pa above the outside pressure.
 * Returns {setData, push, setShown, setBand, setStaticLift, setEarlier, setUnits, setSpan, setCursor, onCursor, resize, destroy}.
 * @param {HTMLElement} host
 * @param {Words} words
 * @param {StripOptions} options
 */
export function createStripChart(host, words, options) {
  const settings = {
    units: "metric",
    span_s: 60,
    motive: true,
    vacuum_high_pa: 8e4,
    pressure_high_pa: 10e5,
    ...(options || {}),
  };
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
   * @param {any} act
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

  /** @type {any[]} */
  let times = [];
  /** @type {any[]} */
  let vacuum = [];
  /** @type {any[]} */
  let motive = [];
  /** @type {any[]} */
  let earlier = [];
  /** @type {any} */
  let band = null;
  let lift = NaN;
  let shown = Infinity;
  let span = settings.span_s;
  /** @type {any} */
  let chosen = null; // zoomed window [from, to]; null: from the start to the span
  /** @type {any} */
  let cursor = null;
  /** @type {any} */
  let mark = null;
  let waiting = 0;
  let pausing = 0;
  let drawnAt = 0;
  /** @type {any} */
  let theme = null;
  /** @type {any} */
  let plot = null;
  let ratio = 1;
  let units = stripUnits(words, settings.units);
  let callbacks = settings.onCursor ? [settings.onCursor] : [];

  function present() {
    return times.length ? Math.min(shown, times[times.length - 1]) : NaN;
  }

  /** The whole run so far: the span, doubled until the run fits. */
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

  /** While a run plays the pen moves a pixel or so a frame: it is drawn a little less often than the pictures. */
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

  function view() {
    const [from, to] = inView();
    return {
      from,
      to,
      now: present(),
      times,
      vacuum,
      motive,
      earlier,
      band,
      lift,
      cursor,
      mark,
      units,
      words,
      ratio,
      colours: theme.colours,
      family: theme.family,
      showMotive: settings.motive,
      vacuumHigh: settings.vacuum_high_pa,
      pressureHigh: settings.pressure_high_pa,
    };
  }

  function readTheme() {
    /** @type {Record<string, string>} */
    const colours = {};
    for (const name of ["ink", "soft", "line", "band", "lift", "paper", "act"])
      colours[name] = themeColour(host, `--pal-${name}`);
    return { colours, family: getComputedStyle(host).fontFamily || "sans-serif" };
  }

  function paint() {
    waiting = 0;
    drawnAt = performance.now();
    if (!theme) theme = readTheme();
    paintChart(canvas, plot, view());
    speaker.say();
  }

  const speaker = createSpeaker(() => {
    const now = present();
    const v = valueAt(times, vacuum, now);
    const reading = Number.isFinite(v) ? [readingText({ units, words }, v, now)] : [];
    canvas.setAttribute("aria-label", [title.textContent, ...reading, words.trend_help].join(". "));
  });

  function resize() {
    const width = Math.max(240, stage.clientWidth || 400);
    const height = settings.height || Math.round(clamp(width * 0.7, settings.motive ? 270 : 210, 420));
    ratio = window.devicePixelRatio || 1;
    canvas.style.height = `${height}px`;
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    plot = plotArea(width, height, settings.motive);
    theme = null;
    paint();
  }

  function name() {
    title.textContent = fillIn(words.vacuum_axis, { unit: units.vacuum.name });
  }

  /** @param {number} t */
  function move(t) {
    if (t === null && cursor === null) return;
    if (t === null) {
      cursor = null;
      readout.textContent = "";
      callbacks.forEach((call) => call(null));
      ask();
      return;
    }
    const [from, to] = inView();
    const now = present();
    cursor = clamp(t, Math.max(0, from), Math.max(from, Math.min(Number.isFinite(now) ? now : to, to)));
    const v = valueAt(times, vacuum, cursor);
    const m = motive.length ? valueAt(times, motive, cursor) : NaN;
    const parts = [];
    if (Number.isFinite(v)) parts.push(readingText(view(), v, cursor));
    /**
     * @param {number} pa
     * @param {any} unit
     */
    const fields = (pa, unit) => ({ value: formatNumber(pa / unit.size, unit.decimals), unit: unit.name });
    if (Number.isFinite(m)) parts.push(fillIn(words.motive_reading, fields(m, units.pressure)));
    for (const run of earlier) {
      const e = valueAt(run.times, run.values, cursor);
      if (run.label && Number.isFinite(e))
        parts.push(fillIn(words.earlier_reading, { label: run.label, ...fields(e, units.vacuum) }));
    }
    readout.textContent = parts.join(" · ");
    callbacks.forEach((call) => call({ t: cursor, vacuum: v, motive: m }));
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
    const now = present();
    const centre = cursor !== null ? cursor : Number.isFinite(now) ? clamp(now, from, to) : (from + to) / 2;
    const wide = Math.max(4, (to - from) * factor);
    const start = clamp(centre - wide / 2, 0, Math.max(0, end - wide));
    chosen = wide >= end ? null : [start, start + wide];
    ask();
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
    /** @param {any} range */
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
     * Replace the run: {time, vacuum, motive} (arrays or typed arrays; not copied).
     * @param {any} series
     */
    setData(series) {
      times = series?.time || [];
      vacuum = series?.vacuum || [];
      motive = series?.motive || [];
      ask();
    },
    /**
     * Add samples [{t, vacuum, motive}] at the end.
     * @param {any} samples
     */
    push(samples) {
      if (!Array.isArray(times)) [times, vacuum, motive] = [Array.from(times), Array.from(vacuum), Array.from(motive)];
      for (const sample of samples) {
        times.push(sample.t);
        vacuum.push(sample.vacuum);
        motive.push(finiteOr(sample.motive, NaN));
      }
      ask();
    },
    /**
     * Draw the run only up to this second.
     * @param {number} t
     */
    setShown(t) {
      if (t === shown) return;
      shown = t;
      askSoon();
    },
    /**
     * Expected band of a sound rig: [[t, low_pa, high_pa], ...] or null.
     * @param {any} points
     */
    setBand(points) {
      band = points;
      ask();
    },
    /** @param {number} pa */
    setStaticLift(pa) {
      lift = finiteOr(pa, NaN);
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
    /** @param {UnitSystem} system */
    setUnits(system) {
      units = stripUnits(words, system);
      name();
      ask();
    },
    /** @param {number} seconds */
    setSpan(seconds) {
      span = seconds;
      chosen = null;
      ask();
    },
    setCursor: move,
    /** @param {() => void} callback */
    onCursor(callback) {
      callbacks.push(callback);
    },
    resize,
    destroy() {
      unwatchWidth();
      unwatchTheme();
      if (waiting) cancelAnimationFrame(waiting);
      clearTimeout(pausing);
      speaker.stop();
      callbacks = [];
      root.remove();
    },
  };
}
