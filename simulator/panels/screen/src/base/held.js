// The trainer holds the class: a sheet over the whole page until it goes on. Every part of a page asks for it, one is shown.
import { htmlElement } from "./dom.js";

const ID = "class-held";

/**
 * Show the sheet, or take it away where there is nothing to show.
 * @param {{ title: string, text: string, stuck: string } | null | undefined} words
 */
export function showHeld(words) {
  const there = /** @type {HTMLDialogElement | null} */ (document.getElementById(ID));
  if (!words) {
    there?.close();
    there?.remove();
    return;
  }
  if (there?.open) return;
  there?.remove();
  const sheet = htmlElement("dialog", "lesson-root palette held-sheet", document.body);
  sheet.id = ID;
  sheet.setAttribute("role", "alertdialog");
  sheet.setAttribute("aria-labelledby", `${ID}-title`);
  sheet.setAttribute("aria-describedby", `${ID}-text`);
  const title = htmlElement("h1", "", sheet);
  title.id = `${ID}-title`;
  title.textContent = words.title;
  const said = htmlElement("p", "", sheet);
  said.id = `${ID}-text`;
  said.textContent = words.text;
  htmlElement("p", "held-stuck", sheet).textContent = words.stuck;
  sheet.addEventListener("cancel", (event) => event.preventDefault());
  sheet.addEventListener("keydown", (event) => event.key === "Escape" && event.preventDefault());
  sheet.addEventListener("close", () => sheet.isConnected && sheet.showModal()); // a second Esc shuts it all the same
  sheet.tabIndex = -1;
  sheet.showModal();
  sheet.focus();
}
