// What a curve reads at a moment, in words.
import { fillIn, formatNumber, formatVacuum, wholeSeconds } from "../base/format.js";

/**
 * A value in the shown unit, as the fields of a sentence.
 * @param {StripQuantity} quantity
 * @param {number} value
 */
function shownValue({ unit }, value) {
  return { value: formatVacuum(value / unit.size, unit.decimals), unit: unit.name };
}

/**
 * "16 kPa at 22 s"; with its name before it where there are others.
 * @param {Pick<StripView, "quantity" | "words" | "name">} view
 * @param {number} value
 * @param {number} t [s]
 */
export function readingText({ quantity, words, name }, value, t) {
  const reading = fillIn(words.reading_at, {
    ...shownValue(quantity, value),
    t: formatNumber(wholeSeconds(t), 0),
  });
  return name ? `${name}: ${reading}` : reading;
}

/**
 * "first start: 16 kPa".
 * @param {Pick<StripView, "quantity" | "words">} view
 * @param {string} label
 * @param {number} value
 */
export function namedReading({ quantity, words }, label, value) {
  return fillIn(words.earlier_reading, { label, ...shownValue(quantity, value) });
}
