// Weight: what every part weighs from every board that could make it, what was sawn, and what
// follows.

import { h, s, show } from "./dom.js";
import { asCutSection } from "./ascut.js";
import { balanceSection } from "./balance.js";
import { budgetSection } from "./budget.js";
import { assignSection, compareSection } from "./choosing.js";
import { flexSection } from "./flexing.js";
import { finishingSection } from "./finishing.js";
import * as format from "./format.js";
import { LINE, stacked } from "./labels.js";
import { placesSection } from "./places.js";
import { readingsSection } from "./readings.js";
import { desk, listen, setValue } from "./store.js";

/** @import { Board, Part, Weight, Weights } from "./answers.d.ts" */

/** @param {HTMLElement} place */
export function weightView(place) {
  const render = () => {
    const { weights, parts, boards } = desk.state ?? {};
    if (!parts) return;
    show(
      place,
      h(
        "div",
        { class: "page" },
        h("h1", {}, "Weight and balance"),
        weights?.weights?.length
          ? [
              total(weights),
              balanceSection(),
              h("h2", {}, "What each part weighs"),
              table(weights),
              byBoard(weights),
              finishingSection(),
              readingsSection(),
              placesSection(),
              compareSection(),
              flexSection(),
              assignSection(),
            ]
          : empty(parts, boards),
        asCutSection(),
      ),
    );
  };
  document.addEventListener("show-again", render);
  window.addEventListener("resize", render);
  const stopListening = listen((what) => what !== "picture" && what !== "regions" && render());
  render();
  return () => {
    stopListening();
    document.removeEventListener("show-again", render);
    window.removeEventListener("resize", render);
  };
}

/**
 * @param {Part[]} parts
 * @param {Board[]} boards
 */
function empty(parts, boards) {
  if (!desk.state.is_followed)
    return h("p", { class: "empty hint", role: "status" }, "The job is being read …");
  const missing = !parts.length
    ? ["There are no parts to weigh yet.", "#plan", "Go to the plan"]
    : !boards.length
      ? ["There are no boards to weigh the parts from.", "#rack", "Go to the rack"]
      : [
          "The parts are still being traced, or need a material and a thickness.",
          "#parts",
          "Go to the parts",
        ];
  return h(
    "div",
    { class: "empty" },
    h("p", {}, missing[0]),
    h("a", { class: "button main", href: missing[1] }, missing[2]),
  );
}

/** @param {Weights} weights */
const chosen = (weights) => weights.weights.filter((row) => row.chosen);

/** @param {Weights} weights */
function total(weights) {
  const rows = chosen(weights);
  const weighed = rows.filter((row) => row.weighed_g !== undefined);
  const lightest = sumOf(weights, (one, other) => one.mass_g < other.mass_g);
  const heaviest = sumOf(weights, (one, other) => one.mass_g > other.mass_g);
  return h(
    "section",
    { class: "total" },
    h("p", { class: "big" }, format.massDoubt(weights.total_g, weights.total_sigma_g)),
    h(
      "p",
      { class: "pencil" },
      `${format.count(rows.length, "piece")} of wood, ` +
        `${weighed.length ? `${weighed.length} of them weighed` : "none weighed yet"}. From ` +
        `this rack it could be ${format.mass(lightest)} to ${format.mass(heaviest)}.`,
    ),
    budgetSection(desk.state.balance.report?.budget),
  );
}

/**
 * @param {Weights} weights
 * @param {(one: Weight, other: Weight) => boolean} isBetter
 */
function sumOf(weights, isBetter) {
  const best = new Map();
  for (const row of weights.weights) {
    const key = `${row.part} ${row.copy}`;
    if (!best.has(key) || isBetter(row, best.get(key))) best.set(key, row);
  }
  return [...best.values()].reduce((sum, row) => sum + row.mass_g, 0);
}

const HEADS = [
  "Part",
  "From board",
  "Would weigh",
  "On each board that suits",
  "On the scale",
  "Off by",
];

/** @param {Weights} weights */
function table(weights) {
  return h(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": "Weights of the parts" },
    h(
      "table",
      { class: "weights" },
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          HEADS.map((head) => h("th", { scope: "col" }, head)),
        ),
      ),
      h(
        "tbody",
        {},
        chosen(weights).map((row) =>
          line(
            row,
            weights.weights.filter((one) => one.part === row.part && one.copy === row.copy),
          ),
        ),
      ),
    ),
  );
}

/**
 * @param {Weight} row
 * @param {Weight[]} options
 */
function line(row, options) {
  const part = desk.state.parts.find((one) => one.name === row.part);
  const isFirst = row.copy === 1 && !part?.piece_of;
  const off = row.difference_g ?? null;
  const isFar = off !== null && Math.abs(off) > 3 * row.sigma_g;
  return h(
    "tr",
    {},
    h("th", { scope: "row" }, (part?.copies ?? 1) > 1 ? `${row.part} ${row.copy}` : row.part),
    h(
      "td",
      { "data-head": HEADS[1] },
      isFirst && row.reason !== "cut from strip"
        ? h(
            "select",
            {
              value: part?.board ?? "",
              "data-key": `w-${row.part}/board`,
              "aria-label": `Board for ${row.part}`,
              onchange: (event) =>
                setValue(["part", row.part, "board"], event.currentTarget.value || null),
            },
            h(
              "option",
              { value: "" },
              part?.board ? "free: the best that fits" : `${row.board} (the best)`,
            ),
            options.map((one) =>
              h("option", { value: one.board }, `${one.board}: ${format.mass(one.mass_g)}`),
            ),
          )
        : row.board,
    ),
    h(
      "td",
      { class: "number", "data-head": HEADS[2] },
      format.massDoubt(row.mass_g, row.sigma_g, 2),
      row.sawn_g * 0.9 >= row.mass_g
        ? h("span", { class: "pencil" }, ` (${format.mass(row.sawn_g, 2)} as sawn)`)
        : null,
      row.default_density ? h("span", { class: "pencil" }, " (board not weighed)") : null,
    ),
    h("td", { "data-head": HEADS[3] }, strip(row, options)),
    h(
      "td",
      { "data-head": HEADS[4] },
      isFirst
        ? h("input", {
            class: "short",
            value: format.massField(part?.weighed_g),
            placeholder: "on the scale",
            "aria-label": `What ${row.part} weighs on the scale`,
            "data-key": `w-${row.part}/weighed`,
            autocomplete: "off",
            onchange: (event) =>
              setValue(["part", row.part, "weighed"], event.currentTarget.value.trim() || null),
          })
        : null,
      row.weighed_as === "sawn"
        ? h("span", { class: "pencil" }, ` sawn; ${format.mass(row.flies_g, 2)} carved`)
        : null,
    ),
    h(
      "td",
      { class: `number${isFar ? " fault-text" : ""}`, "data-head": HEADS[5] },
      off === null
        ? ""
        : (off >= 0 ? "+" : "−") +
            format.mass(Math.abs(off), 2) +
            (isFar ? ", more than its doubt explains" : ""),
    ),
  );
}

// A scale beam: one tick for each board that could make the part, the chosen one filled.
/**
 * @param {Weight} row
 * @param {Weight[]} options
 */
function strip(row, options) {
  const width = 230;
  const most = Math.max(row.flies_g ?? 0, ...options.map((one) => one.mass_g + 2 * one.sigma_g));
  /** @param {number} g */
  const at = (g) => 8 + ((width - 16) * g) / most;
  const text = options.map((one) => `${one.board} ${format.mass(one.mass_g)}`).join(", ");
  const names = stacked(
    options.map((one) => ({ name: one.board, x: at(one.mass_g), isFirst: one.chosen })),
    width,
  );
  const top = -LINE * Math.max(0, ...names.map((one) => one.row));
  return s(
    "svg",
    {
      class: "strip",
      viewBox: `0 ${top} ${width} ${34 - top}`,
      width,
      height: 34 - top,
      role: "img",
      "aria-label": text,
    },
    s("line", { x1: 8, x2: width - 8, y1: 20, y2: 20 }),
    names.map((one) =>
      s(
        "text",
        {
          class: one.isFirst ? "first" : "",
          x: one.middle,
          y: 10 - LINE * one.row,
          "text-anchor": "middle",
        },
        one.name,
      ),
    ),
    options.map((one) =>
      s(
        "g",
        { class: one.chosen ? "chosen" : "" },
        s("line", {
          class: "doubt",
          x1: at(Math.max(0, one.mass_g - 2 * one.sigma_g)),
          x2: at(one.mass_g + 2 * one.sigma_g),
          y1: 20,
          y2: 20,
        }),
        s("circle", { cx: at(one.mass_g), cy: 20, r: one.chosen ? 5 : 3.5 }),
      ),
    ),
    row.flies_g === undefined
      ? null
      : s("path", { class: "reading", d: `M${at(row.flies_g)} 24l-5 9h10z` }),
  );
}

/** @param {Weights} weights */
function byBoard(weights) {
  return h(
    "section",
    {},
    h("h2", {}, "From each board"),
    h(
      "ul",
      { class: "plain columns" },
      weights.boards.map((one) =>
        h("li", {}, h("strong", {}, one.board), ` ${format.massDoubt(one.mass_g, one.sigma_g)}`),
      ),
    ),
    h(
      "p",
      { class: "hint" },
      "± is one standard deviation. A kitchen scale that shows tenths of a gram, and boards " +
        "measured with a steel rule, are what make it small.",
    ),
  );
}
