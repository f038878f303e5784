// A board's stiffness by its sound: a recording of taps on its end, and the tone that the rack
// keeps.

import { sendTaps } from "./api.js";
import { h } from "./dom.js";
import { attempt } from "./store.js";

/** @import { TapAnswer } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */

const heard = {
  found: /** @type {TapAnswer | null} */ (null),
  listening: /** @type {string | null} */ (null),
};

/**
 * @param {string} board
 * @param {(name: string, value: string) => Promise<boolean>} set
 * @param {Render} render
 */
export function soundOf(board, set, render) {
  const found = heard.found?.board === board ? heard.found : null;
  return h(
    "details",
    { "data-key": "sound" },
    h("summary", { "data-key": "sound-head" }, "Its stiffness by its sound"),
    h(
      "p",
      { class: "hint" },
      "Hold the board at its middle, tap its end along the grain five times, and drop the " +
        "recording (WAV) here. A comparison between boards, never an approval to fly.",
    ),
    h("input", {
      type: "file",
      accept: ".wav,audio/wav",
      "aria-label": `A recording of taps on ${board}`,
      "data-key": "sound-file",
      onchange: (event) => listen(event.currentTarget.files?.[0], board, render),
    }),
    heard.listening === board ? h("p", { role: "status" }, "Listening …") : null,
    found ? finding(found, set) : null,
  );
}

/**
 * @param {File | undefined} file
 * @param {string} board
 * @param {Render} render
 */
async function listen(file, board, render) {
  if (!file) return;
  heard.listening = board;
  render();
  const found = await attempt(() => sendTaps(file, board));
  heard.listening = null;
  if (found) heard.found = found;
  render();
}

/**
 * @param {TapAnswer} found
 * @param {(name: string, value: string) => Promise<boolean>} set
 */
function finding(found, set) {
  const tone = `${found.frequency_hz.toFixed(0)} Hz`;
  return h(
    "div",
    { "data-key": "sound-found" },
    h(
      "p",
      {},
      `${found.taps} taps sound at ${tone} ± ${found.sigma_hz.toFixed(0)}: E along the grain is ` +
        `${found.modulus_gpa.toFixed(2)} ± ${found.sigma_gpa.toFixed(2)} GPa.`,
    ),
    found.notes.map(({ state, text }) =>
      h("p", { class: state === "open" ? "fault" : "hint" }, text),
    ),
    h(
      "button",
      { type: "button", "data-key": "sound-keep", onclick: () => set("tone", tone) },
      "Keep this tone in the rack",
    ),
  );
}
