// The call-out in the whole window: a layer over the page that holds the very parts the page holds, laid out anew by the
// style sheet. It opens by itself where a call begins; Esc closes what lies on top first, then leads back to the page.
import { htmlElement } from "../base/dom.js";
import { word } from "../base/format.js";

/** What may stand beside the list of acts on a narrow window; on a wide one only some of it gives way to the other. */
export const TABS = ["do", "pictures", "notes", "call"];

/** @param {string | undefined} attempt */
const leftKey = (attempt) => `whole-window-left:${attempt}`;

export class WholeWindow {
  /** @param {ExerciseView} view */
  constructor(view) {
    this.view = view;
    this.wanted = Boolean(view.model.get("whole_window"));
    this.open = false;
    this.tab = "do";
    this.told = false; // what they said lies over the rest
    this.folded = ""; // the question that was put aside
    /** @type {string | undefined} */
    this.begun = undefined; // the attempt that the window was last opened for
    this.waiting = false;
    this.dialog = htmlElement("dialog", "ex-window", view.root);
    this.dialog.setAttribute("aria-label", word(view.page, "window.name"));
    this.dialog.addEventListener("cancel", (event) => {
      event.preventDefault();
      this.escape();
    });
    this.dialog.addEventListener("close", () => this.open && this.leave());
    this.dialog.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || event.defaultPrevented) return;
      event.preventDefault();
      this.escape();
    });
  }

  /**
   * A page has come: a call that begins takes the whole window, unless it was left for the page before, or waits there
   * until it is taken.
   * @param {ExercisePage} page
   */
  follow(page) {
    if (!this.wanted || !page.attempt || page.attempt === this.begun) return;
    const first = this.begun === undefined;
    this.begun = page.attempt;
    this.tab = "do";
    this.folded = "";
    this.waiting = page.phase !== "debrief" && !page.yard?.waits && !(first && this.wasLeft());
    // What the caller says is read before anything is done: it lies open until the first act.
    this.told = this.waiting && page.phase === "predict" && !page.run?.shown && Boolean(page.header?.brief);
  }

  wasLeft() {
    try {
      return sessionStorage.getItem(leftKey(this.view.page.attempt)) !== null;
    } catch {
      return false; // storage switched off
    }
  }

  /** @param {boolean} left */
  remember(left) {
    try {
      if (left) sessionStorage.setItem(leftKey(this.view.page.attempt), "1");
      else sessionStorage.removeItem(leftKey(this.view.page.attempt));
    } catch {
      // storage switched off: after a reload the window opens again
    }
  }

  /** Called every frame: the layer can only come up once its place on the page is there to be seen. */
  watch() {
    if (!this.waiting || this.view.page.held || !this.view.root.isConnected || !this.view.root.getClientRects().length)
      return;
    this.waiting = false;
    this.enter();
  }

  enter() {
    const { view } = this;
    if (this.open || !view.root.isConnected) return;
    this.remember(false);
    // The page keeps the room that the call-out took, so that whoever comes back finds all where it was.
    view.root.style.minHeight = `${view.root.offsetHeight}px`;
    this.open = true;
    this.tab = "do";
    if (view.page.yard?.waits) this.told = Boolean(view.page.header?.brief);
    view.root.dataset.window = "yes";
    this.dialog.append(view.sheet);
    view.sheet.insertBefore(view.parts.ask, view.parts.next);
    view.parts.lower.insertBefore(view.parts.debrief, view.parts.acts);
    this.dialog.showModal();
    view.redraw();
    view.stage.fit();
    this.focusNext();
  }

  leave() {
    const { view } = this;
    if (!this.open) return;
    this.remember(true);
    this.open = false;
    this.told = false;
    view.root.dataset.window = "no";
    view.root.prepend(view.sheet);
    view.sheet.insertBefore(view.parts.ask, view.parts.lower);
    view.sheet.insertBefore(view.parts.debrief, view.parts.ask);
    if (this.dialog.open) this.dialog.close();
    view.root.style.minHeight = "";
    view.redraw();
    view.stage.fit();
    if (this.goOn()) return;
    view.parts.header.scrollIntoView({ block: "start" });
    /** @type {HTMLElement | null} */ (view.parts.header.querySelector(".ex-enter"))?.focus({ preventScroll: true });
  }

  /** Once the call is over one goes on below it: that button comes into view and has the focus, where there is one. */
  goOn() {
    const { view } = this;
    if (view.page.phase !== "debrief") return false;
    /** @type {NodeListOf<HTMLElement> | undefined} */
    const buttons = view.root.closest(".lesson-stack")?.querySelectorAll(".lesson-root .lesson-primary");
    const next = [...(buttons || [])].find(
      (button) =>
        button.getClientRects().length && view.root.compareDocumentPosition(button) & Node.DOCUMENT_POSITION_FOLLOWING,
    );
    if (!next) return false;
    next.scrollIntoView({ block: "center" });
    next.focus({ preventScroll: true });
    return true;
  }

  /** Close what lies on top; where nothing does, go back to the page. */
  escape() {
    const { view } = this;
    if (this.told) this.tell(false);
    else if (view.leaving) view.setLeaving(false);
    else if (view.warned) {
      view.warned = null;
      view.redraw();
    } else if (view.page.ask && this.folded !== view.page.ask.id) {
      this.folded = view.page.ask.id;
      view.redraw();
    } else return this.leave();
    this.focusNext();
  }

  /** @param {boolean} on */
  tell(on) {
    this.told = on;
    this.view.redraw();
  }

  /** @param {string} tab */
  goTo(tab) {
    this.tab = tab;
    this.view.redraw();
    this.view.stage.fit();
  }

  /** The question that was put aside comes up again. */
  unfold() {
    this.folded = "";
    this.view.redraw();
    this.focusNext();
  }

  /** Is the question on top put aside? */
  get askFolded() {
    return this.open && this.folded !== "" && this.folded === this.view.page.ask?.id;
  }

  /** The focus goes to the open question, else to the button of the next step. */
  focusNext() {
    const { ask, bar, next } = this.view.parts;
    const pointed = ask.hidden ? bar.querySelector("[data-next]") : null;
    const place = ask.hidden ? next : ask;
    /** @type {HTMLElement | null} */ (pointed ?? place.querySelector("input, button"))?.focus({ preventScroll: true });
  }
}
