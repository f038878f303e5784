// How a part is made: what it is taken from, its steps in their order, its carving, each in words
// and each to be changed, moved or taken away. One form is open at a time; it holds a draft until
// the server has taken it.

import { get } from "./api.js";
import { focusOn, h, speak } from "./dom.js";
import { icon } from "./icons.js";
import { fieldsOf } from "./stepforms.js";
import { desk, edit, setValue } from "./store.js";

/** @import { FormsAnswer, InWords, Part } from "./answers.d.ts" */
/** @import { Child, Render } from "./elements.d.ts" */
/** @import { FieldContext } from "./stepforms.js" */

/**
 * @typedef {object} Draft what is being made or changed
 * @property {string} part
 * @property {"step" | "carve" | "make"} what
 * @property {number | null} number of the step; none for a new one
 * @property {string | null} seen
 * @property {Record<string, any>} table
 */
/**
 * @callback Begin
 * @param {Draft["what"]} what
 * @param {number | null} number
 * @param {Record<string, any>} table
 */

/** @type {FormsAnswer | null} */
let forms = null;
/** @type {Draft | null} */
let draft = null;

export async function loadForms() {
  forms ??= await get("forms");
}

/** @param {Part} part */
const seenOf = (part) => desk.state.seen.part[part.name]?.step ?? [];

export const closeForm = () => {
  draft = null;
};

// The plan that a part goes back to: its own, or that of what it is made from.
/** @param {Part} part */
export function planOf(part) {
  /** @param {string} name */
  const named = (name) => desk.state.parts.find((one) => one.name === name);
  /** @type {Part | undefined} */
  let root = part;
  for (let k = 0; root?.from && k < desk.state.parts.length; k += 1) root = named(root.from);
  return (
    desk.state.plans.find((plan) => plan.name === root?.plan) ??
    (desk.state.plans.length === 1 ? desk.state.plans[0] : null)
  );
}

/**
 * @param {Part} part
 * @param {Render} render
 */
export function makingOf(part, render) {
  const seen = seenOf(part);
  /**
   * @param {Draft["what"]} what
   * @param {number | null} number
   * @param {Record<string, any>} table
   */
  const begin = (what, number, table) => {
    draft = {
      part: part.name,
      what,
      number,
      seen: number === null ? null : (seen[number] ?? null),
      table: structuredClone(table),
    };
    render();
    focusOn("[data-key=step-form] :is(input, select)");
  };
  const isOpen = draft?.part === part.name;
  /**
   * @param {string} key
   * @param {string} text
   * @param {Render} onclick
   */
  const button = (key, text, onclick) =>
    h(
      "button",
      { type: "button", class: "quiet", "data-key": `${part.name}/${key}`, onclick },
      text,
    );
  return h(
    "section",
    { class: "making", "data-key": `making-${part.name}` },
    h("h3", {}, "How it is made"),
    h("div", { class: "source", "data-key": "source" }, source(part)),
    part.steps.length || part.carve
      ? h(
          "ol",
          { class: "steps" },
          part.steps.map((step, number) => stepLine(part, step, number, begin)),
          part.carve ? carveLine(part, part.carve, begin) : null,
        )
      : null,
    isOpen
      ? null
      : h(
          "div",
          { class: "row wrap" },
          button("add-step", "Add a step", () => begin("step", null, {})),
          part.carve ? null : button("add-carve", "Carve it", () => begin("carve", null, {})),
          button("make-from", "Make a part from it", () => begin("make", null, {})),
        ),
    draft && isOpen && forms ? form(part, draft, forms, render) : null,
  );
}

/** @param {Part} part */
function source(part) {
  if (!part.from)
    return (
      `Taken off ${planOf(part)?.name ?? "the plan"}` +
      (part.pick.length > 1 ? `, ${part.pick.length} shapes` : "") +
      (part.is_corrected ? ", corrected by hand" : "")
    );
  const below = new Set([part.name]);
  for (const one of [...desk.state.parts, ...desk.state.parts])
    if (one.from && below.has(one.from)) below.add(one.name);
  return h(
    "label",
    { class: "inline" },
    "Made from ",
    h(
      "select",
      {
        value: part.from,
        "data-key": `${part.name}/from`,
        onchange: (event) => setValue(["part", part.name, "from"], event.currentTarget.value),
      },
      desk.state.parts
        .filter((one) => !one.piece_of && !below.has(one.name))
        .map((one) => h("option", { value: one.name }, one.name)),
    ),
  );
}

/**
 * @param {Part} part
 * @param {InWords} step
 * @param {number} number
 * @param {Begin} begin
 */
function stepLine(part, { text, table }, number, begin) {
  /** @param {string} what */
  const key = (what) => `${part.name}/${what}-${number}`;
  const seen = seenOf(part);
  /** @param {number} to */
  const move = async (to) => {
    if (
      await edit({
        kind: "move",
        at: ["part", part.name, "step", number],
        seen: seen[number],
        to,
        past: seen[to],
      })
    )
      speak(`Step ${to + 1} now: ${text}`);
  };
  /**
   * @param {string} what
   * @param {string} label
   * @param {Child} shown
   * @param {Render} onclick
   * @param {boolean} isOff
   */
  const small = (what, label, shown, onclick, isOff = false) =>
    h(
      "button",
      {
        type: "button",
        class: "quiet",
        "data-key": key(what),
        "aria-label": `${label}: ${text}`,
        title: label,
        disabled: isOff,
        onclick,
      },
      shown,
    );
  return h(
    "li",
    { "data-key": key("step") },
    h("span", {}, text),
    h(
      "span",
      { class: "tools" },
      small("change", "Change this step", icon("pencil"), () => begin("step", number, table)),
      part.steps.length > 1
        ? small("earlier", "Do it earlier", "↑", () => move(number - 1), number === 0)
        : null,
      part.steps.length > 1
        ? small(
            "later",
            "Do it later",
            "↓",
            () => move(number + 1),
            number === part.steps.length - 1,
          )
        : null,
      small("drop", "Take this step away", icon("bin"), () => {
        draft = null;
        setValue(["part", part.name, "step", number], null, seen[number]);
      }),
    ),
  );
}

/**
 * @param {Part} part
 * @param {InWords} carve
 * @param {Begin} begin
 */
function carveLine(part, { text, table }, begin) {
  /**
   * @param {string} what
   * @param {string} label
   * @param {Child} shown
   * @param {Render} onclick
   */
  const small = (what, label, shown, onclick) =>
    h(
      "button",
      {
        type: "button",
        class: "quiet",
        "data-key": `${part.name}/${what}`,
        "aria-label": label,
        title: label,
        onclick,
      },
      shown,
    );
  return h(
    "li",
    { class: "carved", "data-key": `${part.name}/carve` },
    h("span", {}, text),
    h(
      "span",
      { class: "tools" },
      small("change-carve", "Change the carving", icon("pencil"), () =>
        begin("carve", null, table),
      ),
      small("drop-carve", "Leave it flat", icon("bin"), () => {
        draft = null;
        setValue(["part", part.name, "carve"], null);
      }),
    ),
  );
}

/**
 * @param {Part} part
 * @param {Draft} now
 * @param {FormsAnswer} forms
 * @param {Render} render
 */
function form(part, now, forms, render) {
  const { what, table, number } = now;
  const leave = () => {
    draft = null;
    render();
  };
  /** @param {SubmitEvent} event */
  const keep = async (event) => {
    event.preventDefault();
    const held = now;
    if ((await keepDraft(part, held)) && draft === held) leave();
  };
  const words = {
    step: number === null ? "A step more" : `Step ${number + 1}`,
    carve: "Carved to a section",
    make: `A part made from ${part.name}`,
  }[what];
  return h(
    "form",
    {
      class: "slate",
      "data-key": "step-form",
      onsubmit: keep,
      onkeydown: (event) => {
        if (event.key === "Escape") leave();
      },
    },
    h("h4", {}, words),
    what === "step"
      ? stepFields(part, now, forms, render)
      : what === "carve"
        ? h("div", { class: "stack" }, fieldsOf(forms.carve, context(part, now, render)))
        : makeFields(part, now, render),
    h(
      "div",
      { class: "row wrap" },
      h(
        "button",
        {
          class: "main",
          type: "submit",
          "data-key": "step-keep",
          disabled: what === "step" && !table.make,
        },
        what === "make" ? "Make it" : "Keep it",
      ),
      h("button", { type: "button", "data-key": "step-leave", onclick: leave }, "Leave it"),
    ),
  );
}

/**
 * @param {Part} part
 * @param {Draft} draft
 * @param {Render} render
 * @returns {FieldContext}
 */
const context = (part, draft, render) => ({
  table: draft.table,
  plan: planOf(part),
  part: part.name,
  changed: render,
});

/**
 * @param {Part} part
 * @param {Draft} draft
 */
function keepDraft(part, { what, number, seen, table }) {
  if (what === "carve") return setValue(["part", part.name, "carve"], table);
  if (what === "make") return setValue(["part", null], { ...table, from: part.name });
  return setValue(["part", part.name, "step", number], table, seen);
}

/**
 * @param {Part} part
 * @param {Draft} draft
 * @param {FormsAnswer} forms
 * @param {Render} render
 */
function stepFields(part, draft, forms, render) {
  const chosen = forms.steps.find((one) => one.make === draft.table.make);
  const kinds = [...forms.steps].sort((one, other) => one.title.localeCompare(other.title));
  return h(
    "div",
    { class: "stack" },
    h(
      "label",
      {},
      "What is done",
      h(
        "select",
        {
          "data-key": "step-make",
          value: draft.table.make ?? "",
          onchange: (event) => {
            draft.table = { make: event.currentTarget.value };
            render();
          },
        },
        draft.table.make ? null : h("option", { value: "" }, "choose one"),
        kinds.map(({ make, title }) => h("option", { value: make }, title)),
      ),
    ),
    chosen ? fieldsOf(chosen.fields, context(part, draft, render)) : null,
    chosen && !chosen.fields.length ? h("p", { class: "hint" }, "Nothing more is asked.") : null,
  );
}

/**
 * @param {Part} part
 * @param {Draft} draft
 * @param {Render} render
 */
function makeFields(part, draft, render) {
  /**
   * @param {string} key
   * @param {string} label
   * @param {Record<string, unknown>} more
   */
  const field = (key, label, more) =>
    h(
      "label",
      {},
      label,
      h("input", {
        value: draft.table[key] ?? "",
        "data-key": `make-${key}`,
        autocomplete: "off",
        oninput: (event) => {
          draft.table[key] = event.currentTarget.value.trim() || undefined;
          render();
        },
        ...more,
      }),
    );
  return h(
    "div",
    { class: "stack" },
    h(
      "p",
      { class: "hint" },
      "It begins as a copy, follows every change of this part, and takes steps of its own: a " +
        "doubler, the other hand, a smaller one.",
    ),
    field("name", "Its name", { required: true, placeholder: `${part.name} doubler` }),
    h(
      "div",
      { class: "fields" },
      field("material", "Material", {
        list: "materials",
        placeholder: `${part.material ?? ""}, as this one`,
      }),
      field("thickness", "Thickness", { placeholder: "as this one" }),
    ),
  );
}
