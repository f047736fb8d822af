// The fields of a trainer's desk, in groups: what is typed is sent after a pause, and each wrong one is told at its field.
import { node } from "../base/dom.js";
import { freshId } from "../base/ids.js";

const PAUSE = 45; // ms without a key before what was typed is sent: the curve follows within 300

/**
 * Send what was typed; whatever waits for it to be heard is kept by its number.
 * @param {LessonView} view
 * @param {BlockSection} section
 */
export function sendTyped(view, section) {
  clearTimeout(section.deskTimer);
  section.deskTimer = undefined;
  for (const args of section.deskTyped.toSend()) {
    view.say("", "said"); // what the last press came to holds no more
    view.model.send({ kind: "do", id: freshId(), action: "edit", args });
  }
}

/**
 * @param {LessonView} view
 * @param {BlockSection} section
 * @param {string} id
 * @param {string} value
 * @param {boolean} [now]
 */
function edit(view, section, id, value, now) {
  section.deskTyped.put(id, value);
  clearTimeout(section.deskTimer);
  if (now) sendTyped(view, section);
  else section.deskTimer = setTimeout(() => sendTyped(view, section), PAUSE);
}

/**
 * Options under the headings of their groups.
 * @param {DeskOption[]} options
 */
export function grouped(options) {
  /** @type {Map<string, DeskOption[]>} */
  const groups = new Map();
  for (const option of options) groups.set(option.group ?? "", [...(groups.get(option.group ?? "") ?? []), option]);
  /** @param {DeskOption} option */
  const one = (option) => node("option", { key: `o:${option.id}`, value: option.id }, option.label);
  return [...groups].map(([name, own]) =>
    name ? node("optgroup", { key: `g:${name}`, label: name }, own.map(one)) : own.map(one),
  );
}

/**
 * @param {LessonView} view
 * @param {BlockSection} section
 * @param {DeskField} field
 */
function control(view, section, field) {
  const common = {
    key: "control",
    id: `desk-${field.id}`,
    "aria-invalid": field.problem ? "true" : false,
    "aria-describedby": field.problem ? `desk-${field.id}-problem` : field.hint ? `desk-${field.id}-hint` : false,
  };
  const value = section.deskTyped.textOf(field.id, field.value);
  if (field.kind === "choice") {
    return node(
      "select",
      {
        ...common,
        class: "lesson-input field-select",
        set: { value },
        on: { change: (event) => edit(view, section, field.id, event.target.value, true) },
      },
      grouped(field.options ?? []),
    );
  }
  /** @type {Record<string, (event: any) => void>} */
  const on = {
    input: (event) => edit(view, section, field.id, event.target.value),
    blur: () => {
      section.deskTyped.endWord();
      sendTyped(view, section);
    },
  };
  if (field.kind === "long")
    return node("textarea", { ...common, class: "lesson-input field-long", rows: 4, set: { value }, on });
  return node("input", {
    ...common,
    type: "text",
    inputmode: field.kind === "number" ? "text" : false,
    autocomplete: "off",
    spellcheck: "false",
    class: `lesson-input${field.kind === "number" ? " lesson-input-short" : ""}`,
    set: { value },
    on,
  });
}

/**
 * Ticks, and one above them for all.
 * @param {LessonView} view
 * @param {BlockSection} section
 * @param {DeskField} field
 */
function ticks(view, section, field) {
  const value = section.deskTyped.textOf(field.id, field.value);
  const every = value === field.every;
  const options = field.options ?? [];
  const chosen = new Set(every ? options.map((option) => option.id) : value.split(" ").filter(Boolean));
  /** @param {string} next */
  const store = (next) => {
    edit(view, section, field.id, next, true);
    view.draw();
  };
  /**
   * @param {string} id
   * @param {string} label
   * @param {boolean} on
   * @param {(on: boolean) => void} change
   */
  const tick = (id, label, on, change) =>
    node(
      "label",
      { key: `t:${id}`, class: "desk-tick" },
      node("input", {
        type: "checkbox",
        set: { checked: on },
        on: { change: (event) => change(event.target.checked) },
      }),
      node("span", { key: "label" }, label),
    );
  return node(
    "div",
    { key: "control", class: "desk-ticks", role: "group", "aria-label": field.label },
    tick("all", field.all_label ?? "", every, (on) => store(on ? String(field.every) : "")),
    options.map((option) =>
      tick(option.id, option.label, chosen.has(option.id), (on) => {
        const next = options.filter((each) => (each.id === option.id ? on : chosen.has(each.id)));
        store(next.length === options.length ? String(field.every) : next.map((each) => each.id).join(" "));
      }),
    ),
  );
}

/**
 * @param {LessonView} view
 * @param {BlockSection} section
 * @param {DeskField} field
 */
function fieldRow(view, section, field) {
  const { problem } = field;
  return node(
    "div",
    {
      key: field.id,
      class: `field-row desk-row${field.wide ? " field-wide" : ""}${field.drawing ? " desk-drawn" : ""}`,
      "data-field": field.id,
    },
    field.drawing
      ? node("span", {
          key: "drawing",
          class: "desk-drawing",
          "data-drawing": field.drawing,
          "aria-hidden": "true",
          own: true,
        })
      : null,
    field.kind === "ticks"
      ? null
      : node("label", { key: "label", class: "field-label", for: `desk-${field.id}` }, field.label),
    field.kind === "ticks"
      ? ticks(view, section, field)
      : node(
          "span",
          { key: "line", class: "field-control" },
          control(view, section, field),
          field.unit ? node("span", { key: "unit", class: "lesson-unit" }, field.unit) : null,
          field.beside ? node("span", { key: "beside", class: "desk-beside" }, `= ${field.beside}`) : null,
        ),
    field.hint && !problem
      ? node("p", { key: "hint", id: `desk-${field.id}-hint`, class: "desk-hint" }, field.hint)
      : null,
    problem
      ? node(
          "div",
          { key: "problem", id: `desk-${field.id}-problem`, class: "desk-problem" },
          node("p", { key: "said" }, node("span", { key: "sign", "aria-hidden": "true" }, "! "), problem.sentence),
          problem.nearest
            ? node(
                "button",
                {
                  key: "take",
                  type: "button",
                  class: "lesson-secondary",
                  on: {
                    click: () => {
                      edit(view, section, field.id, problem.nearest, true);
                      view.draw();
                    },
                  },
                },
                problem.take,
              )
            : null,
        )
      : null,
  );
}

/**
 * Readings, a row each; several lines pasted into any cell are taken over as a whole.
 * @param {LessonView} view
 * @param {BlockSection} section
 * @param {DeskGroup} group
 */
function readingsTable(view, section, group) {
  const { columns, units, rows } = /** @type {DeskReadings} */ (group.readings);
  /**
   * @param {{id: string, value: string}} cell
   * @param {number} row
   * @param {number} column
   * @param {string} problem
   */
  const input = (cell, row, column, problem) =>
    node("input", {
      key: cell.id,
      id: `desk-${cell.id}`,
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      class: "lesson-input lesson-input-short",
      "aria-label": `${columns[column]}, ${row + 1}`,
      "aria-invalid": problem ? "true" : false,
      "aria-describedby": problem ? `desk-row-${row}-problem` : false,
      set: { value: section.deskTyped.textOf(cell.id, cell.value) },
      on: {
        input: (event) => edit(view, section, cell.id, event.target.value),
        blur: () => {
          section.deskTyped.endWord();
          sendTyped(view, section);
        },
        paste: (event) => {
          const text = event.clipboardData?.getData("text") ?? "";
          if (!/[\n\t;]/.test(text.trim())) return;
          event.preventDefault();
          sendTyped(view, section);
          view.act("paste", { text }, "paste");
        },
        keydown: (event) => {
          const step = event.key === "Enter" || event.key === "ArrowDown" ? 1 : event.key === "ArrowUp" ? -1 : 0;
          const next = step && section.querySelector(`[id="desk-r.${row + step}.${cell.id.slice(-1)}"]`);
          if (!next) return;
          event.preventDefault();
          /** @type {HTMLInputElement} */ (next).focus();
        },
      },
    });
  return node(
    "div",
    { key: "readings", class: "desk-readings", role: "group", "aria-label": group.title },
    rows.map((row, n) =>
      node(
        "div",
        { key: row.key, class: "desk-reading" },
        row.cells.map((cell, column) => [
          input(cell, n, column, row.problem),
          node("span", { key: `unit:${cell.id}`, class: "lesson-unit" }, units[column]),
        ]),
        row.problem
          ? node("p", { key: "problem", id: `desk-row-${n}-problem`, class: "desk-problem" }, `! ${row.problem}`)
          : null,
      ),
    ),
  );
}

/**
 * @param {LessonView} view
 * @param {BlockSection} section
 * @param {DeskGroup} group
 */
export function groupOf(view, section, group) {
  const inside = [
    group.hint ? node("p", { key: "hint", class: "lesson-soft" }, group.hint) : null,
    node(
      "div",
      { key: "rows", class: "field-rows" },
      group.fields.map((field) => fieldRow(view, section, field)),
    ),
    group.button
      ? view.button(group.button.label, group.button.action, group.button.args, { key: `${group.id}:drop` })
      : null,
    group.readings ? readingsTable(view, section, group) : null,
  ];
  const wrong = group.fields.some((field) => field.problem);
  return framed(group, inside, wrong);
}

/**
 * A group of fields in its frame, or folded away under its title.
 * @param {{ id: string, title: string, folded?: boolean }} group
 * @param {any[]} inside
 * @param {boolean} [open] unfolded whatever the reader did
 */
export function framed(group, inside, open = false) {
  if (group.folded) {
    return node(
      "details",
      { key: group.id, class: "field-group", "data-group": group.id, set: open ? { open: true } : {} },
      node("summary", { key: "title", class: "field-fold" }, group.title),
      inside,
    );
  }
  return node(
    "fieldset",
    { key: group.id, class: "field-group", "data-group": group.id },
    node("legend", { key: "title" }, group.title),
    inside,
  );
}
