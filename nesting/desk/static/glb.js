// The model as the desk sends it (binary glTF of Sheetwood's own): bodies with their points, colour
// and what is said of them.

/**
 * @typedef {object} Said what the file says of a body
 * @property {string} part
 * @property {number} copy
 * @property {string | null} board
 * @property {string} material
 * @property {number} thickness_mm
 * @property {number} volume_mm3
 * @property {number | null} mass_g
 * @property {string} place
 * @property {[number, number, number]} grain
 */
/**
 * @typedef {object} Body metres, y up; `points` are three figures each, about `at`
 * @property {string} name
 * @property {Said} said
 * @property {Float32Array} points
 * @property {Uint32Array} triangles
 * @property {[number, number, number]} at
 * @property {[number, number, number]} size
 * @property {[number, number, number]} colour as a screen takes it, 0 to 255
 */
/** @typedef {{ bodies: Body[], notes: string[] }} Model */

const JSON_KIND = 0x4e4f534a;

/**
 * @param {ArrayBuffer} file
 * @returns {Model}
 */
export function readModel(file) {
  const view = new DataView(file);
  const length = view.getUint32(12, true);
  if (view.getUint32(16, true) !== JSON_KIND) throw new Error("the model is not as expected");
  const content = JSON.parse(new TextDecoder().decode(new Uint8Array(file, 20, length)));
  const begin = 20 + length + 8;
  /** @param {number} number */
  const placed = (number) => {
    const accessor = content.accessors[number];
    const { byteOffset } = content.bufferViews[accessor.bufferView];
    return { accessor, offset: begin + byteOffset };
  };
  /** @type {any[]} */
  const nodes = content.nodes ?? [];
  const bodies = nodes.map((node) => {
    const { attributes, indices, material } = content.meshes[node.mesh].primitives[0];
    const [points, triangles] = [placed(attributes.POSITION), placed(indices)];
    const { min, max, count } = points.accessor;
    return {
      name: node.name,
      said: node.extras,
      points: new Float32Array(file, points.offset, 3 * count),
      triangles: new Uint32Array(file, triangles.offset, triangles.accessor.count),
      at: node.translation,
      size: /** @type {[number, number, number]} */ (
        max.map((/** @type {number} */ high, /** @type {number} */ i) => high - min[i])
      ),
      colour: screenColour(content.materials[material].pbrMetallicRoughness.baseColorFactor),
    };
  });
  return { bodies, notes: content.asset.extras?.notes ?? [] };
}

/**
 * @param {number[]} light
 * @returns {[number, number, number]}
 */
function screenColour(light) {
  const [red, green, blue] = light.map((value) =>
    Math.round(255 * (value <= 0.0031308 ? 12.92 * value : 1.055 * value ** (1 / 2.4) - 0.055)),
  );
  return [red, green, blue];
}
