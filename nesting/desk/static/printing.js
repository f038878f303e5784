// How patterns are drawn: what they are for, the blank edge, what tiles share, mirrored or not,
// which files.

import { bladesForm } from "./blades.js";
import { h } from "./dom.js";
import * as format from "./format.js";
import { desk, setValue } from "./store.js";

const STYLES = [
  ["stick-on", "paper to stick on the wood"],
  ["card", "card to draw round"],
];
const FILES = [
  ["pdf", "PDF, to print"],
  ["svg", "SVG, for drawing programs"],
  ["dxf", "DXF, for machines"],
  ["png", "pictures, to look at here"],
];
const MARKS = [
  ["name", "name"],
  ["count", "which of how many"],
  ["hand", "left or right"],
  ["grain", "grain"],
  ["stock", "thickness and material"],
  ["weight", "weight"],
  ["holes", "centres of holes"],
  ["datum", "datum"],
  ["balance", "balance point"],
  ["centre line", "centre lines"],
  ["doubler", "edges of doublers"],
  ["fold", "folds and hinges"],
  ["cutting", "how to saw it"],
];
const VERSIONS = ["R12", "R2000", "R2010"];

export function printingForm() {
  const { pattern } = desk.state;
  /**
   * @param {string} field
   * @param {unknown} value
   */
  const set = (field, value) => setValue(["pattern", field], value);
  /**
   * @param {"margin" | "overlap"} field
   * @param {string} label
   */
  const typed = (field, label) =>
    h(
      "label",
      {},
      label,
      h("input", {
        value: format.lengthField(pattern[field]),
        "data-key": `print-${field}`,
        autocomplete: "off",
        onchange: (event) => set(field, event.currentTarget.value.trim() || null),
      }),
    );
  return h(
    "details",
    { "data-key": "print-box" },
    h("summary", { "data-key": "print" }, "How they are drawn"),
    h(
      "div",
      { class: "grid wider" },
      h(
        "label",
        {},
        "A pattern is",
        h(
          "select",
          {
            value: pattern.style,
            "data-key": "print-style",
            onchange: (event) => set("style", event.currentTarget.value),
          },
          STYLES.map(([value, text]) => h("option", { value }, text)),
        ),
      ),
      typed("margin", "Blank edge of a page"),
      typed("overlap", "What neighbouring pages share"),
      h(
        "label",
        {},
        "Most pages of one drawing",
        h("input", {
          type: "number",
          min: 1,
          value: pattern.pages,
          "data-key": "print-pages",
          onchange: (event) => set("pages", Number(event.currentTarget.value) || null),
        }),
      ),
      h(
        "label",
        {},
        "DXF version",
        h(
          "select",
          {
            value: pattern.dxf,
            "data-key": "print-dxf",
            onchange: (event) => set("dxf", event.currentTarget.value),
          },
          VERSIONS.map((value) => h("option", { value }, value)),
        ),
      ),
    ),
    h(
      "label",
      { class: "check" },
      h("input", {
        type: "checkbox",
        checked: pattern.mirror,
        "data-key": "print-mirror",
        onchange: (event) => set("mirror", event.currentTarget.checked || null),
      }),
      "mirrored, to be ironed on",
    ),
    h(
      "label",
      { class: "check" },
      h("input", {
        type: "checkbox",
        checked: pattern.overlay,
        "data-key": "print-overlay",
        onchange: (event) => set("overlay", event.currentTarget.checked ? null : false),
      }),
      "the scans with the outlines over them, too",
    ),
    files(pattern.formats, set),
    carried(pattern.without, set),
    bladesForm(pattern.blade),
  );
}

// What stands on a pattern is ticked; the job keeps only what is left out.
/**
 * @param {string[]} without
 * @param {(field: string, value: unknown) => unknown} set
 */
function carried(without, set) {
  /**
   * @param {string} name
   * @param {boolean} isOn
   */
  const change = (name, isOn) => {
    const left = MARKS.map(([one]) => one).filter((one) =>
      one === name ? !isOn : without.includes(one),
    );
    set("without", left.length ? left : null);
  };
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "What each pattern carries"),
    h(
      "div",
      { class: "row wrap" },
      MARKS.map(([name, text]) =>
        h(
          "label",
          { class: "check" },
          h("input", {
            type: "checkbox",
            checked: !without.includes(name),
            "data-key": `carry-${name}`,
            onchange: (event) => change(name, event.currentTarget.checked),
          }),
          text,
        ),
      ),
    ),
  );
}

// The last kind of file cannot be left out: patterns without a file would be none.
/**
 * @param {string[]} said
 * @param {(field: string, value: unknown) => unknown} set
 */
function files(said, set) {
  /**
   * @param {string} name
   * @param {boolean} isOn
   */
  const change = (name, isOn) => {
    const kept = FILES.map(([one]) => one).filter((one) =>
      one === name ? isOn : said.includes(one),
    );
    set("formats", kept.length === FILES.length ? null : kept);
  };
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "Files"),
    FILES.map(([name, text]) =>
      h(
        "label",
        { class: "check" },
        h("input", {
          type: "checkbox",
          checked: said.includes(name),
          disabled: said.length === 1 && said.includes(name),
          "data-key": `print-${name}`,
          onchange: (event) => change(name, event.currentTarget.checked),
        }),
        text,
      ),
    ),
  );
}
