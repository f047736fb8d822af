// What the pictures of the exercise screen are drawn from: one sample of the run, read with the page it belongs to.
import { codeName, RELIEF_PERIODS } from "./heard.js";

/**
 * A sample as the pictures read it. What nobody looked at is left out rather than drawn as nothing.
 * @param {Frame} sample
 * @param {PageWords} page
 */
export function pictureFrame(sample, page) {
  /** @type {Frame} */
  const frame = { ...sample, see_through: page.see_through };
  const kind = codeName(page, "exhaust_kind", sample.exhaust_kind);
  frame.exhaust_kind = kind === "water_spray" ? "spray" : kind;
  if (!(sample.exhaust_level >= 0)) delete frame.exhaust_level;
  frame.exhaust_unseen = !page.see_through && kind === undefined;
  frame.water_seen = codeName(page, "water_seen", sample.water_seen);
  frame.relief_sound = RELIEF_PERIODS[codeName(page, "relief_sound", sample.relief_sound) ?? ""] !== undefined;
  return frame;
}
