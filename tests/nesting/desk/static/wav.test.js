import assert from "node:assert/strict";
import { test } from "node:test";

import { wavOf } from "../../../../nesting/desk/static/wav.js";

// The form of the file: RIFF WAVE (IBM and Microsoft, 1991); python's scipy reads one in
// test_stock_and_check_browser.py.
test("a sound is a WAV file of one channel and 16 bits", () => {
  const pieces = [Float32Array.of(0, 0.5), Float32Array.of(-1, 2, -7)];
  const bytes = wavOf(pieces, 48000);
  const view = new DataView(bytes.buffer);
  const text = (/** @type {number} */ at) => String.fromCharCode(...bytes.slice(at, at + 4));
  assert.deepEqual([text(0), text(8), text(12), text(36)], ["RIFF", "WAVE", "fmt ", "data"]);
  assert.equal(view.getUint32(4, true), bytes.length - 8);
  assert.equal(view.getUint32(40, true), 10);
  assert.equal(view.getUint32(24, true), 48000);
  assert.equal(view.getUint32(28, true), 96000);
  const samples = Array.from({ length: 5 }, (_, k) => view.getInt16(44 + 2 * k, true));
  assert.deepEqual(samples, [0, 16384, -32767, 32767, -32767]);
});
