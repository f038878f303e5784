// Several parts on the scale together, or the whole model: a reading replaces the estimates up to
// its stage.

import { h, sent, tickedIn, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { desk, setValue } from "./store.js";

/** @import { Reading } from "./answers.d.ts" */

const STAGES = [
  ["cut", "cut, and carved if at all"],
  ["sawn", "sawn, not carved yet"],
  ["glued", "glued"],
  ["covered", "covered"],
  ["painted", "painted"],
  ["fitted", "fitted out"],
];

export function readingsSection() {
  const { readings } = desk.state.balance;
  const seen = desk.state.seen.weighed;
  const names = desk.state.parts.filter((part) => !part.piece_of).map((part) => part.name);
  /** @param {Reading} one */
  const words = (one) =>
    `${one.parts.join(" + ")}: ${format.mass(one.mass_g)}, ` +
    (Object.fromEntries(STAGES)[one.stage ?? ""] ?? "cut") +
    (one.balance_mm === null ? "" : `, balanced at ${format.length(one.balance_mm)}`);
  return h(
    "details",
    { "data-key": "readings-box" },
    h("summary", { "data-key": "readings" }, `Weighed together (${readings.length})`),
    h(
      "ul",
      { class: "plain" },
      readings.map((one, number) =>
        h(
          "li",
          { class: "row" },
          h("span", {}, words(one)),
          h(
            "button",
            {
              class: "quiet",
              "aria-label": `Remove the reading of ${one.parts.join(" and ")}`,
              "data-key": `reading-drop-${number}`,
              onclick: () => setValue(["weighed", number], null, seen[number]),
            },
            icon("bin"),
          ),
        ),
      ),
    ),
    h(
      "form",
      {
        class: "balance-box",
        "data-key": "reading",
        onsubmit: async (event) => {
          event.preventDefault();
          const form = event.currentTarget;
          const parts = tickedIn(form, "part");
          const value = (/** @type {string} */ name) => typedIn(form, name);
          const was = sent(form);
          if (
            await setValue(["weighed", null], {
              parts,
              mass: value("mass"),
              stage: value("stage"),
              balance: value("balance") || null,
            })
          )
            was.empty();
        },
      },
      h(
        "fieldset",
        {},
        h("legend", {}, "On the scale together"),
        h(
          "div",
          { class: "row wrap" },
          [["model", "the whole model, without fuel"], ...names.map((name) => [name, name])].map(
            ([value, text]) =>
              h(
                "label",
                { class: "check" },
                h("input", {
                  type: "checkbox",
                  name: "part",
                  value,
                  "data-key": `reading-${value}`,
                }),
                text,
              ),
          ),
        ),
      ),
      h(
        "div",
        { class: "grid" },
        h(
          "label",
          {},
          "They weigh",
          h("input", {
            name: "mass",
            required: true,
            placeholder: format.hint("24.3 g", "7/8 oz"),
            "data-key": "reading-mass",
            autocomplete: "off",
          }),
        ),
        h(
          "label",
          {},
          "They are",
          h(
            "select",
            { name: "stage", "data-key": "reading-stage" },
            STAGES.map(([value, text]) => h("option", { value }, text)),
          ),
        ),
        h(
          "label",
          {},
          "Balanced at",
          h("input", {
            name: "balance",
            placeholder: "not tried",
            "data-key": "reading-balance",
            autocomplete: "off",
          }),
        ),
        h("button", { type: "submit", "data-key": "reading-keep" }, "Keep the reading"),
      ),
    ),
  );
}
