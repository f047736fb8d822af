// The planner: what is set up on the left, the expected time and its curve on the right, a table to print below.
// Moving a slider asks for the curve at once, one question at a time; the band is asked for when it rests.
import { htmlElement, node, patchChildren, watchWidth } from "../base/dom.js";
import { fillIn, formatNumber } from "../base/format.js";
import { freshId } from "../base/ids.js";
import { drawChart } from "./chart.js";
import { inlineText, placesIn, prose } from "./prose.js";

const SLIDER_REST = 350; // ms without a move after which a slider rests

/**
 * Ask the kernel for something that does not hold up the rest of the part; resolves with its answer.
 * @param {LessonView} view
 * @param {string} action
 * @param {any} args
 */
function askQuietly(view, action, args) {
  const id = freshId();
  return new Promise((done) => {
    view.quiet.set(id, done);
    view.model.send({ kind: "do", id, action, args });
  });
}

class LessonPlanner {
  /**
   * @param {LessonView} view
   * @param {BlockSection} section
   */
  constructor(view, section) {
    this.view = view;
    this.section = section;
    this.places = placesIn(section, "controls", "outcome", "sheets");
    this.words = htmlElement("div", "lesson-planner-answer", this.places.outcome);
    this.figure = htmlElement("div", "lesson-replay-chart", this.places.outcome);
    this.unwatch = watchWidth(this.figure, () => this.block && drawChart(this.figure, this.block.chart));
    /** @type {Record<string, any>} */
    this.mine = {};
    this.rowsWanted = 0;
  }

  destroy() {
    this.unwatch();
    clearTimeout(this.resting);
  }

  /** @param {any} block */
  set(block) {
    this.block = block;
    drawChart(this.figure, block.chart);
    this.show();
    if (block.band_open && !this.asking && !this.resting) this.rest();
  }

  /**
   * A control was moved: keep what it says and ask for its curve.
   * @param {string} name
   * @param {number} value
   */
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
    await askQuietly(this.view, "plan", asked);
    for (const [name, value] of Object.entries(asked))
      if (this.mine[name] === value && !this.again) delete this.mine[name];
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
      if (!this.asking && this.block.band_open && !this.block.trouble) askQuietly(this.view, "band", {});
    }, SLIDER_REST);
  }

  /** @param {PlannerSlider} slider */
  value(slider) {
    return this.mine[slider.id] ?? slider.value;
  }

  async makeTable() {
    this.tabling = true;
    for (let row = 0; row < this.block.table.total && this.tabling; row += 1) {
      this.row = row;
      this.show();
      await askQuietly(this.view, "table", { row });
    }
    this.tabling = false;
    this.show();
  }

  /** @param {boolean} [show] */
  stopTable(show) {
    this.tabling = false;
    if (show) this.show();
  }

  show() {
    const { block, places } = this;
    const { words } = block;
    /**
     * @param {string} name
     * @param {any} options
     * @param {any} chosen
     */
    const choice = (name, options, chosen) =>
      node(
        "div",
        { key: name, class: "lesson-planner-choices", role: "group", "aria-label": words[name] },
        node("span", { key: "label", class: "lesson-field-label" }, words[name]),
        options.map((/** @type {any} */ option) => {
          const value = option.id ?? option.value;
          return node(
            "button",
            {
              key: value,
              type: "button",
              class: "lesson-choice",
              "aria-pressed": value === chosen ? "true" : "false",
              on: { click: () => this.move(name, value) },
            },
            option.label,
          );
        }),
      );
    patchChildren(
      places.controls,
      choice("rig", block.rigs, this.mine.rig ?? block.setup.rig),
      choice("bore", block.bores, this.mine.bore ?? block.setup.bore),
      block.sliders.map((/** @type {PlannerSlider} */ slider) => {
        const value = this.value(slider);
        const said = `${formatNumber(value / slider.unit.size, slider.unit.decimals)} ${slider.unit.name}`;
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
          }),
        );
      }),
    );
    const [first, ...rest] = block.trouble ? [block.trouble] : block.answer;
    patchChildren(
      this.words,
      node(
        "p",
        { key: "first", class: block.trouble ? "lesson-planner-trouble" : "lesson-planner-time", role: "status" },
        inlineText(first),
      ),
      rest.length
        ? prose(rest)
        : block.band_open && !block.trouble
          ? node("p", { key: "wait", class: "lesson-soft" }, words.working)
          : null,
    );
    const { table } = block;
    patchChildren(
      places.sheets,
      node(
        "div",
        { class: "lesson-row" },
        this.tabling
          ? node(
              "button",
              {
                key: "stop",
                type: "button",
                class: "lesson-secondary",
                on: { click: () => this.stopTable(true) },
              },
              fillIn(words.stop, { n: (this.row ?? 0) + 1, total: table.total }),
            )
          : node(
              "button",
              { key: "make", type: "button", class: "lesson-secondary", on: { click: () => this.makeTable() } },
              words.make_table,
            ),
        table.page
          ? node(
              "a",
              {
                key: "page",
                class: "lesson-primary",
                target: "_blank",
                rel: "noopener",
                download: table.file,
                href: this.address(table.page),
              },
              words.open,
            )
          : null,
      ),
      table.rows.length
        ? node(
            "div",
            { key: "scroll", class: "lesson-scroll", tabindex: "0", role: "group", "aria-label": table.title },
            [
              node("table", { class: "lesson-table lesson-planner-table" }, [
                node(
                  "thead",
                  { key: "head" },
                  node(
                    "tr",
                    {},
                    table.columns.map((/** @type {string} */ name, /** @type {number} */ i) =>
                      node("th", { key: i, scope: "col" }, name),
                    ),
                  ),
                ),
                node(
                  "tbody",
                  { key: "body" },
                  table.rows.map((/** @type {any} */ row, /** @type {number} */ r) =>
                    node(
                      "tr",
                      { key: r },
                      row.map((/** @type {any} */ cell, /** @type {number} */ i) =>
                        node(i ? "td" : "th", { key: i, ...(i ? {} : { scope: "row" }) }, cell),
                      ),
                    ),
                  ),
                ),
              ]),
            ],
          )
        : null,
    );
  }

  /**
   * A page of its own from its text; the last one is let go.
   * @param {string} html
   */
  address(html) {
    if (this.html !== html) {
      if (this.url) URL.revokeObjectURL(this.url);
      /** @type {any} */
      this.html = html;
      this.url = URL.createObjectURL(new Blob([html], { type: "text/html" }));
    }
    return this.url;
  }
}

/**
 * @param {LessonView} view
 * @param {any} block
 * @param {BlockSection} section
 */
export function plannerBlock(view, block, section) {
  if (!section.lessonLive) section.lessonLive = new LessonPlanner(view, section);
  section.lessonLive.set(block);
}
