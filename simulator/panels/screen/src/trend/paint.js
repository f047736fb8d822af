// Painting of the curve on its canvas, from a plain record of what is to be seen.
import { fillIn, formatNumber } from "../base/format.js";
import { clamp } from "../base/numbers.js";
import { scaleMarks } from "../gauges/dial.js";
import { roundStep, roundTimeStep, tracePath, valueAt } from "./scale.js";

/**
 * Sizes of the two strips for a canvas of so many pixels.
 * @param {number} width
 * @param {number} height
 * @param {any} motive
 */
export function plotArea(width, height, motive) {
  const strip = motive ? Math.round(clamp(height * 0.18, 44, 72)) : 0;
  const floor = height - 38;
  const bottom = motive ? floor - strip - 26 : floor;
  return { width, height, left: 44, right: width - 12, top: 12, bottom, floor, lowTop: floor - strip };
}

/**
 * The full scale of the vacuum axis [Pa] and its step in shown units.
 * @param {StripView} view
 */
function vacuumTop(view) {
  const size = view.units.vacuum.size;
  const most = Math.max(view.vacuumHigh, view.lift > 0 ? view.lift * 1.15 : 0) / size;
  const step = roundStep(most, 4);
  return { top: Math.ceil(most / step - 1e-9) * step * size, step };
}

/**
 * @param {CanvasRenderingContext2D} c
 * @param {number} x
 * @param {number} y
 * @param {number} radius
 * @param {string} fill
 * @param {string} [edge]
 */
function paintDot(c, x, y, radius, fill, edge) {
  c.fillStyle = fill;
  c.beginPath();
  c.arc(x, y, radius, 0, 7);
  c.fill();
  if (edge) {
    c.strokeStyle = edge;
    c.lineWidth = 2;
    c.stroke();
  }
}

/**
 * Grid, figures on the axes and their names.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {StripView} view
 * @param {StripScale} scale
 */
function paintAxes(c, p, view, scale) {
  const { colours, words, units } = view;
  /**
   * @param {number} py
   * @param {string} name
   */
  const line = (py, name) => {
    c.strokeStyle = colours.line;
    c.beginPath();
    c.moveTo(p.left, Math.round(py) + 0.5);
    c.lineTo(p.right, Math.round(py) + 0.5);
    c.stroke();
    c.fillStyle = colours.soft;
    c.textAlign = "right";
    c.fillText(name, p.left - 7, py);
  };
  /**
   * @param {number} mark
   * @param {any} step
   */
  const figure = (mark, step) => formatNumber(mark, step < 1 ? 1 : 0);
  for (const mark of scaleMarks(0, scale.high.top / units.vacuum.size, scale.high.step)) {
    line(scale.y(mark * units.vacuum.size), figure(mark, scale.high.step));
  }
  if (view.showMotive) {
    const most = view.pressureHigh / units.pressure.size;
    const step = roundStep(most, 3);
    for (const mark of scaleMarks(0, most, step)) line(scale.low(mark * units.pressure.size), figure(mark, step));
  }
  c.textAlign = "center";
  for (const mark of scaleMarks(view.from, view.to, roundTimeStep(view.to - view.from, (p.right - p.left) / 72))) {
    const px = Math.round(scale.x(mark)) + 0.5;
    c.strokeStyle = colours.soft;
    c.beginPath();
    c.moveTo(px, p.floor);
    c.lineTo(px, p.floor + 5);
    c.stroke();
    c.fillStyle = colours.soft;
    c.fillText(formatNumber(mark, 0), clamp(px, p.left, p.right - 8), p.floor + 14);
  }
  c.textAlign = "right";
  c.fillText(view.band ? words.axis_time_band : words.axis_time, p.right, p.floor + 30);
}

/**
 * Band of a sound rig, static lift, earlier runs and this one.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {StripView} view
 * @param {StripScale} scale
 */
function paintCurves(c, p, view, scale) {
  const { colours, band } = view;
  const { x, y, low } = scale;
  c.save();
  c.beginPath();
  c.rect(p.left, p.top - 8, p.right - p.left, p.floor - p.top + 9);
  c.clip();
  if (band && band.length > 1) {
    c.beginPath();
    band.forEach((b, i) => (i ? c.lineTo(x(b[0]), y(b[1])) : c.moveTo(x(b[0]), y(b[1]))));
    for (let i = band.length - 1; i >= 0; i -= 1) c.lineTo(x(band[i][0]), y(band[i][2]));
    c.closePath();
    c.fillStyle = colours.band;
    c.fill();
    c.strokeStyle = colours.lift;
    c.globalAlpha = 0.45;
    c.stroke();
    c.globalAlpha = 1;
  }
  if (view.lift > 0) {
    c.strokeStyle = colours.lift;
    c.lineWidth = 1.6;
    c.setLineDash([7, 5]);
    c.beginPath();
    c.moveTo(p.left, y(view.lift));
    c.lineTo(p.right, y(view.lift));
    c.stroke();
    c.setLineDash([]);
  }
  c.lineJoin = "round";
  c.lineWidth = 1.2;
  c.strokeStyle = colours.soft;
  for (const run of view.earlier) tracePath(c, run.times, run.values, view.from, view.to, x, y);
  if (Number.isFinite(view.now)) {
    const last = Math.min(view.now, view.to);
    c.strokeStyle = colours.ink;
    c.lineWidth = 2.4;
    tracePath(c, view.times, view.vacuum, view.from, last, x, y);
    if (view.showMotive && view.motive.length) {
      c.lineWidth = 1.8;
      tracePath(c, view.times, view.motive, view.from, last, x, low);
    }
  }
  c.restore();
}

/**
 * A writer that keeps a list of what is taken, so that names cover neither each other nor a curve.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {StripView} view
 * @param {StripScale} scale
 * @param {(size: number, weight?: number) => string} font
 */
function nameWriter(c, p, view, scale, font) {
  /** @type {any[]} */
  const taken = [];
  if (view.lift > 0) taken.push([p.left, scale.y(view.lift) - 2, p.right, scale.y(view.lift) + 2]);
  /** @type {[times: Series, values: Series, last: number][]} */
  const curves = view.earlier.map((run) => [run.times, run.values, view.to]);
  curves.push([view.times, view.vacuum, Math.min(view.to, Number.isFinite(view.now) ? view.now : -1)]);
  return {
    /**
     * @param {string} content
     * @param {number} size
     * @param {number} [weight]
     */
    wide(content, size, weight) {
      c.font = font(size, weight);
      return c.measureText(content).width;
    },
    /**
     * @param {number} left
     * @param {any} top
     * @param {number} right
     * @param {any} bottom
     */
    free(left, top, right, bottom) {
      if (left < p.left + 2 || right > p.right || top < p.top - 12 || bottom > p.bottom - 1) return false;
      if (taken.some((t) => left < t[2] && right > t[0] && top < t[3] && bottom > t[1])) return false;
      for (const [times, values, last] of curves) {
        for (let k = 0; k <= 6; k += 1) {
          const px = left + ((right - left) * k) / 6;
          const t = view.from + ((px - p.left) / (p.right - p.left)) * (view.to - view.from);
          const py = t <= last ? scale.y(valueAt(times, values, t)) : NaN;
          if (py > top - 2 && py < bottom + 2) return false;
        }
      }
      return true;
    },
    /**
     * @param {string} content
     * @param {number} left
     * @param {number} y
     * @param {string} colour
     * @param {number} size
     * @param {number} [weight]
     */
    write(content, left, y, colour, size, weight) {
      const wide = this.wide(content, size, weight);
      const at = clamp(left, p.left + 2, p.right - wide);
      c.textAlign = "left";
      c.lineJoin = "round";
      c.strokeStyle = view.colours.paper;
      c.lineWidth = 4;
      c.strokeText(content, at, y);
      c.fillStyle = colour;
      c.fillText(content, at, y);
      taken.push([at, y - 8, at + wide, y + 8]);
    },
  };
}

/**
 * Names in the plot: static lift, earlier runs, and the reading at the current dot.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {StripView} view
 * @param {StripScale} scale
 * @param {(size: number, weight?: number) => string} font
 */
function paintNames(c, p, view, scale, font) {
  const { colours, words } = view;
  const { x, y, low } = scale;
  const writer = nameWriter(c, p, view, scale, font);
  if (view.lift > 0) {
    const above = y(view.lift) - 10 > p.top - 4;
    writer.write(
      words.static_lift,
      p.right - writer.wide(words.static_lift, 12.5),
      y(view.lift) + (above ? -10 : 11),
      colours.lift,
      12.5,
    );
  }
  if (view.showMotive) {
    writer.write(
      fillIn(words.motive_axis, { unit: view.units.pressure.name }),
      p.left + 2,
      p.lowTop - 11,
      colours.soft,
      12.5,
    );
  }
  for (const run of view.earlier) {
    if (!run.label || !run.times.length) continue;
    const t = Math.min(view.to, run.times[run.times.length - 1]);
    const v = valueAt(run.times, run.values, t);
    if (!Number.isFinite(v)) continue;
    const wide = writer.wide(run.label, 12.5);
    const left = clamp(x(t) - wide, p.left + 2, p.right - wide);
    const away = [-13, 14, -28, 30].find((dy) => writer.free(left, y(v) + dy - 8, left + wide, y(v) + dy + 8));
    if (away !== undefined) writer.write(run.label, left, y(v) + away, colours.soft, 12.5);
  }
  if (!Number.isFinite(view.now) || view.now < view.from || view.now > view.to) return;
  const v = valueAt(view.times, view.vacuum, view.now);
  const px = x(view.now);
  if (Number.isFinite(v)) {
    const py = y(v);
    paintDot(c, px, py, 5, colours.ink);
    const content = readingText(view, v, view.now);
    const wide = writer.wide(content, 13, 600);
    const places = [
      [10, 15],
      [10, -15],
      [-10 - wide, -15],
      [-10 - wide, 15],
      [-wide, -34],
      [-wide, 34],
      [-wide / 2, 24],
      [-wide, -56],
      [-wide, 56],
    ];
    const place =
      places.find(([dx, dy]) => writer.free(px + dx, py + dy - 8, px + dx + wide, py + dy + 8)) || places[2];
    writer.write(content, px + place[0], clamp(py + place[1], p.top, p.bottom - 9), colours.ink, 13, 600);
  }
  const m = view.showMotive ? valueAt(view.times, view.motive, view.now) : NaN;
  if (Number.isFinite(m)) paintDot(c, px, low(m), 3.5, colours.ink);
}

/**
 * "16 kPa at 22 s".
 * @param {Pick<StripView, "units" | "words">} view
 * @param {number} pa
 * @param {number} t
 */
export function readingText(view, pa, t) {
  const { vacuum } = view.units;
  return fillIn(view.words.reading_at, {
    value: formatNumber(pa / vacuum.size, vacuum.decimals),
    unit: vacuum.name,
    t: formatNumber(t, 0),
  });
}

/**
 * Paint everything. view: {from, to, now, times, vacuum, motive, earlier, band, lift, cursor, mark: [px, px]|null, units, words,
 * colours, family, ratio, showMotive, vacuumHigh, pressureHigh}.
 * @param {HTMLCanvasElement} canvas
 * @param {Plot} p
 * @param {StripView} view
 */
export function paintChart(canvas, p, view) {
  const c = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  c.setTransform(view.ratio, 0, 0, view.ratio, 0, 0);
  c.clearRect(0, 0, p.width, p.height);
  /**
   * @param {number} size
   * @param {number} [weight]
   */
  const font = (size, weight) => `${weight || ""} ${size}px ${view.family}`;
  const high = vacuumTop(view);
  const scale = {
    high,
    x: (/** @type {number} */ t) => p.left + ((t - view.from) / (view.to - view.from)) * (p.right - p.left),
    y: (/** @type {number} */ v) => p.bottom - (v / high.top) * (p.bottom - p.top),
    low: (/** @type {number} */ v) => p.floor - (v / view.pressureHigh) * (p.floor - p.lowTop),
  };
  c.lineWidth = 1;
  c.font = font(12.5);
  c.textBaseline = "middle";
  paintAxes(c, p, view, scale);
  paintCurves(c, p, view, scale);
  paintNames(c, p, view, scale, font);
  if (view.cursor !== null && view.cursor >= view.from && view.cursor <= view.to) {
    const px = scale.x(view.cursor);
    c.strokeStyle = view.colours.act;
    c.lineWidth = 1.5;
    c.beginPath();
    c.moveTo(px, p.top - 6);
    c.lineTo(px, p.floor);
    c.stroke();
    const v = valueAt(view.times, view.vacuum, view.cursor);
    if (view.cursor <= view.now && Number.isFinite(v))
      paintDot(c, px, scale.y(v), 4.5, view.colours.paper, view.colours.act);
  }
  if (view.mark) {
    c.fillStyle = view.colours.act;
    c.globalAlpha = 0.16;
    c.fillRect(Math.min(...view.mark), p.top - 6, Math.abs(view.mark[1] - view.mark[0]), p.floor - p.top + 6);
    c.globalAlpha = 1;
  }
}
