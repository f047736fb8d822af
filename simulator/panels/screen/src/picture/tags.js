// Numbered tags on a picture that has no room for names: none is cut by its edge, none lies on another.

const ROUNDS = 60;

/**
 * Move round tags apart, as little as it takes, and into the picture.
 * @param {Point[]} places where they would stand: [x, y] of their middles
 * @param {number} apart least distance of two middles
 * @param {{ left: number, right: number, top: number, bottom: number }} within of the middles
 * @returns {Point[]}
 */
export function setApart(places, apart, within) {
  const found = places.map((place) => inside(place, within));
  for (let round = 0; round < ROUNDS; round += 1) {
    let moved = false;
    for (let i = 0; i < found.length; i += 1) {
      for (let j = i + 1; j < found.length; j += 1) {
        const [dx, dy] = [found[j][0] - found[i][0], found[j][1] - found[i][1]];
        const far = Math.hypot(dx, dy);
        if (far >= apart - 1e-6) continue;
        moved = true;
        const push = (apart - far) / 2;
        const [ux, uy] = far > 1e-6 ? [dx / far, dy / far] : [0, 1];
        found[i] = inside([found[i][0] - ux * push, found[i][1] - uy * push], within);
        found[j] = inside([found[j][0] + ux * push, found[j][1] + uy * push], within);
      }
    }
    if (!moved) break;
  }
  return found;
}

/**
 * Tags in two columns beside a picture, each at the height of its part or as near to it as there is room, in the order of
 * their parts from the top down.
 * @param {{ part: Point, side: "left" | "right" }[]} tags
 * @param {{ left: number, right: number, top: number, bottom: number }} columns where their middles may stand
 * @param {number} apart least distance of two middles
 * @returns {Point[]}
 */
export function setBeside(tags, { left, right, top, bottom }, apart) {
  /** @type {Point[]} */
  const found = tags.map(({ part, side }) => [side === "left" ? left : right, part[1]]);
  for (const side of ["left", "right"]) {
    const order = tags.map((tag, i) => (tag.side === side ? i : -1)).filter((i) => i >= 0);
    order.sort((a, b) => tags[a].part[1] - tags[b].part[1]);
    const pitch = Math.min(apart, (bottom - top) / Math.max(1, order.length - 1));
    order.forEach((i, n) => {
      const least = n ? found[order[n - 1]][1] + pitch : top;
      found[i][1] = Math.max(least, found[i][1]);
    });
    [...order].reverse().forEach((i, n, turned) => {
      const most = n ? found[turned[n - 1]][1] - pitch : bottom;
      found[i][1] = Math.min(most, found[i][1]);
    });
  }
  return found;
}

/**
 * @param {Point} place
 * @param {{ left: number, right: number, top: number, bottom: number }} within
 * @returns {Point}
 */
function inside([x, y], { left, right, top, bottom }) {
  return [Math.max(left, Math.min(right, x)), Math.max(top, Math.min(bottom, y))];
}
