// The same parts on the light and on the heavy board, one above the other: what a board costs
// before it is cut.

import { boardDrawing } from "./boards.js";
import { h } from "./dom.js";
import * as format from "./format.js";
import { board, desk, edit, isRunning, start, stop } from "./store.js";

/** @import { Trial, TrialBoard } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */

/** @typedef {{ light: string, heavy: string, count: number, gap: number }} Couple */

const wish = { first: "", second: "" };

// For every board the parts that could be cut from it; what was weighed is cut already.
function partsByBoard() {
  const done = new Set(
    desk.state.parts.filter((part) => part.weighed_g !== null).map((part) => part.name),
  );
  /** @type {Map<string, Set<string>>} */
  const found = new Map();
  for (const row of desk.state.weights?.weights ?? []) {
    if (done.has(row.part)) continue;
    found.set(row.board, (found.get(row.board) ?? new Set()).add(row.part));
  }
  return found;
}

/**
 * @param {Map<string, Set<string>>} found
 * @param {string} one
 * @param {string} other
 */
const shared = (found, one, other) =>
  [...(found.get(one) ?? [])].filter((name) => found.get(other)?.has(name));
/** @param {string} name */
const density = (name) => board(name)?.density_kg_m3 ?? 0;

// The couple that shares most parts and then lies farthest apart: the lightest and the heaviest of
// that wood.
/**
 * @param {Map<string, Set<string>>} found
 * @returns {Couple | null}
 */
function widestCouple(found) {
  /** @type {Couple | null} */
  let best = null;
  const names = [...found.keys()].sort((one, other) => density(one) - density(other));
  for (const [at, light] of names.entries())
    for (const heavy of names.slice(at + 1)) {
      const couple = {
        light,
        heavy,
        count: shared(found, light, heavy).length,
        gap: density(heavy) - density(light),
      };
      if (
        couple.count &&
        (!best ||
          couple.count > best.count ||
          (couple.count === best.count && couple.gap > best.gap))
      )
        best = couple;
    }
  return best;
}

/** @param {string} name */
const option = (name) =>
  h("option", { value: name }, `${name}, ${board(name)?.density_text ?? "not weighed"}`);

/**
 * @param {number} scale
 * @param {Render} render
 */
export function trialSection(scale, render) {
  const found = partsByBoard();
  const couple = widestCouple(found);
  if (!couple) return null;
  /** @param {string} one */
  const partners = (one) =>
    [...found.keys()].filter((name) => name !== one && shared(found, one, name).length);
  if (!partners(wish.first).includes(wish.second))
    [wish.first, wish.second] = [couple.light, couple.heavy];
  const firsts = [...found.keys()].filter((name) => partners(name).length);
  const finding = desk.findings?.trial;
  /** @param {"first" | "second"} field */
  const change = (field) => (/** @type {{ currentTarget: HTMLSelectElement }} */ event) => {
    wish[field] = event.currentTarget.value;
    render();
  };
  return h(
    "section",
    { class: "trial", "data-key": "trial-section" },
    h("h2", {}, "The same parts on two boards, one above the other"),
    h(
      "p",
      { class: "hint" },
      "What the heavier board costs in weight and gives in stiffness, and whether everything " +
        "fits on it. Nothing is kept until you take one.",
    ),
    h(
      "form",
      {
        class: "grid asking wider",
        "data-key": "trial",
        onsubmit: (event) => {
          event.preventDefault();
          start("trial", { boards: [wish.first, wish.second] });
        },
      },
      h(
        "label",
        {},
        "This board",
        h(
          "select",
          { value: wish.first, "data-key": "trial-first", onchange: change("first") },
          firsts.map(option),
        ),
      ),
      h(
        "label",
        {},
        "and that one",
        h(
          "select",
          { value: wish.second, "data-key": "trial-second", onchange: change("second") },
          partners(wish.first).map(option),
        ),
      ),
      h(
        "button",
        { type: "submit", "data-key": "trial-go", disabled: isRunning("trial") },
        "Lay the parts on both",
      ),
    ),
    isRunning("trial") ? waiting() : null,
    finding ? both(finding, scale) : null,
  );
}

function waiting() {
  const task = desk.tasks.get("trial");
  if (!task) return null;
  return h(
    "div",
    { class: "row wrap" },
    h("p", { class: "pencil", role: "status" }, `${task.text || task.title} …`),
    h("button", { type: "button", "data-key": "stop-trial", onclick: () => stop("trial") }, "Stop"),
  );
}

/**
 * @param {Trial} finding
 * @param {number} scale
 */
function both(finding, scale) {
  return h(
    "div",
    { class: "finding", "data-key": "trial-found" },
    finding.is_current
      ? null
      : h(
          "p",
          { class: "hint" },
          "The job has changed since; lay the parts on both again before you decide by this.",
        ),
    h(
      "p",
      {},
      `${format.count(finding.parts.length, "part")} that both can give: ` +
        `${finding.parts.join(", ")}.`,
    ),
    finding.boards.map((row) => onBoard(finding, row, scale)),
    finding.notes.map((note) => h("p", { class: "hint" }, note.text)),
    h("p", { class: "hint" }, finding.caution),
  );
}

/**
 * @param {Trial} finding
 * @param {TrialBoard} row
 * @param {number} scale
 */
function onBoard(finding, row, scale) {
  const one = board(row.board);
  const lightest = Math.min(...finding.boards.map((each) => each.mass_g));
  const more = row.mass_g - lightest;
  const own = ownOf(finding);
  const isTaken =
    own.length > 0 &&
    own.every((name) => desk.state.parts.find((part) => part.name === name)?.board === row.board);
  const offcut = row.offcut_mm.some((mm) => mm < 1)
    ? "nothing of use"
    : format.size(row.offcut_mm, 0);
  return h(
    "article",
    {
      class: "trial-board",
      "data-key": `trial-${row.board}`,
      "aria-label": `The parts on board ${row.board}`,
    },
    h(
      "div",
      { class: "row wrap between" },
      h(
        "h3",
        {},
        row.board,
        " ",
        one ? h("span", { class: "pencil" }, one.density_text ?? "not weighed") : null,
      ),
      isTaken
        ? h("span", { class: "pencil" }, "these parts come from it now")
        : h(
            "button",
            {
              "data-key": `trial-take-${row.board}`,
              disabled: !row.fits || !finding.is_current || !own.length,
              onclick: () => take(finding, row),
            },
            `Cut them from ${row.board}`,
          ),
    ),
    one
      ? h(
          "div",
          { class: "board-place" },
          boardDrawing(one, row.placements, desk.state.parts, {
            isShown: true,
            scale,
            clip: "trial-",
          }),
        )
      : null,
    h(
      "dl",
      { class: "facts across" },
      [
        [
          "All pieces weigh",
          format.massDoubt(row.mass_g, row.sigma_g) +
            (more > 0.005 ? `, ${format.mass(more)} more` : ""),
        ],
        ["As stiff", stiffness(finding, row)],
        [
          "Fits",
          row.fits
            ? `all ${row.copies} pieces, on ${format.length(row.used_length_mm, 0)} of its length`
            : `${row.placed} of ${row.copies} pieces: there is no room for the rest`,
        ],
        ["Left whole", offcut],
      ].map(([name, text]) => h("div", {}, h("dt", {}, name), h("dd", {}, text))),
    ),
  );
}

/**
 * @param {Trial} finding
 * @param {TrialBoard} row
 */
function stiffness(finding, row) {
  const first = finding.boards[0].board;
  if (row.board === first) return "it is the measure";
  /** @param {"flatwise" | "edgewise"} loading */
  const ratio = (loading) =>
    `× ${row.stiffness[loading].value.toFixed(2)} ± ${row.stiffness[loading].sigma.toFixed(2)}`;
  const flat = ratio("flatwise");
  const edge = ratio("edgewise");
  const how = row.bent ? "" : ", by the trend with density";
  return flat === edge
    ? `${flat} of ${first}${how}`
    : `${flat} of ${first} lying flat, ${edge} on edge${how}`;
}

// Pieces that steps make of a part have no board of their own in the job; they stay free.
/** @param {Trial} finding */
const ownOf = (finding) =>
  finding.parts.filter((name) =>
    desk.state.parts.some((part) => part.name === name && !part.piece_of),
  );

/**
 * @param {Trial} finding
 * @param {TrialBoard} row
 */
function take(finding, row) {
  return edit({
    kind: "tie-parts",
    ties: Object.fromEntries(ownOf(finding).map((name) => [name, row.board])),
  });
}
