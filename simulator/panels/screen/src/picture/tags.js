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
 * @param {Point} place
 * @param {{ left: number, right: number, top: number, bottom: number }} within
 * @returns {Point}
 */
function inside([x, y], { left, right, top, bottom }) {
  return [Math.max(left, Math.min(right, x)), Math.max(top, Math.min(bottom, y))];
}
