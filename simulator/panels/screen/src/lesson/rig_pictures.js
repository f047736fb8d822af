// The rig cut open, beside the words of a lesson: at the water, at the pump, or both.
import { htmlElement } from "../base/dom.js";
import { createDial } from "../gauges/dial.js";
import { pumpPicture } from "../picture/pump/view.js";
import { sitePicture } from "../picture/site/view.js";

const HEIGHT = 300; // px of a picture that is not told how high to be

const PUMP_OVER_SITE = 22; // px: the pump's picture bears its names below

/**
 * Draw pictures of a rig side by side; what was in the host goes.
 * @param {HTMLElement} host
 * @param {RigPictures} wanted
 * @param {Words} words
 * @returns {Pick<Picture, "update" | "destroy">}
 */
export function drawRigPictures(host, { rig, pictures, units, height = HEIGHT, onPart, letters }, words) {
  host.textContent = "";
  const drawn = pictures.map((which) => {
    const place = htmlElement("div", `lesson-picture lesson-picture-${which}`, host);
    return which === "site"
      ? sitePicture(place, rig, words, { units, height, onPart })
      : pumpPicture(place, rig, words, { units, height: height + PUMP_OVER_SITE, onPart, letters });
  });
  return {
    update: (frame) => drawn.forEach((picture) => picture.update(frame)),
    destroy: () => drawn.forEach((picture) => picture.destroy()),
  };
}

/**
 * A dial of its own place beside words.
 * @param {HTMLElement} host
 * @param {GaugeSpec} spec
 * @param {UnitSystem} units
 * @param {Words} words
 */
export function lessonDial(host, spec, units, words) {
  return createDial(htmlElement("div", "lesson-dial", host), { ...spec, system: units }, words);
}
