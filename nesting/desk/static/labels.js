// Words over places along a line, none covering another.

/**
 * @typedef {object} Label a word with its place; `number` is which of the given names it is
 * @property {string} name
 * @property {number} number
 * @property {boolean} isFirst
 * @property {number} middle
 * @property {number} half
 * @property {number} row
 */

export const LINE = 12;
const LETTER = 6.2;
const TURNS_DEG = [0, 180, 90, 270, 45, 135, 225, 315];

// Names over their places, each as low as it can stand without covering another or leaving the
// picture; the chosen one stands lowest.
/**
 * @param {{ name: string, x: number, isFirst: boolean }[]} names
 * @param {number} width
 * @param {number} letter how wide one is, about
 */
export function stacked(names, width, letter = LETTER) {
  /** @type {Label[]} */
  const placed = [];
  const inOrder = names
    .map((one, number) => ({ ...one, number }))
    .sort((one, other) => Number(other.isFirst) - Number(one.isFirst) || one.x - other.x);
  for (const { name, x, isFirst, number } of inOrder) {
    const half = Math.min((letter * name.length) / 2, width / 2);
    const middle = Math.min(Math.max(x, half), width - half);
    let row = 0;
    /** @param {{ middle: number, half: number, row: number }} other */
    const isCovered = (other) =>
      other.row === row && Math.abs(other.middle - middle) < other.half + half + 3;
    while (placed.some(isCovered)) row += 1;
    placed.push({ name, number, isFirst, middle, half, row });
  }
  return placed;
}

// Where marks of a radius stand that tell points apart: on its point, or beside it where another
// mark stands already. Points that are told first keep their place.
/**
 * @param {{ x: number, y: number }[]} points
 * @param {number} radius
 */
export function apart(points, radius) {
  /** @type {{ x: number, y: number }[]} */
  const placed = [];
  for (const { x, y } of points) {
    const around = [1, 2, 3].flatMap((ring) =>
      TURNS_DEG.map((turn) => {
        const [angle, away] = [(turn * Math.PI) / 180, 1.2 * ring * radius];
        return { x: x + away * Math.cos(angle), y: y - away * Math.sin(angle) };
      }),
    );
    /** @param {{ x: number, y: number }} at */
    const isFree = (at) =>
      placed.every((other) => Math.hypot(other.x - at.x, other.y - at.y) >= 2 * radius);
    placed.push([{ x, y }, ...around].find(isFree) ?? { x, y });
  }
  return placed;
}
