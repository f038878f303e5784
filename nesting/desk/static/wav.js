// Sound as a WAV file: one channel of 16 bits, uncompressed.
// Source of the form: Multimedia Programming Interface and Data Specifications 1.0 (IBM and
// Microsoft, 1991), "RIFF WAVE".

const BYTES = 2;
const HEAD_BYTES = 44;

/**
 * @param {Float32Array[]} pieces samples from -1 to 1, one piece after the other
 * @param {number} rate samples a second
 * @returns {Uint8Array<ArrayBuffer>}
 */
export function wavOf(pieces, rate) {
  const count = pieces.reduce((sum, piece) => sum + piece.length, 0);
  const bytes = new Uint8Array(HEAD_BYTES + BYTES * count);
  const view = new DataView(bytes.buffer);
  /** @type {(at: number, word: string) => void} */
  const word = (at, text) => bytes.set(new TextEncoder().encode(text), at);
  word(0, "RIFF");
  view.setUint32(4, HEAD_BYTES - 8 + BYTES * count, true);
  word(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true); // uncompressed
  view.setUint16(22, 1, true); // one channel
  view.setUint32(24, rate, true);
  view.setUint32(28, BYTES * rate, true);
  view.setUint16(32, BYTES, true);
  view.setUint16(34, 8 * BYTES, true);
  word(36, "data");
  view.setUint32(40, BYTES * count, true);
  let at = HEAD_BYTES;
  for (const piece of pieces) {
    for (const sample of piece) {
      view.setInt16(at, Math.round(32767 * Math.max(-1, Math.min(1, sample))), true);
      at += BYTES;
    }
  }
  return bytes;
}
