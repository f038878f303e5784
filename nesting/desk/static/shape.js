// A boundary as its curves, in millimetres: rings of points, each with the piece that leads to the
// next one. A piece is [] for a line, [bulge] for an arc (the tangent of a quarter of its turn,
// positive counter-clockwise), [x1, y1, x2, y2] for a cubic. Every change gives new rings; the old
// ones stay as they were.

/** @import { OutlineShape } from "./answers.d.ts" */
/** @import { Point } from "./geometry.js" */

/** @typedef {{ at: Point, piece: number[] }} Corner a point and the piece that leaves it */
/** @typedef {Corner[]} CurveRing */
/** @typedef {{ ring: number, i: number, away: number }} NearestPoint */
/** @typedef {NearestPoint & { share: number, at: Point }} Nearest */

/**
 * @param {Point} a
 * @param {Point} b
 * @param {number} share
 * @returns {Point}
 */
const sum = (a, b, share = 1) => [a[0] + share * b[0], a[1] + share * b[1]];
/**
 * @param {Point} a
 * @param {Point} b
 * @returns {Point}
 */
const less = (a, b) => [a[0] - b[0], a[1] - b[1]];
/**
 * @param {Point} a
 * @param {Point} b
 * @param {number} share
 * @returns {Point}
 */
const mixed = (a, b, share) => [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
/**
 * @param {Point} a
 * @param {Point} b
 */
const far = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/**
 * The two numbers of a piece that begin at `from`: a handle or an end.
 * @param {number[]} piece
 * @returns {Point}
 */
const pair = (piece, from = 0) => [piece[from], piece[from + 1]];

/** @param {number[]} piece as the server writes it: with the point that it leads to */
const endOf = (piece) => pair(piece, piece.length === 6 ? 4 : 0);
/**
 * @param {number[]} piece as the server writes it
 * @returns {number[]}
 */
const withoutEnd = (piece) =>
  piece.length === 2 ? [] : piece.length === 3 ? [piece[2]] : piece.slice(0, 4);

/**
 * @param {OutlineShape} outline
 * @returns {CurveRing[]}
 */
export function fromJson({ exterior, cutouts }) {
  return [exterior, ...cutouts].map(({ start, pieces }) =>
    pieces.map((piece, i) => ({
      at: i ? endOf(pieces[i - 1]) : pair(start),
      piece: withoutEnd(piece),
    })),
  );
}

/**
 * @param {CurveRing[]} rings
 * @returns {OutlineShape}
 */
export function toJson(rings) {
  const [exterior, ...cutouts] = rings.map((ring) => ({
    start: pair(ring[0].at),
    pieces: ring.map(({ piece }, i) => {
      const end = ring[(i + 1) % ring.length].at;
      return piece.length === 4 ? [...piece, ...end] : [...end, ...piece];
    }),
  }));
  return { exterior, cutouts };
}

// The point at a share (0 to 1) of the piece that leaves point `i`.
/**
 * @param {CurveRing} ring
 * @param {number} i
 * @param {number} share
 * @returns {Point}
 */
export function pointAt(ring, i, share) {
  const [{ at: a, piece }, { at: b }] = [ring[i], ring[(i + 1) % ring.length]];
  if (!piece.length) return mixed(a, b, share);
  if (piece.length === 1) {
    const [bulge] = piece;
    const k = (1 - bulge * bulge) / (4 * bulge);
    /** @type {Point} */
    const centre = [(a[0] + b[0]) / 2 - k * (b[1] - a[1]), (a[1] + b[1]) / 2 + k * (b[0] - a[0])];
    const angle = share * 4 * Math.atan(bulge);
    const [x, y] = less(a, centre);
    return [
      centre[0] + x * Math.cos(angle) - y * Math.sin(angle),
      centre[1] + x * Math.sin(angle) + y * Math.cos(angle),
    ];
  }
  const [one, other] = [pair(piece), pair(piece, 2)];
  const [p, q, r] = [mixed(a, one, share), mixed(one, other, share), mixed(other, b, share)];
  return mixed(mixed(p, q, share), mixed(q, r, share), share);
}

/** @param {number[]} piece */
const steps = (piece) =>
  piece.length === 0
    ? 1
    : piece.length === 1
      ? Math.max(4, Math.ceil(Math.abs(Math.atan(piece[0])) * 40))
      : 24;

// Points along a ring, each with the piece and the share that it stands for.
/** @param {CurveRing} ring */
export function walked(ring) {
  return ring.flatMap(({ piece }, i) => {
    const count = steps(piece);
    return Array.from({ length: count }, (_, k) => ({
      at: pointAt(ring, i, k / count),
      i,
      share: k / count,
      next: (k + 1) / count,
    }));
  });
}

/** @param {CurveRing} ring */
export const flat = (ring) => walked(ring).map(({ at }) => at);

/**
 * @param {CurveRing} ring
 * @param {number} i
 */
export function lengthOf(ring, i) {
  let total = 0;
  const count = steps(ring[i].piece);
  for (let k = 0; k < count; k += 1)
    total += far(pointAt(ring, i, k / count), pointAt(ring, i, (k + 1) / count));
  return total;
}

// The nearest place on any ring: { ring, i, share, at, away }.
/**
 * @param {CurveRing[]} rings
 * @param {Point} to
 * @returns {Nearest}
 */
export function nearest(rings, to) {
  /** @type {Nearest} */
  let best = { ring: 0, i: 0, share: 0, at: to, away: Infinity };
  rings.forEach((ring, number) => {
    const spots = walked(ring);
    spots.forEach((spot, k) => {
      const end = spots[(k + 1) % spots.length].at;
      const [dx, dy] = less(end, spot.at);
      const size = dx * dx + dy * dy;
      const along = size
        ? Math.min(1, Math.max(0, ((to[0] - spot.at[0]) * dx + (to[1] - spot.at[1]) * dy) / size))
        : 0;
      const at = mixed(spot.at, end, along);
      if (far(at, to) < best.away)
        best = {
          ring: number,
          i: spot.i,
          share: spot.share + along * (spot.next - spot.share),
          at,
          away: far(at, to),
        };
    });
  });
  return best;
}

/**
 * @param {CurveRing[]} rings
 * @param {Point} to
 * @returns {NearestPoint}
 */
export function nearestPoint(rings, to) {
  /** @type {NearestPoint} */
  let best = { ring: 0, i: 0, away: Infinity };
  rings.forEach((ring, number) =>
    ring.forEach(({ at }, i) => {
      if (far(at, to) < best.away) best = { ring: number, i, away: far(at, to) };
    }),
  );
  return best;
}

/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {CurveRing} ring
 */
const withRing = (rings, number, ring) => rings.map((one, k) => (k === number ? ring : one));

// The two halves of the piece that leaves point `i`, and the point between them.
/**
 * @param {CurveRing} ring
 * @param {number} i
 * @param {number} share
 * @returns {[number[], Point, number[]]}
 */
function halves(ring, i, share) {
  const { at: a, piece } = ring[i];
  const b = ring[(i + 1) % ring.length].at;
  const middle = pointAt(ring, i, share);
  if (!piece.length) return [[], middle, []];
  if (piece.length === 1)
    return [
      [Math.tan(share * Math.atan(piece[0]))],
      middle,
      [Math.tan((1 - share) * Math.atan(piece[0]))],
    ];
  const [one, other] = [pair(piece), pair(piece, 2)];
  const [p, q, r] = [mixed(a, one, share), mixed(one, other, share), mixed(other, b, share)];
  return [[...p, ...mixed(p, q, share)], middle, [...mixed(q, r, share), ...r]];
}

/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {number} i
 * @param {number} share
 */
export function withPoint(rings, number, i, share) {
  const ring = rings[number];
  const [first, middle, second] = halves(ring, i, share);
  return withRing(rings, number, [
    ...ring.slice(0, i),
    { at: ring[i].at, piece: first },
    { at: middle, piece: second },
    ...ring.slice(i + 1),
  ]);
}

// A point moves, and the handles beside it with it; an arc keeps how round it is.
/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {number} i
 * @param {Point} to
 */
export function withMoved(rings, number, i, to) {
  const ring = rings[number];
  const by = less(to, ring[i].at);
  const before = (i + ring.length - 1) % ring.length;
  const moved = ring.map((one) => ({ ...one }));
  moved[i].at = [...to];
  if (moved[i].piece.length === 4)
    moved[i].piece = [...sum(pair(moved[i].piece), by), ...moved[i].piece.slice(2)];
  if (moved[before].piece.length === 4)
    moved[before].piece = [
      ...moved[before].piece.slice(0, 2),
      ...sum(pair(moved[before].piece, 2), by),
    ];
  return withRing(rings, number, moved);
}

// Without a point its two pieces become one: a curve if both are curves that go smoothly on, else a
// line.
/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {number} i
 */
export function withoutPoint(rings, number, i) {
  const ring = rings[number];
  if (ring.length <= 3) return null;
  const before = (i + ring.length - 1) % ring.length;
  const [one, other] = [ring[before].piece, ring[i].piece];
  /** @type {number[]} */
  let piece = [];
  if (one.length === 4 && other.length === 4) {
    const [start, end] = [ring[before].at, ring[(i + 1) % ring.length].at];
    const total = lengthOf(ring, before) + lengthOf(ring, i);
    piece = [
      ...sum(start, less(pair(one), start), total / lengthOf(ring, before)),
      ...sum(end, less(pair(other, 2), end), total / lengthOf(ring, i)),
    ];
  } else if (one.length === 1 && other.length === 1) {
    piece = [Math.tan(Math.atan(one[0]) + Math.atan(other[0]))];
  }
  const kept = ring.map((node, k) => (k === before ? { ...node, piece } : node));
  kept.splice(i, 1);
  return withRing(rings, number, kept);
}

// The numbers of the points from `from` on to `to`, both included.
/**
 * @param {CurveRing} ring
 * @param {number} from
 * @param {number} to
 */
export function stretch(ring, from, to) {
  const numbers = [from];
  for (let i = from; i !== to; numbers.push(i)) i = (i + 1) % ring.length;
  return numbers;
}

// The stretch between two points becomes one piece.
/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {number} from
 * @param {number} to
 * @param {number[]} piece
 */
function withPiece(rings, number, from, to, piece) {
  const ring = rings[number];
  const gone = new Set(stretch(ring, from, to).slice(1, -1));
  return withRing(
    rings,
    number,
    ring.map((one, k) => (k === from ? { ...one, piece } : one)).filter((_, k) => !gone.has(k)),
  );
}

/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {number} from
 * @param {number} to
 */
export const straightened = (rings, number, from, to) => withPiece(rings, number, from, to, []);

// How round an arc from `a` to `b` through `c` is.
/**
 * @param {Point} a
 * @param {Point} c
 * @param {Point} b
 */
export function bulgeThrough(a, c, b) {
  const chord = far(a, b);
  const [ux, uy] = [(b[0] - a[0]) / chord, (b[1] - a[1]) / chord];
  const [x, y] = [
    (c[0] - a[0]) * ux + (c[1] - a[1]) * uy,
    -(c[0] - a[0]) * uy + (c[1] - a[1]) * ux,
  ];
  // The angle in the circle over the chord, seen from c, gives the turn of the arc on the other
  // side.
  const seen = Math.atan2(y * chord, x * x + y * y - x * chord);
  const turn = 2 * (Math.PI - Math.abs(seen));
  return -Math.sign(y) * Math.tan(turn / 4);
}

// The place half way along a stretch.
/**
 * @param {CurveRing} ring
 * @param {number} from
 * @param {number} to
 */
export function middleOf(ring, from, to) {
  const numbers = stretch(ring, from, to).slice(0, -1);
  let left = numbers.reduce((total, i) => total + lengthOf(ring, i), 0) / 2;
  for (const i of numbers) {
    const length = lengthOf(ring, i);
    if (left <= length) return pointAt(ring, i, left / length);
    left -= length;
  }
  return ring[to].at;
}

// An arc through both ends and `through`; null where the three lie in line.
/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {number} from
 * @param {number} to
 * @param {Point} through
 */
export function rounded(rings, number, from, to, through) {
  const ring = rings[number];
  const bulge = bulgeThrough(ring[from].at, through, ring[to].at);
  if (!Number.isFinite(bulge) || Math.abs(bulge) < 1e-4) return null;
  return withPiece(rings, number, from, to, [bulge]);
}

// The piece that leaves point `i` as an arc of a radius, on the side that it bulges to now, else
// outwards.
/**
 * @param {CurveRing[]} rings
 * @param {number} number
 * @param {number} i
 * @param {number} radius
 */
export function withRadius(rings, number, i, radius) {
  const ring = rings[number];
  const chord = far(ring[i].at, ring[(i + 1) % ring.length].at);
  if (!(radius >= chord / 2)) return null;
  const side = ring[i].piece.length === 1 ? Math.sign(ring[i].piece[0]) : 1;
  const bulge = side * Math.tan(Math.asin(chord / (2 * radius)) / 2);
  return withRing(
    rings,
    number,
    ring.map((one, k) => (k === i ? { ...one, piece: [bulge] } : one)),
  );
}

/**
 * @param {CurveRing} ring
 * @param {number} i
 */
export const radiusOf = (ring, i) =>
  ring[i].piece.length === 1
    ? (far(ring[i].at, ring[(i + 1) % ring.length].at) * (1 + ring[i].piece[0] ** 2)) /
      (4 * Math.abs(ring[i].piece[0]))
    : null;

// The first place where boundaries cross themselves or each other, or null.
/** @param {CurveRing[]} rings */
export function crossing(rings) {
  const edges = rings.flatMap((ring, number) => {
    const points = flat(ring);
    return points.map((a, k) => ({
      number,
      k,
      count: points.length,
      a,
      b: points[(k + 1) % points.length],
    }));
  });
  for (let i = 0; i < edges.length; i += 1) {
    for (let j = i + 1; j < edges.length; j += 1) {
      const [one, other] = [edges[i], edges[j]];
      if (
        one.number === other.number &&
        (other.k - one.k <= 1 || other.k - one.k === one.count - 1)
      )
        continue;
      const at = meeting(one.a, one.b, other.a, other.b);
      if (at) return at;
    }
  }
  return null;
}

/**
 * @param {Point} a
 * @param {Point} b
 * @param {Point} c
 * @param {Point} d
 */
function meeting(a, b, c, d) {
  if (
    Math.max(a[0], b[0]) < Math.min(c[0], d[0]) ||
    Math.max(c[0], d[0]) < Math.min(a[0], b[0]) ||
    Math.max(a[1], b[1]) < Math.min(c[1], d[1]) ||
    Math.max(c[1], d[1]) < Math.min(a[1], b[1])
  )
    return null;
  const [r, s] = [less(b, a), less(d, c)];
  const cross = r[0] * s[1] - r[1] * s[0];
  if (cross === 0) return null;
  const [x, y] = less(c, a);
  const [t, u] = [(x * s[1] - y * s[0]) / cross, (x * r[1] - y * r[0]) / cross];
  return t > 0 && t < 1 && u > 0 && u < 1 ? sum(a, r, t) : null;
}
