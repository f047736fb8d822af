// Words and figures as people read them. All words come with the page; nothing is written here.

/**
 * A fixed label of the page by its dotted key, with its {fields} filled in; the key itself where there is none.
 * @param {PageWords} page
 * @param {string} key
 * @param {Fields} [fields]
 * @returns {string}
 */
export function word(page, key, fields) {
  /** @type {any} */
  let entry = page.words;
  for (const part of key.split(".")) entry = entry === undefined || entry === null ? undefined : entry[part];
  if (typeof entry !== "string") return key;
  return fields
    ? entry.replace(/\{(\w+)\}/g, (/** @type {string} */ all, /** @type {string} */ name) =>
        name in fields ? String(fields[name]) : all,
      )
    : entry;
}

/**
 * Seconds that have gone, as every clock and every reading of a page counts them: 72.96 gives 72.
 * @param {number} seconds
 */
export function wholeSeconds(seconds) {
  return Math.floor((seconds || 0) + 1e-6);
}

/**
 * Minutes and seconds: 72.4 gives "1:12".
 * @param {number} seconds
 */
export function clockText(seconds) {
  const whole = Math.max(0, wholeSeconds(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/**
 * Minutes or marks without needless decimals: 8 gives "8", 0.5 gives "0.5", -2 has a true minus.
 * @param {number} minutes
 */
export function minutesText(minutes) {
  const rounded = Math.round((minutes || 0) * 10) / 10;
  return (Number.isInteger(rounded) ? String(rounded) : rounded.toFixed(1)).replace("-", "\u2212");
}

/** @param {number} share */
export function shareText(share) {
  return `${Math.round(100 * share)} %`;
}

/** @param {string} text */
export function capitalised(text) {
  return text ? text[0].toUpperCase() + text.slice(1) : text;
}

/** Sizes of the shown units in Pa, as NIST SP 811 gives them (inHg: conventional mercury); their names stand in the catalogue. */
export const UNIT_SIZES = { kpa: 1e3, bar: 1e5, inhg: 3386.389, psi: 6894.757 };

/**
 * Fill "{name}" places of a sentence.
 * @param {string | undefined} sentence
 * @param {Fields} [fields]
 */
export function fillIn(sentence, fields) {
  return String(sentence === undefined ? "" : sentence).replace(/\{(\w+)\}/g, (whole, key) =>
    fields && fields[key] !== undefined ? String(fields[key]) : whole,
  );
}

/**
 * Vacuum counts upward from zero; pressure above the air outside bears a + instead of a minus, as on the gauge.
 * @param {number} value
 * @param {number} decimals
 */
export function formatVacuum(value, decimals) {
  const text = formatNumber(Math.abs(value), decimals);
  return value < 0 && Number(text) > 0 ? `+${text}` : text;
}

/**
 * A number for the eye: fixed decimals, true minus sign, no "-0".
 * @param {number} value
 * @param {number} decimals
 */
export function formatNumber(value, decimals) {
  if (!Number.isFinite(value)) return "–";
  let text = value.toFixed(decimals);
  if (Number(text) === 0) text = (0).toFixed(decimals);
  return text.replace("-", "\u2212");
}
