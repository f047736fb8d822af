// A trainer's desk: fields that are judged as they are typed, each wrong one told at its field; parts pressed in a picture.
import { node, patchChildren } from "../base/dom.js";
import { freshId } from "../base/ids.js";
import { describeTable, scrollBox } from "../base/table.js";
import { drawRigPictures } from "./rig_pictures.js";

const PAUSE = 90; // ms without a key before what was typed is sent: the curve follows within 300
const PICTURE = 250; // px high

/**
 * What stands in a field: what was typed and has not been heard yet, else what the kernel says.
 * @param {BlockSection} section
 * @param {DeskField} field
 */
function textOf(section, field) {
  const typed = section.deskTyped.get(field.id);
  return typed ? typed.value : field.value;
}

/**
 * Send what was typed; whatever waits for it to be heard is kept by its number.
 * @param {LessonView} view
 * @param {BlockSection} section
 */
function sendTyped(view, section) {
  clearTimeout(section.deskTimer);
  section.deskTimer = undefined;
  for (const [field, typed] of section.deskTyped) {
    if (typed.sent) continue;
    typed.sent = true;
    const args = { field, value: typed.value, n: typed.n, more: typed.more };
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
  section.deskCount += 1;
  const more = section.deskHeld === id;
  section.deskHeld = id;
  section.deskTyped.set(id, { value, n: section.deskCount, sent: false, more });
  clearTimeout(section.deskTimer);
  if (now) sendTyped(view, section);
  else section.deskTimer = setTimeout(() => sendTyped(view, section), PAUSE);
}

/**
 * Options under the headings of their groups.
 * @param {DeskOption[]} options
 */
function grouped(options) {
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
  const value = textOf(section, field);
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
      section.deskHeld = "";
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
  const value = textOf(section, field);
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
    { key: field.id, class: `field-row desk-row${field.wide ? " field-wide" : ""}`, "data-field": field.id },
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
 * @param {LessonView} view
 * @param {BlockSection} section
 * @param {DeskGroup} group
 */
function groupOf(view, section, group) {
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
  ];
  const wrong = group.fields.some((field) => field.problem);
  if (group.folded) {
    return node(
      "details",
      { key: group.id, class: "field-group", "data-group": group.id, set: wrong ? { open: true } : {} },
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

/**
 * Back, on, files: all that acts on the whole call-out.
 * @param {LessonView} view
 * @param {DeskBlock} block
 * @param {BlockSection} section
 */
function toolbar(view, block, section) {
  const { labels, files } = block;
  /**
   * @param {string} action
   * @param {any} args
   */
  const act = (action, args) => {
    sendTyped(view, section);
    view.act(action, args, action);
  };
  /**
   * @param {string} label
   * @param {string} action
   * @param {() => any} args
   * @param {{off?: boolean, primary?: boolean}} [options]
   */
  const button = (label, action, args, { off = false, primary = false } = {}) =>
    node(
      "button",
      {
        key: `b:${action}`,
        type: "button",
        class: `${primary ? "lesson-primary" : "lesson-secondary"}${view.turns.busy(action) ? " lesson-pending" : ""}`,
        "aria-disabled": off ? "true" : false,
        on: { click: () => !off && act(action, args()) },
      },
      label,
    );
  if (section.deskName === undefined || section.deskNameOf !== files.name) section.deskName = files.name;
  section.deskNameOf = files.name;
  const open = () => ({ which: section.deskOpen ?? files.own[0]?.id ?? files.book[0]?.id ?? "" });
  const lists = [
    ...files.own.map((each) => ({ ...each, group: files.own_label })),
    ...files.book.map((each) => ({ ...each, group: files.book_label })),
  ];
  return node(
    "div",
    { key: "tools", class: "desk-tools" },
    node(
      "div",
      { key: "steps", class: "desk-set" },
      button(labels.undo, "undo", () => ({}), { off: !block.undo }),
      button(labels.redo, "redo", () => ({}), { off: !block.redo }),
      button(labels.new, "new", () => ({})),
    ),
    node(
      "div",
      { key: "open", class: "desk-set" },
      node(
        "select",
        {
          key: "which",
          class: "lesson-input desk-which",
          "aria-label": labels.open_label,
          set: { value: open().which },
          on: {
            change: (event) => {
              section.deskOpen = event.target.value;
            },
          },
        },
        grouped(lists),
      ),
      button(labels.open, "open", open),
    ),
    node(
      "div",
      { key: "save", class: "desk-set" },
      node("input", {
        key: "name",
        type: "text",
        class: "lesson-input desk-name",
        "aria-label": labels.file,
        placeholder: labels.file,
        maxlength: 60,
        autocomplete: "off",
        spellcheck: "false",
        set: { value: section.deskName },
        on: {
          input: (event) => {
            section.deskName = event.target.value;
          },
        },
      }),
      button(files.over ? labels.save_over : labels.save, "save", () => ({ name: section.deskName }), {
        primary: true,
      }),
      files.name ? button(labels.rename, "rename", () => ({ name: section.deskName })) : null,
      node("span", { key: "state", class: "lesson-soft desk-state" }, files.state),
    ),
  );
}

/**
 * Which fault is put where: of the part that was pressed, or of all.
 * @param {LessonView} view
 * @param {DeskBlock} block
 * @param {BlockSection} section
 */
function adding(view, block, section) {
  const { adding: given } = block;
  if (given.full) return node("p", { key: "adding", class: "lesson-soft desk-add" }, given.full);
  if (given.none) return node("p", { key: "adding", class: "lesson-soft desk-add" }, `${given.label} ${given.none}`);
  return node(
    "div",
    { key: "adding", class: "desk-add" },
    node("label", { key: "label", class: "field-label", for: "desk-adding" }, given.label),
    node(
      "select",
      {
        key: "fault",
        id: "desk-adding",
        class: "lesson-input field-select",
        set: { value: "" },
        on: {
          change: (event) => {
            const fault = event.target.value;
            event.target.value = "";
            sendTyped(view, section);
            if (fault) view.act("add", { fault }, "add");
          },
        },
      },
      node("option", { key: "none", value: "" }, given.choose),
      grouped(given.options),
    ),
  );
}

/**
 * @param {LessonView} view
 * @param {DeskBlock} block
 * @param {BlockSection} section
 */
function drawPictures(view, block, section) {
  const host = section.querySelector(".desk-pictures");
  const made = JSON.stringify([block.picture, block.units]);
  if (!host || !block.picture || section.deskPicture === made) return;
  section.deskPicture = made;
  section.deskDrawn?.destroy();
  section.deskDrawn = drawRigPictures(
    /** @type {HTMLElement} */ (host),
    {
      rig: block.picture,
      pictures: ["site", "pump"],
      units: block.units,
      height: PICTURE,
      onPart: (parts, name, place) => {
        sendTyped(view, section);
        view.act("press", { parts, name, place }, "press");
        section.deskPressed = true;
      },
    },
    view.content.picture_words,
  );
  section.deskDrawn?.update(/** @type {any} */ ({ t: 0, see_through: false }));
}

/**
 * @param {LessonView} view
 * @param {DeskBlock} block
 * @param {BlockSection} section
 */
export function deskBlock(view, block, section) {
  section.deskTyped ??= new Map();
  section.deskCount ??= 0;
  if (section.deskSerial !== block.serial) {
    // The fields are others now: nothing that was typed before counts any more, unless it is still on its way.
    for (const [id, typed] of section.deskTyped) if (typed.n <= block.heard || typed.sent) section.deskTyped.delete(id);
    section.deskSerial = block.serial;
    section.deskHeld = "";
  }
  for (const [id, typed] of section.deskTyped) if (typed.n <= block.heard) section.deskTyped.delete(id);
  section.lessonLive ||= {
    destroy: () => {
      sendTyped(view, section);
      section.deskDrawn?.destroy();
    },
  };
  patchChildren(
    section,
    toolbar(view, block, section),
    block.problems
      ? node(
          "p",
          { key: "count", class: "lesson-notice lesson-notice-wait desk-count", role: "status" },
          block.problems,
        )
      : null,
    node("div", { key: "pictures", class: "desk-pictures", own: true }),
    node("p", { key: "press", class: "lesson-soft" }, block.labels.picture),
    adding(view, block, section),
    node(
      "div",
      { key: "groups", class: "desk-groups" },
      block.groups.map((group) => groupOf(view, section, group)),
    ),
  );
  drawPictures(view, block, section);
  if (section.deskPressed && !view.pending) {
    section.deskPressed = false;
    /** @type {HTMLElement | null} */ (section.querySelector("#desk-adding"))?.focus();
  }
}

/**
 * The file as text, to be changed by hand and taken over.
 * @param {LessonView} view
 * @param {DeskTextBlock} block
 * @param {BlockSection} section
 */
export function deskTextBlock(view, block, section) {
  const made = `${block.serial}:${block.text}`;
  if (section.deskSeen !== made) {
    section.deskSeen = made;
    section.deskName = block.text;
  }
  patchChildren(
    section,
    node("label", { key: "label", class: "field-label", for: "desk-hand" }, block.label),
    node("textarea", {
      key: "text",
      id: "desk-hand",
      class: "lesson-input field-long desk-hand",
      rows: 16,
      spellcheck: "false",
      "aria-invalid": block.problem ? "true" : false,
      "aria-describedby": block.problem ? "desk-hand-problem" : false,
      set: { value: section.deskName },
      on: {
        input: (event) => {
          section.deskName = event.target.value;
        },
      },
    }),
    block.problem
      ? node("p", { key: "problem", id: "desk-hand-problem", class: "desk-problem", role: "alert" }, block.problem)
      : null,
    node(
      "div",
      { key: "row", class: "lesson-row" },
      node(
        "button",
        {
          key: "take",
          type: "button",
          class: "lesson-secondary",
          on: { click: () => view.act("text", { text: section.deskName }, "text") },
        },
        block.button,
      ),
    ),
  );
}

/**
 * All keys of a file, folded away until they are wanted.
 * @param {LessonView} _view
 * @param {DeskKeysBlock} block
 * @param {BlockSection} section
 */
export function deskKeysBlock(_view, block, section) {
  patchChildren(
    section,
    node(
      "details",
      { key: "keys", class: "field-group" },
      node("summary", { key: "title", class: "field-fold" }, block.title),
      scrollBox("lesson-scroll", block.title, describeTable(block.columns, block.rows, { class: "lesson-table" })),
    ),
  );
}
