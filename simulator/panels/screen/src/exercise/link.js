// The line to the engine room (the kernel). Every click goes out with an id and the moment shown; the same id may be
// sent again after a silence, because the engine room acts on it once.
import { freshId } from "../base/ids.js";

const LATE_AFTER = 400; // ms until a pending button says so

const SLOW_AFTER = 8000; // ms without an answer until it is said that the work goes on

const SILENT_AFTER = 60000; // ms without an answer until the learner is offered a way out: a busy machine answers late

const SHOWN_EVERY = 250; // ms between two reports of the shown clock

// ms after which a moment that stands is told again: what was said too soon, or got lost, is heard late, and no more than
// so often, for a page that is left open is no page at work.
const SHOWN_AGAIN = [1000, 2000, 4000, 8000, 16000];

const BEHIND_AFTER = 2000; // ms for which a page may come later than what was sent after it

const NEED_EVERY = 100; // ms between two requests for samples; they do not wait for each other's answers

// Seconds of samples ahead of the clock that need no request. Ten is all that outside-only work is given.
/** @param {number} rate */
const enoughAhead = (rate) => Math.min(9.8, 4 + 0.5 * rate);

const NEED_AGAIN = 700; // ms until a request is repeated although the clock stands

export class EngineRoomLink {
  /**
   * @param {Pick<WidgetModel, "send">} model
   * @param {() => void} changed
   */
  constructor(model, changed) {
    this.model = model;
    this.changed = changed;
    /** @type {{ key: string, message: { id: string }, since: number, late: boolean, slow: boolean, silent: boolean } | null} */
    this.pending = null; // the one act under way
    /** @type {[key: string, action: string, args: object | undefined][]} */
    this.queue = []; // acts that wait for it
    /** @type {{ accepted: boolean, sentence: string, key: string } | null} */
    this.reply = null; // the last answer
    this.lost = false;
    this.lastShown = 0;
    this.lastState = "";
    this.repeats = 0; // how often the shown moment was told again
    this.newest = 0; // number of the latest page that the engine room says it has sent
    /** @type {number | null} */
    this.behindSince = null; // ms, on the clock of the frames
    this.askedPage = -Infinity;
    this.behind = false; // the page shown is older than that: it was lost on its way
    /** @type {{ at: number, shown: number, run?: RunPlayer["run"] }} */
    this.lastNeed = { at: -Infinity, shown: -1 };
  }

  /**
   * Is this act under way or waiting its turn?
   * @param {string} key
   */
  busy(key) {
    return this.pending?.key === key || this.queue.some(([queued]) => queued === key);
  }

  /**
   * Send one act; while one is under way all others wait their turn. Each act waits once, so that there are never more
   * than the page has buttons; the same one again is ignored, as its button shows that it is under way.
   * @param {string} key
   * @param {string} action
   * @param {object | undefined} args
   * @param {RunPlayer} player
   */
  act(key, action, args, player) {
    if (this.lost || this.busy(key)) return false;
    if (this.pending) {
      this.queue.push([key, action, args]);
      this.changed();
      return true;
    }
    const message = { kind: "act", id: freshId(), run: player.run, shown: player.furthest, action, args: args || {} };
    this.pending = { key, message, since: performance.now(), late: false, slow: false, silent: false };
    this.reply = null;
    this.post(message);
    this.changed();
    return true;
  }

  /** Send the pending act again, with its old id. */
  again() {
    if (!this.pending) return;
    this.pending.since = performance.now();
    this.pending.silent = false;
    this.post(this.pending.message);
    this.changed();
  }

  /**
   * @param {Answer} message
   * @param {RunPlayer} player
   */
  answered(message, player) {
    if (!this.pending || this.pending.message.id !== message.id) return false;
    const reply = { accepted: message.accepted, sentence: message.sentence || "", key: this.pending.key };
    this.pending = null;
    const next = this.queue.shift();
    if (next) this.act(...next, player);
    this.reply = reply;
    this.changed();
    return true;
  }

  /**
   * Called every frame: notices lateness and silence.
   * @param {number} now
   */
  watch(now) {
    if (!this.pending) return;
    const waited = now - this.pending.since;
    const late = waited > LATE_AFTER;
    const slow = waited > SLOW_AFTER;
    const silent = waited > SILENT_AFTER;
    if (late !== this.pending.late || slow !== this.pending.slow || silent !== this.pending.silent) {
      this.pending.late = late;
      this.pending.slow = slow;
      this.pending.silent = silent;
      this.changed();
    }
  }

  /**
   * Ask for samples from where they end, when the clock has moved enough for more to be there.
   * @param {RunPlayer} player
   * @param {number} now
   */
  need(player, now) {
    if (player.run === null || player.final || this.lost || (player.over && player.end >= player.furthest)) return;
    if (player.count > 0 && player.end - player.furthest > enoughAhead(player.rate)) return;
    const last = this.lastNeed;
    const quiet = now - last.at;
    const moved = player.run !== last.run || player.furthest - last.shown >= Math.min(1, 0.05 * player.rate);
    if (quiet < (moved ? NEED_EVERY : NEED_AGAIN)) return;
    this.lastNeed = { at: now, run: player.run, shown: player.furthest };
    this.lastShown = now; // a request says the clock too
    const from = player.count > 0 ? player.count * player.step : 0;
    this.post({ kind: "need", run: player.run, from, shown: player.furthest });
  }

  /**
   * Say which moment is shown, not more often than every 250 ms.
   * @param {RunPlayer} player
   * @param {number} now
   * @param {boolean} urgent
   */
  shown(player, now, urgent) {
    if (player.run === null || player.over || this.lost) return;
    const state = [player.run, player.furthest, player.holds.size > 0, player.rate].join("|");
    const same = state === this.lastState;
    const wait = same ? (SHOWN_AGAIN[this.repeats] ?? Infinity) : urgent ? 0 : SHOWN_EVERY;
    if (now - this.lastShown < wait) return;
    this.repeats = same ? this.repeats + 1 : 0;
    this.lastShown = now;
    this.lastState = state;
    this.post({
      kind: "shown",
      run: player.run,
      t: player.furthest,
      held: player.holds.has("learner"),
      rate: player.rate,
    });
  }

  /**
   * Called every frame: a page that does not come, though what was sent after it did, is asked for again.
   * @param {number} serial of the page that is shown
   * @param {number} now
   */
  keepUp(serial, now) {
    const since = serial >= this.newest ? null : (this.behindSince ?? now);
    const behind = since !== null && now - since > BEHIND_AFTER;
    this.behindSince = since;
    if (behind && now - this.askedPage > BEHIND_AFTER && !this.lost) {
      this.askedPage = now;
      this.post({ kind: "page" });
    }
    if (behind !== this.behind) {
      this.behind = behind;
      this.changed();
    }
  }

  /** @param {object} message */
  post(message) {
    try {
      this.model.send(message);
    } catch {
      this.lose();
    }
  }

  lose() {
    if (this.lost) return;
    this.lost = true;
    this.changed();
  }
}
