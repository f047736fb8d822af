// The clock of the run as it is shown, and the samples it reads from. No document, no messages: time goes in, values
// come out. The engine room computes ahead; what is not there yet is waited for, never guessed.

const LONGEST_STEP = 0.25; // s of the wall a frame may stand for: a page left in the background does not leap ahead

const SKIP_TIME = 0.9; // s of the wall in which the clock runs on over minutes spent on an act

const STARVED_AFTER = 0.3; // s without samples before the learner is told

export class RunPlayer {
  constructor() {
    this.rate = 5;
    this.slowed = false; // the proof has slowed it, and nobody has set it since
    /** @type {Set<string>} */
    this.holds = new Set();
    this.version = 0; // rises with every change of the samples
    this.skipRate = 1;
    /** @type {Map<string, Float32Array>} */
    this.channels = new Map();
    /** @type {Set<string>} */
    this.stepped = new Set();
    /** @type {number | string | null} */
    this.run = null;
    /** @type {number | null} */
    this.skipTo = null; // minutes were spent on an act: the clock runs on to here
    /** @type {number | null} */
    this.lastFrame = null;
    this.over = false; // the call-out is over: what was seen may be seen again, and no more
    this.step = 0.1;
    this.count = 0;
    this.final = false;
    this.time = 0; // what the dials show
    this.furthest = 0; // the latest moment ever shown
    this.starvedFor = 0;
    this.duration = 300;
  }

  forget() {
    this.run = null;
    this.over = false;
    this.step = 0.1;
    this.count = 0;
    this.version += 1;
    this.channels.clear();
    this.stepped.clear();
    this.final = false;
    this.skipTo = null;
    this.time = 0;
    this.furthest = 0;
    this.lastFrame = null;
    this.starvedFor = 0;
    this.duration = 300;
  }

  /**
   * Follow the page's run: a new one starts afresh at the second last shown.
   * @param {RunInfo | null | undefined} run
   * @param {boolean} [over]
   */
  follow(run, over = false) {
    if (!run || run.id === null || run.id === undefined) {
      if (this.run !== null) this.forget();
      return;
    }
    if (run.id !== this.run) {
      this.forget();
      this.run = run.id;
      this.time = this.furthest = run.shown || 0;
    }
    this.duration = run.duration || this.duration;
    this.over = over;
  }

  /**
   * The engine room is further on than what is shown: run on quickly to there; at once where the reader wants no motion.
   * @param {number} time
   * @param {boolean} [still]
   */
  reach(time, still = false) {
    if (time <= this.furthest + 1 || (this.skipTo !== null && time <= this.skipTo)) return;
    this.time = this.furthest;
    if (still) {
      this.time = this.furthest = time;
      return;
    }
    this.skipTo = time;
    this.skipRate = Math.max(this.rate, (time - this.time) / SKIP_TIME);
  }

  /**
   * Take in samples: row-major float32, `count` rows of `channels`. Returns false when they are of another run.
   * @param {SamplesMessage} message
   * @param {Float32Array} floats
   */
  accept(message, floats) {
    if (message.run !== this.run) return false;
    this.step = message.step || 0.1;
    for (const name of message.stepped || []) this.stepped.add(name);
    const first = Math.round(message.start / this.step);
    if (message.replace_from !== undefined && message.replace_from !== null) {
      this.count = Math.min(this.count, Math.max(0, Math.round(message.replace_from / this.step)));
    }
    if (first > this.count) return false; // a gap: ask again from where the samples end
    const width = message.channels.length;
    const rows = Math.min(message.count, Math.floor(floats.length / Math.max(1, width)));
    message.channels.forEach((name, column) => {
      const series = this.room(name, first + rows);
      for (let row = 0; row < rows; row += 1) series[first + row] = floats[row * width + column];
    });
    const time = this.room("time", first + rows);
    for (let row = first; row < first + rows; row += 1) time[row] = row * this.step;
    this.count = Math.max(this.count, first + rows);
    this.version += 1;
    this.final = Boolean(message.final);
    return true;
  }

  /**
   * @param {string} name
   * @param {number} length
   */
  room(name, length) {
    let series = this.channels.get(name);
    if (!series || series.length < length) {
      const larger = new Float32Array(Math.max(length, series ? series.length * 2 : 1024)).fill(NaN);
      if (series) larger.set(series);
      series = larger;
      this.channels.set(name, series);
    }
    return series;
  }

  /** The moment up to which samples stand [s]. */
  get end() {
    return this.count > 0 ? (this.count - 1) * this.step : 0;
  }

  get playing() {
    if (this.run === null || this.holds.size > 0) return false;
    return this.over ? this.lookingBack : !(this.final && this.time >= this.end);
  }

  get lookingBack() {
    return this.time < this.furthest - 1e-6;
  }

  get starved() {
    return this.starvedFor > STARVED_AFTER;
  }

  /**
   * Let the wall clock move on to `now` [ms].
   * @param {number} now
   */
  advance(now) {
    const passed = this.lastFrame === null ? 0 : Math.max(0, now - this.lastFrame) / 1000;
    this.lastFrame = Math.max(now, this.lastFrame ?? now); // a first frame may lie before the clock it is measured by
    if (this.skipTo !== null && this.run !== null && this.count > 0) return this.runOn(passed);
    if (!this.playing || this.count === 0) {
      this.starvedFor = this.playing && this.run !== null ? this.starvedFor + passed : 0;
      return;
    }
    const wished = this.time + Math.min(passed, LONGEST_STEP) * this.rate;
    const limit = this.over ? Math.min(this.end, this.furthest) : this.end;
    this.time = Math.min(wished, Math.max(limit, this.time));
    this.starvedFor = wished > this.end && !this.final && !this.over ? this.starvedFor + passed : 0;
    this.furthest = Math.max(this.furthest, this.time);
  }

  /**
   * The clock while it runs on over an act: no hold stops it, only missing samples do.
   * @param {number} passed
   */
  runOn(passed) {
    const goal = this.skipTo ?? this.time;
    const wished = Math.min(goal, this.time + Math.min(passed, LONGEST_STEP) * this.skipRate);
    this.time = Math.min(wished, Math.max(this.end, this.time));
    this.furthest = Math.max(this.furthest, this.time);
    const there = this.time >= goal - 1e-6 || (this.final && this.time >= this.end);
    if (there) this.skipTo = null;
    this.starvedFor = there || this.time < this.end ? 0 : this.starvedFor + passed;
  }

  /**
   * Look at another moment already seen.
   * @param {number} time
   */
  seek(time) {
    this.time = Math.min(Math.max(0, time), this.furthest);
  }

  /**
   * @param {string} reason
   * @param {boolean} on
   */
  hold(reason, on) {
    if (on) this.holds.add(reason);
    else this.holds.delete(reason);
  }

  /** @param {number} rate as it was chosen by hand */
  goAt(rate) {
    this.rate = rate;
    this.slowed = false;
  }

  /**
   * What the page tells makes the clock go slower or on: once proven the minutes do not run away while one presses
   * "Job done", and a stop is seen though the clock was held.
   * @param {Partial<ExercisePage>} before
   * @param {ExercisePage} page
   */
  heed(before, page) {
    if (page.finish?.open && !page.finish.at_word && !before.finish?.open && this.rate > 1) {
      this.rate = 1;
      this.slowed = true;
    }
    if (before.engine?.running && !page.engine?.running) this.hold("learner", false);
  }

  /**
   * One channel at a moment; codes keep their value to the next sample, the rest runs straight between two.
   * @param {string} name
   * @param {number} [time]
   */
  value(name, time = this.time) {
    const series = this.channels.get(name);
    if (!series || this.count === 0) return NaN;
    const place = Math.min(Math.max(0, time / this.step), this.count - 1);
    const before = Math.floor(place + 1e-6);
    if (this.stepped.has(name) || before >= this.count - 1) return series[before];
    const share = Math.max(0, place - before);
    return series[before] * (1 - share) + series[before + 1] * share;
  }

  /** All channels at a moment. */
  sample(time = this.time) {
    /** @type {Frame} */
    const out = { t: time };
    for (const name of this.channels.keys()) out[name] = this.value(name, time);
    return out;
  }

  /**
   * One channel up to where samples stand.
   * @param {string} name
   */
  series(name) {
    return this.channels.get(name)?.subarray(0, this.count) || new Float32Array();
  }
}

/**
 * Take samples of the run on the page; those that overtook their page wait for it, eight at most.
 * @template {{ run?: any }} M
 * @param {{ page: { run?: { id?: any } | null }, early: [M, Float32Array][], player: RunPlayer, stage: { dirty: boolean } }} view
 * @param {M} message
 * @param {Float32Array} floats
 */
export function takeSamples(view, message, floats) {
  if (message.run !== view.page.run?.id) {
    if (view.early.length < 8) view.early.push([message, floats]);
    return;
  }
  view.player.accept(/** @type {any} */ (message), floats);
  view.stage.dirty = true;
}
