// Blocks of the taught lessons: where the learner stands, ideas with their figures, needles, what the expert says, hints.

/** Steps of a hint taken so far, and a button for the next. */
function lessonHint(view, block) {
  if (!block.hint) return null;
  const { shown, more } = block.hint;
  if (!shown.length && !more) return null;
  return node(
    "div",
    { key: "hint", class: "lesson-hint" },
    shown.map((hint, i) => node("p", { key: i }, lessonInline(hint))),
    more ? view.button(more, "hint", { question: block.id }, { key: `${block.id}:hint` }) : null
  );
}

/** Bring a part of the lesson into view and give it the focus. */
function lessonGoTo(name, block) {
  const part = document.querySelector(`.lesson-root[data-part="${name}"]`);
  const root = (block && part?.querySelector(`[data-block="${block}"]`)) || part;
  if (!root) return;
  root.tabIndex = -1;
  root.focus({ preventScroll: true });
  root.scrollIntoView({ block: "start", behavior: paletteStill() ? "auto" : "smooth" });
}

const LESSON_STEP_SIGNS = { done: "✓", now: "▸", open: "·" };

Object.assign(LESSON_BLOCKS, {
  /** The steps of the lesson, the one to do now marked in words. */
  steps(view, block, section) {
    patchChildren(
      section,
      node("h2", { key: "title" }, block.title),
      node(
        "ol",
        { key: "list", class: "lesson-steps" + (block.row ? " lesson-steps-row" : "") },
        block.items.map((item, i) =>
          node(
            "li",
            { key: i, "data-state": item.state, "aria-current": item.state === "now" ? "step" : false },
            node("span", { class: "lesson-sign", "aria-hidden": "true" }, LESSON_STEP_SIGNS[item.state]),
            !item.part || item.state === "now"
              ? node("span", { key: "name", class: item.part ? "lesson-steps-name" : "lesson-steps-plain" }, item.label)
              : node("button", { key: "to", type: "button", class: "lesson-steps-name", on: { click: () => lessonGoTo(item.part) } }, item.label),
            item.part && item.state === "now"
              ? node("button", { key: "go", type: "button", class: "lesson-primary lesson-steps-go", "aria-label": `${item.says}: ${item.label}`, on: { click: () => lessonGoTo(item.part) } }, `${item.says} ↓`)
              : block.row && item.state === "open"
                ? null
                : node("span", { key: "state", class: "lesson-steps-state" }, item.says)
          )
        )
      )
    );
  },

  /** Ideas one at a time, each with a figure of any kind. */
  pages(view, block, section) {
    const { words, figure } = lessonPlaces(section, "words", "figure");
    figure.className = "lesson-page-figure";
    if (section.lessonIndex === undefined) section.lessonIndex = 0;
    const count = block.items.length;
    const go = (index) => {
      section.lessonIndex = paletteClamp(index, 0, count - 1);
      show();
      if (section.lessonIndex === count - 1 && !block.seen) view.act("seen", { what: block.id }, block.id);
    };
    const show = () => {
      const index = section.lessonIndex;
      const item = block.items[index];
      const made = JSON.stringify([index, block.units]);
      if (section.lessonPage !== made) {
        section.lessonPage = made;
        section.lessonInner?.lessonLive?.destroy?.();
        figure.textContent = "";
        section.lessonInner = paletteElement("div", `lesson-block-${item.figure.kind}`, figure);
      }
      LESSON_BLOCKS[item.figure.kind](view, item.figure, section.lessonInner);
      const step = (label, to, primary) =>
        node(
          "button",
          {
            key: label,
            type: "button",
            class: primary ? "lesson-primary" : "lesson-secondary",
            "aria-disabled": to < 0 || to >= count ? "true" : false,
            on: { click: () => to >= 0 && to < count && go(to) },
          },
          label
        );
      patchChildren(
        words,
        node(
          "div",
          { key: "idea", class: "lesson-idea", "aria-live": "polite" },
          node("p", { key: "step", class: "lesson-step" }, view.word("step", { n: index + 1, total: count })),
          node("h3", { key: "title" }, item.title),
          lessonParagraphs(item.paragraphs)
        ),
        node("div", { key: "row", class: "lesson-row" }, step(view.word("back"), index - 1, false), step(view.word("next"), index + 1, index + 1 < count))
      );
    };
    section.lessonLive = { destroy: () => section.lessonInner?.lessonLive?.destroy?.() };
    show();
  },

  /** Needles as they stand. */
  dials(view, block, section) {
    const { figure, words } = lessonPlaces(section, "figure", "words");
    figure.className = "lesson-dials";
    const made = JSON.stringify(block.items.map((item) => item.spec.id));
    if (section.lessonMade !== made) {
      section.lessonLive?.destroy?.();
      figure.textContent = "";
      section.lessonMade = made;
      const live = block.items.map((item) => dialCreate(paletteElement("div", "lesson-dial", figure), { ...item.spec, system: block.units }, view.content.picture_words));
      section.lessonLive = { live, destroy: () => live.forEach((one) => one.destroy()) };
    }
    section.lessonLive.live.forEach((one, i) => {
      one.setUnits(block.units);
      one.set(block.items[i].value);
    });
    patchChildren(words, block.caption ? node("p", { class: "lesson-soft" }, lessonInline(block.caption)) : null);
  },

  /** A step that the expert has done, with the reason. */
  expert(view, block, section) {
    patchChildren(
      section,
      node("p", { key: "step", class: "lesson-step" }, block.step),
      ...lessonAsked(block.text),
      node("p", { key: "answer", class: "lesson-expert-answer" }, node("span", { key: "by", class: "lesson-soft" }, `${block.by} `), lessonInline(block.answer)),
      lessonParagraphs(block.paragraphs)
    );
  },

  replay: (view, block, section) => lessonReplay(view, block, section),
});
