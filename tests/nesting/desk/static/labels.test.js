import assert from "node:assert/strict";
import { test } from "node:test";

import { apart } from "../../../../nesting/desk/static/labels.js";

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
