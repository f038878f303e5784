// The weight budget: what is left to spend, on what the rest went.

import { h, s } from "./dom.js";
import * as format from "./format.js";

/** @import { Budget, SpentOn } from "./answers.d.ts" */

const WIDTH = 420;

// What is left up to the limit, or where none is given to the target; null where neither is.
/** @param {Budget | null | undefined} budget */
const free = (budget) => budget?.free_to_limit_g ?? budget?.free_to_target_g ?? null;

// In a word or two, for where there is no room for more.
/** @param {Budget | null | undefined} budget */
export function leftInShort(budget) {
  const left = free(budget);
  if (left === null) return null;
  return `${format.mass(Math.abs(left))} ${left < 0 ? "too much" : "to spend"}`;
}

/** @param {Budget | null | undefined} budget */
export function budgetSection(budget) {
  if (!budget) return null;
  const isOver = (free(budget) ?? 0) < 0;
  return h(
    "div",
    { class: "budget", "data-key": "budget" },
    free(budget) === null
      ? null
      : h("p", { class: isOver ? "left fault-text" : "left" }, leftTo(budget)),
    h("p", { class: "pencil" }, spentSoFar(budget)),
    bar(budget),
    h(
      "details",
      { "data-key": "budget-box" },
      h("summary", { "data-key": "budget-groups" }, "What it goes on"),
      groups(budget),
    ),
  );
}

/** @param {Budget} budget */
function leftTo(budget) {
  /** @type {[string, number | null, number | null][]} */
  const marks = [
    ["limit", budget.limit_g, budget.free_to_limit_g],
    ["target", budget.target_g, budget.free_to_target_g],
  ];
  const said = marks.flatMap(([name, most, left]) =>
    most === null || left === null
      ? []
      : [
          `${format.mass(Math.abs(left))} ${left < 0 ? "over" : "left to"} ` +
            `the ${name} of ${format.mass(most)}`,
        ],
  );
  return `${said.join(", ")}.`;
}

/** @param {Budget} budget */
function spentSoFar(budget) {
  const flying = `${format.massDoubt(budget.flying_g, budget.sigma_g)} ready to fly, tank full`;
  const ballast = budget.with_ballast
    ? ""
    : "; no ballast brings it into its range, so none is counted";
  const weighed = budget.weighed_g
    ? `${format.mass(budget.weighed_g)} of it has been on the scale`
    : "nothing has been on the scale yet";
  return `${flying}${ballast}; ${weighed}.`;
}

// What is spent, laid end to end along a strip of wood, with notches at target and limit.
/** @param {Budget} budget */
function bar(budget) {
  const most = Math.max(budget.flying_g, budget.limit_g ?? 0, budget.target_g ?? 0);
  if (!(most > 0)) return null;
  const scale = (WIDTH - 20) / (1.04 * most);
  let from = 10;
  const pieces = budget.groups.map((one) => {
    const width = Math.max(0, one.mass_g) * scale;
    const x = from;
    from += width;
    return s(
      "rect",
      { class: `spent ${one.group.replaceAll(" ", "-")}`, x, y: 20, width, height: 18 },
      s("title", {}, `${one.group} ${format.mass(one.mass_g)}`),
    );
  });
  /** @type {[string, number | null][]} */
  const ends = [
    ["target", budget.target_g],
    ["limit", budget.limit_g],
  ];
  return s(
    "svg",
    {
      class: "spent-bar",
      viewBox: `0 0 ${WIDTH} 62`,
      role: "img",
      "aria-label": budget.groups
        .map((one) => `${one.group} ${format.mass(one.mass_g)}`)
        .join(", "),
    },
    pieces,
    ends.map(([name, g], row) =>
      g === null
        ? null
        : s(
            "g",
            {},
            s("line", { class: "notch", x1: 10 + g * scale, x2: 10 + g * scale, y1: 15, y2: 43 }),
            s(
              "text",
              { x: 10 + g * scale, y: row ? 12 : 56, "text-anchor": "end" },
              `${name} ${format.mass(g)}`,
            ),
          ),
    ),
  );
}

/** @param {Budget} budget */
function groups(budget) {
  const isShared = budget.groups.some((one) => one.allowed_g !== null);
  return h(
    "table",
    {},
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        ["What", "Weighs", ...(isShared ? ["May weigh", "Left"] : [])].map((head) =>
          h("th", { scope: "col" }, head),
        ),
      ),
    ),
    h(
      "tbody",
      {},
      budget.groups.map((one) => groupRow(one, isShared)),
    ),
  );
}

/**
 * @param {SpentOn} one
 * @param {boolean} isShared
 */
function groupRow(one, isShared) {
  const left = one.allowed_g === null ? null : one.allowed_g - one.mass_g;
  return h(
    "tr",
    {},
    h("th", { scope: "row" }, one.group),
    h("td", { class: "number" }, format.massDoubt(one.mass_g, one.sigma_g)),
    isShared
      ? [
          h("td", { class: "number" }, one.allowed_g === null ? "" : format.mass(one.allowed_g)),
          h(
            "td",
            { class: left !== null && left < 0 ? "number fault-text" : "number" },
            left === null ? "" : `${left < 0 ? "−" : ""}${format.mass(Math.abs(left))}`,
          ),
        ]
      : null,
  );
}
