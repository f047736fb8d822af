// Your notes: the log of what was seen, newest at the end and in sight.
import { node } from "../base/dom.js";
import { word } from "../base/format.js";

// Your notes: the log of what was seen, newest at the end and in sight.

const NOTE_MARKS = new Set(["warning", "refused", "hint"]);

/** @param {ExerciseView} view */
export function describeNotes(view) {
  const { page } = view;
  const notes = page.notes || [];
  return [
    node(
      "header",
      { key: "head", class: "ex-card-head" },
      node("h2", { id: view.ids.notes }, word(page, "notes.title")),
      node("p", {}, word(page, "notes.subtitle")),
    ),
    node(
      "ol",
      { key: "list", class: "ex-notes", tabindex: "0", "aria-labelledby": view.ids.notes },
      notes.length
        ? notes.map((note, index) =>
            node(
              "li",
              { key: index, class: `ex-note ex-note-${note.kind || "seen"}` },
              node("span", { class: "ex-note-clock" }, note.clock),
              node(
                "span",
                { class: "ex-note-text" },
                NOTE_MARKS.has(note.kind ?? "") ? node("b", {}, word(page, `notes.mark_${note.kind}`)) : null,
                NOTE_MARKS.has(note.kind ?? "") ? " " : null,
                note.text,
              ),
            ),
          )
        : node("li", { key: "none", class: "ex-note ex-note-none" }, word(page, "notes.none")),
    ),
  ];
}

/**
 * Keep the newest note in sight, unless the learner has scrolled up to read.
 * @param {ExerciseView} view
 */
export function settleNotes(view) {
  const list = view.parts.notes.querySelector(".ex-notes");
  const count = view.page.notes?.length || 0;
  if (!list || count === view.notesShown) return;
  const newest = view.page.notes?.[count - 1];
  if (view.notesShown !== null && newest) view.announce(newest.text);
  view.notesShown = count;
  list.scrollTop = list.scrollHeight;
}
