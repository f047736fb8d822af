// Parts of a picture that can be pressed: the nearest one counts, so that a gloved finger need not aim. What they lead
// to also stands in the list of places, for the keyboard.
import { attributeSetter, displayToggle, svgNode } from "../base/svg.js";

/**
 * Make the spots of a picture answer to a pointer. spots: [{parts, name, x, y, reach}], in picture units; a spot may
 * give `near(x, y)` instead, the place on it nearest to a point, and `place` where there are several of its kind.
 * onPart(parts, name, place) is called with what was pressed.
 * @param {SVGSVGElement} svg
 * @param {any} spots
 * @param {any} onPart
 */
export function makePressable(svg, spots, onPart) {
  if (!onPart) return;
  svg.classList.add("pic-pressable");
  const ring = svgNode("circle", { r: 22, class: "pic-press", display: "none" }, svg);
  const show = displayToggle(ring);
  const set = [attributeSetter(ring, "cx"), attributeSetter(ring, "cy")];
  /** @param {any} event */
  const find = (event) => {
    const matrix = svg.getScreenCTM();
    if (!matrix) return null;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    let best = null;
    for (const spot of spots) {
      const [x, y] = spot.near ? spot.near(at.x, at.y) : [spot.x, spot.y];
      const away = Math.hypot(at.x - x, at.y - y) / (spot.reach || 1);
      if (!best || away < best.away) best = { spot, away, x, y };
    }
    return best && best.away < 70 ? best : null;
  };
  svg.addEventListener("pointermove", (event) => {
    if (event.pointerType === "touch") return;
    const found = find(event);
    show(found);
    if (found) {
      set[0](found.x);
      set[1](found.y);
    }
  });
  svg.addEventListener("pointerleave", () => show(false));
  svg.addEventListener("click", (event) => {
    const found = find(event);
    if (!found) return;
    show(true);
    set[0](found.x);
    set[1](found.y);
    onPart(found.spot.parts, found.spot.name, found.spot.place || "");
  });
}
