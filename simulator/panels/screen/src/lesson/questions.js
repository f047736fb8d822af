// Questions of a lesson: options to choose, a figure to type, and what is said of an answer.
import { node } from "../base/dom.js";
import { askedText, hintSteps, inlineText, prose } from "./prose.js";

/**
 * The words after an answer: whether it was right, and why.
 * @param {LessonView} view
 * @param {QuestionBlock} block
 */
function verdictText(view, block) {
  if (!block.revealed) {
    return block.says?.length
      ? node("div", { key: "says", class: "lesson-says", role: "status" }, prose(block.says))
      : null;
  }
  const tone = block.good ? "good" : "other";
  return node(
    "div",
    { key: "says", class: `lesson-says lesson-says-${tone}`, role: "status" },
    node(
      "p",
      { key: "verdict", class: "lesson-verdict" },
      node("span", { class: "lesson-sign", "aria-hidden": "true" }, block.good ? "✓" : "✗"),
      view.word(block.verdict || (block.good ? "right" : "not_quite")),
    ),
    prose(block.says),
  );
}

const SHORT_OPTION = 16; // letters of an option that leaves room for another one beside it

/**
 * The options of a question: buttons until one is chosen, then the list with the answer marked in words.
 * @param {LessonView} view
 * @param {QuestionBlock} block
 */
function optionList(view, block) {
  const open = block.answer === null || block.answer === undefined;
  if (open) {
    return node(
      "div",
      {
        key: "open",
        class:
          "lesson-options" +
          (block.options.every((option) => option.label.length <= SHORT_OPTION) ? " lesson-options-short" : ""),
      },
      block.options.map((option) =>
        node(
          "button",
          {
            key: option.id,
            type: "button",
            class: `lesson-option${view.turns.busy(`${block.id}:${option.id}`) ? " lesson-pending" : ""}`,
            // the second click of a double one would fall on what has come in the meantime
            on: {
              click: (event) =>
                event.detail < 2 &&
                view.act("answer", { question: block.id, answer: option.id }, `${block.id}:${option.id}`),
            },
          },
          inlineText(option.label),
        ),
      ),
    );
  }
  return node(
    "ul",
    { key: "closed", class: "lesson-chosen" },
    block.options
      .filter((option) => option.id === block.answer || (block.revealed && option.id !== "unsure"))
      .map((option) => {
        const mine = option.id === block.answer;
        const right = block.revealed && option.id === block.right;
        return node(
          "li",
          { key: option.id, class: (right ? "lesson-is-right" : "") + (mine ? " lesson-is-mine" : "") },
          node("span", { class: "lesson-option-text" }, inlineText(option.label)),
          right
            ? node("span", { key: "right", class: "lesson-tag lesson-tag-right" }, view.word("right_answer"))
            : null,
          mine ? node("span", { key: "mine", class: "lesson-tag" }, view.word("your_answer")) : null,
        );
      }),
  );
}

/**
 * A form is sent by the page itself, never by the browser.
 * @param {() => void} send
 */
export function onSubmit(send) {
  return (/** @type {Event} */ event) => {
    event.preventDefault();
    send();
  };
}

/**
 * Enter in a field sends it: inside a notebook the key may not reach the form by itself.
 * @param {() => void} send
 */
export function onEnter(send) {
  return (/** @type {any} */ event) => {
    if (event.key !== "Enter" || event.isComposing) return;
    event.preventDefault();
    send();
  };
}

/**
 * A figure to type, with its unit, and a way to say "I do not know".
 * @param {LessonView} view
 * @param {QuestionBlock} block
 * @param {BlockSection} section
 */
function numberForm(view, block, section) {
  const open = block.answer === null || block.answer === undefined;
  if (!open) {
    return node(
      "p",
      { key: "closed", class: "lesson-typed" },
      node("span", { class: "lesson-tag" }, view.word("your_answer")),
      ` ${block.shown}`,
    );
  }
  const send = () => {
    const field = /** @type {HTMLInputElement} */ (section.querySelector("input"));
    const value = Number.parseFloat(String(field.value).replace(",", "."));
    const legal = Number.isFinite(value) && value >= block.low && value <= block.high;
    field.setAttribute("aria-invalid", legal ? "false" : "true");
    if (!legal) {
      view.say(view.word("out_of_range", { low: block.low, high: block.high, unit: block.unit }), "wait");
      field.focus();
      return;
    }
    view.act("answer", { question: block.id, answer: value }, block.id);
  };
  return node(
    "form",
    { key: "open", class: "lesson-form", on: { submit: onSubmit(send) } },
    node(
      "label",
      { key: "label", class: "lesson-field" },
      node("span", { class: "lesson-hidden" }, block.text),
      node("input", {
        type: "text",
        inputmode: "decimal",
        autocomplete: "off",
        class: "lesson-input lesson-input-short",
        on: { keydown: onEnter(send) },
      }),
      node("span", { class: "lesson-unit" }, block.unit),
    ),
    node(
      "button",
      {
        key: "send",
        type: "submit",
        class: `lesson-primary${view.turns.busy(block.id) ? " lesson-pending" : ""}`,
      },
      view.word("answer"),
    ),
    block.unsure
      ? view.button(
          view.word("unsure"),
          "answer",
          { question: block.id, answer: "unsure" },
          { key: `${block.id}:unsure` },
        )
      : null,
  );
}

/**
 * @param {LessonView} view
 * @param {QuestionBlock} block
 * @param {BlockSection} section
 */
export function questionWords(view, block, section) {
  return [
    block.step ? node("p", { key: "step", class: "lesson-step" }, block.step) : null,
    ...askedText(block.text),
    ...(block.note ? [node("p", { key: "note", class: "lesson-soft" }, inlineText(block.note))] : []),
    block.options ? optionList(view, block) : numberForm(view, block, section),
    verdictText(view, block),
    hintSteps(view, block),
  ];
}
