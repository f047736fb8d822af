// What a lesson is made of, one function a kind: prose, lists, cautions, the name, the list of lessons, links, questions.

/** Plain paragraphs of a block. */
function lessonParagraphs(list) {
  return (list || []).map((paragraph, i) => node("p", { key: i }, lessonInline(paragraph)));
}

/** The words after an answer: whether it was right, and why. */
function lessonVerdict(view, block) {
  if (!block.revealed) {
    return block.says && block.says.length ? node("div", { key: "says", class: "lesson-says" }, lessonParagraphs(block.says)) : null;
  }
  const tone = block.good ? "good" : "other";
  return node(
    "div",
    { key: "says", class: `lesson-says lesson-says-${tone}`, role: "status" },
    node("p", { key: "verdict", class: "lesson-verdict" }, node("span", { class: "lesson-sign", "aria-hidden": "true" }, block.good ? "✓" : "✗"), view.word(block.verdict || (block.good ? "right" : "not_quite"))),
    lessonParagraphs(block.says)
  );
}

const LESSON_SHORT = 16; // letters of an option that leaves room for another one beside it

/** The options of a question: buttons until one is chosen, then the list with the answer marked in words. */
function lessonOptions(view, block) {
  const open = block.answer === null || block.answer === undefined;
  if (open) {
    return node(
      "div",
      { key: "open", class: "lesson-options" + (block.options.every((option) => option.label.length <= LESSON_SHORT) ? " lesson-options-short" : "") },
      block.options.map((option) =>
        node(
          "button",
          {
            key: option.id,
            type: "button",
            class: "lesson-option" + (view.pending?.key === `${block.id}:${option.id}` ? " lesson-pending" : ""),
            // the second click of a double one would fall on what has come in the meantime
            on: { click: (event) => event.detail < 2 && view.act("answer", { question: block.id, answer: option.id }, `${block.id}:${option.id}`) },
          },
          lessonInline(option.label)
        )
      )
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
          node("span", { class: "lesson-option-text" }, lessonInline(option.label)),
          right ? node("span", { key: "right", class: "lesson-tag lesson-tag-right" }, view.word("right_answer")) : null,
          mine ? node("span", { key: "mine", class: "lesson-tag" }, view.word("your_answer")) : null
        );
      })
  );
}

/** Enter in a field sends it: inside a notebook the key may not reach the form by itself. */
function lessonOnEnter(send) {
  return (event) => {
    if (event.key !== "Enter" || event.isComposing) return;
    event.preventDefault();
    send();
  };
}

/** A figure to type, with its unit, and a way to say "I do not know". */
function lessonNumber(view, block, section) {
  const open = block.answer === null || block.answer === undefined;
  if (!open) {
    return node("p", { key: "closed", class: "lesson-typed" }, node("span", { class: "lesson-tag" }, view.word("your_answer")), ` ${block.shown}`);
  }
  const send = () => {
    const field = section.querySelector("input");
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
    { key: "open", class: "lesson-form", on: { submit: (event) => (event.preventDefault(), send()) } },
    node(
      "label",
      { key: "label", class: "lesson-field" },
      node("span", { class: "lesson-hidden" }, block.text),
      node("input", { type: "text", inputmode: "decimal", autocomplete: "off", class: "lesson-input lesson-input-short", on: { keydown: lessonOnEnter(send) } }),
      node("span", { class: "lesson-unit" }, block.unit)
    ),
    node("button", { key: "send", type: "submit", class: "lesson-primary" + (view.pending?.key === block.id ? " lesson-pending" : "") }, view.word("answer")),
    block.unsure ? view.button(view.word("unsure"), "answer", { question: block.id, answer: "unsure" }, { key: `${block.id}:unsure` }) : null
  );
}

/** What is asked, in bold; what it is asked about stands before it, in plain type. */
function lessonAsked(words) {
  const [, facts, asked] = /^(.*[.:!”"])\s+([^.!]+\?)$/s.exec(words) || [null, "", words];
  return [
    facts ? node("p", { key: "facts", class: "lesson-facts" }, lessonInline(facts)) : null,
    node("h3", { key: "text", class: "lesson-question" }, lessonInline(asked)),
  ];
}

function lessonQuestionWords(view, block, section) {
  return [
    block.step ? node("p", { key: "step", class: "lesson-step" }, block.step) : null,
    ...lessonAsked(block.text),
    ...(block.note ? [node("p", { key: "note", class: "lesson-soft" }, lessonInline(block.note))] : []),
    block.options ? lessonOptions(view, block) : lessonNumber(view, block, section),
    lessonVerdict(view, block),
    lessonHint(view, block),
  ];
}

const LESSON_STATES = { done: "✓", begun: "…", weak: "↻", due: "↻", open: "·" };

const LESSON_BLOCKS = {
  title(view, block, section) {
    patchChildren(
      section,
      block.kicker ? node("p", { key: "kicker", class: "lesson-kicker" }, block.kicker) : null,
      node("h1", { key: "title" }, block.text),
      block.lead ? node("p", { key: "lead", class: "lesson-lead" }, lessonInline(block.lead)) : null
    );
  },

  heading(view, block, section) {
    patchChildren(section, node("h2", {}, block.text), lessonParagraphs(block.paragraphs));
  },

  prose(view, block, section) {
    patchChildren(section, lessonParagraphs(block.paragraphs));
  },

  list(view, block, section) {
    const items = block.items.map((item, i) => node("li", { key: i }, lessonInline(item)));
    patchChildren(
      section,
      block.title ? node("h3", { key: "title" }, block.title) : null,
      node(block.ordered ? "ol" : "ul", { key: "list", class: "lesson-list" }, items)
    );
  },

  caution(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: "lesson-caution", role: "note" },
        block.title ? node("h2", { key: "title" }, block.title) : null,
        lessonParagraphs(block.paragraphs),
        block.items ? node("ul", { key: "items", class: "lesson-list" }, block.items.map((item, i) => node("li", { key: i }, lessonInline(item)))) : null,
        block.foot ? node("p", { key: "foot", class: "lesson-foot" }, block.foot) : null,
        block.done
          ? node("p", { key: "done", class: "lesson-ticked" }, node("span", { class: "lesson-sign", "aria-hidden": "true" }, "✓"), block.done)
          : block.button
            ? view.button(block.button, block.action, {}, { primary: true })
            : null
      )
    );
  },

  /** How to do safely what the words above tell to do: one line an act, folded away until it is wanted. */
  safe(view, block, section) {
    patchChildren(
      section,
      node(
        "details",
        { key: "safe", class: "lesson-safe" },
        node("summary", { key: "title" }, `${block.title} (${block.items.length})`),
        node("ul", { key: "items", class: "lesson-list" }, block.items.map((item, i) => node("li", { key: i }, lessonInline(item))))
      )
    );
  },

  notice(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: `lesson-notice lesson-notice-${block.tone || "plain"}` },
        lessonParagraphs(block.paragraphs),
        block.link ? node("a", { key: "link", class: "lesson-link", href: lessonAddress(block.link.file) }, block.link.label) : null,
        block.to ? node("button", { key: "to", type: "button", class: (block.quiet ? "lesson-secondary" : "lesson-primary") + " lesson-goto", on: { click: () => lessonGoTo(block.to.part, block.to.block) } }, block.to.label) : null
      )
    );
  },

  name(view, block, section) {
    const send = () => view.act("name", { name: section.querySelector("input").value }, "name");
    patchChildren(
      section,
      node(
        "form",
        { class: "lesson-form", on: { submit: (event) => (event.preventDefault(), send()) } },
        node(
          "label",
          { key: "label", class: "lesson-field" },
          node("span", { class: "lesson-field-label" }, block.label),
          node("input", { type: "text", maxlength: "60", autocomplete: "off", spellcheck: "false", class: "lesson-input", value: block.value, on: { keydown: lessonOnEnter(send) } })
        ),
        node("button", { key: "send", type: "submit", class: (block.quiet ? "lesson-secondary" : "lesson-primary") + (view.pending?.key === "name" ? " lesson-pending" : "") }, block.button)
      ),
      node("p", { key: "hint", class: "lesson-soft" }, block.hint)
    );
  },

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
            option.label
          )
        )
      ),
      block.note ? node("p", { key: "note", class: "lesson-soft" }, block.note) : null
    );
  },

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
            node("span", { class: "lesson-sign", "aria-hidden": "true" }, LESSON_STATES[item.state] || "·"),
            item.here
              ? node("span", { key: "here", class: "lesson-contents-name" }, `${item.number}  ${item.title}`)
              : node("a", { key: "link", class: "lesson-contents-name", href: lessonAddress(item.file) }, `${item.number}  ${item.title}`),
            node("span", { class: "lesson-contents-state" }, item.says),
            node("span", { class: "lesson-contents-detail" }, item.detail)
          )
        )
      )
    );
  },

  go(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: "lesson-row" },
        block.links.map((link, i) => node("a", { key: link.file, class: i || block.quiet ? "lesson-secondary" : "lesson-primary", href: lessonAddress(link.file) }, link.label))
      )
    );
  },

  buttons(view, block, section) {
    patchChildren(
      section,
      node(
        "div",
        { class: "lesson-row" },
        block.buttons.map((one) => view.button(one.label, one.action, one.args, { primary: one.primary, key: `${one.action}:${JSON.stringify(one.args || {})}` }))
      )
    );
  },

  question(view, block, section) {
    const { face, words } = lessonPlaces(section, "face", "words");
    if (block.dial) lessonDial(section, face, block, view);
    face.hidden = !block.dial;
    section.classList.toggle("lesson-with-face", Boolean(block.dial));
    patchChildren(words, lessonQuestionWords(view, block, section));
  },

  gauge: (view, block, section) => lessonGauge(view, block, section),
  picture: (view, block, section) => lessonPicture(view, block, section),
  ideas: (view, block, section) => lessonIdeas(view, block, section),
  compare: (view, block, section) => lessonCompare(view, block, section),
  chart: (view, block, section) => lessonChartBlock(view, block, section),
  tour: (view, block, section) => lessonTour(view, block, section),
};
