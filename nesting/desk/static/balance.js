// Balance: the model laid along a beam on a knife edge, every mass hung at its station.

import { h, s } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { desk, edit } from "./store.js";

const WIDTH = 940;
const BEAM = 232;

export function balanceSection() {
  const { balance } = desk.state;
  const loading = balance.report?.loadings?.at(-1);
  return h("section", { class: "balance" }, h("h2", {}, "On the knife edge"),
    balance.fault ? h("p", { class: "fault" }, balance.fault) : null,
    loading ? [verdict(loading, balance.report), beam(balance.report, loading)] : h("p", { class: "hint" }, "Give the station of each part's centre of mass, counted aft from a datum of your choice, and the range in which the model must balance. Parts that are drawn in place can be named in job.toml instead."),
    balance.report ? ballastTable(balance.report) : null,
    balance.report ? asBuilt(balance.report) : null,
    h("details", { "data-key": "stations-box" }, h("summary", { "data-key": "stations" }, "Stations, equipment, ballast, range"), stations(balance), things(balance, "item", "Equipment", "Mass"), things(balance, "ballast", "Places for ballast", "At most"), range(balance)));
}

function verdict(loading, report) {
  const where = `${loading.balance_mm.toFixed(1)} mm ± ${loading.balance_sigma_mm.toFixed(1)} aft of the datum`;
  const share = loading.balance_share_of_chord === null ? "" : `, ${(100 * loading.balance_share_of_chord).toFixed(1)} % of the mean chord`;
  const missing = report.notes.filter((note) => note.state === "open");
  return [
    h("p", { class: "big" }, format.massDoubt(loading.mass_g, loading.mass_sigma_g), h("span", { class: "beside" }, ` balances ${where}${share}`)),
    loading.in_range === null ? null : h("p", { class: loading.in_range ? "proved" : "fault" }, loading.in_range ? "Within the range." : `Outside the range of ${report.range_mm.map((mm) => mm.toFixed(1)).join(" to ")} mm.`),
    missing.map((note) => h("p", { class: "fault" }, note.text)),
  ];
}

// Masses stand on the beam, as large as they weigh; the range is marked below it, where the knife edge must be.
function beam(report, loading) {
  const entries = merged(report.entries);
  const ends = [...entries.map((one) => one.station_mm), loading.balance_mm, ...(report.range_mm ?? []), 0];
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  const reach = Math.max(high - low, 1);
  const at = (mm) => 60 + ((WIDTH - 120) * (mm - low)) / reach;
  const heaviest = Math.max(...entries.map((one) => one.mass_g));
  const stood = standing(entries.map((one) => ({ ...one, x: at(one.station_mm), r: 4 + 15 * Math.sqrt(one.mass_g / heaviest) })));
  const edge = at(loading.balance_mm);
  const doubt = ((WIDTH - 120) * loading.balance_sigma_mm) / reach;
  const text = entries.map((one) => `${one.part} ${format.mass(one.mass_g)} at ${one.station_mm.toFixed(0)} mm`).join(", ");
  return s("svg", { class: "beam", viewBox: `0 0 ${WIDTH} ${BEAM + 92}`, role: "img", "aria-label": `Masses along the model: ${text}` },
    s("g", { class: "mass" }, stood.map((one) => s("line", { x1: one.x, x2: one.x, y1: one.y, y2: BEAM }))),
    stood.map((one) => s("g", { class: "mass" },
      s("circle", { cx: one.x, cy: one.y, r: one.r }),
      s("text", { x: one.x, y: one.y - one.r - 5, "text-anchor": "middle" }, one.part))),
    report.range_mm ? s("rect", { class: "range", x: at(report.range_mm[0]), y: BEAM + 3, width: Math.max(2, at(report.range_mm[1]) - at(report.range_mm[0])), height: 18 }) : null,
    s("line", { class: "beam-line", x1: at(low) - 30, x2: at(high) + 30, y1: BEAM, y2: BEAM }),
    s("line", { class: "tick", x1: at(0), x2: at(0), y1: BEAM, y2: BEAM + 16 }),
    s("text", { x: at(0), y: BEAM + 32, "text-anchor": "middle" }, "datum"),
    s("path", { class: "knife", d: `M${edge} ${BEAM + 3}l-16 44h32z` }),
    s("rect", { class: "doubt", x: edge - doubt, y: BEAM - 4, width: Math.max(2, 2 * doubt), height: 8 }),
    s("text", { class: "strong", x: edge, y: BEAM + 66, "text-anchor": "middle" }, `${loading.balance_mm.toFixed(1)} mm`));
}

// Each mass stands as low as it can without covering another or its name.
function standing(masses) {
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

function merged(entries) {
  const found = new Map();
  for (const one of entries) {
    const held = found.get(one.part);
    if (!held) found.set(one.part, { ...one });
    else {
      held.station_mm = (held.mass_g * held.station_mm + one.mass_g * one.station_mm) / (held.mass_g + one.mass_g);
      held.mass_g += one.mass_g;
    }
  }
  return [...found.values()].filter((one) => one.mass_g > 0).sort((one, other) => one.station_mm - other.station_mm);
}

function ballastTable(report) {
  if (!report.ballast.length) return null;
  return h("table", {}, h("caption", {}, "Ballast that brings it into the range"),
    h("thead", {}, h("tr", {}, ["Place", "At", "At least", "To the middle"].map((head) => h("th", { scope: "col" }, head)))),
    h("tbody", {}, report.ballast.map((one) => h("tr", {}, h("th", { scope: "row" }, one.place), h("td", { class: "number" }, `${one.station_mm.toFixed(0)} mm`),
      one.problem ? h("td", { colspan: 2, class: "fault-text" }, one.problem) : [h("td", { class: "number" }, one.least_g === null ? "none" : format.massDoubt(one.least_g, one.least_sigma_g)), h("td", { class: "number" }, format.mass(one.to_middle_g))]))));
}

function asBuilt(report) {
  if (!report.as_built.length) return null;
  return h("table", {}, h("caption", {}, "As built: what the scale said against the estimate"),
    h("thead", {}, h("tr", {}, ["Weighed", "Estimate", "Scale", "Off by"].map((head) => h("th", { scope: "col" }, head)))),
    h("tbody", {}, report.as_built.map((one) => h("tr", {}, h("th", { scope: "row" }, one.weighed), h("td", { class: "number" }, format.massDoubt(one.estimated_g, one.estimated_sigma_g, 2)), h("td", { class: "number" }, format.mass(one.weighed_g, 2)),
      h("td", { class: `number${one.surprising ? " fault-text" : ""}` }, `${one.difference_g >= 0 ? "+" : "−"}${format.mass(Math.abs(one.difference_g), 2)}`)))));
}

function stations(balance) {
  const parts = desk.state.parts.filter((part) => !balance.in_place.includes(part.name));
  return h("fieldset", { class: "balance-box" }, h("legend", {}, "Station of each part's centre of mass, aft of the datum"),
    h("div", { class: "grid" }, parts.map((part) => h("label", {}, part.name, h("input", { value: format.lengthField(balance.seats[part.name]), placeholder: "120 mm", "data-key": `seat-${part.name}`, autocomplete: "off",
      onchange: (event) => edit({ kind: "set-seat", part: part.name, station: event.target.value.trim() || null }) })))));
}

function things(balance, table, title, massTitle) {
  const rows = table === "item" ? balance.items : balance.ballast;
  const massOf = (row) => (table === "item" ? row.mass_g : row.most_g);
  return h("fieldset", { class: "balance-box" }, h("legend", {}, title),
    h("ul", { class: "plain" }, rows.map((row) => h("li", { class: "row" }, h("span", {}, `${row.name}: ${massOf(row) === null ? "" : `${format.mass(massOf(row))}, `}${row.station_mm === null ? "placed on the drawing" : `${row.station_mm.toFixed(0)} mm`}`),
      h("button", { class: "quiet", "aria-label": `Remove ${row.name}`, "data-key": `drop-${table}-${row.name}`, onclick: () => edit({ kind: "drop-item", table, name: row.name }) }, icon("bin"))))),
    h("form", { class: "grid", "data-key": `put-${table}`, onsubmit: async (event) => {
      event.preventDefault();
      const form = event.currentTarget;
      const value = (name) => form.elements.namedItem(name).value.trim();
      if (await edit({ kind: "put-item", table, name: value("name"), station: value("station"), mass: value("mass") || null })) form.reset();
    } },
    h("label", {}, "Name", h("input", { name: "name", required: true, "data-key": `${table}-name`, autocomplete: "off" })),
    h("label", {}, massTitle, h("input", { name: "mass", required: table === "item", placeholder: "18 g", "data-key": `${table}-mass`, autocomplete: "off" })),
    h("label", {}, "Station", h("input", { name: "station", required: true, placeholder: "35 mm", "data-key": `${table}-station`, autocomplete: "off" })),
    h("button", { type: "submit", "data-key": `${table}-keep` }, "Add")));
}

function range(balance) {
  const [low, high] = balance.range ?? ["", ""];
  return h("form", { class: "grid balance-box", "data-key": "range", onsubmit: (event) => {
    event.preventDefault();
    const ends = ["low", "high"].map((name) => event.currentTarget.elements.namedItem(name).value.trim());
    edit({ kind: "set-range", ends: ends.every(Boolean) ? ends : null });
  } },
  h("label", {}, "It must balance from", h("input", { name: "low", value: low, placeholder: "110 mm", "data-key": "range-low", autocomplete: "off" })),
  h("label", {}, "to", h("input", { name: "high", value: high, placeholder: "122 mm", "data-key": "range-high", autocomplete: "off" })),
  h("button", { type: "submit", "data-key": "range-keep" }, "Set the range"));
}
