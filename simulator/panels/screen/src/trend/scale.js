// Axes of the curve: round steps, units, values between samples, and the tracing of a line.
import { UNIT_SIZES } from "../base/format.js";
import { clamp } from "../base/numbers.js";

/**
 * A round step that cuts a span into about so many parts.
 * @param {number} span
 * @param {number} parts
 */
export function roundStep(span, parts) {
  const raw = span / Math.max(1, parts);
  const power = 10 ** Math.floor(Math.log10(raw));
  for (const m of [1, 2, 5, 10]) if (m * power >= raw * 0.999) return m * power;
  return 10 * power;
}

/**
 * A round step in seconds: 5, 15, 30, 60 ... as a clock is read.
 * @param {number} span
 * @param {number} parts
 */
export function roundTimeStep(span, parts) {
  const raw = span / Math.max(1, parts);
  for (const s of [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200]) if (s >= raw * 0.999) return s;
  return 3600;
}

/**
 * Shown units of the two strips.
 * @param {Words} words
 * @param {UnitSystem} system
 */
export function stripUnits(words, system) {
  const us = system === "us";
  return {
    vacuum: us
      ? { name: words.unit_inhg, size: UNIT_SIZES.inhg, decimals: 1 }
      : { name: words.unit_kpa, size: UNIT_SIZES.kpa, decimals: 0 },
    pressure: us
      ? { name: words.unit_psi, size: UNIT_SIZES.psi, decimals: 0 }
      : { name: words.unit_bar, size: UNIT_SIZES.bar, decimals: 1 },
  };
}

const ABOVE_ZERO = 1500; // Pa of pressure from which on it is worth room below zero

/**
 * Bounds of an upright axis in the quantity's own measure, and its step in shown units: whole steps that hold all there is.
 * @param {number} size of one shown unit
 * @param {number} high
 * @param {number} low
 * @param {number} [parts] how many steps there is room for
 * @returns {StripScale["axis"]}
 */
export function axisBounds(size, high, low, parts = 5) {
  const step = roundStep(high / size, parts);
  return {
    top: Math.ceil(high / size / step - 1e-9) * step * size,
    low: low < -ABOVE_ZERO ? Math.floor(low / size / step + 1e-9) * step * size : 0,
    step,
  };
}

/**
 * The lowest and the highest that curves reach, so that an axis may hold all that the gauge has shown.
 * @param {[times: Series, values: Series, last: number][]} curves each up to a last time [s]
 * @param {Point} range that they widen
 * @returns {Point}
 */
export function widened(curves, [low, high]) {
  for (const [times, values, last] of curves) {
    const end = Math.min(values.length, indexAfter(times, last));
    for (let i = 0; i < end; i += 1) {
      if (values[i] < low) low = values[i];
      else if (values[i] > high) high = values[i];
    }
  }
  return [low, high];
}

/**
 * First index whose time is greater than t.
 * @param {Series} times
 * @param {number} t
 */
export function indexAfter(times, t) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= t) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Value at a time by straight lines between samples; NaN outside.
 * @param {Series} times
 * @param {Series} values
 * @param {number} t
 */
export function valueAt(times, values, t) {
  const count = Math.min(times.length, values.length);
  if (!count || t < times[0] - 1e-9 || t > times[count - 1] + 1e-9) return NaN;
  const i = Math.min(count - 1, Math.max(1, indexAfter(times, t)));
  if (count === 1) return values[0];
  const span = times[i] - times[i - 1];
  const u = span > 0 ? clamp((t - times[i - 1]) / span, 0, 1) : 1;
  return values[i - 1] + (values[i] - values[i - 1]) * u;
}

/**
 * Draw a line through samples between two times, at most a few points a pixel.
 * @param {CanvasRenderingContext2D} context
 * @param {Series} times
 * @param {Series} values
 * @param {number} from
 * @param {number} to
 * @param {(t: number) => number} x
 * @param {(value: number) => number} y
 */
export function tracePath(context, times, values, from, to, x, y) {
  const end = Math.min(values.length, indexAfter(times, to));
  let i = Math.max(0, indexAfter(times, from) - 1);
  let pixel = -Infinity;
  let low = 0;
  let high = 0;
  let started = false;
  context.beginPath();
  for (; i < end; i += 1) {
    const v = values[i];
    if (!Number.isFinite(v)) {
      started = false;
      continue;
    }
    const px = x(times[i]);
    const py = y(v);
    if (!started) {
      context.moveTo(px, py);
      started = true;
    } else if (px - pixel < 0.6) {
      low = Math.min(low, py);
      high = Math.max(high, py);
      continue;
    } else {
      if (high - low > 1) {
        context.lineTo(pixel, low);
        context.lineTo(pixel, high);
      }
      context.lineTo(px, py);
    }
    pixel = px;
    low = py;
    high = py;
  }
  const tail = valueAt(times, values, to);
  if (started && Number.isFinite(tail)) context.lineTo(x(to), y(tail));
  context.stroke();
}
