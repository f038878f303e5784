// Balance: what the model on its knife edge shows, and what would mend it.

import { beam, fromBalance } from "./beam.js";
import { handles, nowMoved } from "./dragging.js";
import { h, show } from "./dom.js";
import * as format from "./format.js";
import { withMoved } from "./moved.js";
import { desk, edit } from "./store.js";

/** @import { BalanceReport, BallastResult, Fix, Loading, NamedStation } from "./answers.d.ts" */

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
      ? h("div", { "data-key": "knife-edge" }, knifeEdge(report))
      : h(
          "p",
          { class: "hint" },
          "Say where each part sits, counted aft from a datum of your choice, and the range " +
            "in which the model must balance: below, under ‘Where everything sits’.",
        ),
    report
      ? [
          fixes(report),
          ballastTable(report),
          stationsTable(report),
          alternatives(report),
          asBuilt(report),
        ]
      : null,
  );
}

// The picture and its verdict, with what is being moved where it is now.
/** @param {BalanceReport} report */
function knifeEdge(report) {
  const { balance } = desk.state;
  const moved = nowMoved();
  const place = moved?.kind === "ballast" && balance.ballast.find((one) => one.name === moved.name);
  const now = withMoved(report, moved, place ? place.most_g : null);
  const loading = now.loadings[now.loadings.length - 1];
  const isMovable = balance.items.length + balance.ballast.length > 0;
  return [
    verdict(loading, now),
    beam(now, loading, handles()),
    isMovable
      ? h(
          "p",
          { class: "hint" },
          "Take equipment or ballast along the beam: by hand, or with the arrow keys " +
            `(${format.arrowWords()}), Enter to keep it there, Escape to put it back.`,
        )
      : null,
  ];
}

document.addEventListener("beam-moved", () => {
  const place = document.querySelector("[data-key=knife-edge]");
  const report = desk.state?.balance?.report;
  if (place && report) show(place, knifeEdge(report));
});

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
  const [least] = leastFirst(report.ballast);
  return least ? `${said}: ${format.mass(least.least_g)} at ${least.place} would do.` : `${said}.`;
}

// The same across: which side is heavy. Nothing is said where nobody gave a range.
/**
 * @param {Loading} loading
 * @param {BalanceReport} report
 * @param {[number, number] | null} range
 */
export function sideways({ lateral_mm: lateral }, report, range) {
  if (!range) return null;
  const [low, high] = range;
  if (lateral >= low && lateral <= high)
    return { isIn: true, text: "From side to side it balances within its range." };
  const [side, off] = lateral < low ? ["Left", low - lateral] : ["Right", lateral - high];
  const said = `${side} side heavy by ${format.length(off)}`;
  const [least] = leastFirst(report.tip_ballast);
  const text = least
    ? `${said}: ${format.mass(least.least_g)} at ${least.place} would do.`
    : `${said}.`;
  return { isIn: false, text };
}

/** @param {BallastResult[]} ballast */
const leastFirst = (ballast) =>
  ballast
    .filter((one) => one.least_g)
    .sort((one, other) => (one.least_g ?? 0) - (other.least_g ?? 0));

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
  const across = sideways(loading, report, desk.state.balance.lateral_mm);
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
    across
      ? h("p", { class: across.isIn ? "proved" : "fault", "data-key": "sideways" }, across.text)
      : null,
    missing.map((note) => h("p", { class: "fault" }, note.text)),
  ];
}

/** @param {BalanceReport} report */
function ballastTable(report) {
  const places = [...report.tip_ballast, ...report.ballast];
  if (!places.length) return null;
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
      places.map((one) =>
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

/** @param {BalanceReport} report */
function stationsTable(report) {
  if (!report.stations.length) return null;
  const loadings = report.loadings.length > 1 ? ["tank empty", "tank full"] : [""];
  const heads = [
    "Place",
    "Station",
    ...loadings.map((one) => `From the balance point${one ? `, ${one}` : ""}`),
    "Angle",
  ];
  return h(
    "table",
    { "data-key": "stations" },
    h("caption", {}, "Named places"),
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
      report.stations.map((one) =>
        h(
          "tr",
          {},
          h("th", { scope: "row" }, one.name),
          h("td", { class: "number" }, format.length(one.station_mm)),
          one.loadings.map((at) =>
            h(
              "td",
              { class: "number" },
              `${fromBalance(at.from_balance_mm)} ± ${format.length(at.sigma_mm)}`,
            ),
          ),
          h("td", { class: "number" }, angleOf(one)),
        ),
      ),
    ),
  );
}

/** @param {NamedStation} one */
function angleOf({ line_deg: line, loadings }) {
  if (line !== null) return `${signed(line)} to the datum line`;
  const ahead = loadings.flatMap((one) => (one.ahead_deg === null ? [] : [signed(one.ahead_deg)]));
  return ahead.length ? `${[...new Set(ahead)].join(" to ")} ahead of it` : "";
}

/** @param {number} deg */
const signed = (deg) => `${deg < 0 ? "−" : ""}${Math.abs(deg).toFixed(1)}°`;
