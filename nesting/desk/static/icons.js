// Our own small drawings, from the things on a building board: paper, rib, boards in a rack, a
// knife edge, a cut page.

import { s } from "./dom.js";

const DRAWINGS = {
  sheet: ["M5 4h15l7 7v17H5z", "M20 4v7h7", "M9 22c3-5 9-6 14-3"],
  parts: [
    "M2 20C2 16 5.5 12.8 11 12v3h3v-3.2C20 12 26 16.5 30 22H14v-3h-3v3H5c-2 0-3-.8-3-2z",
    "M18.5 15.8a1.5 1.5 0 1 0 .1 0",
  ],
  rack: [
    "M5 28V5",
    "M27 28V5",
    "M3 10h26",
    "M3 18h26",
    "M3 26h26",
    "M7 7.5h16",
    "M7 15.5h20",
    "M7 23.5h12",
  ],
  weight: ["M4 13c8-3 16-3 24 0", "M16 12l6 14H10z", "M7 26h18", "M23 12.6v-4h4v4.6"],
  model: ["M3 21l9-4 17 2-8 5z", "M12 17l3-9 5-1 2 11", "M15 8l1-4 4 3", "M3 21v2l18 3v-2"],
  patterns: ["M6 4h20v24H6z", "M6 16h20", "M16 4v24", "M11 12c2-3 8-3 10 0", "M11 21h10"],
  undo: ["M12 8l-6 6 6 6", "M6 14h13a7 7 0 0 1 0 14h-5"],
  redo: ["M20 8l6 6-6 6", "M26 14H13a7 7 0 0 0 0 14h5"],
  pin: ["M16 4a6 6 0 0 1 6 6c0 5-6 12-6 12s-6-7-6-12a6 6 0 0 1 6-6z", "M16 22v6"],
  pencil: ["M6 26l2-7L22 5l5 5-14 14z", "M19 8l5 5", "M6 26l4-1"],
  turn: ["M9 12a9 9 0 1 1-1 8", "M9 5v7h7"],
  turnback: ["M23 12a9 9 0 1 0 1 8", "M23 5v7h-7"],
  half: ["M6 13a10 10 0 0 1 20 0", "M23 10l3 3 3-3", "M6 21h20"],
  over: ["M16 3v4", "M16 10v4", "M16 17v4", "M16 24v5", "M13 9L4 24h9z", "M19 9l9 15h-9"],
  bin: ["M7 9h18", "M12 9V5h8v4", "M9 9l1 19h12l1-19"],
  flag: ["M8 28V4", "M8 5h15l-4 5 4 5H8"],
  aim: ["M16 3v9", "M16 20v9", "M3 16h9", "M20 16h9", "M16 15.4a.6.6 0 1 0 .1 0"],
  arrow: ["M5 16h21", "M19 9l7 7-7 7"],
};

/** @typedef {keyof typeof DRAWINGS} Drawing */

/**
 * @param {Drawing} name
 * @param {string | null} label
 */
export function icon(name, label = null) {
  return s(
    "svg",
    {
      viewBox: "0 0 32 32",
      class: "icon",
      role: label ? "img" : null,
      "aria-label": label,
      "aria-hidden": label ? null : "true",
      focusable: "false",
    },
    DRAWINGS[name].map((path) => s("path", { d: path })),
  );
}
