// The planner: what is set up on the left, the expected time and its curve on the right, a table to print below.
// Moving a slider asks for the curve at once, one question at a time; the band is asked for when it rests.

const LESSON_REST = 350; // ms without a move after which a slider rests

/** Ask the kernel for something that does not hold up the rest of the part; resolves with its answer. */
function lessonAsk(view, action, args) {
  const id = lessonFreshId();
  view.quiet ||= new Map();
  return new Promise((done) => {
    view.quiet.set(id, done);
    view.model.send({ kind: "do", id, action, args });
  });
}

class LessonPlanner {
  constructor(view, section) {
    this.view = view;
    this.section = section;
    this.places = lessonPlaces(section, "controls", "outcome", "sheets");
    this.words = paletteElement("div", "lesson-planner-answer", this.places.outcome);
    this.figure = paletteElement("div", "lesson-replay-chart", this.places.outcome);
    this.unwatch = paletteWatchWidth(this.figure, () => this.block && lessonChart(this.figure, this.block.chart));
    this.mine = {};
    this.rowsWanted = 0;
  }

  destroy() {
    this.unwatch();
    clearTimeout(this.resting);
  }

  set(block) {
    this.block = block;
    lessonChart(this.figure, block.chart);
    this.show();
    if (block.band_open && !this.asking && !this.resting) this.rest();
  }

  /** A control was moved: keep what it says and ask for its curve. */
  move(name, value) {
    this.mine[name] = value;
    this.stopTable();
    this.show();
    this.send();
  }

  async send() {
    if (this.asking) {
      this.again = true;
      return;
    }
    this.asking = true;
    const asked = { ...this.mine };
    await lessonAsk(this.view, "plan", asked);
    for (const [name, value] of Object.entries(asked)) if (this.mine[name] === value && !this.again) delete this.mine[name];
    this.asking = false;
    if (this.again) {
      this.again = false;
      this.send();
    } else this.rest();
    this.show();
  }

  rest() {
    clearTimeout(this.resting);
    this.resting = setTimeout(() => {
      this.resting = null;
      if (!this.asking && this.block.band_open && !this.block.trouble) lessonAsk(this.view, "band", {});
    }, LESSON_REST);
  }

  value(slider) {
    return this.mine[slider.id] ?? slider.value;
  }

  async makeTable() {
    this.tabling = true;
    for (let row = 0; row < this.block.table.total && this.tabling; row += 1) {
      this.row = row;
      this.show();
      await lessonAsk(this.view, "table", { row });
    }
    this.tabling = false;
    this.show();
  }

  stopTable() {
    this.tabling = false;
  }

  show() {
    const { block, places } = this;
    const { words } = block;
    const choice = (name, options, chosen) =>
      node(
        "div",
        { key: name, class: "lesson-planner-choices", role: "group", "aria-label": words[name] },
        node("span", { key: "label", class: "lesson-field-label" }, words[name]),
        options.map((option) => {
          const value = option.id ?? option.value;
          return node(
            "button",
            { key: value, type: "button", class: "lesson-choice", "aria-pressed": value === chosen ? "true" : "false", on: { click: () => this.move(name, value) } },
            option.label
          );
        })
      );
    patchChildren(
      places.controls,
      choice("rig", block.rigs, this.mine.rig ?? block.setup.rig),
      choice("bore", block.bores, this.mine.bore ?? block.setup.bore),
      block.sliders.map((slider) => {
        const value = this.value(slider);
        const said = `${paletteNumber(value / slider.unit.size, slider.unit.decimals)} ${slider.unit.name}`;
        return node(
          "label",
          { key: slider.id, class: "lesson-slide lesson-planner-slide" },
          node("span", { key: "label" }, slider.label),
          node("span", { key: "value", class: "lesson-planner-value" }, said),
          node("input", {
            key: "input",
            type: "range",
            min: slider.low,
            max: slider.high,
            step: slider.step,
            "aria-valuetext": said,
            set: { value: String(value) },
            on: { input: (event) => this.move(slider.id, Number(event.target.value)) },
          })
        );
      })
    );
    const [first, ...rest] = block.trouble ? [block.trouble] : block.answer;
    patchChildren(
      this.words,
      node("p", { key: "first", class: block.trouble ? "lesson-planner-trouble" : "lesson-planner-time", role: "status" }, lessonInline(first)),
      rest.length ? lessonParagraphs(rest) : block.band_open && !block.trouble ? node("p", { key: "wait", class: "lesson-soft" }, words.working) : null
    );
    const { table } = block;
    patchChildren(
      places.sheets,
      node(
        "div",
        { class: "lesson-row" },
        this.tabling
          ? node("button", { key: "stop", type: "button", class: "lesson-secondary", on: { click: () => (this.stopTable(), this.show()) } }, paletteFill(words.stop, { n: this.row + 1, total: table.total }))
          : node("button", { key: "make", type: "button", class: "lesson-secondary", on: { click: () => this.makeTable() } }, words.make_table),
        table.page ? node("a", { key: "page", class: "lesson-primary", target: "_blank", rel: "noopener", download: table.file, href: this.address(table.page) }, words.open) : null
      ),
      table.rows.length
        ? node("div", { key: "scroll", class: "lesson-scroll", tabindex: "0", role: "group", "aria-label": table.title }, [
            node("table", { class: "lesson-table lesson-planner-table" }, [
              node("thead", { key: "head" }, node("tr", {}, table.columns.map((name, i) => node("th", { key: i, scope: "col" }, name)))),
              node("tbody", { key: "body" }, table.rows.map((row, r) => node("tr", { key: r }, row.map((cell, i) => node(i ? "td" : "th", { key: i, ...(i ? {} : { scope: "row" }) }, cell))))),
            ]),
          ])
        : null
    );
  }

  /** A page of its own from its text; the last one is let go. */
  address(html) {
    if (this.html !== html) {
      if (this.url) URL.revokeObjectURL(this.url);
      this.html = html;
      this.url = URL.createObjectURL(new Blob([html], { type: "text/html" }));
    }
    return this.url;
  }
}

LESSON_BLOCKS.planner = (view, block, section) => {
  if (!section.lessonLive) section.lessonLive = new LessonPlanner(view, section);
  section.lessonLive.set(block);
};
