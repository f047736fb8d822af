// Fields that are filled in and sent together, or one by one as they are chosen; and files to take away, made here.
import { node, patchChildren } from "../base/dom.js";
import { PageAddress } from "./page_address.js";
import { onSubmit } from "./questions.js";

/**
 * What stands in a field: what was typed since the kernel last said something else, or what it says.
 * @param {BlockSection} section
 * @param {FormField} field
 */
function typedOr(section, field) {
  const typed = section.formTyped.get(field.id);
  return typed && typed.over === field.value ? typed.value : field.value;
}

/**
 * @param {BlockSection} section
 * @param {FormBlock} block
 * @param {FormField} field
 * @param {(field: string) => void} changed
 */
function control(section, block, field, changed) {
  const id = `form-${block.id}-${field.id}`;
  const common = {
    key: "control",
    id,
    "aria-describedby": field.hint ? `${id}-hint` : false,
    set: { value: typedOr(section, field) },
  };
  /** @param {any} event */
  const type = (event) => section.formTyped.set(field.id, { value: event.target.value, over: field.value });
  /** @param {any} event */
  const change = (event) => {
    type(event);
    changed(field.id);
  };
  if (field.options)
    return node(
      "select",
      { ...common, class: "lesson-input", on: { change } },
      field.options.map((option) => node("option", { key: option.id, value: option.id }, option.label)),
    );
  if (field.long)
    return node("textarea", { ...common, class: "lesson-input field-long", rows: 3, on: { input: type, change } });
  return node("input", {
    ...common,
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    class: "lesson-input",
    maxlength: field.most ?? "60",
    on: { input: type, change },
  });
}

/**
 * @param {LessonView} view
 * @param {FormBlock} block
 * @param {BlockSection} section
 */
export function formBlock(view, block, section) {
  section.formTyped ??= new Map();
  const values = () => Object.fromEntries(block.fields.map((field) => [field.id, typedOr(section, field)]));
  const send = () => view.act(block.action, { ...values(), ...block.args }, block.id);
  /** @param {string} field */
  const changed = (field) => {
    if (block.live) view.act(block.action, { field, value: values()[field] }, `${block.id}:${field}`);
  };
  patchChildren(
    section,
    block.title ? node("h3", { key: "title" }, block.title) : null,
    node(
      "form",
      { key: "form", class: "lesson-fields", on: { submit: onSubmit(block.live ? () => undefined : send) } },
      block.fields.map((field) =>
        node(
          "div",
          { key: field.id, class: `lesson-field${field.long ? " lesson-field-wide" : ""}` },
          node(
            "label",
            { key: "label", class: "lesson-field-label", for: `form-${block.id}-${field.id}` },
            field.label,
          ),
          control(section, block, field, changed),
          field.hint
            ? node("p", { key: "hint", id: `form-${block.id}-${field.id}-hint`, class: "lesson-soft" }, field.hint)
            : null,
        ),
      ),
      block.button
        ? node(
            "button",
            {
              key: "send",
              type: "submit",
              class:
                (block.quiet ? "lesson-secondary" : "lesson-primary") +
                (view.turns.busy(block.id) ? " lesson-pending" : ""),
            },
            block.button,
          )
        : null,
    ),
  );
}

/**
 * Files made by the kernel, kept by the browser at a press.
 * @param {LessonView} _view
 * @param {FilesBlock} block
 * @param {BlockSection} section
 */
export function filesBlock(_view, block, section) {
  /** @type {Map<string, PageAddress>} */
  const addresses = section.fileAddresses ?? new Map();
  section.fileAddresses = addresses;
  section.lessonLive = { destroy: () => addresses.forEach((address) => address.end()) };
  patchChildren(
    section,
    node(
      "div",
      { class: "lesson-row" },
      block.files.map((file) => {
        const address = addresses.get(file.name) ?? new PageAddress(file.type);
        addresses.set(file.name, address);
        return node(
          "a",
          { key: file.name, class: "lesson-secondary", href: address.of(file.text), download: file.name },
          file.label,
        );
      }),
    ),
  );
}
