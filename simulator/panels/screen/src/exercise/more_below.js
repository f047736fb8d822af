// A list that is longer than its cell in the whole window says so at its foot: what is cut off is not taken for its end.
import { word } from "../base/format.js";

const PANES = ".ex-lists, .ex-before, .ex-notes, .ex-card-call, .ex-debrief, .ex-card-hint";

const END = 12; // px from its end within which a list counts as read to it

export class MoreBelow {
  /** @param {ExerciseView} view */
  constructor(view) {
    this.view = view;
    this.asked = 0;
    const ask = () => this.ask();
    view.sheet.addEventListener("scroll", ask, { capture: true, passive: true });
    this.sizes = new ResizeObserver(ask);
    this.sizes.observe(view.sheet);
  }

  /** Look again before the next frame: something was drawn anew, moved or resized. */
  ask() {
    this.asked ||= requestAnimationFrame(() => {
      this.asked = 0;
      this.look();
    });
  }

  look() {
    const { sheet, whole, page } = this.view;
    const words = word(page, "window.more_below");
    for (const pane of /** @type {NodeListOf<HTMLElement>} */ (sheet.querySelectorAll(PANES))) {
      const left = pane.scrollHeight - pane.scrollTop - pane.clientHeight;
      const scrolls = whole.open && /auto|scroll/.test(getComputedStyle(pane).overflowY);
      if (scrolls && left > END) pane.dataset.more = words;
      else delete pane.dataset.more;
    }
  }

  close() {
    cancelAnimationFrame(this.asked);
    this.sizes.disconnect();
  }
}
