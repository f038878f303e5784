import assert from "node:assert/strict";
import { test } from "node:test";

import { apart, stacked } from "../../../../nesting/desk/static/labels.js";

const RADIUS = 8.5;

test("a mark stands on its point where nothing is in its way", () => {
  const points = [
    { x: 10, y: 10 },
    { x: 60, y: 10 },
  ];
  assert.deepEqual(apart(points, RADIUS), points);
});

test("marks of points at one place stand apart, the first on its point", () => {
  const points = [0, 1, 2, 3, 4, 5].map((number) => ({ x: 50 + number, y: 50 }));
  const marks = apart(points, RADIUS);
  assert.deepEqual(marks[0], points[0]);
  marks.forEach((one, number) => {
    for (const other of marks.slice(number + 1)) {
      assert.ok(Math.hypot(one.x - other.x, one.y - other.y) >= 2 * RADIUS - 1e-9);
    }
    assert.ok(Math.hypot(one.x - points[number].x, one.y - points[number].y) < 4 * RADIUS);
  });
});

test("names stand in rows where they would cover each other, and within the picture", () => {
  const names = ["thrust line, 127.3 mm ahead", "wing line, 17.3 mm ahead", "axle"].map(
    (name, k) => ({
      name,
      x: 70 + 150 * k,
      isFirst: false,
    }),
  );
  const [thrust, wing, axle] = stacked(names, 940, 7.4);
  assert.deepEqual([thrust.row, wing.row, axle.row], [0, 1, 0]);
  assert.ok(thrust.middle - thrust.half >= 0);
});
