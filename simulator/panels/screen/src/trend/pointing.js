// Mouse, touch and keys on the curve.
import { clamp } from "../base/numbers.js";

/**
 * What the curve tells and does; times in s, places in px.
 * @typedef {object} Hooks
 * @property {(px: number) => number} timeAt
 * @property {() => Point} window
 * @property {() => Plot} plot
 * @property {() => number | null} cursor
 * @property {() => number} now
 * @property {(t: number | null) => void} move
 * @property {(factor: number) => void} zoom
 * @property {(from: number, to: number) => void} choose
 * @property {(range: Point | null) => void} mark
 */

/**
 * Listen on the canvas.
 * @param {HTMLCanvasElement} canvas
 * @param {Hooks} hooks
 */
export function listenOnCanvas(canvas, hooks) {
  /** @type {{ px: number, to: number, zooming: boolean } | null} */
  let drag = null;
  /** @param {PointerEvent} event */
  const at = (event) => event.clientX - canvas.getBoundingClientRect().left;
  canvas.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    const px = at(event);
    drag = { px, to: px, zooming: false };
    if (canvas.setPointerCapture) canvas.setPointerCapture(event.pointerId);
    hooks.move(hooks.timeAt(px));
  });
  canvas.addEventListener("pointermove", (event) => {
    const px = at(event);
    if (drag && event.pointerType === "mouse") {
      const { left, right } = hooks.plot();
      drag.to = clamp(px, left, right);
      drag.zooming = Math.abs(drag.to - drag.px) > 8;
      hooks.mark(drag.zooming ? [drag.px, drag.to] : null);
      if (drag.zooming) return;
    }
    if (drag || event.pointerType === "mouse") hooks.move(hooks.timeAt(px));
  });
  /** @param {boolean} chosen */
  const end = (chosen) => {
    if (drag?.zooming && chosen) {
      const a = hooks.timeAt(drag.px);
      const b = hooks.timeAt(drag.to);
      hooks.choose(Math.min(a, b), Math.max(a, b));
    }
    drag = null;
    hooks.mark(null);
  };
  canvas.addEventListener("pointerup", () => end(true));
  canvas.addEventListener("pointercancel", () => end(false));
  canvas.addEventListener("pointerleave", () => {
    if (!drag && document.activeElement !== canvas) hooks.move(null);
  });
  canvas.addEventListener("blur", () => hooks.move(null));
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const [from, to] = hooks.window();
    const small = Math.max(0.1, Math.round((to - from) / 60));
    /** @type {Record<string, number>} */
    const steps = { ArrowLeft: -small, ArrowRight: small, PageUp: -10 * small, PageDown: 10 * small };
    const latest = Number.isFinite(hooks.now()) ? hooks.now() : to;
    if (event.key in steps) hooks.move((hooks.cursor() ?? latest) + steps[event.key]);
    else if (event.key === "Home") hooks.move(from);
    else if (event.key === "End") hooks.move(latest);
    else if (event.key === "+" || event.key === "=") hooks.zoom(0.5);
    else if (event.key === "-") hooks.zoom(2);
    else if (event.key === "Escape") hooks.move(null);
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
}
