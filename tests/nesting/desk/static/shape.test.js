import assert from "node:assert/strict";
import { test } from "node:test";

import * as shape from "../../../../nesting/desk/static/shape.js";

/** @import { OutlineShape } from "../../../../nesting/desk/static/answers.d.ts" */
/** @import { Point } from "../../../../nesting/desk/static/geometry.js" */
/** @import { CurveRing } from "../../../../nesting/desk/static/shape.js" */

const FINE = 1e-9; // rounding of doubles at these sizes

/** @type {(x: number, y: number, piece?: number[]) => CurveRing[number]} */
const corner = (x, y, piece = []) => ({ at: [x, y], piece });
const square = () => [corner(0, 0), corner(10, 0), corner(10, 10), corner(0, 10)];
// A quarter turn's bulge is tan(90° / 4): the definition of a bulge is the tangent of a quarter of
// the arc's angle (DXF reference, LWPOLYLINE, group 42).
const QUARTER = Math.tan(Math.PI / 8);
const disc = () => [
  corner(5, 0, [QUARTER]),
  corner(0, 5, [QUARTER]),
  corner(-5, 0, [QUARTER]),
  corner(0, -5, [QUARTER]),
];
/** @type {(one: Point, other: Point, within?: number) => void} */
function near(one, other, within = FINE) {
  assert.ok(
    Math.hypot(one[0] - other[0], one[1] - other[1]) <= within,
    `${one} is not within ${within} of ${other}`,
  );
}

test("an outline goes to rings and back as the server wrote it", () => {
  /** @type {OutlineShape} */
  const outline = {
    exterior: {
      start: [0, 0],
      pieces: [
        [10, 0],
        [10, 10, QUARTER],
        [8, 12, 2, 12, 0, 10],
        [0, 0],
      ],
    },
    cutouts: [
      {
        start: [3, 3],
        pieces: [
          [3, 5],
          [5, 5],
          [3, 3],
        ],
      },
    ],
  };
  const rings = shape.fromJson(outline);
  assert.deepEqual(
    rings[0].map(({ at }) => at),
    [
      [0, 0],
      [10, 0],
      [10, 10],
      [0, 10],
    ],
  );
  assert.deepEqual(shape.toJson(rings), outline);
});

test("points of an arc lie on its circle, on the side that a positive bulge turns to", () => {
  const ring = disc();
  for (const share of [0, 0.25, 0.5, 0.9])
    assert.ok(Math.abs(Math.hypot(...shape.pointAt(ring, 0, share)) - 5) < FINE);
  near(shape.pointAt(ring, 0, 0.5), [5 * Math.SQRT1_2, 5 * Math.SQRT1_2]);
});

test("the length of an arc is its radius times its angle", () => {
  // Measured along chords of at least four to a quarter turn: short by less than 0.1 %.
  const length = shape.lengthOf(disc(), 0);
  assert.ok(Math.abs(length / ((5 * Math.PI) / 2) - 1) < 1e-3);
  assert.ok(length < (5 * Math.PI) / 2);
});

// De Casteljau: a cubic with its handles at thirds of a straight line is that line, evenly run.
test("a straight cubic runs evenly", () => {
  const ring = [corner(0, 0, [3, 0, 6, 0]), corner(9, 0), corner(9, 9)];
  near(shape.pointAt(ring, 0, 1 / 3), [3, 0]);
});

test("a new point changes nothing of the edge", () => {
  for (const [ring, i] of /** @type {[CurveRing, number][]} */ ([
    [square(), 1],
    [disc(), 2],
    [[corner(0, 0, [0, 4, 6, 8]), corner(10, 0), corner(5, -5)], 0],
  ])) {
    const [after] = shape.withPoint([ring], 0, i, 0.3);
    assert.equal(after.length, ring.length + 1);
    near(after[i + 1].at, shape.pointAt(ring, i, 0.3));
    near(shape.pointAt(after, i, 0.5), shape.pointAt(ring, i, 0.15));
    near(shape.pointAt(after, i + 1, 0.5), shape.pointAt(ring, i, 0.65));
  }
});

test("a point that is taken away again leaves line, arc and cubic as they were", () => {
  const [line] = shape.withoutPoint(shape.withPoint([square()], 0, 1, 0.3), 0, 2) ?? [];
  assert.deepEqual(line, square());
  const [arc] = shape.withoutPoint(shape.withPoint([disc()], 0, 2, 0.3), 0, 3) ?? [];
  assert.ok(Math.abs(arc[2].piece[0] - QUARTER) < FINE);
  // Taken apart in the middle of a curve that is the same from both ends, its shares are halves.
  const ring = [corner(0, 0, [0, 6, 10, 6]), corner(10, 0), corner(5, -5)];
  const [cubic] = shape.withoutPoint(shape.withPoint([ring], 0, 0, 0.5), 0, 1) ?? [];
  for (const [k, value] of cubic[0].piece.entries())
    assert.ok(Math.abs(value - ring[0].piece[k]) < FINE, `${cubic[0].piece}`);
});

test("three points are the fewest", () => {
  assert.equal(shape.withoutPoint([square().slice(0, 3)], 0, 1), null);
});

test("a moved point takes its handles along, and the old rings stay", () => {
  const ring = [corner(0, 0, [1, 2, 8, 2]), corner(10, 0, [12, 1, 12, 4]), corner(10, 5)];
  const before = structuredClone(ring);
  const [after] = shape.withMoved([ring], 0, 1, [11, -1]);
  assert.deepEqual(after[1], { at: [11, -1], piece: [13, 0, 12, 4] });
  assert.deepEqual(after[0].piece, [1, 2, 9, 1]);
  assert.deepEqual(ring, before);
});

test("the nearest place on an edge, and the nearest point", () => {
  const found = shape.nearest([square()], [4, -2]);
  near(found.at, [4, 0]);
  assert.equal(found.i, 0);
  assert.ok(Math.abs(found.share - 0.4) < FINE);
  assert.ok(Math.abs(found.away - 2) < FINE);
  assert.equal(shape.nearestPoint([square()], [9, 8]).i, 2);
});

test("a stretch goes on round the ring", () => {
  assert.deepEqual(shape.stretch(square(), 3, 1), [3, 0, 1]);
  assert.deepEqual(shape.stretch(square(), 2, 2), [2]);
});

test("a stretch made straight loses the points between", () => {
  const [after] = shape.straightened([square()], 0, 1, 3);
  assert.deepEqual(
    after.map(({ at }) => at),
    [
      [0, 0],
      [10, 0],
      [0, 10],
    ],
  );
});

// Euclid III.20: the angle at the centre is twice the angle on the circle.
test("an arc through three points passes through the third", () => {
  for (const through of /** @type {Point[]} */ ([
    [5, -3],
    [2, 4],
    [5, 20],
    [9, 1],
  ])) {
    const bulge = shape.bulgeThrough([0, 0], through, [10, 0]);
    const ring = [corner(0, 0, [bulge]), corner(10, 0), corner(5, 40)];
    const { away } = shape.nearest([ring.slice(0, 2).concat(corner(5, 400))], through);
    assert.ok(away < 0.01, `${through} is ${away} off`);
  }
});

test("a radius gives an arc of that radius, and one too small gives none", () => {
  const [after] = shape.withRadius([square()], 0, 0, 13) ?? [];
  assert.ok(Math.abs((shape.radiusOf(after, 0) ?? 0) - 13) < FINE);
  assert.equal(shape.withRadius([square()], 0, 0, 4.9), null);
  assert.equal(shape.radiusOf(square(), 0), null);
});

test("an edge that crosses itself is told where", () => {
  const bow = [corner(0, 0), corner(10, 10), corner(10, 0), corner(0, 10)];
  near(shape.crossing([bow]) ?? [NaN, NaN], [5, 5]);
  assert.equal(shape.crossing([square()]), null);
  assert.ok(shape.crossing([square(), [corner(8, 4), corner(12, 4), corner(12, 6)]]));
});
