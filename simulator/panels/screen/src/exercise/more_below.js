// A list that is longer than its cell in the whole window says so at its foot: what is cut off is not taken for its end.
import { word } from "../base/format.js";

const PANES = ".ex-lists, .ex-before, .ex-notes, .ex-card-call, .ex-debrief, .ex-card-hint";

const ROOM = 110; // px below their heading in which a work can be read and pressed

const ROWS = "h2, h3, h4, p, li, dt, dd, td, th, a, span, strong, em, label, button, summary, svg, input";

const FOOT = 26; // px of the line at a list's foot, where the style sheet does not tell

const LINE = 1; // px by which it is higher than its words

const MOST = 60; // px that it may begin higher

const ROUNDS = 4; // what is taken in may cut what stands beside it

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

/**
 * How much higher than its own height the line at a list's foot begins [px], so that it cuts through no words.
 * @param {HTMLElement} pane
 */
function wholeLines(pane) {
  const foot = Number.parseFloat(getComputedStyle(pane, "::after").lineHeight) + LINE || FOOT;
  const edge = pane.getBoundingClientRect().top + pane.clientTop + pane.clientHeight - foot;
  let top = edge;
  /** @param {DOMRect} box */
  const cut = ({ top: from, bottom }) => from < top - 0.5 && bottom > top + 0.5 && from > edge - MOST;
  for (let round = 0; round < ROUNDS; round += 1) {
    const before = top;
    for (const part of pane.querySelectorAll(ROWS)) {
      const box = part.getBoundingClientRect();
      if (!(box.top < top && box.bottom > top)) continue;
      for (const line of part.matches("svg, input") ? [box] : linesOf(part)) if (cut(line)) top = line.top;
    }
    if (top === before) break;
  }
  return Math.ceil(edge - top);
}

/**
 * The lines of the words that stand right in a part.
 * @param {Element} part
 */
function linesOf(part) {
  return [...part.childNodes].flatMap((child) => {
    if (child.nodeType !== Node.TEXT_NODE) return [];
    const range = document.createRange();
    range.selectNodeContents(child);
    return [...range.getClientRects()];
  });
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
      if (scrolls && left > END) {
        pane.dataset.more = words;
        pane.style.setProperty("--ex-more", `${wholeLines(pane)}px`);
      } else delete pane.dataset.more;
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
