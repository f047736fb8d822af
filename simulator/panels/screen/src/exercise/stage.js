// The stage: two pictures, the gauges and the curve, each drawn by its own file and fed here with what the page knows
// and what the shown moment of the run says.
import { htmlElement } from "../base/dom.js";
import { createDial } from "../gauges/dial.js";
import { pumpPicture } from "../picture/pump/view.js";
import { sitePicture } from "../picture/site/view.js";
import { createStripChart } from "../trend/strip_chart.js";
import { pictureFrame } from "./frame.js";

/** @type {Record<string, string>} */
const GAUGE_CHANNELS = { suction: "suction_shown", motive: "motive_shown", discharge: "discharge_shown" };

/** Height of the pictures [px]: stage and the start of the lists share one screen; a large one gets larger pictures. */
function stageHeight() {
  return Math.round(Math.min(wideStage() ? 480 : 400, Math.max(346, 0.43 * window.innerHeight)));
}

/** A projector has room for large gauges; the curve below them takes what they leave. */
function wideStage() {
  return window.innerWidth >= 1600;
}

const LEAST_DRAWN = 60; // px below which nothing is drawn anew: the cell is not shown

/**
 * Draw a part as high as its cell leaves it beside its own words, whose height may change with it.
 * @param {Picture | StripChart} part
 */
function fitCell(part) {
  const { cell, words } = part.sizes();
  if (cell < LEAST_DRAWN) return;
  part.setHeight(Math.floor(cell - words));
  const again = part.sizes();
  if (again.words > words) part.setHeight(Math.floor(cell - again.words));
}

export class ExerciseStage {
  /** @param {StageHost} view */
  constructor(view) {
    this.view = view;
    /** @type {{ id: string, dial: ReturnType<typeof createDial> }[]} */
    this.dials = [];
    /** @type {Picture | null} there once a page with a rig has come, as the pump and the curve are */
    this.site = null;
    /** @type {Picture | null} */
    this.pump = null;
    /** @type {StripChart | null} */
    this.trend = null;
    this.fed = -1;
    this.marked = false;
    this.dirty = true;
    this.drawn = "";
    /** @type {any} */
    this.felt = undefined; // the run in which somebody felt the exhaust
    this.made = "";
    this.asked = 0;
    // In the whole window cells get larger and smaller with what stands beside them.
    this.cells = new ResizeObserver(() => {
      if (!view.whole.open || this.asked) return;
      this.asked = requestAnimationFrame(() => {
        this.asked = 0;
        this.fit();
      });
    });
  }

  /**
   * Draw anew what the page has changed.
   * @param {ExercisePage} page
   * @param {boolean} newRun
   */
  setPage(page, newRun) {
    if (!page.rig) return;
    const made = JSON.stringify([page.rig, page.gauges, page.see_through]);
    if (made !== this.made) {
      this.close();
      this.made = made;
      this.make(page);
    }
    const { curve } = page;
    if (curve) {
      const told = curve.as_told ? page.drawing_words?.static_lift_told : undefined;
      this.trend?.setLevel(curve.static_lift_pa, told);
      this.trend?.setBand(curve.band || null);
      this.trend?.setEarlier(curve.earlier || []);
      this.trend?.setMarks(page.marks || []);
    }
    if (newRun) this.fed = -1;
    this.dirty = true;
  }

  /** @param {ExercisePage} page */
  make(page) {
    const { view } = this;
    const words = page.drawing_words || {};
    const { units } = view;
    /**
     * @param {Element} parent
     * @param {string} name
     */
    const place = (parent, name) => htmlElement("div", `ex-${name}`, parent);
    const height = stageHeight();
    /**
     * @param {string[]} parts
     * @param {string} name
     */
    const onPart = (parts, name) => view.pressPart(parts, name);
    const { pictures, instruments } = view.parts;
    pictures.textContent = "";
    instruments.textContent = "";
    this.site = sitePicture(place(pictures, "picture ex-site"), page.rig, words, {
      units,
      height: height - 22,
      onPart,
    });
    this.pump = pumpPicture(place(pictures, "picture ex-pump"), page.rig, words, { units, height, onPart });
    const row = place(instruments, "gauges");
    row.classList.toggle("ex-gauges-two", (page.gauges || []).length < 3);
    this.dials = (page.gauges || []).map((gauge) => ({
      id: gauge.id,
      dial: createDial(place(row, "gauge"), { ...gauge, system: units }, words),
    }));
    this.trend = createStripChart(place(instruments, "trend"), words, {
      units,
      span_s: page.curve?.span_s || 60,
      height: height - (wideStage() ? 178 : 122),
      motive: (page.gauges || []).some((gauge) => gauge.id === "motive"),
    });
    this.fed = -1;
    // the names under the pump change with what was looked at, and take more lines or fewer
    for (const name of [".ex-site", ".ex-pump", ".ex-trend", ".ex-pump .pic-key"])
      for (const cell of view.root.querySelectorAll(name)) this.cells.observe(cell);
    this.fit();
  }

  /** Give pictures and curve the height there is: on the page one that leaves room below, in the whole window their cell's. */
  fit() {
    const { site, pump, trend } = this;
    if (!site || !pump || !trend) return;
    if (!this.view.whole.open) {
      const height = stageHeight();
      site.setHeight(height - 22);
      pump.setHeight(height);
      trend.setHeight(height - (wideStage() ? 178 : 122));
    } else for (const part of [site, pump, trend]) fitCell(part);
    this.dirty = true;
  }

  /** @param {string} units */
  setUnits(units) {
    for (const part of [this.site, this.pump, this.trend, ...this.dials.map(({ dial }) => dial)])
      part?.setUnits?.(units);
    this.dirty = true;
  }

  /**
   * Draw one moment of the run. Nothing is done while nothing moves.
   * @param {Frame} sample
   */
  draw(sample) {
    const { site, pump, trend } = this;
    if (!site || !pump || !trend) return;
    const { player, page } = this.view;
    const state = `${player.run}|${sample.t.toFixed(3)}|${player.count}`;
    if (state === this.drawn && !this.dirty) return;
    this.drawn = state;
    this.dirty = false;
    const frame = pictureFrame(sample, page);
    if (!frame.exhaust_unseen) this.felt = player.run;
    frame.exhaust_felt = this.felt === player.run;
    site.update(frame);
    pump.update(frame);
    const letOut = player.lookingBack ? {} : page.run?.let_out || {};
    for (const { id, dial } of this.dials) dial.set(letOut[id] ?? sample[GAUGE_CHANNELS[id]] ?? NaN);
    this.drawTrend(trend, player);
  }

  /**
   * The curve keeps all that was seen; while the learner looks back its cursor marks the moment.
   * @param {StripChart} trend
   * @param {RunPlayer} player
   */
  drawTrend(trend, player) {
    if (this.fed !== player.version) {
      this.fed = player.version;
      trend.setData({
        time: player.series("time"),
        values: player.series("suction_shown"),
        motive: player.series("motive_shown"),
      });
    }
    trend.setShown(player.furthest);
    if (player.lookingBack) trend.setCursor(player.time);
    else if (this.marked) trend.setCursor(null);
    this.marked = player.lookingBack;
  }

  close() {
    this.cells.disconnect();
    for (const part of [this.site, this.pump, this.trend, ...this.dials.map(({ dial }) => dial)]) part?.destroy?.();
    this.dials = [];
    this.site = this.pump = this.trend = null;
  }
}
