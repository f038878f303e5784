import assert from "node:assert/strict";
import { test } from "node:test";

import {
  area,
  bounds,
  contains,
  doRingsOverlap,
  grainEnds,
  inverted,
  isWithin,
  pathOf,
  placed,
  projected,
  scaleFromMm,
  scaleToMm,
  spaced,
} from "../../../../nesting/desk/static/geometry.js";

/** @import { Matrix, Point, Ring } from "../../../../nesting/desk/static/geometry.js" */

const FINE = 1e-9; // rounding of doubles at these sizes

/** @type {(x0: number, y0: number, x1: number, y1: number) => Ring} */
const box = (x0, y0, x1, y1) => [
  [x0, y0],
  [x1, y0],
  [x1, y1],
  [x0, y1],
];
/** @type {(one: Point, other: Point, within?: number) => void} */
function near(one, other, within = FINE) {
  assert.ok(
    Math.hypot(one[0] - other[0], one[1] - other[1]) <= within,
    `${one} is not within ${within} of ${other}`,
  );
}

test("bounds hold every point, whatever their order", () => {
  /** @type {Ring} */
  const ring = [
    [3, -2],
    [-1, 7],
    [0, 0],
  ];
  assert.deepEqual(bounds(ring), [-1, -2, 3, 7]);
  assert.deepEqual(bounds([...ring].reverse()), [-1, -2, 3, 7]);
});

// Shoelace formula: Braden 1986, doi:10.2307/2686282; 3, 4, 5 triangle and a ring that goes round
// the other way.
test("area is the shoelace formula's, and does not ask which way a ring goes", () => {
  /** @type {Ring} */
  const triangle = [
    [0, 0],
    [4, 0],
    [0, 3],
  ];
  assert.equal(area(triangle), 6);
  assert.equal(area([...triangle].reverse()), 6);
  assert.equal(area(box(10, 10, 13, 12)), 6);
});

test("a point in a notch is outside", () => {
  //   ┌─┐ ┌─┐
  //   │ └─┘ │
  //   └─────┘
  /** @type {Ring} */
  const notched = [
    [0, 0],
    [9, 0],
    [9, 6],
    [6, 6],
    [6, 3],
    [3, 3],
    [3, 6],
    [0, 6],
  ];
  assert.ok(contains(notched, [1, 5]));
  assert.ok(contains(notched, [4.5, 1]));
  assert.ok(!contains(notched, [4.5, 5]));
  assert.ok(!contains(notched, [10, 1]));
});

test("a placement turns counter-clockwise, after it mirrored, before it moves", () => {
  const pose = { x_mm: 10, y_mm: 20, angle_deg: 90, flipped: false };
  near(placed([[2, 0]], pose)[0], [10, 22]);
  near(placed([[2, 1]], { ...pose, flipped: true })[0], [9, 18]);
});

test("a placement keeps distances", () => {
  const pose = { x_mm: -3, y_mm: 8, angle_deg: 33, flipped: true };
  const [a, b] = placed(
    [
      [0, 0],
      [3, 4],
    ],
    pose,
  );
  assert.ok(Math.abs(Math.hypot(a[0] - b[0], a[1] - b[1]) - 5) < FINE);
});

test("rings overlap where they cross, and where one lies in the other", () => {
  assert.ok(doRingsOverlap(box(0, 0, 10, 10), box(5, 5, 15, 15)));
  assert.ok(doRingsOverlap(box(0, 0, 10, 10), box(4, 4, 6, 6)));
  assert.ok(doRingsOverlap(box(4, 4, 6, 6), box(0, 0, 10, 10)));
  // A cross: no corner of either lies in the other.
  assert.ok(doRingsOverlap(box(4, 0, 6, 10), box(0, 4, 10, 6)));
  assert.ok(!doRingsOverlap(box(0, 0, 10, 10), box(11, 0, 12, 10)));
});

test("a ring is within another only whole", () => {
  const board = box(0, 0, 100, 50);
  assert.ok(isWithin(box(1, 1, 99, 49), board));
  assert.ok(!isWithin(box(1, 1, 101, 49), board));
  // Its corners lie on the board, and its middle reaches over a notch.
  /** @type {Ring} */
  const notched = [
    [0, 0],
    [100, 0],
    [100, 50],
    [60, 50],
    [50, 20],
    [40, 50],
    [0, 50],
  ];
  assert.ok(!isWithin(box(20, 30, 80, 40), notched));
});

test("a path closes every ring", () => {
  assert.equal(pathOf([box(0, 0, 1, 1)]), "M0.00 0.00L1.00 0.00L1.00 1.00L0.00 1.00Z");
});

test("a map of the plan and its inverse bring a point back, with perspective and lens too", () => {
  /** @type {Matrix} */
  const matrix = [
    [0.085, 0.002, 3],
    [-0.001, -0.084, 250],
    [1e-6, -2e-6, 1],
  ];
  const at = /** @type {Point} */ ([1234.5, 987.25]);
  near(projected(inverted(matrix), projected(matrix, at)), at, 1e-6);
  for (const strength of [-0.08, 0, 0.08]) {
    /** @type {Point} */
    const centre = [1500, 1000];
    const scale = { matrix, lens: { strength, centre, reach_px: 1800 } };
    near(scaleFromMm(scale, scaleToMm(scale, at)), at, 1e-5);
  }
});

// One-parameter radial distortion, Fitzgibbon 2001 and Brown 1966: seen = real · (1 + k · real²)
// where radii count in the reach; the middle and the direction stay.
test("a lens moves points along the ray from its centre by the radial law", () => {
  /** @type {Matrix} */
  const plain = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ];
  const scale = {
    matrix: plain,
    lens: { strength: 0.1, centre: /** @type {Point} */ ([100, 100]), reach_px: 200 },
  };
  near(scaleFromMm(scale, [200, 100]), [100 + 100 * (1 + 0.1 * 0.5 ** 2), 100]);
  near(scaleFromMm(scale, [100, 100]), [100, 100]);
});

test("points are set so close that none is farther than asked, and the given ones stay", () => {
  /** @type {Point[]} */
  const line = [
    [0, 0],
    [10, 0],
    [10, 3],
  ];
  const many = spaced(line, 4);
  for (const [k, one] of many.slice(0, -1).entries()) {
    const next = many[k + 1];
    assert.ok(Math.hypot(next[0] - one[0], next[1] - one[1]) <= 4 + FINE);
  }
  for (const given of line) assert.ok(many.some(([x, y]) => x === given[0] && y === given[1]));
  assert.deepEqual(many.at(-1), [10, 3]);
});

test("a grain arrow lies at its angle in millimetres on a plan whose y runs down", () => {
  /** @type {(at: Point) => Point} */
  const flip = ([x, y]) => [x / 4, -y / 4];
  /** @type {(at: Point) => Point} */
  const back = ([x, y]) => [4 * x, -4 * y];
  const [from, to] = grainEnds(
    { toMm: flip, fromMm: back },
    { outline_px: [box(0, 0, 400, 100)] },
    30,
  );
  const [a, b] = [flip(from), flip(to)];
  const angle = (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
  assert.ok(Math.abs(angle - 30) < 1e-9);
});
