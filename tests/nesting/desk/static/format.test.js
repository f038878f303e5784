import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import "./stand_in.js";

const format = await import("../../../../nesting/desk/static/format.js");
const { desk } = await import("../../../../nesting/desk/static/store.js");

/** @param {"mm" | "in"} units */
const speak = (units) => Object.assign(desk, { state: { job: { name: "", units } } });
beforeEach(() => speak("mm"));

test("lengths, masses and areas in the job's units", () => {
  assert.equal(format.length(25.4), "25.4 mm");
  assert.equal(format.mass(28.35), "28.4 g");
  assert.equal(format.area(1234), "12.3 cm²");
  assert.equal(format.size([100, 50]), "100.0 × 50.0 mm");
  speak("in");
  // The inch is 25.4 mm, the avoirdupois pound 0.45359237 kg, both exactly (NIST SP 811, B.6).
  assert.equal(format.length(25.4), "1.000 in");
  assert.equal(format.mass(453.59237 / 16), "1.00 oz");
  assert.equal(format.area(25.4 * 25.4), "1.00 in²");
  assert.equal(format.size([25.4, 50.8]), "1.00 × 2.00 in");
});

// One pound to the cubic foot is 16.01846 kg/m³, one ksi 6.894757 MPa (NIST SP 811, B.8).
test("densities and moduli in pounds and feet", () => {
  speak("in");
  assert.equal(format.density(16.01846), "1.0 lb/ft³");
  assert.equal(format.densityField(8 * 16.01846), "8 lb/ft3");
  assert.equal(format.stiffnessField(6.894757), "1 ksi");
});

test("what is not known is a dash, and an empty field", () => {
  for (const none of [null, undefined]) {
    assert.equal(format.length(none), "–");
    assert.equal(format.mass(none), "–");
    assert.equal(format.area(none), "–");
    assert.equal(format.size(none), "–");
    assert.equal(format.lengthField(none), "");
    assert.equal(format.massField(none), "");
    assert.equal(format.densityField(none), "");
  }
});

test("a value and its doubt share one unit", () => {
  assert.equal(format.massDoubt(12.34, 0.2), "12.3 g ± 0.2");
  assert.equal(format.lengthDoubt(160, 1), "160.0 mm ± 1.0");
});

test("a field that nobody changed keeps its value exactly", () => {
  speak("in");
  const mm = 3.175000001;
  assert.equal(format.lengthField(mm), "0.125 in");
  assert.equal(format.typedLength("0.125 in", mm), "3.175000001 mm");
  assert.equal(format.typedLength("1/8 in", mm), "1/8 in");
  assert.equal(format.typedLength("", mm), null);
  assert.equal(format.typedDensity("", 100), null);
});

test("lengths are read as builders write them", () => {
  /** @type {[string, number | null][]} */
  const typed = [
    ["40 mm", 40],
    ["40", 40],
    ["3,5", 3.5],
    ["4 cm", 40],
    ['1"', 25.4],
    ["1 1/2 in", 38.1],
    ["3/32 in", 2.38125],
    ["-2.5 mm", -2.5],
    ["1/0 in", null],
    ["forty", null],
    ["1.234,5", null],
    ["", null],
  ];
  for (const [text, mm] of typed) {
    const found = format.parsedLength(text);
    assert.ok(mm === null ? found === null : Math.abs((found ?? NaN) - mm) < 1e-9, text);
  }
  speak("in");
  assert.equal(format.parsedLength("2"), 50.8);
});

test("one is counted as one", () => {
  assert.equal(format.count(1, "part"), "1 part");
  assert.equal(format.count(2, "part"), "2 parts");
  assert.equal(format.count(2, "box", "boxes"), "2 boxes");
});
