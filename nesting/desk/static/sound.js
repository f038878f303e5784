// A board's stiffness by its sound: a recording of taps on its end, and the tone that the rack
// keeps.

import { sendTaps } from "./api.js";
import { h } from "./dom.js";
import { LONGEST_S, listenTo } from "./microphone.js";
import { attempt } from "./store.js";

/** @import { TapAnswer } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */

const heard = {
  found: /** @type {TapAnswer | null} */ (null),
  asking: /** @type {string | null} */ (null),
  recording: /** @type {{ board: string, stop: () => void } | null} */ (null),
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
        "recording (WAV) here, or let the page listen. A comparison between boards, never an " +
        "approval to fly.",
    ),
    h("input", {
      type: "file",
      accept: ".wav,audio/wav",
      "aria-label": `A recording of taps on ${board}`,
      "data-key": "sound-file",
      onchange: (event) => listen(event.currentTarget.files?.[0], board, render),
    }),
    microphone(board, render),
    heard.asking === board ? h("p", { role: "status" }, "Looking for the tone …") : null,
    found ? finding(found, set) : null,
  );
}

/**
 * @param {string} board
 * @param {Render} render
 */
function microphone(board, render) {
  const recording = heard.recording?.board === board ? heard.recording : null;
  const begin = () => attempt(() => record(board, render));
  return h(
    "p",
    {},
    h(
      "button",
      { type: "button", "data-key": "sound-listen", onclick: recording ? recording.stop : begin },
      recording ? "That was all taps" : "Listen with the microphone",
    ),
    recording
      ? h("span", { role: "status" }, ` Listening, for ${LONGEST_S} s at most: tap five times.`)
      : null,
  );
}

/**
 * @param {string} board
 * @param {Render} render
 */
async function record(board, render) {
  heard.recording?.stop();
  const { stop } = await listenTo(`${board}.wav`, (file) => {
    if (heard.recording?.stop === stop) heard.recording = null;
    void listen(file, board, render);
  });
  // Two clicks before the browser has asked open it twice; the last one counts.
  heard.recording?.stop();
  heard.recording = { board, stop };
  render();
}

/**
 * @param {File | undefined} file
 * @param {string} board
 * @param {Render} render
 */
async function listen(file, board, render) {
  if (!file) return;
  heard.asking = board;
  render();
  const found = await attempt(() => sendTaps(file, board));
  heard.asking = null;
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
