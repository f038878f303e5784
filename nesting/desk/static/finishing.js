// What is put on the wood: coats on the faces of parts, and glue in joints. Both weigh, and both
// move the balance.

import { focusOn, h, sent, slip, speak, tickedIn, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { desk, setValue } from "./store.js";

/** @import { Finish, Joint } from "./answers.d.ts" */
/** @import { Child } from "./elements.d.ts" */

/** @typedef {"both" | "top" | "bottom" | "edges"} Face */
/** @typedef {"finish" | "joint"} Kind */
/** @typedef {Finish | Joint} Put */

/** @type {[Face, string][]} */
const FACES = [
  ["both", "Both faces"],
  ["top", "Top only"],
  ["bottom", "Bottom only"],
  ["edges", "Edges"],
];
// The entry that a form is changing, by the form's name, as it was told; none while it adds one.
// Entries have no name of their own, and one before it may be taken away meanwhile.
/** @type {Map<Kind, Put>} */
const changing = new Map();
/**
 * @param {unknown} one
 * @param {unknown} other
 */
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

const again = () => document.dispatchEvent(new CustomEvent("show-again"));
// A name may hold a comma: what nobody changed is kept as it is.
/**
 * @param {string} text
 * @param {string[] | undefined} kept
 */
const coatsOf = (text, kept) => (kept && text === kept.join(", ") ? kept : listed(text));
/** @param {string} text */
const listed = (text) =>
  text
    .split(",")
    .map((one) => one.trim())
    .filter(Boolean);

export function finishingSection() {
  const { finishes, joints } = desk.state.balance;
  return h(
    "details",
    { "data-key": "finishing-box" },
    h(
      "summary",
      { "data-key": "finishing" },
      `Covering, paint and glue (${finishes.length + joints.length})`,
    ),
    h("div", { class: "grid-two" }, finishPart(), jointPart()),
    h(
      "p",
      { class: "hint" },
      "Sand, dope, paint and glue where air moves, with a mask that suits the dust or fumes, " +
        "and as the maker’s safety sheet says.",
    ),
  );
}

// A list of entries, each to be changed or removed, above the form that adds one.
/**
 * @template {Put} P
 * @param {Kind} name
 * @param {P[]} entries
 * @param {(one: P) => string} words
 */
function kept(name, entries, words) {
  const { seen } = desk.state;
  /**
   * @param {P} one
   * @param {number} number
   */
  const drop = async (one, number) => {
    if (
      (await setValue([name, number], null, seen[name]?.[number])) &&
      same(changing.get(name), one)
    )
      changing.delete(name);
    again();
  };
  /** @param {P} one */
  const change = (one) => {
    changing.set(name, one);
    again();
    focusOn(`[data-key=${name}-form] input`);
    speak(`Changing ${words(one)}`);
  };
  return h(
    "ul",
    { class: "plain" },
    entries.map((one, number) =>
      h(
        "li",
        { class: "row" },
        h("span", {}, words(one)),
        h(
          "button",
          {
            type: "button",
            class: "quiet",
            "data-key": `${name}-change-${number}`,
            "aria-label": `Change: ${words(one)}`,
            onclick: () => change(one),
          },
          icon("pencil"),
        ),
        h(
          "button",
          {
            type: "button",
            class: "quiet",
            "data-key": `${name}-drop-${number}`,
            "aria-label": `Take away: ${words(one)}`,
            onclick: () => drop(one, number),
          },
          icon("bin"),
        ),
      ),
    ),
  );
}

/**
 * @template {Put} P
 * @param {Kind} name
 * @param {string} what
 * @param {P[]} entries
 * @param {(one: P) => string} words
 * @param {Child} fields
 * @param {(value: (field: string) => string) => Record<string, unknown>} wanted
 */
function entryForm(name, what, entries, words, fields, wanted) {
  const now = /** @type {P | null} */ (changing.get(name) ?? null);
  const number = now ? entries.findIndex((one) => same(one, now)) : null;
  const seen = number === null ? null : desk.state.seen[name][number];
  const leave = () => {
    changing.delete(name);
    again();
    focusOn(`[data-key="${name}-keep"]`);
  };
  return h(
    "div",
    { "data-key": `${name}-form` },
    h(
      "form",
      {
        "data-key": now ? JSON.stringify(now) : "new",
        onkeydown: (event) => {
          if (event.key === "Escape" && now) leave();
        },
        onsubmit: async (event) => {
          event.preventDefault();
          const form = event.currentTarget;
          const value = (/** @type {string} */ field) => typedIn(form, field);
          const parts = tickedIn(form, "part");
          if (!parts.length) return slip(`Tick the parts that the ${what} is for.`, "fault");
          if (number === -1)
            return slip(
              `This ${what} was changed or taken away meanwhile; leave it, and change what is ` +
                `listed now.`,
              "fault",
            );
          const was = sent(form);
          if (!(await setValue([name, number], { parts, ...wanted(value) }, seen))) return;
          const isOver = (changing.get(name) ?? null) === now && (now || was.isAsSent());
          was.empty();
          if (isOver) leave();
        },
      },
      now ? h("p", { class: "hint" }, `Changing ${words(now)}`) : null,
      h(
        "fieldset",
        {},
        h("legend", {}, "Parts"),
        h(
          "div",
          { class: "row wrap" },
          names(now).map((part) =>
            h(
              "label",
              { class: "check" },
              h("input", {
                type: "checkbox",
                name: "part",
                value: part,
                checked: now?.parts.includes(part) ?? false,
                "data-key": `${name}-${part}`,
              }),
              part,
            ),
          ),
        ),
      ),
      h("div", { class: "grid" }, fields),
      h(
        "div",
        { class: "row" },
        h(
          "button",
          { type: "submit", "data-key": `${name}-keep` },
          now ? `Keep the ${what}` : `Add the ${what}`,
        ),
        now
          ? h(
              "button",
              { type: "button", class: "quiet", "data-key": `${name}-leave`, onclick: leave },
              "Leave it as it was",
            )
          : null,
      ),
    ),
  );
}

// The job's parts, and what an entry names beside them: one that is gone.
/** @param {{ parts: string[] } | null} now */
function names(now) {
  const own = desk.state.parts.filter((part) => !part.piece_of).map((part) => part.name);
  return [...own, ...(now?.parts ?? []).filter((name) => !own.includes(name))];
}

function finishPart() {
  const { finishes, coats } = desk.state.balance;
  const now = /** @type {Finish | null} */ (changing.get("finish") ?? null);
  /** @param {Finish} one */
  const words = (one) => {
    const coated = FACES.filter(([face]) => one[face].length).map(
      ([face, label]) => `${label.toLowerCase()} ${one[face].join(", ")}`,
    );
    const sanded = one.sanding_mm
      ? [`${format.length(one.sanding_mm, 2)} sanded off each face`]
      : [];
    return `${one.parts.join(" + ")}: ${[...coated, ...sanded].join("; ")}`;
  };
  const fields = [
    ...FACES.map(([face, label]) => coatField(face, label, now, coats)),
    h(
      "label",
      {},
      "Sanded off each face",
      h("input", {
        name: "sanding",
        value: now?.sanding_mm ? format.lengthField(now.sanding_mm) : "",
        placeholder: format.hint("0.1 mm", "0.004 in"),
        "data-key": "finish-sanding",
        autocomplete: "off",
      }),
    ),
  ];
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "On the faces"),
    kept("finish", finishes, words),
    entryForm("finish", "finish", finishes, words, fields, (value) => ({
      ...Object.fromEntries(FACES.map(([face]) => [face, coatsOf(value(face), now?.[face])])),
      sanding: format.typedLength(value("sanding"), now?.sanding_mm || null),
    })),
  );
}

// Coats in the order in which they go on; each name once for each coat.
/**
 * @param {Face} face
 * @param {string} label
 * @param {Finish | null} now
 * @param {string[]} coats
 */
function coatField(face, label, now, coats) {
  return h(
    "div",
    {},
    h(
      "label",
      {},
      label,
      h("input", {
        name: face,
        value: now?.[face].join(", ") ?? "",
        placeholder: face === "both" ? "tissue, dope, dope" : "bare",
        "data-key": `finish-${face}`,
        autocomplete: "off",
      }),
    ),
    h(
      "div",
      { class: "row" },
      h(
        "select",
        {
          value: coats[0],
          name: `${face}-coat`,
          "aria-label": `A coat to add: ${label}`,
          "data-key": `finish-${face}-coat`,
        },
        coats.map((coat) => h("option", { value: coat }, coat)),
      ),
      h(
        "button",
        {
          type: "button",
          "data-key": `finish-${face}-add`,
          "aria-label": `Add the coat: ${label}`,
          onclick: (event) => {
            const form = /** @type {HTMLFormElement} */ (event.currentTarget.form);
            const input = /** @type {HTMLInputElement} */ (form.elements.namedItem(face));
            input.value = [...listed(input.value), typedIn(form, `${face}-coat`)].join(", ");
            speak(`${label}: ${input.value}`);
          },
        },
        "Add",
      ),
    ),
  );
}

function jointPart() {
  const { joints, glues } = desk.state.balance;
  const now = /** @type {Joint | null} */ (changing.get("joint") ?? null);
  /** @param {Joint} one */
  const words = (one) =>
    `${one.name}: ${one.parts.join(" to ")}, ${one.glue}, ` +
    `${format.lengthField(one.length_mm)} by ${format.lengthField(one.width_mm)}`;
  /**
   * @param {"length" | "width"} name
   * @param {string} label
   * @param {[string, string]} hint
   */
  const sizeField = (name, label, hint) =>
    h(
      "label",
      {},
      label,
      h("input", {
        name,
        value: format.lengthField(now?.[`${name}_mm`]),
        required: true,
        placeholder: format.hint(...hint),
        "data-key": `joint-${name}`,
        autocomplete: "off",
      }),
    );
  const fields = [
    h(
      "label",
      {},
      "Called",
      h("input", {
        name: "name",
        value: now?.name ?? "",
        required: true,
        placeholder: "wing to fuselage",
        "data-key": "joint-name",
        autocomplete: "off",
      }),
    ),
    h(
      "label",
      {},
      "Glue",
      h(
        "select",
        { name: "glue", value: now?.glue ?? glues[0], "data-key": "joint-glue" },
        glues.map((glue) => h("option", { value: glue }, glue)),
      ),
    ),
    sizeField("length", "Glued along", ["120 mm", "4 3/4 in"]),
    sizeField("width", "by a width of", ["3 mm", "1/8 in"]),
  ];
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "In the joints"),
    kept("joint", joints, words),
    entryForm("joint", "joint", joints, words, fields, (value) => ({
      name: value("name"),
      glue: value("glue"),
      length: format.typedLength(value("length"), now?.length_mm),
      width: format.typedLength(value("width"), now?.width_mm),
    })),
  );
}
