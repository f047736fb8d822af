// Whether the reader wants motion, and the clock that moving parts run by.

/** Does the reader ask for still pictures? */
export function prefersStill() {
  return typeof matchMedia === "function" && matchMedia("(prefers-reduced-motion: reduce)").matches;
}

/**
 * A clock for moving parts. It advances with wall time, and only while the played time moves, so a held run stands
 * still and a run played at twenty times does not turn into flicker.
 */
export function motionClock() {
  const still = prefersStill();
  /** @type {number | null} */
  let wall = null;
  /** @type {number | null} */
  let shown = null;
  return (/** @type {number} */ t) => {
    const now = performance.now() / 1000;
    const step = wall === null || t === shown || still ? 0 : Math.min(0.1, Math.max(0, now - wall));
    wall = now;
    shown = t;
    return step;
  };
}
