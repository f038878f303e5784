// Numbers as the builder wants to read them: millimetres and grams, or inches and ounces.

import { desk } from "./store.js";

const MM_PER_INCH = 25.4;
const G_PER_OUNCE = 28.349523125;

const inches = () => desk.state?.job?.units === "in";

export function length(mm, digits = 1) {
  if (mm === null || mm === undefined) return "–";
  return inches() ? `${(mm / MM_PER_INCH).toFixed(digits + 2)} in` : `${mm.toFixed(digits)} mm`;
}

export function size(pair, digits = 1) {
  if (!pair) return "–";
  const [across, up] = pair.map((mm) => (inches() ? mm / MM_PER_INCH : mm).toFixed(inches() ? digits + 1 : digits));
  return `${across} × ${up} ${inches() ? "in" : "mm"}`;
}

export function mass(g, digits = 1) {
  if (g === null || g === undefined) return "–";
  return inches() ? `${(g / G_PER_OUNCE).toFixed(digits + 1)} oz` : `${g.toFixed(digits)} g`;
}

export function massDoubt(g, sigma, digits = 1) {
  return `${mass(g, digits)} ± ${mass(sigma, digits + (inches() ? 1 : 0)).replace(/ (g|oz)$/, "")}`;
}

export function area(mm2) {
  return inches() ? `${(mm2 / MM_PER_INCH ** 2).toFixed(2)} in²` : `${(mm2 / 100).toFixed(1)} cm²`;
}

// Lengths typed into a field are kept as typed; these are what a field shows when nobody typed yet.
export const lengthField = (mm) => (mm === null || mm === undefined ? "" : `${Number(mm.toFixed(3))} mm`);
export const massField = (g) => (g === null || g === undefined ? "" : `${Number(g.toFixed(3))} g`);

export const count = (number, one, many = `${one}s`) => `${number} ${number === 1 ? one : many}`;

// A length typed where the page itself must know it, in millimetres: "40 mm", "1.5 in", or a bare number in the
// job's units; null where it is none. Whatever the server can read itself is sent as it was typed.
export function parsedLength(text) {
  const found = /^\s*(-?\d+(?:[.,]\d+)?)\s*(mm|cm|in|")?\s*$/.exec(text);
  if (!found) return null;
  const unit = found[2] ?? (inches() ? "in" : "mm");
  return Number(found[1].replace(",", ".")) * { mm: 1, cm: 10, in: MM_PER_INCH, '"': MM_PER_INCH }[unit];
}
