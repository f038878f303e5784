// Choosing wood: the boards of one part side by side, and the best board for every part, taken with
// one click.

import { fileAddress } from "./api.js";
import { h } from "./dom.js";
import * as format from "./format.js";
import { desk, edit, isRunning, start, stop } from "./store.js";

/** @import { Assigned, Assignment, Compared, Comparison, Doubted } from "./answers.d.ts" */
/** @import { Child } from "./elements.d.ts" */

const PRIORITIES = [
  ["light", "least weight ready to fly"],
  ["stiff", "stiffness"],
  ["balanced", "least ballast"],
];
const AIMS = [
  ["light", "least weight ready to fly"],
  ["stiff", "most stiffness"],
];
const wish = { part: "", priority: "light", objective: "light", limit: "", time: "20 s" };

/**
 * @param {number | null} value
 * @param {(value: number) => string} text
 */
const plus = (value, text) =>
  value === null ? "" : `${value < 0 ? "−" : "+"}${text(Math.abs(value))}`;
/** @param {string[][]} pairs */
const options = (pairs) => pairs.map(([value, text]) => h("option", { value }, text));
/** @param {{ is_current: boolean }} found */
export const stale = (found) =>
  found.is_current
    ? null
    : h("p", { class: "hint" }, "The job has changed since; look again before you decide by this.");

/** @param {string} kind */
export function waiting(kind) {
  const task = desk.tasks.get(kind);
  if (!task) return null;
  return h(
    "div",
    { class: "row wrap" },
    h("p", { class: "pencil", role: "status" }, `${task.text || task.title} …`),
    h("button", { type: "button", "data-key": `stop-${kind}`, onclick: () => stop(kind) }, "Stop"),
  );
}

// ---- one part, several boards ------------------------------------------------------------------

export function compareSection() {
  const found = desk.findings?.compare;
  const parts = [...new Set(desk.state.weights?.weights.map((row) => row.part))];
  if (!parts.includes(wish.part))
    wish.part = found?.part && parts.includes(found.part) ? found.part : parts[0];
  return h(
    "section",
    { "data-key": "compare-section" },
    h("h2", {}, "One part, board beside board"),
    h(
      "p",
      { class: "hint" },
      "What each board costs in weight, buys in stiffness, and does to the balance.",
    ),
    h(
      "form",
      {
        class: "grid asking wider",
        "data-key": "compare",
        onsubmit: (event) => {
          event.preventDefault();
          start("compare", { part: wish.part, priority: wish.priority });
        },
      },
      h(
        "label",
        {},
        "Part",
        h(
          "select",
          {
            value: wish.part,
            "data-key": "compare-part",
            onchange: (event) => {
              wish.part = event.currentTarget.value;
            },
          },
          options(parts.map((name) => [name, name])),
        ),
      ),
      h(
        "label",
        {},
        "What counts most",
        h(
          "select",
          {
            value: wish.priority,
            "data-key": "compare-priority",
            onchange: (event) => {
              wish.priority = event.currentTarget.value;
            },
          },
          options(PRIORITIES),
        ),
      ),
      h(
        "button",
        { type: "submit", "data-key": "compare-go", disabled: isRunning("compare") },
        "Hold them side by side",
      ),
    ),
    isRunning("compare") ? waiting("compare") : null,
    found ? comparison(found) : null,
  );
}

/** @param {Comparison} found */
function comparison(found) {
  const hasModel = found.boards.some((one) => one.balance_mm);
  const heads = [
    "Board",
    "Density",
    "All pieces weigh",
    "More",
    "As stiff",
    "As strong",
    "Fits",
    ...(hasModel ? ["Balances at", "Ballast", "Ready to fly"] : []),
    "",
  ];
  return h(
    "div",
    { class: "finding", "data-key": "comparison" },
    stale(found),
    h("p", { class: "proved" }, found.advice),
    h(
      "div",
      { class: "scroll", tabindex: "0", role: "region", "aria-label": `Boards for ${found.part}` },
      h(
        "table",
        { class: "side-by-side" },
        h(
          "caption",
          {},
          `${found.part}, loaded ${found.loading}; against ${found.boards[0].board}, the lightest`,
        ),
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            heads.map((head) => h("th", { scope: "col" }, head)),
          ),
        ),
        h(
          "tbody",
          {},
          found.boards.map((one) => compareRow(found, one, hasModel)),
        ),
      ),
    ),
    h(
      "figure",
      { class: "chart" },
      h("img", {
        src:
          `${fileAddress(found.file)}?` +
          `${encodeURIComponent(JSON.stringify(found.wish))}-${desk.state.revision}`,
        alt: `Mass, stiffness and balance of ${found.part} from each board, as bars`,
      }),
    ),
    asBuilt(found),
    found.notes
      .filter((note) => note.state === "open")
      .map((note) => h("p", { class: "fault" }, note.text)),
    h("p", { class: "hint" }, found.caution),
  );
}

/**
 * @param {Comparison} found
 * @param {Compared} one
 * @param {boolean} hasModel
 */
function compareRow(found, one, hasModel) {
  /** @param {Child[]} content */
  const number = (...content) => h("td", { class: "number" }, content);
  const isNow = found.now.length === 1 && found.now[0] === one.board;
  /** @param {Doubted} value */
  const ratio = (value) =>
    `× ${value.value.toFixed(2)}${value.sigma ? ` ± ${value.sigma.toFixed(2)}` : ""}`;
  return h(
    "tr",
    {},
    h(
      "th",
      { scope: "row" },
      one.board,
      one.default_density ? h("span", { class: "pencil" }, " not weighed") : null,
    ),
    number(format.density(one.density_kg_m3.value)),
    number(format.massDoubt(one.mass_g.value, one.mass_g.sigma, 2)),
    number(one.difference_g.value ? plus(one.difference_g.value, (g) => format.mass(g, 2)) : ""),
    number(
      ratio(one.stiffness_ratio),
      one.modulus_mpa.measured ? null : h("span", { class: "pencil" }, " by trend"),
    ),
    number(`× ${one.strength_ratio.value.toFixed(2)}`),
    h("td", {}, one.objection ?? (one.fits === null ? "not tried" : one.fits ? "yes" : "no")),
    hasModel
      ? [
          number(one.balance_mm ? format.length(one.balance_mm.value) : ""),
          number(
            one.ballast_g === null ? "–" : one.ballast_g > 0 ? format.mass(one.ballast_g) : "none",
          ),
          number(
            one.flying_mass_g
              ? format.massDoubt(one.flying_mass_g.value, one.flying_mass_g.sigma)
              : "cannot be balanced",
          ),
        ]
      : null,
    h(
      "td",
      {},
      isNow
        ? h("span", { class: "pencil" }, "now")
        : h(
            "button",
            {
              "data-key": `take-${one.board}`,
              "aria-label": `Cut ${found.part} from ${one.board}`,
              disabled: one.fits === false,
              onclick: () => edit({ kind: "tie-parts", ties: { [found.part]: one.board } }),
            },
            "Take it",
          ),
    ),
  );
}

/** @type {["flatwise" | "edgewise" | "twist", string][]} */
const WAYS = [
  ["flatwise", "Bent flatwise"],
  ["edgewise", "Bent edgewise"],
  ["twist", "Twisted"],
];

// The part with all that is glued onto it: what a board really buys, and where it stays weakest.
/** @param {Comparison} found */
function asBuilt(found) {
  const rows = found.boards.flatMap((one) =>
    one.built ? [{ name: one.board, of: one.built }] : [],
  );
  if (!rows.length || !found.built_file) return null;
  return [
    h(
      "div",
      {
        class: "scroll",
        tabindex: "0",
        role: "region",
        "aria-label": `${found.part} with all that is glued on`,
      },
      h(
        "table",
        { class: "side-by-side", "data-key": "as-built" },
        h(
          "caption",
          {},
          `${found.part} with all that is glued on: how stiff, against ${found.boards[0].board}`,
        ),
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            ["Board", ...WAYS.flatMap(([, title]) => [title, "weakest at"])].map((head) =>
              h("th", { scope: "col" }, head),
            ),
          ),
        ),
        h(
          "tbody",
          {},
          rows.map(({ name, of }) =>
            h(
              "tr",
              {},
              h("th", { scope: "row" }, name),
              WAYS.map(([way]) => [
                h(
                  "td",
                  { class: "number" },
                  `× ${of[way].ratio.value.toFixed(2)} ± ${of[way].ratio.sigma.toFixed(2)}`,
                ),
                h("td", { class: "number" }, format.length(of[way].weakest_mm)),
              ]),
            ),
          ),
        ),
      ),
    ),
    h(
      "figure",
      { class: "chart" },
      h("img", {
        "data-key": "as-built-picture",
        src:
          `${fileAddress(found.built_file)}?` +
          `${encodeURIComponent(JSON.stringify(found.wish))}-${desk.state.revision}`,
        alt:
          `${found.part} from the side, and under it how stiff it is along its length from each ` +
          `board, with its weakest station marked`,
      }),
    ),
  ];
}

// ---- the best board for every part -------------------------------------------------------------

export function assignSection() {
  const found = desk.findings?.assign;
  return h(
    "section",
    { "data-key": "assign-section" },
    h("h2", {}, "The best board for every part"),
    h(
      "p",
      { class: "hint" },
      "Looks at all boards and all parts that nobody has weighed yet, with the ballast that " +
        "the balance then asks for, and tries by nesting whether the parts fit.",
    ),
    h(
      "form",
      {
        class: "grid asking wider",
        "data-key": "assign",
        onsubmit: (event) => {
          event.preventDefault();
          start("assign", {
            objective: wish.objective,
            limit: wish.limit.trim() || null,
            time: wish.time.trim() || "20 s",
          });
        },
      },
      h(
        "label",
        {},
        "Look for",
        h(
          "select",
          {
            value: wish.objective,
            "data-key": "assign-objective",
            onchange: (event) => {
              wish.objective = event.currentTarget.value;
            },
          },
          options(AIMS),
        ),
      ),
      h(
        "label",
        {},
        "No heavier than",
        h("input", {
          value: wish.limit,
          placeholder: "any weight",
          "data-key": "assign-limit",
          autocomplete: "off",
          onchange: (event) => {
            wish.limit = event.currentTarget.value;
          },
        }),
      ),
      h(
        "label",
        {},
        "For how long",
        h("input", {
          value: wish.time,
          placeholder: "20 s",
          "data-key": "assign-time",
          autocomplete: "off",
          onchange: (event) => {
            wish.time = event.currentTarget.value;
          },
        }),
      ),
      h(
        "button",
        { type: "submit", "data-key": "assign-go", disabled: isRunning("assign") },
        "Share out the boards",
      ),
    ),
    tied(),
    isRunning("assign") ? waiting("assign") : null,
    found ? proposals(found) : null,
  );
}

// What the builder tied to a board stays there; a proposal that was taken ties everything.
function tied() {
  const names = desk.state.parts.filter(
    (part) => part.board && !part.piece_of && part.weighed_g === null,
  );
  if (!names.length) return null;
  return h(
    "p",
    { class: "hint" },
    `Kept on the board that you gave them: ` +
      `${names.map((part) => `${part.name} (${part.board})`).join(", ")}. `,
    h(
      "button",
      {
        class: "quiet",
        "data-key": "free-all",
        onclick: () =>
          edit({
            kind: "tie-parts",
            ties: Object.fromEntries(names.map((part) => [part.name, null])),
          }),
      },
      "Leave them all free",
    ),
  );
}

/** @param {Assignment} found */
function proposals(found) {
  return h(
    "div",
    { class: "finding", "data-key": "proposals" },
    stale(found),
    h("p", {}, `${surety(found)} ${format.count(found.nestings, "layout")} tried.`),
    h(
      "div",
      { class: "cards" },
      found.best.map((one, number) => proposal(found, one, number)),
    ),
    found.bindings.length
      ? h(
          "details",
          { "data-key": "bindings-box" },
          h("summary", { "data-key": "bindings" }, "Why it is not better"),
          h(
            "ul",
            {},
            found.bindings.map((one) => h("li", {}, one.text)),
          ),
        )
      : null,
    h("p", { class: "hint" }, found.caution),
  );
}

/** @param {Assignment} found */
function surety(found) {
  if (found.proved) return "Proved: no other sharing out is better, as far as nesting finds room.";
  const isStiff = (found.wish.objective ?? "light") === "stiff";
  return (
    `The time was up: another may be better, by ` +
    `${isStiff ? `${(100 * found.gap).toFixed(1)} % of stiffness` : format.mass(found.gap)} ` +
    `at most.`
  );
}

/**
 * @param {Assignment} found
 * @param {Assigned} one
 * @param {number} number
 */
function proposal(found, one, number) {
  const ballast = Object.entries(one.ballast_g).filter(([, grams]) => grams > 0.005);
  const points = one.balance_mm.map((mm) => format.length(mm));
  const last = one.balance_mm.at(-1);
  const shift =
    found.now.balance_mm === null || last === undefined ? null : last - found.now.balance_mm;
  return h(
    "article",
    { class: "card", "aria-label": `Proposal ${number + 1}`, "data-key": `proposal-${number}` },
    h(
      "div",
      { class: "card-body" },
      h("h3", {}, number ? `Number ${number + 1}` : "The best"),
      h(
        "p",
        { class: "middling" },
        format.mass(one.flying_mass_g),
        h("span", { class: "beside" }, " ready to fly, tank full"),
      ),
      h(
        "dl",
        { class: "facts" },
        [
          [
            "Ballast",
            ballast.length
              ? ballast.map(([place, grams]) => `${format.mass(grams)} at ${place}`).join(", ")
              : "none",
          ],
          [
            "Balances at",
            points.length
              ? [...new Set(points)].join(" to ") +
                (shift === null ? "" : ` (${plus(shift, (mm) => format.length(mm))})`)
              : "not known",
          ],
          ["Stiffness", `${(100 * one.stiffness_share).toFixed(0)} % of the stiffest boards`],
        ].map(([name, value]) => [h("dt", {}, name), h("dd", {}, value)]),
      ),
      one.moves.length
        ? h(
            "table",
            { class: "moves" },
            h("caption", {}, "What moves"),
            h(
              "thead",
              {},
              h(
                "tr",
                {},
                ["Part", "From", "To", "Change"].map((head) => h("th", { scope: "col" }, head)),
              ),
            ),
            h(
              "tbody",
              {},
              one.moves.map((move) =>
                h(
                  "tr",
                  {},
                  h("th", { scope: "row" }, move.part),
                  h("td", {}, move.from.join(", ") || "–"),
                  h("td", {}, move.to.join(", ")),
                  h(
                    "td",
                    { class: "number" },
                    plus(move.change_g, (g) => format.mass(g, 2)),
                  ),
                ),
              ),
            ),
          )
        : h("p", {}, "Nothing moves: the parts come from these boards already."),
      one.shared.length
        ? h(
            "p",
            { class: "hint" },
            `${one.shared.join(", ")}: shared by several boards, so left free.`,
          )
        : null,
      one.moves.length
        ? h(
            "button",
            {
              class: number ? "" : "main",
              "data-key": `take-proposal-${number}`,
              onclick: () => edit({ kind: "tie-parts", ties: one.ties }),
            },
            "Take this",
          )
        : null,
    ),
  );
}
