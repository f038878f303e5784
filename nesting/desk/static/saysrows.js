// The rows of what the plan says: its scale, and each part with its outline, what it was read from,
// and fields to correct.

import { letteringAddress } from "./api.js";
import { focusOn, h, s, slip, speak, tickedIn, typedIn } from "./dom.js";
import * as format from "./format.js";
import { bounds, pathOf } from "./geometry.js";

/** @import { PlanSays, ReadLength, ReadPart, ReadValue } from "./answers.d.ts" */
/** @import { Box, Point } from "./geometry.js" */
/** @import { Says } from "./says.js" */

/** @typedef {"name" | "material" | "thickness" | "count" | "hand"} Key */
/** @type {[Key, string, (says: PlanSays) => string][]} */
const FIELDS = [
  ["name", "Name", () => "not lettered"],
  ["material", "Wood", () => "not lettered"],
  ["thickness", "Thickness", (says) => (says.units === "in" ? "1/8 in" : "3 mm")],
  ["count", "How many", () => "1"],
];
const HANDS = [
  ["", "either"],
  ["left", "left"],
  ["right", "right"],
  ["pair", "left and right"],
];

export const SCALE = "scale";

/** @param {ReadValue | null} value */
const isDoubtful = (value) => value !== null && !value.is_accepted;
// Whether all that was read of a part may be taken as it is; what is not lettered stays open.
/** @param {ReadPart} part */
export const isSure = (part) =>
  part.name !== null &&
  ![part.name, part.material, part.thickness, part.count, part.hand].some(isDoubtful);
/** @param {number} sure */
const percent = (sure) => `${Math.round(100 * sure)} %`;

/**
 * @param {Says} own
 * @param {PlanSays} says
 */
export function scaleBox(own, says) {
  const { plan } = own.sheet;
  const sure = says.is_scale_sure;
  return h(
    "form",
    {
      class: `says-row ${sure ? "sure" : "doubtful"}`,
      "data-key": "says-scale",
      onsubmit: (event) => {
        event.preventDefault();
        const lengths = lengthsIn(event.currentTarget, says);
        if (lengths.length) own.take(own.knownOf(lengths), "The scale is taken.");
        else slip("Tick a length that is right first.", "fault");
      },
    },
    h("h3", {}, "How large it is"),
    h(
      "p",
      { class: sure ? "hint" : "fault" },
      sure ? says.why : `${says.why} Tick those that are right.`,
    ),
    h(
      "details",
      { "data-key": "says-lengths-box", open: !sure },
      h("summary", { "data-key": "says-lengths" }, format.count(says.lengths.length, "length")),
      lengthTable(own, says),
    ),
    h(
      "div",
      { class: "row wrap" },
      h("button", { type: "submit", "data-key": "says-take-scale" }, "Take this scale"),
      h(
        "button",
        {
          type: "button",
          class: "quiet",
          "data-key": "says-leave-scale",
          "aria-label": `Leave the scale of ${plan.name} out`,
          onclick: () => own.leave([SCALE], "the scale"),
        },
        "Leave it",
      ),
    ),
  );
}

// The lengths that are ticked, as they stand in their fields.
/**
 * @param {HTMLFormElement} form
 * @param {PlanSays} says
 */
export function lengthsIn(form, says) {
  const ticked = new Set(tickedIn(form, "length"));
  return says.lengths.flatMap((one, number) =>
    ticked.has(String(number)) ? [{ ...one, length: typedIn(form, `length-${number}`) }] : [],
  );
}

/**
 * @param {Says} own
 * @param {PlanSays} says
 */
function lengthTable(own, says) {
  return h(
    "table",
    { class: "tight" },
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        h("th", { scope: "col" }, h("span", { class: "unseen" }, "Take it")),
        h("th", { scope: "col" }, "As lettered"),
        h("th", { scope: "col" }, "Length"),
        h("th", { scope: "col" }, "Off by"),
      ),
    ),
    h(
      "tbody",
      {},
      says.lengths.map((one, number) => lengthRow(own, one, number, says.is_scale_sure)),
    ),
  );
}

/**
 * @param {Says} own
 * @param {ReadLength} one
 * @param {number} number
 * @param {boolean} sure
 */
function lengthRow(own, one, number, sure) {
  const name = `length ${one.length}`;
  return h(
    "tr",
    { "data-key": `says-length-${number}` },
    h(
      "td",
      {},
      h("input", {
        type: "checkbox",
        name: "length",
        value: String(number),
        checked: sure,
        "aria-label": `Take the ${name}`,
        "data-key": `says-length-tick-${number}`,
      }),
    ),
    h(
      "td",
      {},
      h(
        "button",
        {
          type: "button",
          class: "says-crop",
          "aria-label": `Show ‘${one.written}’ on the plan`,
          title: "Show it on the plan",
          "data-key": `says-length-show-${number}`,
          onclick: () => own.sheet.viewer.showBox(around([one.from, one.to])),
        },
        crop(own, one.text, ""),
      ),
    ),
    h(
      "td",
      {},
      h("input", {
        name: `length-${number}`,
        value: one.length,
        "aria-label": `The ${name}, as it is to be taken`,
        "data-key": `says-length-field-${number}`,
        autocomplete: "off",
      }),
    ),
    h(
      "td",
      { class: "number" },
      one.off_mm === null ? "–" : format.length(Math.abs(one.off_mm), 2),
    ),
  );
}

/**
 * @param {Says} own
 * @param {number} text
 * @param {string} words
 */
function crop(own, text, words) {
  const { answer, sheet } = own;
  return h("img", {
    src: letteringAddress(sheet.plan.number, text, answer?.key ?? ""),
    alt: words,
  });
}

/**
 * @param {Says} own
 * @param {PlanSays} says
 * @param {ReadPart} part
 */
export function row(own, says, part) {
  const { number } = part;
  const name = String(part.table.name);
  return h(
    "li",
    { "data-key": `says-part-${number}`, "data-part": number },
    h(
      "form",
      {
        class: `says-row ${isSure(part) ? "sure" : "doubtful"}`,
        "data-key": `says-form-${number}`,
        "aria-label": name,
        onsubmit: (event) => {
          event.preventDefault();
          takeRow(own, part, event.currentTarget);
        },
      },
      h(
        "div",
        { class: "says-seen" },
        outline(own, part),
        h(
          "div",
          { class: "says-crops" },
          part.texts.slice(0, 4).map((text) => crop(own, text, `lettering of ${name}`)),
        ),
      ),
      h(
        "div",
        { class: "fields" },
        FIELDS.map(([key, label, hint]) => field(own, part, key, label, hint(says))),
        part.hand ? handField(own, part) : null,
      ),
      part.table.grain ? h("p", { class: "hint" }, "Grain along the arrow drawn on it.") : null,
      h(
        "div",
        { class: "row wrap" },
        h(
          "button",
          { type: "submit", "data-key": `says-take-${number}`, "aria-label": `Take ${name}` },
          "Take it",
        ),
        h(
          "button",
          {
            type: "button",
            "data-key": `says-leave-${number}`,
            "aria-label": `Leave ${name} out`,
            onclick: () => leaveRow(own, part),
          },
          "Leave it",
        ),
        h(
          "button",
          {
            type: "button",
            class: "quiet",
            "data-key": `says-show-${number}`,
            "aria-label": `Show ${name} on the plan`,
            onclick: () => own.sheet.viewer.showBox(around(part.outline_px)),
          },
          "Show",
        ),
      ),
    ),
  );
}

/**
 * @param {Says} own
 * @param {ReadPart} part
 */
function outline(own, part) {
  const [x0, y0, x1, y1] = bounds(part.outline_px);
  const pad = 0.05 * Math.max(x1 - x0, y1 - y0);
  return s(
    "svg",
    {
      class: "says-outline",
      viewBox: `${x0 - pad} ${y0 - pad} ${x1 - x0 + 2 * pad} ${y1 - y0 + 2 * pad}`,
      role: "img",
      "aria-label": `outline of ${part.table.name}`,
    },
    s("path", {
      d: pathOf([part.outline_px]),
      class: "part-shape",
      "vector-effect": "non-scaling-stroke",
    }),
  );
}

// A field holds what is sure; what is doubtful stands under it and is taken into it with a click.
/**
 * @param {Says} own
 * @param {ReadPart} part
 * @param {Key} key
 * @param {string} label
 * @param {string} hint
 */
function field(own, part, key, label, hint) {
  const read = part[key];
  const sure = read?.is_accepted ? read.value : "";
  const offers = read
    ? [
        ...(read.is_accepted ? [] : [offer(read.value, read.sure)]),
        ...read.others.map(([value, likely]) => offer(value, likely)),
      ]
    : [];
  const dataKey = `says-${key}-${part.number}`;
  return h(
    "div",
    { class: "says-field", "data-key": `${dataKey}-box` },
    h(
      "label",
      {},
      label,
      h("input", {
        name: key,
        value: key === "name" && !read ? part.table.name : sure,
        placeholder: hint,
        required: key === "name",
        list: key === "material" ? "says-woods" : null,
        inputmode: key === "count" ? "numeric" : null,
        pattern: key === "count" ? "[0-9]{0,4}" : null,
        "data-key": dataKey,
        autocomplete: "off",
      }),
    ),
    isDoubtful(read) ? chips(dataKey, offers) : null,
  );
}

/**
 * @param {Says} own
 * @param {ReadPart} part
 */
function handField(own, part) {
  const read = part.hand;
  return h(
    "div",
    { class: "says-field", "data-key": `says-hand-${part.number}-box` },
    h(
      "label",
      {},
      "Hand",
      h(
        "select",
        {
          name: "hand",
          value: read?.is_accepted ? read.value : "",
          "data-key": `says-hand-${part.number}`,
        },
        HANDS.map(([value, text]) => h("option", { value }, text)),
      ),
    ),
    read && isDoubtful(read)
      ? chips(`says-hand-${part.number}`, [offer(read.value, read.sure)])
      : null,
  );
}

// What stands in the fields of a row.
/**
 * @param {ReadPart} part
 * @param {HTMLFormElement} form
 */
export function saidIn(part, form) {
  const count = typedIn(form, "count");
  return {
    name: typedIn(form, "name"),
    material: typedIn(form, "material") || null,
    thickness: typedIn(form, "thickness") || null,
    count: count ? Number(count) : null,
    hand: (part.hand && typedIn(form, "hand")) || null,
  };
}

/**
 * @param {Says} own
 * @param {ReadPart} part
 * @param {HTMLFormElement} form
 */
function takeRow(own, part, form) {
  const said = saidIn(part, form);
  const next = after(own, part);
  own.take([own.partOf(part, said)], `${said.name} is taken.`).then(() => goOn(own, next));
}

/**
 * @param {Says} own
 * @param {ReadPart} part
 */
function leaveRow(own, part) {
  const next = after(own, part);
  own.leave([part.number], String(part.table.name));
  speak(`${part.table.name} is left out.`);
  goOn(own, next);
}

// The row that the keyboard goes on to when this one is done with.
/**
 * @param {Says} own
 * @param {ReadPart} part
 */
function after(own, part) {
  const { open } = own;
  const at = open.findIndex((one) => one.number === part.number);
  return open[at + 1] ?? open[at - 1] ?? null;
}

/**
 * @param {Says} own
 * @param {ReadPart | null} next
 */
function goOn(own, next) {
  if (next) focusOn(`[data-key='says-take-${next.number}']`);
  else own.sheet.canvas.focus({ preventScroll: true });
}

/**
 * @param {string} value
 * @param {number} sure
 */
const offer = (value, sure) => ({ value, sure });

// Doubtful readings: a click puts one into the field, and nothing more.
/**
 * @param {string} field
 * @param {{ value: string, sure: number }[]} offers
 */
function chips(field, offers) {
  return h(
    "div",
    { class: "says-chips" },
    h("span", {}, "perhaps"),
    offers.map(({ value, sure }, number) =>
      h(
        "button",
        {
          type: "button",
          "data-key": `${field}-perhaps-${number}`,
          "aria-label": `Perhaps ${value}, sure to ${percent(sure)}: put it in`,
          onclick: () => {
            const box = /** @type {HTMLInputElement | null} */ (
              document.querySelector(`[data-key='${field}']`)
            );
            if (!box) return;
            box.value = value;
            box.focus();
          },
        },
        `${value} `,
        h("span", { class: "pencil" }, percent(sure)),
      ),
    ),
  );
}

/**
 * @param {Point[]} points
 * @returns {Box}
 */
function around(points) {
  const [x0, y0, x1, y1] = bounds(points);
  const pad = 0.15 * Math.max(x1 - x0, y1 - y0);
  return [x0 - pad, y0 - pad, x1 + pad, y1 + pad];
}
