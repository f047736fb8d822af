// A chart that stands still: figure, controls, reading by keys, and the figures as a table. The figure is made by the
// kernel in plotly's form with inks by name; plotly itself is fetched by the page extension with the first chart.
import { node, patchChildren, watchWidth } from "./dom.js";
import { describeTable, scrollBox } from "./table.js";
import { themeColour, watchTheme } from "./theme.js";

const NEAR = "600px"; // of a chart below the window that is drawn already

/**
 * The figure with the theme's colours in place of "ink:<name>".
 * @param {any} part
 * @param {(name: string) => string} colour
 * @returns {any}
 */
export function inked(part, colour) {
  if (typeof part === "string") return part.startsWith("ink:") ? colour(part.slice(4)) : part;
  if (Array.isArray(part)) return part.map((one) => inked(one, colour));
  if (part === null || typeof part !== "object") return part;
  return Object.fromEntries(Object.entries(part).map(([name, value]) => [name, inked(value, colour)]));
}

/**
 * Where a key leads from a point of a figure: to another point of the curve, or to the next curve at about the same time.
 * @param {StillFigure["data"]} data
 * @param {{ curve: number, point: number }} at
 * @param {string} key
 * @returns {{ curve: number, point: number } | null} null where the key means nothing
 */
export function pointAfter(data, at, key) {
  const last = data[at.curve].x.length - 1;
  const stride = Math.max(1, Math.round(last / 40));
  /** @param {number} point */
  const along = (point) => ({ curve: at.curve, point: Math.min(last, Math.max(0, point)) });
  if (key === "ArrowRight") return along(at.point + stride);
  if (key === "ArrowLeft") return along(at.point - stride);
  if (key === "Home") return along(0);
  if (key === "End") return along(last);
  if (key !== "ArrowDown" && key !== "ArrowUp") return null;
  const curve = (at.curve + (key === "ArrowDown" ? 1 : data.length - 1)) % data.length;
  const t = data[at.curve].x[at.point];
  const times = data[curve].x;
  const point = times.reduce((best, x, i) => (Math.abs(x - t) < Math.abs(times[best] - t) ? i : best), 0);
  return { curve, point };
}

/**
 * The window of the time axis after a step closer or wider about its middle, within the whole.
 * @param {Point} shown
 * @param {Point} whole
 * @param {number} factor below 1: closer
 * @returns {Point}
 */
export function zoomed(shown, whole, factor) {
  const wide = Math.min(whole[1] - whole[0], Math.max(2, (shown[1] - shown[0]) * factor));
  const from = Math.min(whole[1] - wide, Math.max(whole[0], (shown[0] + shown[1] - wide) / 2));
  return [from, from + wide];
}

/**
 * What the curves of a figure are called, each once.
 * @param {StillFigure["data"]} data
 */
function curveNames(data) {
  return [...new Set(data.map((/** @type {any} */ curve) => String(curve.name ?? "")).filter(Boolean))];
}

/**
 * The curves as plain lines, to stand in the frame until plotly has come: [x, y] of each in percent of the frame.
 * @param {StillFigure} figure
 */
export function sketchOf(figure) {
  const { data, layout } = figure;
  const curves = data.filter((/** @type {any} */ curve) => curve.x?.length > 1 && curve.x.length === curve.y?.length);
  const heights = curves.flatMap((/** @type {any} */ curve) => curve.y.filter(Number.isFinite));
  const [left, right] = layout.xaxis.range;
  const [low, high] = layout.yaxis?.range ?? [Math.min(0, ...heights), Math.max(...heights)];
  return curves.map((/** @type {any} */ curve) =>
    curve.x
      .map((/** @type {number} */ x, /** @type {number} */ i) => [x, curve.y[i]])
      .filter((/** @type {number[]} */ [x, y]) => x >= left && x <= right && Number.isFinite(y))
      .map((/** @type {number[]} */ [x, y]) => [
        (100 * (x - left)) / (right - left),
        (100 * (high - y)) / (high - low || 1),
      ]),
  );
}

class StillChart {
  /** @param {HTMLElement} host */
  constructor(host) {
    this.host = host;
    /** @type {StillFigure | null} */
    this.figure = null;
    /** @type {any} plotly, once it is there */
    this.plotly = null;
    /** @type {HTMLElement | null} */
    this.plot = null;
    this.at = { curve: 0, point: 0 };
    /** @type {Point} */
    this.window = [0, 1];
    this.state = "waiting";
    this.placed = false;
    this.stopped = false;
    this.rest = () => {};
    this.near = new IntersectionObserver(
      (seen) => {
        if (!seen.some((one) => one.isIntersecting)) return;
        if (!this.plotly && this.state === "waiting") this.load();
        else if (this.stopped) this.back();
      },
      { rootMargin: NEAR },
    );
    this.watch();
  }

  /** Draw once it is near the window, and whenever width or theme change, until it is stopped. */
  watch() {
    if (!this.plotly) this.near.observe(this.host);
    const redraw = () => this.draw();
    const stops = [watchWidth(this.host, redraw), watchTheme(redraw)];
    this.stopped = false;
    this.placed = false;
    this.rest = () => {
      this.stopped = true;
      for (const stop of stops) stop();
    };
  }

  /** On the page again: theme or width may be others now. */
  back() {
    this.near.disconnect();
    this.watch();
    this.draw();
  }

  stop() {
    this.rest();
    this.near.disconnect();
    if (this.plot) this.plotly?.purge(this.plot);
  }

  async load() {
    this.near.disconnect();
    const charts = /** @type {any} */ (globalThis).simulatorCharts;
    try {
      this.plotly = await charts.plotly();
    } catch {
      this.state = "not_here";
    }
    this.describe();
    this.draw();
  }

  /** @param {StillFigure} figure */
  show(figure) {
    const wasOff = this.stopped; // it was taken off the page for a while, as where blocks change places
    if (wasOff) this.watch();
    if (figure === this.figure && !wasOff) return;
    const before = this.figure;
    this.figure = figure;
    const whole = figure.layout.xaxis.range;
    if (!before || before.layout.xaxis.range[1] !== whole[1]) this.window = [whole[0], whole[1]];
    if (figure.data.length <= this.at.curve) this.at = { curve: 0, point: 0 };
    this.describe();
    this.draw();
  }

  describe() {
    const { figure } = this;
    if (!figure) return;
    const { words, table } = figure;
    /**
     * @param {string} label
     * @param {() => void} act
     */
    const button = (label, act) =>
      node("button", { key: label, type: "button", class: "still-button", on: { click: act } }, label);
    patchChildren(
      this.host,
      node("div", {
        key: "plot",
        class: "still-plot",
        own: true,
        tabindex: "0",
        role: "application",
        "aria-roledescription": words.role,
        "aria-label": `${figure.spoken} ${words.help}`,
        style: `height:${this.state === "not_here" ? 0 : figure.layout.height}px`, // plotly itself leaves room below
        on: { keydown: (event) => this.key(event) },
      }),
      this.plotly
        ? null
        : node(
            "p",
            { key: "state", class: this.state === "not_here" ? "still-state" : "still-state still-coming" },
            this.state === "not_here"
              ? words.not_here
              : [node("b", {}, curveNames(figure.data).join(" · ")), words.loading],
          ),
      this.plotly || this.state === "not_here"
        ? null
        : node(
            "svg",
            {
              key: "sketch",
              class: "still-sketch",
              viewBox: "0 0 100 100",
              preserveAspectRatio: "none",
              "aria-hidden": "true",
              style: `height:${figure.layout.height}px`,
            },
            sketchOf(figure).map((points, i) => node("polyline", { key: i, points: points.map(String).join(" ") })),
          ),
      node("p", { key: "readout", class: "still-readout", "aria-live": "polite", own: true }),
      this.plotly
        ? node(
            "div",
            { key: "row", class: "still-row" },
            button(words.zoom_in, () => this.zoom(0.5)),
            button(words.zoom_out, () => this.zoom(2)),
            button(words.whole, () => this.zoom(Number.POSITIVE_INFINITY)),
            button(words.save, () => this.save()),
          )
        : null,
      node(
        "details",
        { key: "table", class: "still-table" },
        node("summary", {}, words.table),
        table.told.map((sentence, i) => node("p", { key: `told${i}` }, sentence)),
        scrollBox("still-scroll", table.title, describeTable(table.columns, table.rows)),
      ),
    );
    this.plot = this.host.querySelector(".still-plot");
    if (this.state === "not_here") this.host.querySelector("details")?.setAttribute("open", "");
  }

  draw() {
    const { plotly, figure, plot } = this;
    if (!this.host.isConnected) {
      // It stood on the page and is gone, for good or for a while, as a notebook does with what is out of sight.
      if (this.placed && !this.stopped) {
        this.rest();
        this.near.observe(this.host);
      }
      return;
    }
    this.placed = true;
    if (!plotly || !figure || !plot?.clientWidth) return;
    const layout = inked(figure.layout, (name) => themeColour(this.host, `--pal-${name}`));
    layout.width = plot.clientWidth;
    layout.xaxis.range = this.window;
    layout.font.family = getComputedStyle(this.host).fontFamily;
    plotly.react(
      plot,
      inked(figure.data, (name) => themeColour(this.host, `--pal-${name}`)),
      layout,
      figure.config,
    );
    plot.dataset.drawn = "yes";
  }

  /** @param {number} factor */
  zoom(factor) {
    if (!this.figure) return;
    this.window = zoomed(this.window, this.figure.layout.xaxis.range, factor);
    this.draw();
  }

  save() {
    const { plotly, figure, plot } = this;
    if (!figure || !plot) return;
    plotly.downloadImage(plot, { format: "png", filename: "chart", width: 1000, height: 560, scale: 2 });
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    const { figure, plotly, plot } = this;
    if (!figure || event.ctrlKey || event.metaKey || event.altKey) return;
    const next = pointAfter(figure.data, this.at, event.key);
    if (next) {
      this.at = next;
      const curve = figure.data[next.curve];
      const reading = curve.hovertemplate
        .replace("%{customdata}", curve.customdata[next.point])
        .replace("%{x:.0f}", String(Math.round(curve.x[next.point])))
        .replace("<extra></extra>", "");
      const out = this.host.querySelector(".still-readout");
      if (out) out.textContent = reading;
      if (plotly && plot) plotly.Fx.hover(plot, [{ curveNumber: next.curve, pointNumber: next.point }]);
    } else if (event.key === "+" || event.key === "=") this.zoom(0.5);
    else if (event.key === "-") this.zoom(2);
    else if (event.key === "Escape") this.zoom(Number.POSITIVE_INFINITY);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }
}

/** @type {WeakMap<Element, StillChart>} */
const charts = new WeakMap();

/**
 * Draw a figure into an element, or change the one that is drawn there.
 * @param {HTMLElement} host
 * @param {StillFigure} figure
 */
export function drawStillChart(host, figure) {
  let chart = charts.get(host);
  if (!chart) {
    host.classList.add("still-chart");
    chart = new StillChart(host);
    charts.set(host, chart);
  }
  chart.show(figure);
}

/** Have plotly come before the first chart stands on the page; where it does not, the chart says so. */
export function fetchCharts() {
  /** @type {any} */ (globalThis).simulatorCharts?.plotly().catch(() => {});
}

/** @param {HTMLElement} host */
export function endStillChart(host) {
  charts.get(host)?.stop();
  charts.delete(host);
}
