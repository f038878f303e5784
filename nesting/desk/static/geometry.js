// Plane geometry on rings of [x, y] points.

/** @import { LensBulge, Placement, Scale } from "./answers.d.ts" */

/** @typedef {[number, number]} Point */
/** @typedef {Point[]} Ring */
/** @typedef {[number, number, number, number]} Box left, low, right and high */
/** @typedef {Pick<Placement, "x_mm" | "y_mm" | "angle_deg" | "flipped">} Pose */
/** @typedef {Scale["matrix"]} Matrix */
/** @typedef {Pick<Scale, "matrix" | "lens">} MapToMm */
/** @typedef {{ toMm: (at: Point) => Point, fromMm: (at: Point) => Point }} MillimetreMap */

/**
 * @param {Iterable<Point>} points
 * @returns {Box}
 */
export function bounds(points) {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of points) {
    if (x < x0) x0 = x;
    if (y < y0) y0 = y;
    if (x > x1) x1 = x;
    if (y > y1) y1 = y;
  }
  return [x0, y0, x1, y1];
}

/**
 * @param {Ring} ring
 * @param {Point} point
 */
export function contains(ring, [x, y]) {
  let isInside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    const [ax, ay] = ring[i];
    const [bx, by] = ring[j];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) isInside = !isInside;
  }
  return isInside;
}

/** @param {Ring} ring */
export function area(ring) {
  let twice = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    twice += ring[j][0] * ring[i][1] - ring[i][0] * ring[j][1];
  }
  return Math.abs(twice) / 2;
}

// A placement mirrors in x if flipped, then turns, then moves the part's own origin.
/**
 * @param {Ring} points
 * @param {Pose} pose
 * @returns {Ring}
 */
export function placed(points, { x_mm: x, y_mm: y, angle_deg: angle, flipped }) {
  const turn = (angle * Math.PI) / 180;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  const side = flipped ? -1 : 1;
  return points.map(([px, py]) => [cos * side * px - sin * py + x, sin * side * px + cos * py + y]);
}

/**
 * @param {Point} o
 * @param {Point} a
 * @param {Point} b
 */
const cross = (o, a, b) => (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);

/**
 * @param {Point} a
 * @param {Point} b
 * @param {Point} c
 * @param {Point} d
 */
function doSegmentsCross(a, b, c, d) {
  return cross(a, b, c) * cross(a, b, d) < 0 && cross(c, d, a) * cross(c, d, b) < 0;
}

/**
 * @param {Box} a
 * @param {Box} b
 */
const doBoxesMeet = (a, b) => a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];

/**
 * @param {Ring} one
 * @param {Ring} other
 */
export function doRingsOverlap(one, other) {
  const [boxOne, boxOther] = [bounds(one), bounds(other)];
  if (!doBoxesMeet(boxOne, boxOther)) return false;
  if (contains(other, one[0]) || contains(one, other[0])) return true;
  for (let i = 0, j = one.length - 1; i < one.length; j = i, i += 1) {
    const box = bounds([one[j], one[i]]);
    if (!doBoxesMeet(box, boxOther)) continue;
    for (let k = 0, l = other.length - 1; k < other.length; l = k, k += 1) {
      if (doSegmentsCross(one[j], one[i], other[l], other[k])) return true;
    }
  }
  return false;
}

// Whether `inner` lies wholly within `outer`.
/**
 * @param {Ring} inner
 * @param {Ring} outer
 */
export function isWithin(inner, outer) {
  if (!inner.every((point) => contains(outer, point))) return false;
  for (let i = 0, j = inner.length - 1; i < inner.length; j = i, i += 1) {
    for (let k = 0, l = outer.length - 1; k < outer.length; l = k, k += 1) {
      if (doSegmentsCross(inner[j], inner[i], outer[l], outer[k])) return false;
    }
  }
  return true;
}

/** @param {Ring[]} rings */
export const pathOf = (rings) =>
  rings
    .map((ring) => `M${ring.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join("L")}Z`)
    .join("");

// A plan's map from its own places to millimetres, and back: a 3 x 3 matrix, with perspective for a
// photo.
/**
 * @param {Matrix} matrix
 * @param {Point} point
 * @returns {Point}
 */
export function projected(matrix, [x, y]) {
  const [u, v, w] = matrix.map(([a, b, c]) => a * x + b * y + c);
  return [u / w, v / w];
}

/**
 * @param {Matrix} matrix
 * @returns {Matrix}
 */
export function inverted([[a, b, c], [d, e, f], [g, h, i]]) {
  const [A, B, C] = [e * i - f * h, f * g - d * i, d * h - e * g];
  const size = a * A + b * B + c * C;
  const rows = [
    [A, c * h - b * i, b * f - c * e],
    [B, a * i - c * g, c * d - a * f],
    [C, b * g - a * h, a * e - b * d],
  ];
  return /** @type {Matrix} */ (rows.map((row) => row.map((value) => value / size)));
}

// Where a place of a photo would lie without the bulge of its lens, and back: the radial map of the
// server's `Lens`, so that what is drawn here lies where the trace saw it.
/**
 * @param {LensBulge} lens
 * @param {Point} point
 * @returns {Point}
 */
function straightened({ strength, centre: [cx, cy], reach_px: reach }, [x, y]) {
  const [dx, dy] = [x - cx, y - cy];
  const seen = Math.hypot(dx, dy) / reach;
  let real = seen;
  for (let k = 0; k < 8; k += 1)
    real -= (real + strength * real ** 3 - seen) / Math.max(1 + 3 * strength * real ** 2, 0.1);
  const share = real / Math.max(seen, 1e-12);
  return [cx + dx * share, cy + dy * share];
}

/**
 * @param {LensBulge} lens
 * @param {Point} point
 * @returns {Point}
 */
function bent({ strength, centre: [cx, cy], reach_px: reach }, [x, y]) {
  const [dx, dy] = [x - cx, y - cy];
  const share = 1 + (strength * (dx * dx + dy * dy)) / reach ** 2;
  return [cx + dx * share, cy + dy * share];
}

/**
 * @param {MapToMm} scale
 * @param {Point} point
 */
export const scaleToMm = ({ matrix, lens }, point) =>
  projected(matrix, lens ? straightened(lens, point) : point);

/**
 * @param {MapToMm} scale
 * @param {Point} point
 */
export function scaleFromMm({ matrix, lens }, point) {
  const flat = projected(inverted(matrix), point);
  return lens ? bent(lens, flat) : flat;
}

// A line of points with none farther from the next than `most`: what is straight on the plan is not
// on such a photo.
/**
 * @param {Point[]} points
 * @param {number} most
 * @returns {Point[]}
 */
export const spaced = (points, most) =>
  points.flatMap((one, k) => {
    const next = points[k + 1];
    if (!next) return [one];
    const [dx, dy] = [next[0] - one[0], next[1] - one[1]];
    const count = Math.max(1, Math.ceil(Math.hypot(dx, dy) / most));
    return Array.from(
      { length: count },
      (_, i) =>
        /** @type {Point} */ (i ? [one[0] + (dx * i) / count, one[1] + (dy * i) / count] : one),
    );
  });

// The ends of a part's grain arrow on the plan: it lies at so many degrees in millimetres, which a
// photo shows aslant.
/**
 * @param {MillimetreMap} sheet
 * @param {{ outline_px: Ring[] }} part
 * @param {number} degrees
 * @returns {[Point, Point]}
 */
export function grainEnds(sheet, part, degrees) {
  const [x0, y0, x1, y1] = bounds(part.outline_px[0].map((point) => sheet.toMm(point)));
  const [x, y, reach] = [(x0 + x1) / 2, (y0 + y1) / 2, 0.3 * Math.max(x1 - x0, y1 - y0)];
  const [dx, dy] = [
    reach * Math.cos((degrees * Math.PI) / 180),
    reach * Math.sin((degrees * Math.PI) / 180),
  ];
  return [sheet.fromMm([x - dx, y - dy]), sheet.fromMm([x + dx, y + dy])];
}
