import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import "./stand_in.js";

const { sideways } = await import("../../../../nesting/desk/static/balance.js");
const { desk } = await import("../../../../nesting/desk/static/store.js");

beforeEach(() => Object.assign(desk, { state: { job: { name: "", units: "mm" } } }));

/**
 * @param {number} lateral
 * @param {[number, number] | null} range
 * @param {object[]} tips
 */
const said = (lateral, range, tips = []) =>
  sideways(
    /** @type {any} */ ({ lateral_mm: lateral }),
    /** @type {any} */ ({ tip_ballast: tips }),
    range,
  );

test("which side is heavy is told with the least that would do", () => {
  const tips = [
    { place: "inboard tip", least_g: null, problem: "it would make it more so" },
    { place: "outboard tip", least_g: 1.64, problem: "" },
  ];
  assert.deepEqual(said(-2.1, [0, 6], tips), {
    isIn: false,
    text: "Left side heavy by 2.1 mm: 1.6 g at outboard tip would do.",
  });
  assert.equal(said(6.4, [0, 6])?.text, "Right side heavy by 0.4 mm.");
});

test("within the range that is said, and nothing where there is none", () => {
  assert.equal(said(3, [0, 6])?.isIn, true);
  assert.equal(said(3, null), null);
});
