// Fields of a step or a carving, built from the forms that the server reads off the job file's own
// schema. A field changes the draft that it is given; what may stand in it, the server says when
// the draft is kept.

import { h } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { pickPoint } from "./picker.js";
import { desk } from "./store.js";

/** @import { FormField, Plan } from "./answers.d.ts" */
/** @import { Attributes, Child, Render } from "./elements.d.ts" */

/**
 * @typedef {object} FieldContext what a form changes, and what its fields are picked from
 * @property {Record<string, any>} table
 * @property {Plan | null} plan
 * @property {string} part
 * @property {Render} changed
 */
/**
 * What a place is shown by. What stands in a field is whatever the job file takes there.
 * @typedef {object} PlaceShown
 * @property {string} name
 * @property {string} label
 * @property {any} value
 * @property {(value: any) => void} put
 * @property {Plan | null} plan
 * @property {boolean} is_needed
 */
/** @typedef {FormField & PlaceShown & { part: string }} FieldShown */
/** @typedef {{ readonly currentTarget: HTMLInputElement | HTMLSelectElement }} Typed */

/** @returns {Record<string, string>} */
const hints = () => ({
  length: format.hint("3 mm", "1/8 in"),
  angle: "1.5 deg",
  mass: format.hint("0.5 g", "1/50 oz"),
  share: "30 %",
  number: "a number",
});

// A value that holds where none is given, in the job's units: the server tells lengths in mm and
// masses in g.
/**
 * @param {string} kind
 * @param {string} standing
 */
function standingIn(kind, standing) {
  if (kind === "length") return format.lengthField(Number.parseFloat(standing));
  return kind === "mass" ? format.massField(Number.parseFloat(standing)) : standing;
}

// Every field of a form. `context` has the draft's `table`, the `plan` that places are picked on,
// and `changed`.
/**
 * @param {FormField[]} fields
 * @param {FieldContext} context
 */
export const fieldsOf = (fields, context) => fields.map((field) => fieldOf(field, context));

/**
 * @param {FormField} field
 * @param {FieldContext} context
 */
function fieldOf(field, { table, plan, changed, part }) {
  const { key, kind } = field;
  /** @param {unknown} value */
  const put = (value) => {
    if (isEmpty(value)) delete table[key];
    else table[key] = value;
    changed();
  };
  const control = CONTROLS[kind] ?? typed;
  return control({
    ...field,
    name: `field-${key}`,
    value: table[key],
    put,
    plan,
    part,
    label: field.is_needed ? field.label : `${field.label} (if any)`,
  });
}

/** @param {unknown} value */
const isEmpty = (value) =>
  value === undefined || value === null || value === "" || (Array.isArray(value) && !value.length);

/**
 * @param {string} key
 * @param {Attributes<HTMLInputElement>} attributes
 */
const entry = (key, attributes) =>
  h("input", { "data-key": key, autocomplete: "off", ...attributes });

/**
 * @param {string} name
 * @param {string} label
 * @param {...Child} fields
 */
const group = (name, label, ...fields) =>
  h("fieldset", { class: "rows", "data-key": name }, h("legend", {}, label), fields);

/**
 * @param {string} key
 * @param {(string | [string, string])[]} options each as it is shown, or what it is and its words
 * @param {Attributes<HTMLSelectElement>} attributes
 */
const select = (key, options, attributes) =>
  h(
    "select",
    { "data-key": key, ...attributes },
    options
      .map((one) => (typeof one === "string" ? [one, one] : one))
      .map(([one, shown]) => h("option", { value: one }, shown)),
  );

/** @param {FieldShown} field */
function typed({ name, kind, label, value, put, is_needed: isNeeded, default: standing }) {
  const hint = standing ? `${standingIn(kind, standing)} if left empty` : hints()[kind];
  /** @param {string} text */
  const read = (text) =>
    kind === "number" && text !== "" && Number.isFinite(Number(text)) ? Number(text) : text;
  return h(
    "label",
    {},
    standing ? label.replace(" (if any)", "") : label,
    entry(name, {
      value: value ?? "",
      placeholder: hint,
      required: isNeeded,
      list: /material/.test(name) ? "materials" : null,
      oninput: (event) => put(read(event.currentTarget.value.trim())),
    }),
  );
}

/** @param {FieldShown} field */
function choice({ name, label, value, put, choices, default: standing, is_needed: isNeeded }) {
  return h(
    "label",
    {},
    label.replace(" (if any)", ""),
    select(
      name,
      isNeeded && value === undefined
        ? [["", "choose one"], ...choices.map(String)]
        : choices.map(String),
      {
        required: isNeeded,
        value: String(value ?? standing ?? ""),
        onchange: (event) => put(choices.find((one) => String(one) === event.currentTarget.value)),
      },
    ),
  );
}

/** @param {FieldShown} field */
function yes({ name, label, value, put }) {
  return h(
    "label",
    { class: "check" },
    h("input", {
      type: "checkbox",
      checked: Boolean(value),
      "data-key": name,
      onchange: (event) => put(event.currentTarget.checked || null),
    }),
    label.replace(" (if any)", ""),
  );
}

// A place: by its station and height, or picked on the plan.
/** @param {PlaceShown} field */
function place({ name, label, value, put, plan, is_needed: isNeeded }) {
  const pick = h(
    "button",
    {
      type: "button",
      "data-key": `${name}-pick`,
      disabled: !plan,
      "aria-label": `Pick on the plan: ${label}`,
      onclick: (event) =>
        plan &&
        pickPoint(
          plan,
          label,
          Array.isArray(value) ? [value[0], value[1]] : null,
          put,
          event.currentTarget,
        ),
    },
    icon("aim"),
    "Pick",
  );
  if (Array.isArray(value)) {
    const [x, y, file] = value;
    return h(
      "fieldset",
      { class: "place", "data-key": name },
      h("legend", {}, label),
      h(
        "div",
        { class: "row wrap" },
        h(
          "span",
          { class: "pencil" },
          `pixel ${Math.round(x)}, ${Math.round(y)}${file ? ` of file ${file}` : ""}`,
        ),
        pick,
        h(
          "button",
          {
            type: "button",
            class: "quiet",
            "data-key": `${name}-typed`,
            onclick: () => put(undefined),
          },
          "by station instead",
        ),
      ),
    );
  }
  /** @param {"station" | "height"} key */
  const set = (key) => (/** @type {Typed} */ event) => {
    const next = { ...value, [key]: event.currentTarget.value.trim() };
    if (!next.height) delete next.height;
    put(next.station || next.height ? next : undefined);
  };
  return h(
    "fieldset",
    { class: "place", "data-key": name },
    h("legend", {}, label),
    h(
      "div",
      { class: "row" },
      h(
        "label",
        {},
        "Station",
        entry(`${name}-station`, {
          value: value?.station ?? "",
          placeholder: format.hint("38 mm", "1 1/2 in"),
          required: isNeeded,
          oninput: set("station"),
        }),
      ),
      h(
        "label",
        {},
        "Height",
        entry(`${name}-height`, {
          value: value?.height ?? "",
          placeholder: format.lengthField(0),
          oninput: set("height"),
        }),
      ),
      pick,
    ),
  );
}

/** @param {FieldShown} field */
function line({ name, label, ends, value, put, plan, is_needed: isNeeded }) {
  /** @type {any[]} */
  const held = value ?? [];
  /** @param {number} k */
  const set = (k) => (/** @type {any} */ point) => {
    const next = [held[0] ?? null, held[1] ?? null];
    next[k] = point ?? null;
    put(next[0] || next[1] ? next : null);
  };
  return group(
    name,
    label,
    [0, 1].map((k) =>
      place({
        name: `${name}-${k}`,
        label: capital(ends[k]),
        value: held[k] ?? undefined,
        put: set(k),
        plan,
        is_needed: isNeeded,
      }),
    ),
  );
}

// Rows that can be added and taken away, each made by `row` from what it holds.
/**
 * @param {FieldShown} field
 * @param {object} kind
 * @param {null | ""} kind.empty what a row holds that was just added
 * @param {string} kind.what
 * @param {(held: number) => string} kind.more
 * @param {(rows: HTMLElement[]) => Child} kind.around
 * @param {(one: any, k: number, put: (value: any) => void) => Child} kind.row
 */
function several(
  { name, label, value, put, is_needed: isNeeded },
  { empty, what, more, around, row },
) {
  /** @type {any[]} */
  const held = value ?? (isNeeded ? [empty] : []);
  const rows = held.map((one, k) =>
    h(
      "div",
      { class: "row", "data-key": `${name}-row-${k}` },
      row(one, k, (next) => put(held.map((old, i) => (i === k ? next : old)))),
      held.length > 1 || !isNeeded
        ? away(`${name}-drop-${k}`, `Take ${what} ${k + 1} away`, () =>
            put(held.filter((_, i) => i !== k)),
          )
        : null,
    ),
  );
  return group(
    name,
    label,
    around(rows),
    h(
      "button",
      {
        type: "button",
        class: "quiet",
        "data-key": `${name}-more`,
        onclick: () => put([...held, empty]),
      },
      more(held.length),
    ),
  );
}

/** @param {FieldShown} field */
const places = (field) =>
  several(field, {
    empty: null,
    what: "place",
    more: (held) => (held ? "Another place" : "Add a place"),
    around: (rows) => rows,
    row: (one, k, put) =>
      place({
        name: `${field.name}-${k}`,
        label: `Place ${k + 1}`,
        value: one ?? undefined,
        put: (point) => put(point ?? null),
        plan: field.plan,
        is_needed: field.is_needed,
      }),
  });

/** @param {FieldShown} field */
const lengths = (field) =>
  several(field, {
    empty: "",
    what: "number",
    more: () => "Add one",
    around: (rows) => h("div", { class: "row wrap" }, rows),
    row: (one, k, put) =>
      entry(`${field.name}-${k}`, {
        class: "brief",
        value: one ?? "",
        "aria-label": `${field.label}, number ${k + 1}`,
        placeholder: format.hint("3 mm", "1/8 in"),
        oninput: (event) => put(event.currentTarget.value.trim()),
      }),
  });

/** @param {FieldShown} field */
function two({ name, kind, label, value, put, is_needed: isNeeded, default: standing }) {
  /** @type {any[]} */
  const held = value ?? ["", ""];
  /** @param {string} text */
  const read = (text) => (kind === "two counts" && /^\d+$/.test(text) ? Number(text) : text);
  /** @param {number} k */
  const set = (k) => (/** @type {Typed} */ event) => {
    const next = [...held];
    next[k] = read(event.currentTarget.value.trim());
    put(next.every((one) => one === "") ? null : next);
  };
  return group(
    name,
    label,
    h(
      "div",
      { class: "row" },
      [0, 1].map((k) =>
        entry(`${name}-${k}`, {
          value: held[k],
          "aria-label": `${label}: ${k ? "second" : "first"}`,
          placeholder: standing?.split(" and ")[k] ?? hints().length,
          required: isNeeded,
          oninput: set(k),
        }),
      ),
    ),
  );
}

/** @param {string} part */
const otherParts = (part) => desk.state.parts.filter((one) => !one.piece_of && one.name !== part);

/** @param {FieldShown} field */
function partName({ name, label, value, put, part, is_needed: isNeeded }) {
  return h(
    "label",
    {},
    label,
    select(
      name,
      [["", isNeeded ? "choose a part" : "none"], ...otherParts(part).map((one) => one.name)],
      {
        required: isNeeded,
        value: value ?? "",
        onchange: (event) => put(event.currentTarget.value),
      },
    ),
  );
}

/** @param {FieldShown} field */
function partNames({ name, label, value, put, part }) {
  const held = new Set(value ?? []);
  return group(
    name,
    label,
    otherParts(part).map((one) =>
      h(
        "label",
        { class: "check" },
        h("input", {
          type: "checkbox",
          checked: held.has(one.name),
          "data-key": `${name}-${one.name}`,
          onchange: (event) => {
            if (event.currentTarget.checked) held.add(one.name);
            else held.delete(one.name);
            put([...held]);
          },
        }),
        one.name,
      ),
    ),
  );
}

// A section: four digits, sheet rounded to a high point, or a file of coordinates.
/** @param {FieldShown} field */
function section({ name, label, value, put }) {
  const kind = typeof value === "object" ? ("file" in value ? "file" : "high") : "digits";
  /** @type {Record<string, unknown>} */
  const starts = {
    digits: "",
    file: { file: "" },
    high: { high_point: "30 %", nose: "", trailing: "" },
  };
  /** @param {string} key */
  const within = (key) => (/** @type {Typed} */ event) =>
    put({ ...value, [key]: event.currentTarget.value.trim() });
  /**
   * @param {string} key
   * @param {string} shown
   * @param {string} hint
   */
  const text = (key, shown, hint) =>
    h(
      "label",
      {},
      shown,
      entry(`${name}-${key}`, {
        value: value?.[key] ?? "",
        placeholder: hint,
        required: true,
        oninput: within(key),
      }),
    );
  return group(
    name,
    label,
    h(
      "label",
      {},
      "Given by",
      select(
        `${name}-kind`,
        [
          ["digits", "NACA four digits"],
          ["high", "its high point"],
          ["file", "a file of coordinates"],
        ],
        {
          value: kind,
          onchange: (event) => put(starts[event.currentTarget.value] || undefined),
        },
      ),
    ),
    kind === "digits"
      ? h(
          "label",
          {},
          "Section",
          entry(`${name}-digits`, {
            value: value ?? "",
            placeholder: "NACA 2412",
            required: true,
            oninput: (event) => put(event.currentTarget.value.trim()),
          }),
        )
      : null,
    kind === "file" ? text("file", "File in the job folder", "section.dat") : null,
    kind === "high"
      ? h(
          "div",
          { class: "fields" },
          text("high_point", "High point, of the chord", "30 %"),
          text("nose", "Nose", format.hint("1.2 mm", "3/64 in")),
          text("trailing", "Trailing edge", format.hint("1.5 mm", "1/16 in")),
          h(
            "label",
            {},
            "Bottom",
            select(`${name}-bottom`, ["symmetrical", "flat"], {
              value: value.bottom ?? "symmetrical",
              onchange: within("bottom"),
            }),
          ),
        )
      : null,
  );
}

/**
 * @param {string} key
 * @param {string} label
 * @param {Render} onclick
 */
const away = (key, label, onclick) =>
  h(
    "button",
    { type: "button", class: "quiet", "data-key": key, "aria-label": label, onclick },
    icon("bin"),
  );
/** @param {string} text */
const capital = (text) => text[0].toUpperCase() + text.slice(1);

/** @type {Record<string, (field: FieldShown) => HTMLElement>} */
const CONTROLS = {
  choice,
  yes,
  place,
  line,
  places,
  lengths,
  section,
  parts: partNames,
  part: partName,
  "two lengths": two,
  "two counts": two,
};
