// The line to the engine room (the kernel). Every click goes out with an id and the moment shown; the same id may be
// sent again after a silence, because the engine room acts on it once.

const LATE_AFTER = 400; // ms until a pending button says so
const SILENT_AFTER = 8000; // ms without an answer until the learner is offered a way out
const SHOWN_EVERY = 250; // ms between two reports of the shown clock
const NEED_EVERY = 80; // ms between two requests for samples
const NEED_AGAIN = 700; // ms until an unanswered request is repeated

function freshId() {
  if (globalThis.crypto?.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16)); // a page without a secure context has no randomUUID
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}

class EngineRoomLink {
  constructor(model, changed) {
    this.model = model;
    this.changed = changed;
    this.pending = null; // the one act under way
    this.reply = null; // the last answer
    this.lost = false;
    this.lastShown = 0;
    this.lastNeed = { at: -Infinity, shown: -1, from: -1, open: false };
  }

  /** Send one act; while one is under way every further click is ignored. */
  act(key, action, args, player) {
    if (this.pending || this.lost) return false;
    const message = { kind: "act", id: freshId(), run: player.run, shown: player.furthest, action, args: args || {} };
    this.pending = { key, message, since: performance.now(), late: false, silent: false };
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

  answered(message) {
    if (!this.pending || this.pending.message.id !== message.id) return false;
    this.reply = { accepted: message.accepted, sentence: message.sentence || "", key: this.pending.key };
    this.pending = null;
    this.changed();
    return true;
  }

  /** Called every frame: notices lateness and silence. */
  watch(now) {
    if (!this.pending) return;
    const waited = now - this.pending.since;
    const late = waited > LATE_AFTER;
    const silent = waited > SILENT_AFTER;
    if (late !== this.pending.late || silent !== this.pending.silent) {
      this.pending.late = late;
      this.pending.silent = silent;
      this.changed();
    }
  }

  /** Ask for samples from where they end, when the clock has moved enough for more to be there. */
  need(player, now) {
    if (player.run === null || player.final || this.lost) return;
    const last = this.lastNeed;
    const quiet = now - last.at;
    const moved = player.furthest - last.shown >= Math.min(1, 0.08 * player.rate) || player.run !== last.run;
    if (last.open && quiet < NEED_AGAIN && player.count === last.count) return;
    if (quiet < NEED_EVERY || !(moved || quiet > NEED_AGAIN)) return;
    this.lastNeed = { at: now, run: player.run, shown: player.furthest, count: player.count, open: true };
    const from = player.count > 0 ? player.count * player.step : 0;
    this.post({ kind: "need", run: player.run, from, shown: player.furthest });
  }

  /** Say which moment is shown, not more often than every 250 ms. */
  shown(player, now, urgent) {
    if (player.run === null || this.lost) return;
    const state = [player.run, player.furthest, player.holds.size > 0, player.rate].join("|");
    if (state === this.lastState || (!urgent && now - this.lastShown < SHOWN_EVERY)) return;
    this.lastShown = now;
    this.lastState = state;
    this.post({ kind: "shown", run: player.run, t: player.furthest, held: player.holds.has("learner"), rate: player.rate });
  }

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
