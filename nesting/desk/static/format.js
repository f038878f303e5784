// Numbers as the builder wants to read them: millimetres and grams, or inches and ounces.

import { desk } from "./store.js";

/** @import { Point } from "./geometry.js" */

const MM_PER_INCH = 25.4;
/** @type {Record<string, number>} */
const MM_PER = { mm: 1, cm: 10, in: MM_PER_INCH, '"': MM_PER_INCH };
const G_PER_OUNCE = 28.349523125;
const KG_M3_PER_LB_FT3 = 0.45359237 / 0.3048 ** 3;
const MPA_PER_KSI = (1000 * 4.4482216152605) / 25.4 ** 2;

const inches = () => desk.state?.job?.units === "in";

/**
 * @param {number | null | undefined} mm
 * @param {number} digits
 */
export function length(mm, digits = 1) {
  if (mm === null || mm === undefined) return "–";
  return inches() ? `${(mm / MM_PER_INCH).toFixed(digits + 2)} in` : `${mm.toFixed(digits)} mm`;
}

/**
 * @param {Point | null | undefined} pair
 * @param {number} digits
 */
export function size(pair, digits = 1) {
  if (!pair) return "–";
  const [across, up] = pair.map((mm) =>
    (inches() ? mm / MM_PER_INCH : mm).toFixed(inches() ? digits + 1 : digits),
  );
  return `${across} × ${up} ${inches() ? "in" : "mm"}`;
}

/**
 * @param {number | null | undefined} g
 * @param {number} digits
 */
export function mass(g, digits = 1) {
  if (g === null || g === undefined) return "–";
  return inches() ? `${(g / G_PER_OUNCE).toFixed(digits + 1)} oz` : `${g.toFixed(digits)} g`;
}

/**
 * @param {number} g
 * @param {number} sigma
 * @param {number} digits
 */
export function massDoubt(g, sigma, digits = 1) {
  return `${mass(g, digits)} ± ${mass(sigma, digits + (inches() ? 1 : 0)).replace(/ (g|oz)$/, "")}`;
}

/**
 * @param {number} mm
 * @param {number} sigma
 */
export function lengthDoubt(mm, sigma) {
  return `${length(mm)} ± ${length(sigma).replace(/ (mm|in)$/, "")}`;
}

/** @param {number | null | undefined} mm2 */
export function area(mm2) {
  if (mm2 === null || mm2 === undefined) return "–";
  return inches() ? `${(mm2 / MM_PER_INCH ** 2).toFixed(2)} in²` : `${(mm2 / 100).toFixed(1)} cm²`;
}

/**
 * @param {number} kgM3
 * @param {number} digits
 */
export function density(kgM3, digits = 0) {
  return inches()
    ? `${(kgM3 / KG_M3_PER_LB_FT3).toFixed(digits + 1)} lb/ft³`
    : `${kgM3.toFixed(digits)} kg/m³`;
}

// An example of what to type, in the job's units.
/**
 * @param {string} metric
 * @param {string} imperial
 */
export const hint = (metric, imperial) => (inches() ? imperial : metric);

// Lengths typed into a field are kept as typed; these are what a field shows of a value that is
// there.
/** @param {number | null | undefined} mm */
export function lengthField(mm) {
  if (mm === null || mm === undefined) return "";
  if (!inches()) return `${Number(mm.toFixed(3))} mm`;
  const value = mm / MM_PER_INCH;
  const isSixtyFourth = Math.abs(64 * value - Math.round(64 * value)) < 1e-6;
  return `${Number(value.toFixed(isSixtyFourth ? 6 : 4))} in`;
}

/** @param {number | null | undefined} g */
export function massField(g) {
  if (g === null || g === undefined) return "";
  return inches() ? `${Number((g / G_PER_OUNCE).toFixed(4))} oz` : `${Number(g.toFixed(3))} g`;
}

/** @param {number | null | undefined} kgM3 */
export function densityField(kgM3) {
  if (kgM3 === null || kgM3 === undefined) return "";
  return inches()
    ? `${Number((kgM3 / KG_M3_PER_LB_FT3).toFixed(3))} lb/ft3`
    : `${Number(kgM3.toFixed(2))} kg/m3`;
}

/** @param {number | null | undefined} mpa */
export function stiffnessField(mpa) {
  if (mpa === null || mpa === undefined) return "";
  return inches()
    ? `${Number((mpa / MPA_PER_KSI).toFixed(3))} ksi`
    : `${Number((mpa / 1000).toFixed(4))} GPa`;
}

// What to send for a field that is sent along with others: one that nobody changed keeps its value
// exactly.
/** @param {number | null | undefined} mm */
export const exactLength = (mm) => (mm === null || mm === undefined ? null : `${mm} mm`);
/**
 * @param {string} text
 * @param {number | null | undefined} mm
 */
export const typedLength = (text, mm) =>
  text === lengthField(mm) ? exactLength(mm) : text || null;

// How far the arrow keys move a part: a step that is easy to count, and with Shift a longer one.
/** @param {boolean} isFar */
export const arrowStep = (isFar) =>
  inches() ? (isFar ? MM_PER_INCH / 4 : MM_PER_INCH / 32) : isFar ? 10 : 1;
export const arrowWords = () =>
  inches() ? "1/32 in, with Shift 1/4 in" : "1 mm, with Shift 10 mm";

// What one unit of length holds of a plan's own places.
/** @param {number} mmPerPlace */
export const placesPerUnit = (mmPerPlace) =>
  inches() ? `${(MM_PER_INCH / mmPerPlace).toFixed(1)}` : `${(1 / mmPerPlace).toFixed(3)}`;
export const unit = () => (inches() ? "in" : "mm");
export const densityUnit = () => (inches() ? "lb/ft³" : "kg/m³");

/**
 * @param {string} text
 * @param {number | null | undefined} kgM3
 */
export const typedDensity = (text, kgM3) =>
  text && text === densityField(kgM3) ? `${kgM3} kg/m3` : text || null;

/**
 * @param {number} number
 * @param {string} one
 * @param {string} many
 */
export const count = (number, one, many = `${one}s`) => `${number} ${number === 1 ? one : many}`;

// A length typed where the page itself must know it, in millimetres: "40 mm", "1 1/2 in", or a bare
// number in the job's units; null where it is none. Whatever the server can read itself is sent as
// it was typed.
/**
 * @param {string} text
 * @returns {number | null}
 */
export function parsedLength(text) {
  const found =
    /^\s*(-?)(?:(?:(\d+)\s+)?(\d+)\/([1-9]\d*)|(\d+(?:[.,]\d+)?))\s*(mm|cm|in|")?\s*$/.exec(text);
  if (!found) return null;
  const [, sign, whole, above, below, decimal, written] = found;
  const value =
    decimal === undefined
      ? Number(whole ?? 0) + Number(above) / Number(below)
      : Number(decimal.replace(",", "."));
  return (sign ? -value : value) * (MM_PER[written ?? unit()] ?? NaN);
}
