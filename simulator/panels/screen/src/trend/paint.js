// Painting of the curve on its canvas, from a plain record of what is to be seen.
import { fillIn, formatNumber, formatVacuum } from "../base/format.js";
import { clamp } from "../base/numbers.js";
import { scaleMarks } from "../gauges/dial.js";
import { namedReading, readingText } from "./readings.js";
import { axisBounds, roundStep, roundTimeStep, tracePath, valueAt, widened } from "./scale.js";

/**
 * Sizes of the two strips for a canvas of so many pixels.
 * @param {number} width
 * @param {number} height
 * @param {boolean} motive whether there is a second strip, for the motive pressure
 * @returns {Plot}
 */
export function plotArea(width, height, motive) {
  const strip = motive ? Math.round(clamp(height * 0.18, 44, 72)) : 0;
  const floor = height - 38;
  const bottom = motive ? floor - strip - 26 : floor;
  return { width, height, left: 44, right: width - 12, top: 12, bottom, floor, lowTop: floor - strip };
}

const BESIDE_DASHES = [
  [2, 4],
  [9, 4],
]; // of curves beside the main one: told apart without colour

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
  const { colours, words, quantity, pressure } = view;
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
  /** @param {number} step */
  const decimals = (step) => (step < 1 ? 1 : 0);
  const { size } = quantity.unit;
  const { low, top, step } = scale.axis;
  for (const mark of scaleMarks(low / size, top / size, step))
    line(scale.y(mark * size), formatVacuum(mark, decimals(step)));
  if (view.showMotive) {
    const most = view.pressureHigh / pressure.size;
    const apart = roundStep(most, 3);
    for (const mark of scaleMarks(0, most, apart))
      line(scale.motive(mark * pressure.size), formatNumber(mark, decimals(apart)));
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
 * Band of a sound rig, the level to compare with, earlier runs, this one and what goes beside it.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {StripView} view
 * @param {StripScale} scale
 */
function paintCurves(c, p, view, scale) {
  const { colours, band, level } = view;
  const { x, y, motive } = scale;
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
  if (Number.isFinite(level.at)) {
    c.strokeStyle = colours.lift;
    c.lineWidth = 1.6;
    c.setLineDash([7, 5]);
    c.beginPath();
    c.moveTo(p.left, y(level.at));
    c.lineTo(p.right, y(level.at));
    c.stroke();
    c.setLineDash([]);
  }
  c.lineJoin = "round";
  c.lineWidth = 1.2;
  c.strokeStyle = colours.soft;
  for (const run of view.earlier) tracePath(c, run.times, run.values, view.from, view.to, x, y);
  if (Number.isFinite(view.now)) {
    const last = Math.min(view.now, view.to);
    view.beside.forEach((run, i) => {
      c.strokeStyle = colours["water-deep"];
      c.lineWidth = 2.2;
      c.setLineDash(BESIDE_DASHES[i % BESIDE_DASHES.length]);
      tracePath(c, run.times, run.values, view.from, last, x, y);
      c.setLineDash([]);
    });
    c.strokeStyle = colours.ink;
    c.lineWidth = 2.4;
    tracePath(c, view.times, view.values, view.from, last, x, y);
    if (view.showMotive && view.motive.length) {
      c.lineWidth = 1.8;
      tracePath(c, view.times, view.motive, view.from, last, x, motive);
    }
  }
  c.restore();
}

/**
 * What was done to the rig: a line where it was done, and its words beside its head, in rows where they stand close.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {StripView} view
 * @param {StripScale} scale
 * @param {(size: number, weight?: number) => string} font
 */
function paintMarks(c, p, view, scale, font) {
  c.font = font(12.5, 600);
  c.textAlign = "left";
  c.lineJoin = "round";
  /** @type {number[]} how far each row of words reaches */
  const rows = [];
  for (const { t, label } of view.marks) {
    if (t < view.from || t > view.to) continue;
    const px = Math.round(scale.x(t)) + 0.5;
    c.strokeStyle = view.colours.act;
    c.lineWidth = 1.2;
    c.setLineDash([3, 3]);
    c.beginPath();
    c.moveTo(px, p.top - 6);
    c.lineTo(px, p.floor);
    c.stroke();
    c.setLineDash([]);
    const wide = c.measureText(label).width;
    const left = Math.min(px + 4, p.right - wide);
    let row = rows.findIndex((end) => end < left - 6);
    if (row < 0) row = rows.length;
    rows[row] = left + wide;
    const y = p.top + 2 + 15 * row;
    c.strokeStyle = view.colours.paper;
    c.lineWidth = 4;
    c.strokeText(label, left, y);
    c.fillStyle = view.colours.act;
    c.fillText(label, left, y);
  }
}

/**
 * The curves as far as they are drawn.
 * @param {Pick<StripView, "to" | "now" | "earlier" | "beside" | "times" | "values">} view
 * @returns {[times: Series, values: Series, last: number][]}
 */
function drawnCurves(view) {
  const reached = Math.min(view.to, Number.isFinite(view.now) ? view.now : -1);
  return [
    ...view.earlier.map((run) => /** @type {[Series, Series, number]} */ ([run.times, run.values, view.to])),
    ...view.beside.map((run) => /** @type {[Series, Series, number]} */ ([run.times, run.values, reached])),
    [view.times, view.values, reached],
  ];
}

const COLUMN = 3; // [px] between the places at which a curve is compared with words: a steep climb is met too

/**
 * How high a curve stands in each column of the plot; NaN where it is not drawn.
 * @param {ReturnType<typeof drawnCurves>[number]} curve
 * @param {Plot} p
 * @param {Pick<StripView, "from" | "to">} view
 * @param {StripScale} scale
 */
function heightsOf([times, values, last], p, { from, to }, scale) {
  const many = Math.ceil((p.right - p.left) / COLUMN) + 1;
  return Array.from({ length: many }, (_, k) => {
    const t = from + ((k * COLUMN) / (p.right - p.left)) * (to - from);
    return t <= last ? scale.y(valueAt(times, values, t)) : Number.NaN;
  });
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
  /** @type {Box[]} */
  const taken = [];
  const { at } = view.level;
  if (Number.isFinite(at)) taken.push([p.left, scale.y(at) - 2, p.right, scale.y(at) + 2]);
  const columns = drawnCurves(view).map((curve) => heightsOf(curve, p, view, scale));
  const band = view.band || [];
  const bandTimes = band.map(([t]) => t);
  const bandEdges = [1, 2].map((edge) =>
    band.length > 1
      ? heightsOf([bandTimes, band.map((one) => one[edge]), bandTimes[bandTimes.length - 1]], p, view, scale)
      : [],
  );
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
     * @param {number} top
     * @param {number} right
     * @param {number} bottom
     */
    free(left, top, right, bottom) {
      if (left < p.left + 2 || right > p.right || top < p.top - 12 || bottom > p.bottom - 1) return false;
      if (taken.some((t) => left < t[2] && right > t[0] && top < t[3] && bottom > t[1])) return false;
      const [first, end] = [left, right].map((px) => Math.round((px - p.left) / COLUMN));
      for (const heights of columns) {
        for (let k = Math.max(first, 1); k <= end; k += 1) {
          const [y0, y1] = [heights[k - 1], heights[k]];
          if (Math.max(y0, y1) > top - 2 && Math.min(y0, y1) < bottom + 2) return false;
        }
      }
      return true;
    },
    /**
     * Whether a place lies clear of the band of a sound rig, whose edge would go through the words.
     * @param {number} left
     * @param {number} top
     * @param {number} right
     * @param {number} bottom
     */
    offBand(left, top, right, bottom) {
      const [first, end] = [left, right].map((px) => Math.round((px - p.left) / COLUMN));
      for (let k = Math.max(first, 0); k <= end; k += 1)
        if (bandEdges[0][k] > top - 2 && bandEdges[1][k] < bottom + 2) return false;
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

/** From the dot to where its words may begin, the first that is free: [right of it, below it] in px, by the words' width. */
const DOT_PLACES = [
  (/** @type {number} */ _wide) => [10, 15],
  (/** @type {number} */ _wide) => [10, -15],
  (/** @type {number} */ wide) => [-10 - wide, -15],
  (/** @type {number} */ wide) => [-10 - wide, 15],
  (/** @type {number} */ wide) => [-wide, -34],
  (/** @type {number} */ wide) => [-wide, 34],
  (/** @type {number} */ wide) => [-wide / 2, 24],
  (/** @type {number} */ wide) => [-wide, -56],
  (/** @type {number} */ wide) => [-wide, 56],
];

/**
 * A dot where a curve stands now, and its words beside it.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {ReturnType<typeof nameWriter>} writer
 * @param {Point} spot
 * @param {string} words
 * @param {string} colour
 */
function paintReading(c, p, writer, [px, py], words, colour) {
  paintDot(c, px, py, 5, colour);
  const wide = writer.wide(words, 13, 600);
  const near = DOT_PLACES.map((place) => place(wide)).map(([x, y]) => [px + x, py + y]);
  const found = [...near, ...anywhere(p, wide, px, py)].find(([x, y]) => writer.free(x, y - 8, x + wide, y + 8));
  if (found) writer.write(words, found[0], found[1], colour, 13, 600); // else there is no room: the dial says it too
}

/**
 * Places for words all over the plot, those nearest to a dot first: [left, middle] in px.
 * @param {Plot} p
 * @param {number} wide
 * @param {number} px
 * @param {number} py
 */
function anywhere(p, wide, px, py) {
  const found = [];
  for (let y = p.top - 3; y <= p.bottom - 9; y += 8)
    for (let x = p.left + 3; x <= p.right - wide; x += 16) found.push([x, y]);
  /** @param {number[]} place */
  const far = ([x, y]) => Math.hypot(x + wide / 2 - px, 2 * (y - py));
  return found.sort((one, other) => far(one) - far(other));
}

/**
 * Names in the plot: the level to compare with, earlier runs, and the reading at the current dots.
 * @param {CanvasRenderingContext2D} c
 * @param {Plot} p
 * @param {StripView} view
 * @param {StripScale} scale
 * @param {(size: number, weight?: number) => string} font
 */
function paintNames(c, p, view, scale, font) {
  const { colours, words, level, now } = view;
  const { x, y } = scale;
  const writer = nameWriter(c, p, view, scale, font);
  if (Number.isFinite(level.at)) {
    const wide = writer.wide(level.label, 12.5);
    const right = p.right - wide;
    const spots = [right, p.left + 3, (right + p.left) / 2].flatMap((left) =>
      [-10, 11].map((dy) => [left, y(level.at) + dy]),
    );
    const free = spots.filter(([x, at]) => writer.free(x, at - 8, x + wide, at + 8));
    const clear = free.find(([x, at]) => writer.offBand(x, at - 8, x + wide, at + 8));
    const [left, middle] = clear ?? free[0] ?? spots[0];
    writer.write(level.label, left, middle, colours.lift, 12.5);
  }
  if (view.showMotive) {
    const name = fillIn(words.motive_axis, { unit: view.pressure.name });
    writer.write(name, p.left + 2, p.lowTop - 11, colours.soft, 12.5);
  }
  for (const run of view.earlier) {
    if (!run.label || !run.times.length) continue;
    const t = Math.min(view.to, run.times[run.times.length - 1]);
    const v = valueAt(run.times, run.values, t);
    if (!Number.isFinite(v)) continue;
    const wide = writer.wide(run.label, 12.5);
    const left = clamp(x(t) - wide, p.left + 2, p.right - wide);
    const rows = p.bottom - p.top < 80 ? [-13, 14] : [-13, 14, -28, 30]; // in a low strip farther is another curve's place
    const away = rows.find((dy) => writer.free(left, y(v) + dy - 8, left + wide, y(v) + dy + 8));
    if (away !== undefined) writer.write(run.label, left, y(v) + away, colours.soft, 12.5);
  }
  if (!Number.isFinite(now) || now < view.from || now > view.to) return;
  const here = valueAt(view.times, view.values, now);
  if (Number.isFinite(here)) paintReading(c, p, writer, [x(now), y(here)], readingText(view, here, now), colours.ink);
  for (const run of view.beside) {
    const v = valueAt(run.times, run.values, now);
    if (Number.isFinite(v))
      paintReading(c, p, writer, [x(now), y(v)], namedReading(view, run.label, v), colours["water-deep"]);
  }
  const m = view.showMotive ? valueAt(view.times, view.motive, now) : NaN;
  if (Number.isFinite(m)) paintDot(c, x(now), scale.motive(m), 3.5, colours.ink);
}

/**
 * Paint everything.
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
  const { quantity, level, band } = view;
  const shown = (band || []).filter(([t]) => t >= view.from && t <= view.to);
  const least = Math.max(quantity.high, level.at > 0 ? level.at * 1.15 : 0, ...shown.map(([, , most]) => most));
  const [low, high] = widened(drawnCurves(view), [quantity.low, least]);
  const axis = axisBounds(quantity.unit.size, high, low, clamp((p.bottom - p.top) / 22, 1, 5));
  /** @type {StripScale} */
  const scale = {
    axis,
    x: (t) => p.left + ((t - view.from) / (view.to - view.from)) * (p.right - p.left),
    y: (v) => p.bottom - ((Math.max(axis.low, v) - axis.low) / (axis.top - axis.low)) * (p.bottom - p.top),
    motive: (v) => p.floor - (v / view.pressureHigh) * (p.floor - p.lowTop),
  };
  c.lineWidth = 1;
  c.font = font(12.5);
  c.textBaseline = "middle";
  paintAxes(c, p, view, scale);
  paintCurves(c, p, view, scale);
  paintMarks(c, p, view, scale, font);
  paintNames(c, p, view, scale, font);
  if (view.cursor !== null && view.cursor >= view.from && view.cursor <= view.to) {
    const px = scale.x(view.cursor);
    c.strokeStyle = view.colours.act;
    c.lineWidth = 1.5;
    c.beginPath();
    c.moveTo(px, p.top - 6);
    c.lineTo(px, p.floor);
    c.stroke();
    const v = valueAt(view.times, view.values, view.cursor);
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
