// What every layout must keep to: the tool, how far parts lie apart, how far from the board's ends
// and edges.

import { h, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { desk, setValue } from "./store.js";

/** @import { AccuracyTable } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */

const TOOLS = [
  ["saw", "a scroll saw"],
  ["knife", "a knife"],
  ["laser", "a laser"],
  ["router", "a router"],
];
/** @type {["kerf" | "clearance" | "ends" | "edges" | "entry_hole", string][]} */
const LENGTHS = [
  ["kerf", "Width of its cut"],
  ["clearance", "Left beside the cut"],
  ["ends", "Kept from the ends"],
  ["edges", "Kept from the edges"],
  ["entry_hole", "Hole for the saw blade"],
];

export function rulesForm() {
  const rules = desk.state.nest;
  /**
   * @param {string} field
   * @param {unknown} value
   */
  const set = (field, value) => setValue(["nest", field], value);
  return h(
    "details",
    { "data-key": "rules-box" },
    h("summary", { "data-key": "rules" }, "How parts may lie"),
    h(
      "p",
      { class: "hint" },
      `Between two parts ${format.length(desk.state.gap_mm)} are left. An empty field is what ` +
        `is usual for the tool.`,
    ),
    h(
      "div",
      { class: "grid" },
      h(
        "label",
        {},
        "Cut with",
        h(
          "select",
          {
            value: rules.tool,
            "data-key": "rule-tool",
            onchange: (event) => set("tool", event.currentTarget.value),
          },
          TOOLS.map(([value, text]) => h("option", { value }, text)),
        ),
      ),
      LENGTHS.map(([field, text]) =>
        h(
          "label",
          {},
          text,
          h("input", {
            value: format.lengthField(rules[field]),
            "data-key": `rule-${field}`,
            autocomplete: "off",
            onchange: (event) => set(field, event.currentTarget.value.trim() || null),
          }),
        ),
      ),
    ),
    h(
      "label",
      { class: "check" },
      h("input", {
        type: "checkbox",
        checked: rules.cutouts,
        "data-key": "rule-cutouts",
        onchange: (event) => set("cutouts", event.currentTarget.checked),
      }),
      "small parts may lie in the cut-outs of others",
    ),
    couples(rules.side_by_side, set),
    patches(rules.soft_patches, set),
  );
}

/** @type {[keyof AccuracyTable, string][]} */
const MEASURED = [
  ["length", "A board’s length, by rule"],
  ["width", "Its width"],
  ["thickness", "Its thickness, measured"],
  ["nominal_thickness", "Its thickness, as sold"],
  ["support", "Where it touches a support, weighed at two ends"],
];

// How far a measure may be off decides how sure every weight is.
export function accuracyForm() {
  return h(
    "details",
    { "data-key": "accuracy-box" },
    h("summary", { "data-key": "accuracy" }, "How well you measure"),
    h(
      "p",
      { class: "hint" },
      "Give or take, as one standard deviation: two measures out of three are nearer than " +
        "that. An empty field is what is usual.",
    ),
    h(
      "div",
      { class: "grid" },
      MEASURED.map(([field, text]) =>
        h(
          "label",
          {},
          text,
          h("input", {
            value: format.lengthField(desk.state.accuracy[field]),
            "data-key": `accuracy-${field}`,
            autocomplete: "off",
            onchange: (event) =>
              setValue(["accuracy", field], event.currentTarget.value.trim() || null),
          }),
        ),
      ),
    ),
  );
}

const names = () => desk.state.parts.map((part) => part.name);
/** @param {string[]} list */
const choices = (list) => list.map((name) => h("option", { value: name }, name));
/**
 * @param {string} text
 * @param {string} key
 * @param {Render} drop
 */
const entry = (text, key, drop) =>
  h(
    "li",
    { class: "row" },
    h("span", {}, text),
    h(
      "button",
      {
        type: "button",
        class: "quiet",
        "aria-label": `Leave out: ${text}`,
        "data-key": key,
        onclick: drop,
      },
      icon("bin"),
    ),
  );

// Two parts that need equal wood: the left and the right wing from neighbouring places of one
// board.
/**
 * @param {[string, string][]} said
 * @param {(field: string, value: unknown) => unknown} set
 */
function couples(said, set) {
  /** @param {[string, string][]} list */
  const keep = (list) => set("side_by_side", list.length ? list : null);
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "Side by side, because they need equal wood"),
    h(
      "ul",
      { class: "plain" },
      said.map(([one, other], number) =>
        entry(`${one} and ${other}`, `couple-drop-${number}`, () =>
          keep(said.filter((_, at) => at !== number)),
        ),
      ),
    ),
    names().length < 2
      ? null
      : h(
          "form",
          {
            class: "row wrap",
            "data-key": "couple",
            onsubmit: (event) => {
              event.preventDefault();
              const [one, other] = ["one", "other"].map((name) =>
                typedIn(event.currentTarget, name),
              );
              keep([...said, [one, other]]);
            },
          },
          h(
            "label",
            {},
            "This part",
            h("select", { name: "one", "data-key": "couple-one" }, choices(names())),
          ),
          h(
            "label",
            {},
            "beside",
            h(
              "select",
              { name: "other", "data-key": "couple-other" },
              choices([...names().slice(1), names()[0]]),
            ),
          ),
          h("button", { type: "submit", "data-key": "couple-keep" }, "Keep them together"),
        ),
  );
}

/**
 * @param {string[]} said
 * @param {(field: string, value: unknown) => unknown} set
 */
function patches(said, set) {
  const left = names().filter((name) => !said.includes(name));
  /** @param {string[]} list */
  const keep = (list) => set("soft_patches", list.length ? list : null);
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "May lie on a soft blemish"),
    h(
      "ul",
      { class: "plain" },
      said.map((name) =>
        entry(name, `soft-drop-${name}`, () => keep(said.filter((one) => one !== name))),
      ),
    ),
    left.length
      ? h(
          "form",
          {
            class: "row wrap",
            "data-key": "soft",
            onsubmit: (event) => {
              event.preventDefault();
              keep([...said, typedIn(event.currentTarget, "part")]);
            },
          },
          h(
            "label",
            {},
            "Part",
            h("select", { name: "part", "data-key": "soft-part" }, choices(left)),
          ),
          h("button", { type: "submit", "data-key": "soft-keep" }, "Let it"),
        )
      : null,
  );
}
