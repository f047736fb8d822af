// A list that is longer than its cell in the whole window says so at its foot: what is cut off is not taken for its end.
import { word } from "../base/format.js";

const PANES = ".ex-lists, .ex-before, .ex-notes, .ex-card-call, .ex-debrief, .ex-card-hint";

const ROOM = 110; // px below their heading in which a work can be read and pressed

const END = 12; // px from its end within which a list counts as read to it

/**
 * Whether the heading of the works, and a good part of the first of them, lie within the list.
 * @param {HTMLElement} sheet
 */
function worksInSight(sheet) {
  const list = sheet.querySelector(".ex-lists")?.getBoundingClientRect();
  const work = sheet.querySelector(".ex-lists .ex-kind-remedy")?.getBoundingClientRect();
  return Boolean(list?.height && work?.height && work.top >= list.top - 4 && work.bottom + ROOM <= list.bottom);
}

export class MoreBelow {
  /** @param {ExerciseView} view */
  constructor(view) {
    this.view = view;
    this.asked = 0;
    this.works = false; // whether works of the chosen place are in sight
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
    const works = worksInSight(sheet);
    if (works === this.works) return;
    this.works = works;
    this.view.redraw(); // what comes next leads to them, or has no need to
  }

  close() {
    cancelAnimationFrame(this.asked);
    this.sizes.disconnect();
  }
}
