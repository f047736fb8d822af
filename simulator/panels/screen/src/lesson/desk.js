// A trainer's desk: what acts on the whole call-out, parts pressed in a picture, and the fields, judged as they are typed.
import { node, patchChildren } from "../base/dom.js";
import { describeTable, scrollBox } from "../base/table.js";
import { grouped, groupOf, sendTyped } from "./desk_fields.js";
import { drawMeasures } from "./measure_pictures.js";
import { drawRigPictures } from "./rig_pictures.js";
import { Typed } from "./typed.js";

const PICTURE = 250; // px high

/**
 * A box for a name; what is typed stays with the section until it is sent.
 * @param {BlockSection} section
 * @param {Record<string, any>} own what this one has besides
 * @param {Record<string, (event: any) => void>} [on]
 */
const nameBox = (section, own, on = {}) =>
  node("input", {
    key: "name",
    type: "text",
    class: "lesson-input desk-name",
    maxlength: 60,
    autocomplete: "off",
    spellcheck: "false",
    set: { value: section.deskName },
    on: {
      input: (/** @type {ControlEvent} */ event) => {
        section.deskName = event.target.value;
      },
      ...on,
    },
    ...own,
  });

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
  const oneFile = () =>
    node(
      "div",
      { key: "one", class: "desk-set" },
      button(labels.open, "open", () => ({})),
      button(files.over ? labels.save_over : labels.save, "save", () => ({}), { primary: true }),
      node("span", { key: "state", class: "lesson-soft desk-state" }, files.state),
    );
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
    files.one ? oneFile() : null,
    !files.one && (lists.length || !files.save_beside)
      ? node(
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
        )
      : null,
    files.save_beside || files.one
      ? null
      : node(
          "div",
          { key: "save", class: "desk-set" },
          nameBox(section, { "aria-label": labels.file, placeholder: labels.file }),
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
  if (!given) return null;
  /** @param {string} fault */
  const add = (fault) => {
    section.deskChosen = "";
    sendTyped(view, section);
    if (fault) view.act("add", { fault }, "add");
  };
  const told = given.set ? node("p", { key: "set", class: "desk-set-now", role: "status" }, given.set) : null;
  /** @param {string} said */
  const plain = (said) =>
    node("div", { key: "adding", class: "desk-add" }, told, node("p", { key: "said", class: "lesson-soft" }, said));
  if (given.full) return plain(given.full);
  if (given.none) return plain(`${given.label} ${given.none}`);
  return node(
    "div",
    { key: "adding", class: "desk-add" },
    told,
    node("label", { key: "label", class: "field-label", for: "desk-adding" }, given.label),
    node(
      "select",
      {
        key: "fault",
        id: "desk-adding",
        class: "lesson-input field-select",
        set: { value: section.deskChosen ?? "" },
        on: {
          // Keys run through a closed list one choice after another: there Enter says which is meant.
          pointerdown: () => {
            section.deskByKey = false;
          },
          keydown: (event) => {
            section.deskByKey = event.key !== "Enter";
            if (event.key !== "Enter" || !section.deskChosen) return;
            event.preventDefault();
            add(section.deskChosen);
          },
          change: (event) => {
            if (section.deskByKey) section.deskChosen = event.target.value;
            else add(event.target.value);
          },
          blur: () => {
            section.deskByKey = false;
          },
        },
      },
      node("option", { key: "none", value: "" }, given.choose),
      grouped(given.options),
    ),
    node("span", { key: "keys", class: "desk-hint" }, given.keys),
  );
}

/**
 * What a press came to is said beside what was pressed, not at the foot of a long part.
 * @param {LessonView} view
 * @param {BlockSection} section
 */
function sayHere(view, section) {
  const place = section.querySelector(".desk-said");
  if (place && view.status.parentElement !== place) place.append(view.status);
}

/**
 * Once what stands beside the fields has been painted: the curve is what is waited for.
 * @param {LessonView} view
 * @param {DeskBlock} block
 * @param {BlockSection} section
 */
function drawPictures(view, block, section) {
  const made = JSON.stringify([block.picture, block.units]);
  if (!section.querySelector(".desk-pictures") || !block.picture || section.deskPicture === made) return;
  const first = section.deskPicture === undefined;
  section.deskPicture = made;
  const now = () => section.isConnected && section.deskPicture === made && redraw(view, block, section);
  if (first) now();
  else requestAnimationFrame(() => setTimeout(now));
}

/**
 * @param {LessonView} view
 * @param {DeskBlock} block
 * @param {BlockSection} section
 */
function redraw(view, block, section) {
  const host = section.querySelector(".desk-pictures");
  section.deskDrawn?.destroy();
  section.deskDrawn = drawRigPictures(
    /** @type {HTMLElement} */ (host),
    {
      rig: /** @type {any} */ (block.picture),
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
  const given = block.adding;
  section.deskTyped ??= new Typed(block.heard);
  section.deskTyped.heard(block.heard);
  if (section.deskSerial !== block.serial) section.deskTyped.endWord(); // the fields are others now
  section.deskSerial = block.serial;
  section.lessonLive ||= {
    destroy: () => {
      sendTyped(view, section);
      section.deskDrawn?.destroy();
    },
  };
  patchChildren(
    section,
    toolbar(view, block, section),
    node("div", { key: "said", class: "desk-said", own: true }),
    block.problems
      ? node(
          "p",
          { key: "count", class: "lesson-notice lesson-notice-wait desk-count", role: "status" },
          block.problems,
        )
      : null,
    given ? node("div", { key: "pictures", class: "desk-pictures", own: true }) : null,
    given ? node("p", { key: "press", class: "lesson-soft" }, block.labels.picture) : null,
    adding(view, block, section),
    node(
      "div",
      { key: "groups", class: "desk-groups" },
      block.groups.map((group) => groupOf(view, section, group)),
    ),
  );
  if (!view.status.isConnected || !view.status.closest(".lesson-block-desk_use")) sayHere(view, section);
  drawPictures(view, block, section);
  drawMeasures(section);
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

/**
 * The name of what is on the desk, and the press that puts it to use: beside the fields, in sight while one types.
 * @param {LessonView} view
 * @param {DeskUseBlock} block
 * @param {BlockSection} section
 */
export function deskUseBlock(view, block, section) {
  if (section.deskNameOf !== block.name || section.deskName === undefined) section.deskName = block.name;
  section.deskNameOf = block.name;
  const press = () => !block.off && view.act("save", { name: section.deskName }, "save");
  patchChildren(
    section,
    node("label", { key: "label", class: "field-label", for: "desk-use" }, block.label),
    node(
      "div",
      { key: "row", class: "desk-set" },
      nameBox(
        section,
        { id: "desk-use" },
        {
          keydown: (event) => {
            if (event.key === "Enter") press();
          },
        },
      ),
      node(
        "button",
        {
          key: "use",
          type: "button",
          class: block.off ? "lesson-secondary" : "lesson-primary",
          "aria-disabled": block.off ? "true" : false,
          on: { click: press },
        },
        block.button,
      ),
      node("span", { key: "state", class: "lesson-soft desk-state" }, block.state),
    ),
    node("div", { key: "said", class: "desk-said", own: true }),
  );
  sayHere(view, section);
}
