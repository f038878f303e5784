// The microphone of this machine: what it hears becomes a WAV file, sample for sample. Nothing is
// heard before a click, and nothing is kept or sent but to the desk on this machine.

import { wavOf } from "./wav.js";

export const LONGEST_S = 15;

const NOT_HERE =
  "This browser gives the page no microphone; record the taps with a telephone, and drop the file.";
const REFUSALS = {
  NotAllowedError:
    "The browser did not let the page use the microphone; allow it beside the address, and " +
    "click again, or drop a recording.",
  NotFoundError: "No microphone was found; plug one in, or drop a recording.",
};

/**
 * Listen until `stop` is called, or for `LONGEST_S`.
 *
 * @param {string} name of the file
 * @param {(file: File) => void} heard is called once, at the end
 * @returns {Promise<{ stop: () => void }>}
 */
export async function listenTo(name, heard) {
  if (!navigator.mediaDevices || !window.AudioWorkletNode) throw new Error(NOT_HERE);
  const context = new AudioContext();
  const stream = await opened(context).catch((error) => {
    void context.close();
    throw error;
  });
  const source = context.createMediaStreamSource(stream);
  const hearing = new AudioWorkletNode(context, "hearing", { numberOfOutputs: 0 });
  /** @type {Float32Array[]} */
  const pieces = [];
  hearing.port.onmessage = ({ data }) => pieces.push(data);
  source.connect(hearing);
  let isOver = false;
  const stop = () => {
    if (isOver) return;
    isOver = true;
    stream.getTracks().forEach((track) => track.stop());
    void context.close();
    heard(new File([wavOf(pieces, context.sampleRate)], name, { type: "audio/wav" }));
  };
  setTimeout(stop, 1000 * LONGEST_S);
  return { stop };
}

/**
 * @param {AudioContext} context
 * @returns {Promise<MediaStream>}
 */
async function opened(context) {
  await context.audioWorklet.addModule(new URL("hearing.js", import.meta.url));
  // Browsers clean up for voices, and would take taps for noise.
  const audio = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  try {
    return await navigator.mediaDevices.getUserMedia({ audio });
  } catch (error) {
    const name = /** @type {keyof typeof REFUSALS} */ (error instanceof Error ? error.name : "");
    throw new Error(REFUSALS[name] ?? NOT_HERE, { cause: error });
  }
}
