// Numbers that may be missing or out of bounds.

/**
 * @param {number} value
 * @param {number} low
 * @param {number} high
 */
export function clamp(value, low, high) {
  return value < low ? low : Math.min(value, high);
}

/**
 * A finite number, else the fallback.
 * @param {unknown} value
 * @param {number} fallback
 * @returns {number}
 */
export function finiteOr(value, fallback) {
  return typeof value === "number" && Number.isFinite(value) ? value : fallback;
}
