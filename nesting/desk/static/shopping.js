// What wood is still to be bought: the table, and the card to take along. The card is made when it
// is asked for.

import { h } from "./dom.js";
import * as format from "./format.js";
import { desk } from "./store.js";

/** @import { WantedBoard } from "./answers.d.ts" */

const heads = () => [
  "Boards",
  "Material",
  "Thickness",
  "Size",
  `Density, ${format.densityUnit()}`,
  "One weighs",
  "Window",
  "For",
];

export function shopping() {
  const card = desk.state.shopping;
  if (!card) return null;
  return h(
    "section",
    { "aria-label": "Wood to buy" },
    h("h2", {}, "Wood to buy"),
    card.fault
      ? h("p", { class: "fault" }, card.fault)
      : card.wanted.length
        ? [
            table(card.wanted),
            h(
              "a",
              {
                class: "button",
                href: "/api/1/shopping-card.pdf",
                download: "shopping-card.pdf",
                "data-key": "shopping-card",
              },
              "Shopping card, PDF",
            ),
          ]
        : h("p", { class: "hint" }, "The rack has all the wood that these parts need."),
  );
}

/** @param {WantedBoard[]} wanted */
function table(wanted) {
  return h(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": "Boards to buy" },
    h(
      "table",
      {},
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          heads().map((head) => h("th", { scope: "col" }, head)),
        ),
      ),
      h(
        "tbody",
        {},
        wanted.map((line) =>
          h(
            "tr",
            {},
            [...line.texts, line.for].map((text) => h("td", {}, text)),
          ),
        ),
      ),
    ),
  );
}
