// What a lesson is made of, one function a kind: prose, lists, cautions, the name, the list of lessons, links, questions.
import { node, patchChildren } from "../base/dom.js";
import { standingDial } from "./figures.js";
import { goToBlock, inlineText, lessonAddress, linkAddress, placesIn, prose } from "./prose.js";
import { onEnter, onSubmit, questionWords } from "./questions.js";

/** @type {Record<string, string>} */
const STATE_SIGNS = { done: "✓", begun: "…", weak: "↻", due: "↻", open: "·" };

export const PLAIN_BLOCKS = {
  /**
   * @param {LessonView} view
   * @param {TitleBlock} block
   * @param {BlockSection} section
   */
  title(view, block, section) {
    patchChildren(
      section,
      block.kicker ? node("p", { key: "kicker", class: "lesson-kicker" }, block.kicker) : null,
      node("h1", { key: "title" }, block.text),
      block.lead ? node("p", { key: "lead", class: "lesson-lead" }, inlineText(block.lead)) : null,
    );
  },

  /**
   * @param {LessonView} view
   * @param {HeadingBlock} block
   * @param {BlockSection} section
   */
  heading(view, block, section) {
    patchChildren(section, node("h2", {}, block.text), prose(block.paragraphs));
  },

  /**
   * @param {LessonView} view
   * @param {ProseBlock} block
   * @param {BlockSection} section
   */
  prose(view, block, section) {
    patchChildren(section, prose(block.paragraphs));
  },

  /**
   * @param {LessonView} view
   * @param {ListBlock} block
   * @param {BlockSection} section
   */
  list(view, block, section) {
    const items = block.items.map((item, i) => node("li", { key: i }, inlineText(item)));
    patchChildren(
      section,
      block.title ? node("h3", { key: "title" }, block.title) : null,
      node(block.ordered ? "ol" : "ul", { key: "list", class: "lesson-list" }, items),
    );
  },

  /**
   * How to do safely what the words above tell to do: one line an act, folded away until it is wanted.
   *
   * @param {LessonView} _view
   * @param {SafeBlock} block
   * @param {BlockSection} section
   */
  safe(_view, block, section) {
    patchChildren(
      section,
      node(
        "details",
        { key: "safe", class: "lesson-safe" },
        node("summary", { key: "title" }, `${block.title} (${block.items.length})`),
        node(
          "ul",
          { key: "items", class: "lesson-list" },
          block.items.map((item, i) => node("li", { key: i }, inlineText(item))),
        ),
      ),
    );
  },

  /**
   * What only who wants to know more reads.
   * @param {LessonView} _view
   * @param {FoldedBlock} block
   * @param {BlockSection} section
   */
  folded(_view, block, section) {
    const title = node("summary", { key: "title" }, block.title);
    patchChildren(section, node("details", { key: "folded", class: "lesson-folded" }, title, prose(block.paragraphs)));
  },

  /**
   * @param {LessonView} view
   * @param {CautionBlock} block
   * @param {BlockSection} section
   */
  caution(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: "lesson-caution", role: "note" },
        block.title ? node("h2", { key: "title" }, block.title) : null,
        prose(block.paragraphs),
        block.items
          ? node(
              "ul",
              { key: "items", class: "lesson-list" },
              block.items.map((item, i) => node("li", { key: i }, inlineText(item))),
            )
          : null,
        block.foot ? node("p", { key: "foot", class: "lesson-foot" }, block.foot) : null,
        block.done
          ? node(
              "p",
              { key: "done", class: "lesson-ticked" },
              node("span", { class: "lesson-sign", "aria-hidden": "true" }, "✓"),
              block.done,
            )
          : block.button
            ? view.button(block.button, block.action, {}, { primary: true })
            : null,
      ),
    );
  },

  /**
   * @param {LessonView} view
   * @param {NoticeBlock} block
   * @param {BlockSection} section
   */
  notice(view, block, section) {
    const { to } = block;
    patchChildren(
      section,
      node(
        "div",
        { class: `lesson-notice lesson-notice-${block.tone || "plain"}` },
        prose(block.paragraphs),
        block.link
          ? node("a", { key: "link", class: "lesson-link", href: linkAddress(block.link) }, block.link.label)
          : null,
        to
          ? node(
              "button",
              {
                key: "to",
                type: "button",
                class: `${block.quiet ? "lesson-secondary" : "lesson-primary"} lesson-goto`,
                on: { click: () => goToBlock(to.part, to.block) },
              },
              to.label,
            )
          : null,
      ),
    );
  },

  /**
   * @param {LessonView} view
   * @param {NameBlock} block
   * @param {BlockSection} section
   */
  name(view, block, section) {
    const action = block.action ?? "name";
    const send = () => view.act(action, { name: section.querySelector("input")?.value }, action);
    patchChildren(
      section,
      node(
        "form",
        { class: "lesson-form", on: { submit: onSubmit(send) } },
        node(
          "label",
          { key: "label", class: "lesson-field" },
          node("span", { class: "lesson-field-label" }, block.label),
          node("input", {
            type: "text",
            maxlength: block.most ?? "60",
            autocomplete: "off",
            spellcheck: "false",
            class: "lesson-input",
            value: block.value,
            on: { keydown: onEnter(send) },
          }),
        ),
        node(
          "button",
          {
            key: "send",
            type: "submit",
            class:
              (block.quiet ? "lesson-secondary" : "lesson-primary") +
              (view.turns.busy(action) ? " lesson-pending" : ""),
          },
          block.button,
        ),
      ),
      node("p", { key: "hint", class: "lesson-soft" }, block.hint),
    );
  },

  /**
   * @param {LessonView} view
   * @param {ChoicesBlock} block
   * @param {BlockSection} section
   */
  choices(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: "lesson-choices", role: "group", "aria-label": block.label },
        node("span", { key: "label", class: "lesson-field-label" }, block.label),
        block.options.map((option) =>
          node(
            "button",
            {
              key: option.id,
              type: "button",
              class: "lesson-choice",
              "aria-pressed": option.id === block.value ? "true" : "false",
              on: { click: () => view.act(block.action, { value: option.id }, `${block.id}:${option.id}`) },
            },
            option.label,
          ),
        ),
      ),
      block.note ? node("p", { key: "note", class: "lesson-soft" }, block.note) : null,
    );
  },

  /**
   * @param {LessonView} view
   * @param {ContentsBlock} block
   * @param {BlockSection} section
   */
  lessons(view, block, section) {
    patchChildren(
      section,
      node("h2", { key: "title" }, block.title),
      block.note ? node("p", { key: "note", class: "lesson-soft" }, block.note) : null,
      node(
        "ul",
        { key: "list", class: "lesson-contents" },
        block.items.map((item) =>
          node(
            "li",
            { key: item.file, "data-state": item.state },
            node("span", { class: "lesson-sign", "aria-hidden": "true" }, STATE_SIGNS[item.state] || "·"),
            item.here
              ? node("span", { key: "here", class: "lesson-contents-name" }, `${item.number}  ${item.title}`)
              : node(
                  "a",
                  { key: "link", class: "lesson-contents-name", href: lessonAddress(item.file) },
                  `${item.number}  ${item.title}`,
                ),
            node("span", { class: "lesson-contents-state" }, item.says),
            node("span", { class: "lesson-contents-detail" }, item.detail),
          ),
        ),
      ),
    );
  },

  /**
   * @param {LessonView} view
   * @param {LinksBlock} block
   * @param {BlockSection} section
   */
  go(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: "lesson-row" },
        block.links.map((link, i) =>
          node(
            "a",
            {
              key: link.file,
              class: i || block.quiet ? "lesson-secondary" : "lesson-primary",
              href: lessonAddress(link.file),
            },
            link.label,
          ),
        ),
      ),
    );
  },

  /**
   * @param {LessonView} view
   * @param {ButtonsBlock} block
   * @param {BlockSection} section
   */
  buttons(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: "lesson-row" },
        block.buttons.map((one) =>
          view.button(one.label, one.action, one.args, {
            primary: one.primary,
            off: one.off,
            key: `${one.action}:${JSON.stringify(one.args || {})}`,
          }),
        ),
      ),
    );
  },

  /**
   * @param {LessonView} view
   * @param {QuestionBlock} block
   * @param {BlockSection} section
   */
  question(view, block, section) {
    const { face, words } = placesIn(section, "face", "words");
    if (block.dial) standingDial(section, face, block.dial, block.units, view);
    face.hidden = !block.dial;
    section.classList.toggle("lesson-with-face", Boolean(block.dial));
    patchChildren(words, questionWords(view, block, section));
  },
};
