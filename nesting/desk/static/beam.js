// The model from the side, laid along a beam on a knife edge, every mass at its station.

import { placeOf, s } from "./dom.js";
import * as format from "./format.js";
import { LINE, stacked } from "./labels.js";

/** @import { BalanceReport, BallastResult, Entry, Loading } from "./answers.d.ts" */
/** @import { NamedStation, SeenFromTheSide } from "./answers.d.ts" */
/** @import { Point, Ring } from "./geometry.js" */

/** @typedef {Entry & { x: number, r: number }} Mass an entry as a disc of radius `r` at `x` */
/** @import { Handles } from "./dragging.js" */

/** @typedef {Mass & { half: number, foot: number, y: number }} Stood where it stands on the beam */

const WIDEST = 940;
const NARROWEST = 340;
const BEAM = 232;
// Names on the beam are written larger than those over boards; about, whatever the font is.
const NAME_LETTER = 7.4;
// A wing that is drawn in its place from above would make the side view higher than the page.
const TALLEST_VIEW = 420;

// Masses stand on the beam, as large as they weigh; the range is marked below it, where the knife
// edge must be.
/**
 * @param {BalanceReport} report
 * @param {Loading} loading
 * @param {Handles | null} handles what can be dragged along it
 */
export function beam(report, loading, handles = null) {
  // As wide as there is room, so that words keep their size on a small page.
  const wide = Math.max(NARROWEST, Math.min(WIDEST, placeOf("work").clientWidth - 44));
  const entries = merged(report.entries);
  const ends = [
    ...entries.map((one) => one.station_mm),
    loading.balance_mm,
    ...(report.range_mm ?? []),
    ...report.ballast.map((one) => one.station_mm),
    ...report.stations.flatMap((one) => [one.station_mm, one.to_mm?.[0] ?? one.station_mm]),
    0,
  ];
  const view = report.side_view ?? [];
  ends.push(...view.flatMap((one) => one.rings[0].map(([x]) => x)));
  // While something is dragged the scale stays, else it would run away under the hand.
  const [low, high] = handles?.ends ?? [Math.min(...ends), Math.max(...ends)];
  const reach = Math.max(high - low, 1);
  /** @param {number} mm */
  const at = (mm) => 60 + ((wide - 120) * (mm - low)) / reach;
  const heaviest = Math.max(...entries.map((one) => one.mass_g));
  const stood = standing(
    entries.map((one) => ({
      ...one,
      x: at(one.station_mm),
      r: 4 + 15 * Math.sqrt(one.mass_g / heaviest),
    })),
  );
  const edge = at(loading.balance_mm);
  const doubt = ((wide - 120) * loading.balance_sigma_mm) / reach;
  // Where many masses stand on one another they lift what is drawn above them.
  const lift = Math.max(0, ...stood.map((one) => one.r + 20 - one.y));
  const drawn = silhouette(view, report.stations, (wide - 120) / reach, at, lift);
  const named = namedPlaces(report.stations, drawn, at, wide);
  const text = entries
    .map((one) => `${one.part} ${format.mass(one.mass_g)} at ${format.length(one.station_mm, 0)}`)
    .join(", ");
  return s(
    "svg",
    {
      class: "beam",
      viewBox: `0 ${named.top} ${wide} ${named.bottom - named.top}`,
      role: handles ? "group" : "img",
      "data-key": "beam",
      "aria-label": `The model from the side on its knife edge. Masses along it: ${text}`,
    },
    drawn.shapes,
    named.shapes,
    drawn.height
      ? s("line", { class: "plumb", x1: edge, x2: edge, y1: -drawn.height, y2: BEAM })
      : null,
    s(
      "g",
      { class: "mass" },
      stood.map((one) => s("line", { x1: one.x, x2: one.x, y1: one.y, y2: BEAM })),
    ),
    stood.map((one) => {
      const grip = handles?.of("item", one.part, one.station_mm, [low, high], at) ?? {};
      return s(
        "g",
        { class: "mass", ...grip },
        "role" in grip ? reachOf(one.x, one.y) : null,
        s("circle", { cx: one.x, cy: one.y, r: one.r }),
        s("text", { x: one.x, y: one.y - one.r - 5, "text-anchor": "middle" }, one.part),
      );
    }),
    report.range_mm
      ? s("rect", {
          class: "range",
          x: at(report.range_mm[0]),
          y: BEAM + 3,
          width: Math.max(2, at(report.range_mm[1]) - at(report.range_mm[0])),
          height: 18,
        })
      : null,
    s("line", { class: "beam-line", x1: at(low) - 30, x2: at(high) + 30, y1: BEAM, y2: BEAM }),
    s("line", { class: "tick", x1: at(0), x2: at(0), y1: BEAM, y2: BEAM + 16 }),
    s("text", { x: at(0), y: BEAM + 32, "text-anchor": "middle" }, "datum"),
    s("path", { class: "knife", d: `M${edge} ${BEAM + 3}l-16 44h32z` }),
    s("rect", {
      class: "doubt",
      x: edge - doubt,
      y: BEAM - 4,
      width: Math.max(2, 2 * doubt),
      height: 8,
    }),
    s(
      "text",
      { class: "strong", x: edge, y: BEAM + 66, "text-anchor": "middle" },
      format.length(loading.balance_mm),
    ),
    report.ballast.map((one) => lead(one, at, handles, [low, high])),
  );
}

// What a finger or a shaky hand may hit, however light the thing is.
/**
 * @param {number} x
 * @param {number} y
 */
const reachOf = (x, y) =>
  s("rect", { class: "reach", x: x - 14, y: y - 14, width: 28, height: 28 });

// Ballast hangs below the beam, as the lead that it is.
/**
 * @param {BallastResult} one
 * @param {(mm: number) => number} at
 * @param {Handles | null} handles
 * @param {[number, number]} ends
 */
function lead(one, at, handles, ends) {
  const x = at(one.station_mm);
  const takes = one.problem
    ? "will not do"
    : one.least_g
      ? format.mass(one.least_g)
      : "none needed";
  return s(
    "g",
    { class: "lead", ...handles?.of("ballast", one.place, one.station_mm, ends, at) },
    reachOf(x, BEAM + 51),
    s("line", { x1: x, x2: x, y1: BEAM, y2: BEAM + 40 }),
    s("path", { d: `M${x - 7} ${BEAM + 40}h14l5 22h-24z` }),
    s("text", { x, y: BEAM + 78, "text-anchor": "middle" }, `${one.place}: ${takes}`),
  );
}

// The parts that the drawing shows in place, at the scale of the beam, above the masses.
/**
 * @param {SeenFromTheSide[]} view
 * @param {NamedStation[]} stations their heights must have room as well
 * @param {number} scale
 * @param {(mm: number) => number} at
 * @param {number} lift
 */
function silhouette(view, stations, scale, at, lift) {
  if (!view.length) return { shapes: null, height: lift, up: null };
  const heights = [
    ...view.flatMap((one) => one.rings[0].map(([, y]) => y)),
    ...stations.flatMap((one) => [one.height_mm, one.to_mm?.[1] ?? one.height_mm]),
  ];
  const [bottom, top] = [Math.min(...heights), Math.max(...heights)];
  // Along and up at one scale, as it is drawn; what is too high for the page is cut off above.
  const height = Math.min((top - bottom) * scale, TALLEST_VIEW) + 18 + lift;
  /** @param {number} mm */
  const up = (mm) => -(mm - bottom) * scale - 6 - lift;
  /** @param {Point} point */
  const corner = ([x, y]) => `${at(x).toFixed(1)} ${up(y).toFixed(1)}`;
  /** @param {Ring[]} rings */
  const path = (rings) => rings.map((ring) => `M${ring.map(corner).join("L")}Z`).join("");
  return {
    height,
    up,
    shapes: view.map((one) =>
      s(
        "path",
        { class: "silhouette", d: path(one.rings), "fill-rule": "evenodd" },
        s("title", {}, one.part),
      ),
    ),
  };
}

// Each mass stands as low as it can without covering another or its name.
/** @param {Mass[]} masses */
function standing(masses) {
  /** @type {Stood[]} */
  const placed = [];
  for (const one of masses) {
    const half = Math.max(one.r, 3.6 * one.part.length);
    let foot = BEAM - 3;
    for (const other of [...placed].sort((a, b) => b.foot - a.foot)) {
      const isBeside = Math.abs(other.x - one.x) > half + other.half + 4;
      const isClear = foot - 2 * one.r - 20 > other.foot || foot < other.foot - 2 * other.r - 20;
      if (!isBeside && !isClear) foot = other.foot - 2 * other.r - 22;
    }
    placed.push({ ...one, half, foot, y: foot - one.r });
  }
  return placed;
}

// What was weighed as one stands under the names of all its parts, what is left of each part under
// its own.
/** @param {Entry[]} entries */
function merged(entries) {
  const found = new Map();
  for (const one of entries) {
    const held = found.get(one.heading);
    if (!held) found.set(one.heading, { ...one, part: one.heading });
    else {
      held.station_mm =
        (held.mass_g * held.station_mm + one.mass_g * one.station_mm) / (held.mass_g + one.mass_g);
      held.mass_g += one.mass_g;
    }
  }
  return [...found.values()]
    .filter((one) => one.mass_g > 0)
    .sort((one, other) => one.station_mm - other.station_mm);
}

// How far a named place lies from the balance point, as a builder says it.
/** @param {number} mm */
export const fromBalance = (mm) =>
  Math.abs(mm) < 0.05
    ? "at the balance point"
    : `${format.length(Math.abs(mm))} ${mm < 0 ? "ahead" : "aft"}`;

// Named places: on the side view a mark at their height, or the line, with the name above it; where
// there is no side view, below the beam.
/**
 * @param {NamedStation[]} stations
 * @param {{ height: number, up: ((mm: number) => number) | null }} drawn
 * @param {(mm: number) => number} at
 * @param {number} wide
 */
function namedPlaces(stations, { height, up }, at, wide) {
  const names = stacked(
    stations.map((one) => ({
      name: `${one.name}, ${fromBalance(one.loadings.at(-1)?.from_balance_mm ?? 0)}`,
      x: at(one.station_mm),
      isFirst: false,
    })),
    wide,
    NAME_LETTER,
  );
  const rows = stations.length ? Math.max(...names.map((one) => one.row)) + 1 : 0;
  const step = LINE + 5;
  /** @param {number} row */
  const foot = (row) => (up ? -height - 6 - step * row : BEAM + 92 + step * row);
  const shapes = names.map((name) => {
    const one = stations[name.number];
    const x = at(one.station_mm);
    const y = up ? up(one.height_mm) : BEAM;
    const end = one.to_mm && up ? { x: at(one.to_mm[0]), y: up(one.to_mm[1]) } : null;
    return s(
      "g",
      { class: "named", "data-key": `named-${one.name}` },
      s("line", { class: "leader", x1: x, x2: x, y1: foot(name.row) + (up ? 3 : -12), y2: y }),
      end
        ? s("line", { class: "named-line", x1: x, y1: y, x2: end.x, y2: end.y })
        : s("path", { class: "named-mark", d: `M${x - 6} ${y}h12M${x} ${y - 6}v12` }),
      s("text", { x: name.middle, y: foot(name.row), "text-anchor": "middle" }, name.name),
    );
  });
  const room = step * rows + (rows ? 6 : 0);
  return {
    shapes,
    top: -height - (up ? room : 0),
    bottom: BEAM + 92 + (up ? 0 : room),
  };
}
