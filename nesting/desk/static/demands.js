// What a part asks of its board: how it is bent, whether it must stay flat, how light or heavy,
// what it may be instead.

import { h, sent, slip, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { desk, setValue } from "./store.js";

/** @import { Part } from "./answers.d.ts" */
/** @import { Setter } from "./store.js" */

const LOADED = [
  ["flatwise", "flatwise, across its face"],
  ["edgewise", "edgewise, on its edge"],
];
const USES = [
  ["any", "anything"],
  ["bends", "be bent round something"],
  ["flat", "stay flat"],
];

const CUTS = ["quarter", "mixed", "tangential"];

/**
 * @param {Part} part
 * @param {Setter} set
 */
export function demandsOf(part, set) {
  /** @param {string} name */
  const key = (name) => `${part.name}/${name}`;
  const said = [
    part.loaded !== "flatwise",
    part.use !== "any",
    part.flat_mm !== null,
    part.density_kg_m3 !== null,
    part.least_stiffness_mpa !== null,
    part.cuts.length > 0,
    part.boards.length > 0,
    part.substitutes.length > 0,
  ].filter(Boolean).length;
  /**
   * @param {"loaded" | "use"} field
   * @param {string} label
   * @param {string[][]} choices
   */
  const choice = (field, label, choices) =>
    h(
      "label",
      {},
      label,
      h(
        "select",
        {
          value: part[field],
          "data-key": key(field),
          onchange: (event) => set(field, event.currentTarget.value),
        },
        choices.map(([value, text]) => h("option", { value }, text)),
      ),
    );
  return h(
    "details",
    { class: "making", "data-key": key("demands-box") },
    h(
      "summary",
      { "data-key": key("demands") },
      `What its board must give${said ? ` (${said})` : ""}`,
    ),
    h(
      "div",
      { class: "fields" },
      choice("loaded", "In the model it is bent", LOADED),
      choice("use", "It is to", USES),
      h(
        "label",
        {},
        "Bow of the board, at most",
        h("input", {
          value: format.lengthField(part.flat_mm),
          placeholder: "any",
          "data-key": key("flat"),
          autocomplete: "off",
          onchange: (event) => set("flat", event.currentTarget.value.trim() || null),
        }),
      ),
      h(
        "label",
        {},
        "As stiff as wood of",
        h("input", {
          value: format.stiffnessField(part.least_stiffness_mpa),
          placeholder: "any",
          "data-key": key("least_stiffness"),
          autocomplete: "off",
          onchange: (event) => set("least_stiffness", event.currentTarget.value.trim() || null),
        }),
      ),
    ),
    density(part, set, key),
    ticked(
      part,
      set,
      key,
      "cuts",
      "Grain cuts that suit it",
      CUTS,
      "Nothing ticked: those of what it is to do.",
    ),
    ticked(
      part,
      set,
      key,
      "boards",
      "Only from these boards",
      boardsOf(part),
      "Nothing ticked: any that gives what it asks for.",
    ),
    substitutes(part, key),
  );
}

// Boards that the part names and the rack has no more are shown, so that they can be taken away.
/** @param {Part} part */
const boardsOf = (part) => [
  ...new Set([...desk.state.boards.map((one) => one.name), ...part.boards]),
];

/**
 * @param {Part} part
 * @param {Setter} set
 * @param {(name: string) => string} key
 * @param {"cuts" | "boards"} field
 * @param {string} title
 * @param {string[]} choices
 * @param {string} hint
 */
function ticked(part, set, key, field, title, choices, hint) {
  /**
   * @param {string} name
   * @param {boolean} isOn
   */
  const change = (name, isOn) => {
    const kept = choices.filter((one) => (one === name ? isOn : part[field].includes(one)));
    set(field, kept.length ? kept : null);
  };
  return h(
    "fieldset",
    { class: "rows" },
    h("legend", {}, title),
    h("p", { class: "hint" }, hint),
    h(
      "div",
      { class: "row wrap" },
      choices.map((name) =>
        h(
          "label",
          { class: "check" },
          h("input", {
            type: "checkbox",
            checked: part[field].includes(name),
            "data-key": key(`${field}-${name}`),
            onchange: (event) => change(name, event.currentTarget.checked),
          }),
          name,
        ),
      ),
    ),
  );
}

/**
 * @param {Part} part
 * @param {Setter} set
 * @param {(name: string) => string} key
 */
function density(part, set, key) {
  const [least, most] = part.density_kg_m3 ?? [null, null];
  /**
   * @param {string} name
   * @param {string} label
   * @param {number | null} value
   */
  const field = (name, label, value) =>
    h(
      "label",
      {},
      label,
      h("input", {
        name,
        value: format.densityField(value),
        placeholder: "any",
        "data-key": key(`density-${name}`),
        autocomplete: "off",
      }),
    );
  return h(
    "form",
    {
      class: "fields",
      "data-key": key("density"),
      onsubmit: (event) => {
        event.preventDefault();
        const form = event.currentTarget;
        const ends = [
          format.typedDensity(typedIn(form, "least"), least),
          format.typedDensity(typedIn(form, "most"), most),
        ];
        if (ends.filter(Boolean).length === 1)
          slip("Give both the least and the greatest density, or neither.", "fault");
        else set("density", ends[0] ? ends : null);
      },
    },
    field("least", "Density, at least", least),
    field("most", "at most", most),
    h("button", { type: "submit", "data-key": key("density-keep") }, "Set the density"),
  );
}

/**
 * @param {Part} part
 * @param {(name: string) => string} key
 */
function substitutes(part, key) {
  const at = ["part", part.name, "substitutes"];
  const seen = desk.state.seen.part[part.name]?.substitutes ?? [];
  return h(
    "fieldset",
    { class: "rows" },
    h("legend", {}, "May be cut from instead"),
    h(
      "ul",
      { class: "plain" },
      part.substitutes.map((one, number) =>
        h(
          "li",
          { class: "row" },
          h("span", {}, `${one.material}, ${format.lengthField(one.thickness_mm)}`),
          h(
            "button",
            {
              type: "button",
              class: "quiet",
              "aria-label":
                `Take away as a substitute: ${one.material}, ` +
                `${format.lengthField(one.thickness_mm)}`,
              "data-key": key(`substitute-drop-${number}`),
              onclick: () => setValue([...at, number], null, seen[number]),
            },
            icon("bin"),
          ),
        ),
      ),
    ),
    h(
      "form",
      {
        class: "fields",
        "data-key": key("substitute"),
        onsubmit: async (event) => {
          event.preventDefault();
          const form = event.currentTarget;
          const [material, thickness] = ["material", "thickness"].map((name) =>
            typedIn(form, name),
          );
          const was = sent(form);
          if (await setValue([...at, null], { material, thickness })) was.empty();
        },
      },
      h(
        "label",
        {},
        "Material",
        h("input", {
          name: "material",
          required: true,
          list: "materials",
          "data-key": key("substitute-material"),
          autocomplete: "off",
        }),
      ),
      h(
        "label",
        {},
        "Thickness",
        h("input", {
          name: "thickness",
          required: true,
          placeholder: format.hint("0.8 mm", "1/32 in"),
          "data-key": key("substitute-thickness"),
          autocomplete: "off",
        }),
      ),
      h("button", { type: "submit", "data-key": key("substitute-keep") }, "Add it"),
    ),
  );
}
