// The field sheet: a form that keeps what is typed, the suspects it leads to, and a page to print.
import { node, patchChildren } from "../base/dom.js";
import { fillIn } from "../base/format.js";
import { freshId } from "../base/ids.js";
import { describeTable, scrollBox } from "../base/table.js";
import { framed } from "./desk_fields.js";
import { PageAddress } from "./page_address.js";

const FIELD_PAUSE = 500; // ms without a key before what was typed is sent off to be kept

/**
 * A control of the form; `store` takes its new value.
 * @param {BlockSection} section
 * @param {Pick<FieldItem, "kind" | "ask" | "options">} item
 * @param {string} id
 * @param {string} value
 * @param {(next: string, ask?: boolean) => void} store
 */
function fieldControl(section, item, id, value, store) {
  const bad = section.fieldBad.has(id);
  const common = { id: `field-${id}`, "aria-invalid": bad ? "true" : false };
  if (item.kind === "choice" || item.kind === "look") {
    return node(
      "select",
      {
        ...common,
        class: "lesson-input field-select",
        set: { value: value || item.options?.[0].id },
        on: { change: (event) => store(event.target.value, item.ask) },
      },
      (item.options ?? []).map((option) => node("option", { key: option.id, value: option.id }, option.label)),
    );
  }
  if (item.kind === "long") {
    return node("textarea", {
      ...common,
      class: "lesson-input field-long",
      rows: 3,
      maxlength: 2000,
      set: { value },
      on: { input: (event) => store(event.target.value) },
    });
  }
  const short = item.kind === "number" ? " lesson-input-short" : "";
  return node("input", {
    ...common,
    type: "text",
    inputmode: item.kind === "number" ? "decimal" : false,
    maxlength: 120,
    autocomplete: "off",
    spellcheck: "false",
    class: `lesson-input${short}`,
    set: { value },
    on: { input: (event) => store(event.target.value) },
  });
}

/**
 * What a sentence about a box says, as a way to that box: into view, unfolded, with the focus.
 * @param {BlockSection} section
 * @param {{ field: string, sentence: string }} problem
 */
function wayToBox(section, problem) {
  const go = () => {
    const box = /** @type {HTMLElement | null} */ (section.querySelector(`[id="field-${problem.field}"]`));
    box?.closest("details")?.setAttribute("open", "");
    box?.scrollIntoView({ block: "center" });
    box?.focus({ preventScroll: true });
  };
  return node("button", { type: "button", class: "field-to-box", on: { click: go } }, problem.sentence);
}

/**
 * @param {BlockSection} section
 * @param {FieldItem} item
 * @param {(now?: boolean) => void} change
 */
function fieldRow(section, item, change) {
  const { fieldForm: form } = section;
  if (item.only && !item.only[1].includes(form[item.only[0]])) return null;
  const look = item.kind === "look";
  const value = look ? form.looks[item.id] || "" : form[item.id];
  /**
   * @param {string} next
   * @param {boolean} [ask]
   */
  const store = (next, ask) => {
    if (look) form.looks = { ...form.looks, [item.id]: next };
    else form[item.id] = next;
    change(ask);
  };
  const unit = item.unit_of ? form[item.unit_of] : item.unit;
  return node(
    "div",
    { key: item.id, class: `field-row${item.wide ? " field-wide" : ""}` },
    node("label", { key: "label", class: "field-label", for: `field-${item.id}` }, item.label),
    node(
      "span",
      { key: "control", class: "field-control" },
      fieldControl(section, item, item.id, value, store),
      unit ? node("span", { key: "unit", class: "lesson-unit" }, unit) : null,
    ),
  );
}

/**
 * @param {BlockSection} section
 * @param {FieldSheetBlock} block
 * @param {FieldGroup} group
 * @param {(now?: boolean) => void} change
 */
function fieldTable(section, block, group, change) {
  const { fieldForm: form } = section;
  const columns = group.table?.columns ?? [];
  /** @param {FieldColumn} column */
  const name = (column) => fillIn(column.label, { unit: column.unit_of ? form[column.unit_of] : "" });
  /**
   * @param {FieldColumn} column
   * @param {number} r
   * @param {number} c
   */
  const cell = (column, r, c) => {
    const id = `rows:${r}:${c}`;
    /** @param {string} next */
    const store = (next) => {
      form.rows = form.rows.map((row, i) => (i === r ? row.map((old, j) => (j === c ? next : old)) : row));
      change();
    };
    const input = fieldControl(section, { kind: "number" }, id, form.rows[r][c], store);
    input.attributes["aria-label"] = `${r + 1}, ${name(column)}`;
    return input;
  };
  const number = node("span", { class: "lesson-hidden" }, "#");
  const rows = form.rows.map((_, r) => [String(r + 1), ...columns.map((column, c) => cell(column, r, c))]);
  return [
    scrollBox(
      "lesson-scroll",
      group.title,
      describeTable([number, ...columns.map(name)], rows, { class: "lesson-table field-table" }),
    ),
    form.rows.length < block.labels.most_rows
      ? node(
          "button",
          {
            key: "more",
            type: "button",
            class: "lesson-secondary",
            on: {
              click: () => {
                form.rows = [...form.rows, ["", "", ""]];
                change();
              },
            },
          },
          block.labels.add_row,
        )
      : null,
  ];
}

/**
 * @param {LessonView} view
 * @param {FieldSheetBlock} block
 * @param {BlockSection} section
 * @param {FieldGroup} group
 * @param {(now?: boolean) => void} change
 */
function fieldGroup(view, block, section, group, change) {
  const inside = [
    group.hint ? node("p", { key: "hint", class: "lesson-soft" }, group.hint) : null,
    group.table ? fieldTable(section, block, group, change) : null,
    node(
      "div",
      { key: "rows", class: "field-rows" },
      group.fields.map((item) => fieldRow(section, item, change)),
    ),
  ];
  return framed(group, inside);
}

/**
 * @param {LessonView} view
 * @param {FieldSheetBlock} block
 * @param {BlockSection} section
 */
export function fieldSheetBlock(view, block, section) {
  if (section.fieldSerial !== block.serial) {
    section.fieldForm = JSON.parse(JSON.stringify(block.form));
    section.fieldSerial = block.serial;
  }
  section.fieldBad = new Set(block.problems.map((problem) => problem.field));
  const copy = () => JSON.parse(JSON.stringify(section.fieldForm));
  const send = () => {
    clearTimeout(section.fieldTimer);
    section.fieldTimer = undefined;
    view.model.send({ kind: "do", id: freshId(), action: "draft", args: { form: copy() } });
  };
  section.lessonLive ||= {
    destroy: () => {
      if (section.fieldTimer) send();
      view.model.off("msg:custom", section.fieldHear);
    },
  };
  section.fieldHear ||= (message) => {
    if (message.kind !== "progress" || !section.fieldBlock.working) return;
    view.say(message.said, "said");
  };
  view.model.off("msg:custom", section.fieldHear);
  view.model.on("msg:custom", section.fieldHear);
  /** @param {boolean} [now] */
  const change = (now) => {
    clearTimeout(section.fieldTimer);
    section.fieldTimer = setTimeout(send, now ? 0 : FIELD_PAUSE);
    fieldSheetBlock(view, section.fieldBlock, section);
  };
  // The work goes on after the click was answered: what was said of it goes with it.
  if (section.fieldBlock?.working && !block.working) view.say("", "said");
  if (!section.fieldBlock?.working && block.working) view.say(block.labels.judging, "said");
  section.fieldBlock = block;
  const judge = () => {
    clearTimeout(section.fieldTimer);
    section.fieldTimer = undefined;
    view.act("judge", { form: copy() }, "judge");
  };
  const problems = block.problems.length
    ? node(
        "div",
        { key: "problems", class: "lesson-notice lesson-notice-wait", role: "alert" },
        node("p", { key: "title" }, node("strong", {}, block.problems_title)),
        node(
          "ul",
          { key: "list", class: "lesson-list" },
          block.problems.map((problem, i) => node("li", { key: i }, wayToBox(section, problem))),
        ),
      )
    : null;
  patchChildren(
    section,
    node(
      "form",
      {
        class: "field-form",
        novalidate: true,
        on: {
          submit: (event) => {
            event.preventDefault();
            judge();
          },
        },
      },
      block.groups.map((group) => fieldGroup(view, block, section, group, change)),
      problems,
      node(
        "div",
        { key: "send", class: "field-send" },
        node(
          "button",
          {
            key: "judge",
            type: "submit",
            "aria-disabled": block.working ? "true" : false,
            // once the answer stands below, nothing is to be pressed before something else was typed
            class: `${block.judged ? "lesson-secondary" : "lesson-primary"}${block.working || view.turns.busy("judge") ? " lesson-pending" : ""}`,
          },
          block.labels.judge,
        ),
        block.working ? view.button(block.labels.stop, "stop", {}) : null,
        node("span", { key: "kept", class: "lesson-soft" }, block.labels.kept),
      ),
    ),
  );
}

/**
 * Suspects in order, each with how likely it is and what speaks for it and against it.
 * @param {LessonView} view
 * @param {SuspectsBlock} block
 * @param {BlockSection} section
 */
export function suspectsBlock(view, block, section) {
  /**
   * @param {string} label
   * @param {string[]} list
   * @param {string} name
   */
  const lines = (label, list, name) =>
    list.map((line, i) =>
      node("p", { key: name + i, class: "field-why" }, node("strong", { key: "label" }, label), ` ${line}`),
    );
  patchChildren(
    section,
    node("h3", { key: "title" }, block.title),
    node(
      "ol",
      { key: "list", class: `field-suspects${block.quiet ? " field-quiet" : ""}` },
      block.items.map((item, i) =>
        node(
          "li",
          { key: i },
          node(
            "p",
            { key: "name", class: "field-name" },
            node("span", { key: "n", class: "field-rank" }, `${i + 1}`),
            node("strong", { key: "name" }, item.name),
            node("span", { key: "chance", class: "field-chance" }, item.chance),
          ),
          block.quiet
            ? null
            : node(
                "span",
                { key: "bar", class: "field-bar", "aria-hidden": "true" },
                node("span", { style: `width:${Math.max(2, 100 * item.share)}%` }),
              ),
          node("p", { key: "what" }, item.what),
          block.quiet ? null : lines(block.labels.for, item.for, "for"),
          block.quiet ? null : lines(block.labels.against, item.against, "against"),
        ),
      ),
    ),
  );
}

/**
 * A page of its own, made here: it opens in a new tab to be printed.
 * @param {LessonView} view
 * @param {PrintoutBlock} block
 * @param {BlockSection} section
 */
export function printoutBlock(view, block, section) {
  section.printAddress ??= new PageAddress();
  section.lessonLive = { destroy: () => section.printAddress.end() };
  patchChildren(
    section,
    node(
      "div",
      { class: "lesson-row" },
      node(
        "a",
        {
          class: block.primary ? "lesson-primary" : "lesson-secondary",
          href: section.printAddress.of(block.html),
          target: "_blank",
          rel: "noopener",
        },
        block.label,
      ),
    ),
  );
}
