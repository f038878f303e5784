// Runs beside the page, where sound comes in: hands on every sample of the first channel.

class Hearing extends AudioWorkletProcessor {
  /** @param {Float32Array[][]} inputs */
  process(inputs) {
    const samples = inputs[0]?.[0];
    if (samples) this.port.postMessage(samples.slice());
    return true;
  }
}

registerProcessor("hearing", Hearing);
