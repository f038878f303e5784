// What the job takes, and what wood is still to be bought: tables, and the card to take along. The
// card is made when it is asked for.

import { h } from "./dom.js";
import * as format from "./format.js";
import { desk } from "./store.js";

/** @import { Stock } from "./answers.d.ts" */

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
        ? table(
            "Boards to buy",
            heads(),
            card.wanted.map((line) => [...line.texts, line.for]),
          )
        : h("p", { class: "hint" }, "The rack has all the wood that these parts need."),
    card.stock?.lines.length ? stockList(card.stock) : null,
    card.fault ? null : toTakeAlong(),
  );
}

const toTakeAlong = () =>
  h(
    "a",
    {
      class: "button",
      href: "/api/1/shopping-card.pdf",
      download: "shopping-card.pdf",
      "data-key": "shopping-card",
    },
    "Shopping card, PDF",
  );

/** @param {Stock} stock */
function stockList(stock) {
  return h(
    "section",
    { "aria-label": "Stock list" },
    h("h3", {}, "All that the job takes"),
    stock.notes.map((note) => h("p", { class: "fault" }, note.text)),
    table(
      "All that the job takes",
      stock.heads.map((head) => head.charAt(0).toUpperCase() + head.slice(1)),
      stock.lines.map((line) => line.texts),
    ),
    stock.total ? h("p", {}, stock.total) : null,
    stock.cuts.length
      ? h(
          "ul",
          { "aria-label": "How strip is cut" },
          stock.cuts.map((text) => h("li", {}, text)),
        )
      : null,
    h("p", { class: "hint" }, stock.hint),
  );
}

/**
 * @param {string} label
 * @param {string[]} named
 * @param {string[][]} rows
 */
function table(label, named, rows) {
  return h(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": label },
    h(
      "table",
      { class: "listed" },
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          named.map((head) => h("th", { scope: "col" }, head)),
        ),
      ),
      h(
        "tbody",
        {},
        rows.map((row) =>
          h(
            "tr",
            {},
            row.map((text) => h("td", {}, text)),
          ),
        ),
      ),
    ),
  );
}
