// How the model is looked at: turned, tilted, nearer or farther, pulled apart.

/** @import { Body } from "./glb.js" */

/** @typedef {[number, number, number]} Place metres, y up */
/**
 * @typedef {object} Look
 * @property {number} turn about the upright, in degrees; 0 looks at the left side
 * @property {number} tilt from level to straight down, in degrees
 * @property {number} near how many times nearer than where all of it is seen
 * @property {number} apart from 0, put together, to 1
 */

/** @type {Record<string, Pick<Look, "turn" | "tilt">>} */
export const VIEWS = {
  Aslant: { turn: -38, tilt: 28 },
  "From the side": { turn: 0, tilt: 0 },
  "From above": { turn: 0, tilt: 89.9 },
  "From ahead": { turn: -90, tilt: 0 },
};

/** @returns {Look} */
export const firstLook = () => ({ ...VIEWS["Aslant"], near: 1, apart: 0 });

/**
 * @param {Look} look
 * @param {number} turn
 * @param {number} tilt
 * @returns {Look}
 */
export const turnedBy = (look, turn, tilt) => ({
  ...look,
  turn: look.turn + turn,
  tilt: Math.max(-89.9, Math.min(89.9, look.tilt + tilt)),
});

/**
 * @param {Look} look
 * @param {number} times
 * @returns {Look}
 */
export const nearerBy = (look, times) => ({
  ...look,
  near: Math.max(0.4, Math.min(8, look.near * times)),
});

/**
 * The box that holds all bodies, as its middle and the radius of a ball about it.
 *
 * @param {Body[]} bodies
 * @param {(body: Body) => Place} where
 */
function ball(bodies, where) {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const body of bodies)
    where(body).forEach((middle, i) => {
      low[i] = Math.min(low[i], middle - body.size[i] / 2);
      high[i] = Math.max(high[i], middle + body.size[i] / 2);
    });
  const middle = /** @type {Place} */ (low.map((value, i) => (value + high[i]) / 2));
  return { middle, radius: Math.max(0.01, Math.hypot(...high.map((v, i) => v - low[i])) / 2) };
}

/** How far apart bodies go, against how far they lie from the middle. */
const SPREAD = 0.7;
/** By this share of the model's size parts that touch face to face leave each other. */
const FACES_APART = 0.07;

/**
 * Where the middle of each body is, pulled apart as far as `look` says.
 *
 * @param {Body[]} bodies
 * @param {Look} look
 * @returns {Map<Body, Place>}
 */
export function places(bodies, look) {
  const placed = bodies.filter((body) => body.said.place === "in the model");
  if (!placed.length) return new Map(bodies.map((body) => [body, body.at]));
  const { middle, radius } = ball(placed, (body) => body.at);
  return new Map(
    bodies.map((body) => {
      if (body.said.place !== "in the model") return [body, body.at];
      const away = body.at.map((value, i) => value - middle[i]);
      const side = Math.abs(body.at[0]) > 0.0005 ? Math.sign(body.at[0]) : 0;
      const at = body.at.map((value, i) => value + look.apart * SPREAD * away[i]);
      at[0] += look.apart * side * FACES_APART * 2 * radius;
      return [body, /** @type {Place} */ (at)];
    }),
  );
}

/** So much of the picture the model fills. */
const FILLED = 0.88;

/**
 * @param {Body} body
 * @param {Place} at
 * @returns {Place[]}
 */
const cornersOf = (body, at) =>
  [-0.5, 0.5].flatMap((x) =>
    [-0.5, 0.5].flatMap((y) =>
      [-0.5, 0.5].map((z) => {
        const corner = [x, y, z].map((share, i) => at[i] + share * body.size[i]);
        return /** @type {Place} */ (corner);
      }),
    ),
  );

/** The eye's opening, in degrees from top to bottom. */
export const OPENING = 28;

/**
 * Where the eye stands, so that all that is shown fits the picture.
 *
 * @param {Body[]} bodies
 * @param {Map<Body, Place>} at
 * @param {Look} look
 * @param {number} aspect width over height
 */
export function eye(bodies, at, look, aspect) {
  const { middle, radius } = bodies.length
    ? ball(bodies, (body) => at.get(body) ?? body.at)
    : { middle: /** @type {Place} */ ([0, 0, 0]), radius: 0.1 };
  const [turn, tilt] = [(look.turn * Math.PI) / 180, (look.tilt * Math.PI) / 180];
  // The nose looks along z, the left side along x.
  const out = [Math.cos(tilt) * Math.cos(turn), Math.sin(tilt), -Math.cos(tilt) * Math.sin(turn)];
  const right = [-Math.sin(turn), 0, -Math.cos(turn)];
  const up = [-Math.sin(tilt) * Math.cos(turn), Math.cos(tilt), Math.sin(tilt) * Math.sin(turn)];
  const high = FILLED * Math.tan((OPENING * Math.PI) / 360);
  /** @type {(a: number[], b: number[]) => number} */
  const along = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  let far = 0.05;
  for (const body of bodies)
    for (const corner of cornersOf(body, at.get(body) ?? body.at)) {
      const away = corner.map((value, i) => value - middle[i]);
      const needed = Math.max(
        Math.abs(along(away, up)) / high,
        Math.abs(along(away, right)) / (high * aspect),
      );
      far = Math.max(far, needed + along(away, out));
    }
  far /= look.near;
  const from = /** @type {Place} */ (middle.map((value, i) => value + far * out[i]));
  return { from, to: middle, far, radius };
}
