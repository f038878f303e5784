// Balance: the model from the side, laid along a beam on a knife edge, every mass at its station;
// what would mend it.

import { h, s } from "./dom.js";
import * as format from "./format.js";
import { desk, edit } from "./store.js";

/** @import { BalanceReport, Entry, Fix, Loading, SeenFromTheSide } from "./answers.d.ts" */
/** @import { Point, Ring } from "./geometry.js" */

/** @typedef {Entry & { x: number, r: number }} Mass an entry as a disc of radius `r` at `x` */
/** @typedef {Mass & { half: number, foot: number, y: number }} Stood where it stands on the beam */

const WIDTH = 940;
const BEAM = 232;
// A wing that is drawn in its place from above would make the side view higher than the page.
const TALLEST_VIEW = 420;

export function balanceSection() {
  const { balance } = desk.state;
  const { report } = balance;
  const loading = report?.loadings.at(-1);
  return h(
    "section",
    { class: "balance" },
    h("h2", {}, "On the knife edge"),
    balance.fault ? h("p", { class: "fault" }, balance.fault) : null,
    report && loading
      ? [verdict(loading, report), beam(report, loading)]
      : h(
          "p",
          { class: "hint" },
          "Say where each part sits, counted aft from a datum of your choice, and the range " +
            "in which the model must balance: below, under ‘Where everything sits’.",
        ),
    report ? [fixes(report), ballastTable(report), alternatives(report), asBuilt(report)] : null,
  );
}

// The cheapest way into the range stands first, with what it takes.
/** @param {BalanceReport} report */
function fixes(report) {
  if (!report.fixes.length) return null;
  const cheapest = report.fixes[0];
  return h(
    "div",
    { class: "finding", "data-key": "fixes" },
    h("h3", {}, "What brings it into the range"),
    h(
      "ol",
      { class: "fixes" },
      report.fixes.map((fix) =>
        h(
          "li",
          { class: fix === cheapest ? "row wrap proved" : "row wrap" },
          h(
            "span",
            {},
            fix === cheapest && report.fixes.length > 1 ? h("strong", {}, "Cheapest: ") : null,
            fixText(fix),
          ),
          fix.kind === "board"
            ? h(
                "button",
                {
                  "data-key": `fix-${fix.part}`,
                  onclick: () => edit({ kind: "tie-parts", ties: { [fix.part ?? ""]: fix.board } }),
                },
                `Cut it from ${fix.board}`,
              )
            : null,
        ),
      ),
    ),
    report.fixes.some((fix) => fix.kind === "board")
      ? h(
          "p",
          { class: "hint" },
          "Whether a board has room shows when the parts are laid out on the rack.",
        )
      : null,
  );
}

/** @param {Fix} fix */
function fixText(fix) {
  const what = {
    board: `Cut ${fix.part} from ${fix.board}`,
    alternative: `Choose ‘${fix.alternative}’`,
    ballast: "Change nothing",
  }[fix.kind];
  const lead =
    fix.ballast_g > 0 ? `${format.mass(fix.ballast_g)} of ballast at ${fix.place}` : "no ballast";
  return (
    `${what}: ${lead}, ` +
    `${format.massDoubt(fix.flying_mass_g, fix.flying_sigma_g)} ready to fly.`
  );
}

// What a builder would say of it: which end is heavy, by how much, and the least that would do.
/**
 * @param {Loading} loading
 * @param {BalanceReport} report
 */
function plainly({ balance_mm: balance, in_range: isIn }, report) {
  if (isIn || !report.range_mm) return "Balances within the range.";
  const [low, high] = report.range_mm;
  const [end, off] = balance < low ? ["Nose", low - balance] : ["Tail", balance - high];
  const said = `${end}-heavy by ${format.length(off)}`;
  const [least] = report.ballast
    .filter((one) => one.least_g)
    .sort((one, other) => (one.least_g ?? 0) - (other.least_g ?? 0));
  return least ? `${said}: ${format.mass(least.least_g)} at ${least.place} would do.` : `${said}.`;
}

/**
 * @param {Loading} loading
 * @param {BalanceReport} report
 */
function verdict(loading, report) {
  const balance = format.lengthDoubt(loading.balance_mm, loading.balance_sigma_mm);
  const where = `${balance} aft of the datum`;
  const share =
    loading.balance_share_of_chord === null
      ? ""
      : `, ${(100 * loading.balance_share_of_chord).toFixed(1)} % of the mean chord`;
  const missing = report.notes.filter((note) => note.state === "open");
  return [
    h(
      "p",
      { class: "big" },
      format.massDoubt(loading.mass_g, loading.mass_sigma_g),
      h("span", { class: "beside" }, ` balances ${where}${share}`),
    ),
    loading.in_range === null
      ? null
      : h(
          "p",
          { class: loading.in_range ? "proved" : "fault", "data-key": "verdict" },
          plainly(loading, report),
        ),
    missing.map((note) => h("p", { class: "fault" }, note.text)),
  ];
}

// Masses stand on the beam, as large as they weigh; the range is marked below it, where the knife
// edge must be.
/**
 * @param {BalanceReport} report
 * @param {Loading} loading
 */
function beam(report, loading) {
  const entries = merged(report.entries);
  const ends = [
    ...entries.map((one) => one.station_mm),
    loading.balance_mm,
    ...(report.range_mm ?? []),
    0,
  ];
  const view = report.side_view ?? [];
  ends.push(...view.flatMap((one) => one.rings[0].map(([x]) => x)));
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  const reach = Math.max(high - low, 1);
  /** @param {number} mm */
  const at = (mm) => 60 + ((WIDTH - 120) * (mm - low)) / reach;
  const heaviest = Math.max(...entries.map((one) => one.mass_g));
  const stood = standing(
    entries.map((one) => ({
      ...one,
      x: at(one.station_mm),
      r: 4 + 15 * Math.sqrt(one.mass_g / heaviest),
    })),
  );
  const edge = at(loading.balance_mm);
  const doubt = ((WIDTH - 120) * loading.balance_sigma_mm) / reach;
  const drawn = silhouette(view, (WIDTH - 120) / reach, at);
  const text = entries
    .map((one) => `${one.part} ${format.mass(one.mass_g)} at ${format.length(one.station_mm, 0)}`)
    .join(", ");
  return s(
    "svg",
    {
      class: "beam",
      viewBox: `0 ${-drawn.height} ${WIDTH} ${BEAM + 92 + drawn.height}`,
      role: "img",
      "aria-label": `The model from the side on its knife edge. Masses along it: ${text}`,
    },
    drawn.shapes,
    drawn.height
      ? s("line", { class: "plumb", x1: edge, x2: edge, y1: -drawn.height, y2: BEAM })
      : null,
    s(
      "g",
      { class: "mass" },
      stood.map((one) => s("line", { x1: one.x, x2: one.x, y1: one.y, y2: BEAM })),
    ),
    stood.map((one) =>
      s(
        "g",
        { class: "mass" },
        s("circle", { cx: one.x, cy: one.y, r: one.r }),
        s("text", { x: one.x, y: one.y - one.r - 5, "text-anchor": "middle" }, one.part),
      ),
    ),
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
  );
}

// The parts that the drawing shows in place, at the scale of the beam, above the masses.
/**
 * @param {SeenFromTheSide[]} view
 * @param {number} scale
 * @param {(mm: number) => number} at
 */
function silhouette(view, scale, at) {
  if (!view.length) return { shapes: null, height: 0 };
  const heights = view.flatMap((one) => one.rings[0].map(([, y]) => y));
  const [bottom, top] = [Math.min(...heights), Math.max(...heights)];
  // Along and up at one scale, as it is drawn; what is too high for the page is cut off above.
  const height = Math.min((top - bottom) * scale, TALLEST_VIEW) + 18;
  /** @param {Point} point */
  const corner = ([x, y]) => `${at(x).toFixed(1)} ${(-(y - bottom) * scale - 6).toFixed(1)}`;
  /** @param {Ring[]} rings */
  const path = (rings) => rings.map((ring) => `M${ring.map(corner).join("L")}Z`).join("");
  return {
    height,
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

/** @param {BalanceReport} report */
function ballastTable(report) {
  if (!report.ballast.length) return null;
  return h(
    "table",
    {},
    h("caption", {}, "Ballast that brings it into the range"),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        ["Place", "At", "At least", "To the middle"].map((head) => h("th", { scope: "col" }, head)),
      ),
    ),
    h(
      "tbody",
      {},
      report.ballast.map((one) =>
        h(
          "tr",
          {},
          h("th", { scope: "row" }, one.place),
          h("td", { class: "number" }, format.length(one.station_mm, 0)),
          one.problem
            ? h("td", { colspan: 2, class: "fault-text" }, one.problem)
            : [
                h(
                  "td",
                  { class: "number" },
                  one.least_g === null
                    ? "none"
                    : format.massDoubt(one.least_g, one.least_sigma_g ?? 0),
                ),
                h("td", { class: "number" }, format.mass(one.to_middle_g)),
              ],
        ),
      ),
    ),
  );
}

/** @param {BalanceReport} report */
function alternatives(report) {
  if (!report.alternatives.length) return null;
  return h(
    "table",
    {},
    h("caption", {}, "Alternatives, each against the model as planned"),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        ["Alternative", "Balances at", "Moves it by", "Ready to fly"].map((head) =>
          h("th", { scope: "col" }, head),
        ),
      ),
    ),
    h(
      "tbody",
      {},
      report.alternatives.map((one) =>
        h(
          "tr",
          {},
          h("th", { scope: "row" }, one.name),
          h("td", { class: "number" }, format.length(one.balance_mm)),
          h(
            "td",
            { class: "number" },
            `${one.shift_mm < 0 ? "−" : "+"}${format.length(Math.abs(one.shift_mm), 2)}`,
            one.measurable ? null : h("span", { class: "pencil" }, " too little to measure"),
          ),
          h(
            "td",
            { class: "number" },
            one.flying_mass_g === null ? "cannot be balanced" : format.mass(one.flying_mass_g),
          ),
        ),
      ),
    ),
  );
}

/** @param {BalanceReport} report */
function asBuilt(report) {
  if (!report.as_built.length) return null;
  return h(
    "table",
    {},
    h("caption", {}, "As built: what the scale said against the estimate"),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        ["Weighed", "Estimate", "Scale", "Off by"].map((head) => h("th", { scope: "col" }, head)),
      ),
    ),
    h(
      "tbody",
      {},
      report.as_built.map((one) =>
        h(
          "tr",
          {},
          h("th", { scope: "row" }, one.weighed),
          h("td", { class: "number" }, format.massDoubt(one.estimated_g, one.estimated_sigma_g, 2)),
          h(
            "td",
            { class: "number" },
            format.mass(one.weighed_g, 2),
            one.stage === "sawn"
              ? h("span", { class: "pencil" }, ` sawn; ${format.mass(one.flies_g, 2)} carved`)
              : null,
          ),
          h(
            "td",
            { class: `number${one.surprising ? " fault-text" : ""}` },
            `${one.difference_g >= 0 ? "+" : "−"}${format.mass(Math.abs(one.difference_g), 2)}`,
          ),
        ),
      ),
    ),
  );
}
