// One script for many parts of a page: the first part brings it, the others wait for it under its name.

/**
 * @typedef {object} Drawn
 * @property {(place: any) => any} render
 */

/** @typedef {{ promise: Promise<Drawn>, resolve: (drawn: Drawn) => void }} Awaited */

/**
 * The place of a script on this page; made by whoever comes first.
 * @param {string} name
 * @returns {Awaited}
 */
function placeOf(name) {
  const places = /** @type {Record<symbol, Awaited>} */ (/** @type {unknown} */ (globalThis));
  const key = Symbol.for(name);
  if (!places[key]) {
    /** @type {(drawn: Drawn) => void} */
    let resolve = () => {};
    const promise = new Promise((/** @type {(drawn: Drawn) => void} */ done) => {
      resolve = done;
    });
    places[key] = { promise, resolve };
  }
  return places[key];
}

/**
 * Hand a script to all parts that wait for it; it is given back.
 * @param {string} name
 * @param {Drawn} drawn
 */
export function share(name, drawn) {
  placeOf(name).resolve(drawn);
  return drawn;
}

/**
 * Wait for a script; where it does not come by itself it is asked for.
 * @param {string} name
 * @param {number} patience ms until it is asked for
 * @param {() => void} ask
 */
export async function shared(name, patience, ask) {
  const { promise } = placeOf(name);
  const late = setTimeout(ask, patience);
  const drawn = await promise;
  clearTimeout(late);
  return drawn;
}
