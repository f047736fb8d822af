// Whose turn it is: a page asks the kernel for one thing at a time, and what is pressed meanwhile waits, in order.

/** @typedef {{ action: string, args: any, key: string }} Press */

/** @param {Press} one @param {Press} other */
const same = (one, other) => one.key === other.key && JSON.stringify(one.args) === JSON.stringify(other.args);

/** A step back taken twice is two steps, however fast: these presses all count. */
const EVERY = new Set(["undo", "redo"]);

export class Turns {
  constructor() {
    /** @type {Press | null} */
    this.now = null; // under way
    /** @type {Press[]} */
    this.queue = [];
  }

  /**
   * Is anything under this key under way or waiting?
   * @param {string} key
   */
  busy(key) {
    return this.now?.key === key || this.queue.some((one) => one.key === key);
  }

  /**
   * Take a press. The very same one again is the same press (a double click), but for steps back and on; a new
   * value under the same key is not.
   * @param {Press} press
   * @returns {Press | null} what to send now
   */
  take(press) {
    if (!this.now) {
      this.now = press;
      return press;
    }
    // Only against the last of its key: from A to B and back to A is three presses.
    const before = [this.now, ...this.queue].filter((one) => one.key === press.key).at(-1);
    if (!before || EVERY.has(press.action) || !same(before, press)) this.queue.push(press);
    return null;
  }

  /**
   * What was under way is done.
   * @returns {Press | null} what to send next
   */
  done() {
    this.now = this.queue.shift() ?? null;
    return this.now;
  }
}
