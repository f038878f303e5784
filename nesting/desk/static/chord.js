// The mean chord that a range in percent counts from: typed, or found from the sections of the
// wing, root to tip.

import { h, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { setValue } from "./store.js";

/** @import { Balance, Chord, ChordSection } from "./answers.d.ts" */

/** @typedef {"span" | "chord" | "leading_edge"} Column */
/** @typedef {Record<Column, string>} SectionTexts a section as it is typed */
/** @typedef {{ bySections: boolean, rows: SectionTexts[] }} ChordDraft */

/** @type {[Column, string][]} */
const COLUMNS = [
  ["span", "From the root"],
  ["chord", "Chord"],
  ["leading_edge", "Its leading edge at"],
];

// What is being changed, until it is kept: how the chord is given, and the texts of each section.
/** @type {ChordDraft | null} */
let draft = null;

const again = () => document.dispatchEvent(new CustomEvent("show-again"));
/**
 * @param {(key: Column) => string} textOf
 * @returns {SectionTexts}
 */
const texts = (textOf) => ({
  span: textOf("span"),
  chord: textOf("chord"),
  leading_edge: textOf("leading_edge"),
});
/** @param {ChordSection} section */
const asTexts = (section) => texts((key) => format.lengthField(section[`${key}_mm`]));
const blank = () => texts(() => "");

/**
 * @param {Chord | null} said
 * @returns {ChordDraft}
 */
function begun(said) {
  const rows = (said?.sections ?? []).map(asTexts);
  return {
    bySections: rows.length > 0,
    rows: rows.length ? rows : [{ ...blank(), span: format.lengthField(0) }, blank()],
  };
}

/** @param {Balance} balance */
export function chordForm({ chord: said }) {
  const now = draft ?? begun(said);
  /** @param {Partial<ChordDraft>} next */
  const change = (next) => {
    draft = { ...now, ...next };
    again();
  };
  /** @param {Record<string, unknown> | null} asked */
  const keep = async (asked) => {
    const held = draft;
    if ((await setValue(["balance", "chord"], asked)) && draft === held) {
      draft = null;
      again();
    }
  };
  return h(
    "form",
    {
      class: "balance-box",
      "data-key": "chord",
      onsubmit: (event) => {
        event.preventDefault();
        keep(
          now.bySections ? { sections: asked(now.rows, said) } : typed(event.currentTarget, said),
        );
      },
    },
    h(
      "fieldset",
      { class: "rows" },
      h("legend", {}, "Mean chord, for a range in %"),
      h(
        "label",
        { class: "inline" },
        "Given by ",
        h(
          "select",
          {
            value: now.bySections ? "sections" : "itself",
            "data-key": "chord-kind",
            onchange: (event) => change({ bySections: event.currentTarget.value === "sections" }),
          },
          h("option", { value: "itself" }, "its length and place"),
          h("option", { value: "sections" }, "sections of the wing"),
        ),
      ),
      now.bySections ? sections(now, change) : itself(said),
    ),
    h(
      "div",
      { class: "row wrap" },
      h(
        "button",
        { type: "submit", "data-key": "chord-keep" },
        now.bySections ? "Set the sections" : "Set the chord",
      ),
      draft
        ? h(
            "button",
            {
              type: "button",
              "data-key": "chord-leave",
              onclick: () => {
                draft = null;
                again();
              },
            },
            "Leave it",
          )
        : null,
      said
        ? h(
            "button",
            { type: "button", "data-key": "chord-drop", onclick: () => keep(null) },
            "No chord",
          )
        : null,
    ),
  );
}

/** @param {Chord | null} said */
const itself = (said) =>
  h(
    "div",
    { class: "grid" },
    h(
      "label",
      {},
      "Length",
      h("input", {
        name: "length",
        value: format.lengthField(said?.length_mm),
        placeholder: format.hint("90 mm", "3 1/2 in"),
        "data-key": "chord-length",
        autocomplete: "off",
      }),
    ),
    h(
      "label",
      {},
      "Station of its leading edge",
      h("input", {
        name: "edge",
        value: format.lengthField(said?.leading_edge_mm),
        placeholder: format.hint("100 mm", "4 in"),
        "data-key": "chord-edge",
        autocomplete: "off",
      }),
    ),
  );

/**
 * @param {HTMLFormElement} form
 * @param {Chord | null} said
 */
function typed(form, said) {
  const [length, edge] = ["length", "edge"].map((name) => typedIn(form, name));
  return {
    length: format.typedLength(length, said?.length_mm),
    leading_edge: length ? (format.typedLength(edge, said?.leading_edge_mm) ?? "0 mm") : null,
  };
}

// A length that nobody changed is sent as exactly as the job has it, whatever row it stands in now.
/**
 * @param {SectionTexts[]} rows
 * @param {Chord | null} said
 */
function asked(rows, said) {
  /**
   * @param {string} text
   * @param {Column} key
   */
  const exact = (text, key) =>
    said?.sections.map((one) => one[`${key}_mm`]).find((mm) => format.lengthField(mm) === text);
  return rows.map((row) =>
    texts((key) => format.typedLength(row[key].trim(), exact(row[key].trim(), key)) ?? ""),
  );
}

/**
 * @param {ChordDraft} now
 * @param {(next: Partial<ChordDraft>) => void} change
 */
function sections({ rows }, change) {
  /**
   * @param {number} k
   * @param {Column} key
   */
  const set = (k, key) => (/** @type {{ currentTarget: HTMLInputElement }} */ event) =>
    change({
      rows: rows.map((row, n) => (n === k ? { ...row, [key]: event.currentTarget.value } : row)),
    });
  /** @param {number} k */
  const name = (k) => (k === 0 ? "Root" : k === rows.length - 1 ? "Tip" : `Section ${k + 1}`);
  return [
    h(
      "p",
      { class: "hint" },
      "From root to tip, each farther out than the last; between two of them the edges are " +
        "straight.",
    ),
    h(
      "ul",
      { class: "plain" },
      rows.map((row, k) =>
        h(
          "li",
          { class: "seat", "data-key": `chord-row-${k}` },
          h("strong", { class: "brief" }, name(k)),
          COLUMNS.map(([key, label]) =>
            h(
              "label",
              {},
              label,
              h("input", {
                value: row[key],
                required: true,
                "data-key": `chord-${k}-${key}`,
                "aria-label": `${name(k)}: ${label}`,
                autocomplete: "off",
                oninput: set(k, key),
              }),
            ),
          ),
          rows.length > 2
            ? h(
                "button",
                {
                  type: "button",
                  class: "quiet",
                  "data-key": `chord-drop-${k}`,
                  "aria-label": `Take away: ${name(k)}`,
                  onclick: () => change({ rows: rows.filter((_, n) => n !== k) }),
                },
                icon("bin"),
              )
            : null,
        ),
      ),
    ),
    h(
      "button",
      {
        type: "button",
        class: "quiet",
        "data-key": "chord-more",
        onclick: () => change({ rows: [...rows, blank()] }),
      },
      "Another section, farther out",
    ),
  ];
}
