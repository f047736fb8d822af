// The planner: what is set up on the left, the expected time and its curve on the right, a table to print below.
// Moving a slider asks for the curve at once, one question at a time; the band is asked for when it rests.
import { htmlElement, node, patchChildren } from "../base/dom.js";
import { fillIn, formatNumber } from "../base/format.js";
import { freshId } from "../base/ids.js";
import { drawStillChart, endStillChart } from "../base/still_chart.js";
import { describeTable, scrollBox } from "../base/table.js";
import { PageAddress } from "./page_address.js";
import { inlineText, placesIn, prose } from "./prose.js";

const SLIDER_REST = 350; // ms without a move after which a slider rests

/**
 * Ask the kernel for something that does not hold up the rest of the part; resolves with its answer.
 * @param {LessonView} view
 * @param {string} action
 * @param {object} args
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
    /** @type {Record<string, any>} what was moved and is not yet the kernel's */
    this.mine = {};
    this.address = new PageAddress();
    /** @type {PlannerBlock | undefined} */
    this.block = undefined;
    this.asking = false;
    this.again = false; // something was moved while a question was under way
    /** @type {ReturnType<typeof setTimeout> | null} */
    this.resting = null;
    this.tabling = false;
    this.row = 0;
  }

  destroy() {
    endStillChart(this.figure);
    this.address.end();
    this.stopResting();
  }

  /** @param {PlannerBlock} block */
  set(block) {
    this.block = block;
    drawStillChart(this.figure, block.chart.figure);
    this.show();
    if (block.band_open && !this.asking && !this.resting) this.rest();
  }

  /**
   * A control was moved: keep what it says and ask for its curve.
   * @param {string} name
   * @param {string | number} value
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
    this.stopResting();
    this.resting = setTimeout(() => {
      this.resting = null;
      if (!this.asking && this.block?.band_open && !this.block.trouble) askQuietly(this.view, "band", {});
    }, SLIDER_REST);
  }

  stopResting() {
    if (this.resting !== null) clearTimeout(this.resting);
    this.resting = null;
  }

  /** @param {PlannerSlider} slider */
  value(slider) {
    return this.mine[slider.id] ?? slider.value;
  }

  async makeTable() {
    this.tabling = true;
    const total = this.block?.table.total ?? 0;
    for (let row = 0; row < total && this.tabling; row += 1) {
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
    if (!block) return;
    const { words } = block;
    /**
     * @param {string} name
     * @param {PlannerOption[]} options
     * @param {string | number} chosen
     */
    const choice = (name, options, chosen) =>
      node(
        "div",
        { key: name, class: "lesson-planner-choices", role: "group", "aria-label": words[name] },
        node("span", { key: "label", class: "lesson-field-label" }, words[name]),
        options.map((option) => {
          const { value } = option;
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
      block.sliders.map((slider) => {
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
    // What is shown is of the set-up before, until the answer to what was moved is there.
    const old = this.asking || Object.keys(this.mine).length > 0;
    for (const shown of [this.figure, places.sheets])
      shown.classList.toggle("lesson-planner-old", old || Boolean(block.trouble));
    const [first, ...rest] = old ? [words.figuring] : block.trouble ? [block.trouble] : block.answer;
    patchChildren(
      this.words,
      node(
        "p",
        {
          key: "first",
          class: old ? "lesson-soft" : block.trouble ? "lesson-planner-trouble" : "lesson-planner-time",
          role: "status",
        },
        inlineText(first),
      ),
      rest.length
        ? prose(rest)
        : block.band_open && !block.trouble && !old
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
              fillIn(words.stop, { n: this.row + 1, total: table.total }),
            )
          : node(
              "button",
              {
                key: "make",
                type: "button",
                class: "lesson-secondary",
                "aria-disabled": old || block.trouble ? "true" : false,
                on: { click: () => (old || block.trouble ? null : this.makeTable()) },
              },
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
                href: this.address.of(table.page),
              },
              words.open,
            )
          : null,
      ),
      table.rows.length
        ? scrollBox(
            "lesson-scroll",
            table.title,
            describeTable(table.columns, table.rows, { class: "lesson-table lesson-planner-table" }),
          )
        : null,
    );
  }
}

/**
 * @param {LessonView} view
 * @param {PlannerBlock} block
 * @param {BlockSection} section
 */
export function plannerBlock(view, block, section) {
  if (!section.lessonLive) section.lessonLive = new LessonPlanner(view, section);
  section.lessonLive.set(block);
}
