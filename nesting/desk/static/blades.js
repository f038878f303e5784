// The saw blades at hand: which of them turns a part's tightest curve is written on its pattern.

import { h, sent, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { desk, setValue } from "./store.js";

/** @import { BladeTable } from "./answers.d.ts" */

/** @type {["width" | "thickness" | "kerf", string, [string, string]][]} */
const SIZES = [
  ["width", "Width", ["1.2 mm", "0.05 in"]],
  ["thickness", "Thickness", ["0.4 mm", "0.016 in"]],
  ["kerf", "Width of its cut", ["0.5 mm", "0.02 in"]],
];

/** @param {BladeTable[]} blades */
export function bladesForm(blades) {
  /** @param {BladeTable} one */
  const words = (one) =>
    `${format.lengthField(one.width)} wide, ${format.lengthField(one.thickness)} thick, cuts ` +
    `${format.lengthField(one.kerf)}, ${one.teeth} teeth per inch`;
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "Saw blades at hand"),
    blades.length ? null : h("p", { class: "hint" }, "None is given: the common sizes are taken."),
    h(
      "ul",
      { class: "plain" },
      blades.map((one, number) =>
        blade(one, number, desk.state.seen.pattern?.blade[number], words(one)),
      ),
    ),
    h(
      "form",
      {
        class: "grid",
        "data-key": "blade-new",
        onsubmit: async (event) => {
          event.preventDefault();
          const form = event.currentTarget;
          const values = Object.fromEntries(SIZES.map(([name]) => [name, typedIn(form, name)]));
          const was = sent(form);
          if (
            await setValue(["pattern", "blade", null], {
              ...values,
              teeth: Number(typedIn(form, "teeth")),
            })
          )
            was.empty();
        },
      },
      SIZES.map(([name, label, hint]) =>
        h(
          "label",
          {},
          label,
          h("input", {
            name,
            required: true,
            placeholder: format.hint(...hint),
            "data-key": `blade-${name}`,
            autocomplete: "off",
          }),
        ),
      ),
      h(
        "label",
        {},
        "Teeth per inch",
        h("input", {
          name: "teeth",
          type: "number",
          min: 1,
          step: "any",
          required: true,
          "data-key": "blade-teeth",
        }),
      ),
      h("button", { type: "submit", "data-key": "blade-keep" }, "Add the blade"),
    ),
  );
}

/**
 * @param {BladeTable} one
 * @param {number} number
 * @param {string} seen
 * @param {string} words
 */
function blade(one, number, seen, words) {
  const exact = {
    width: format.exactLength(one.width),
    thickness: format.exactLength(one.thickness),
    kerf: format.exactLength(one.kerf),
    teeth: one.teeth,
  };
  /** @param {Record<string, unknown>} more */
  const put = (more) => setValue(["pattern", "blade", number], { ...exact, ...more }, seen);
  return h(
    "li",
    { class: "grid", "data-key": `blade-row-${number}` },
    SIZES.map(([name, label]) =>
      h(
        "label",
        {},
        label,
        h("input", {
          value: format.lengthField(one[name]),
          required: true,
          "data-key": `blade-${name}-${number}`,
          autocomplete: "off",
          onchange: (event) => put({ [name]: event.currentTarget.value.trim() || exact[name] }),
        }),
      ),
    ),
    h(
      "label",
      {},
      "Teeth per inch",
      h("input", {
        type: "number",
        min: 1,
        step: "any",
        value: one.teeth,
        "data-key": `blade-teeth-${number}`,
        onchange: (event) => put({ teeth: Number(event.currentTarget.value) || one.teeth }),
      }),
    ),
    h(
      "button",
      {
        type: "button",
        class: "quiet",
        "data-key": `blade-drop-${number}`,
        "aria-label": `Take the blade away: ${words}`,
        onclick: () => setValue(["pattern", "blade", number], null, seen),
      },
      icon("bin"),
    ),
  );
}
