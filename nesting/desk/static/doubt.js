// A doubtful part: what the sheet may mean there, side by side, each taken with one click.

import { h, s } from "./dom.js";
import * as format from "./format.js";
import { bounds, pathOf } from "./geometry.js";
import { edit, setValue } from "./store.js";

/** @import { Alternative, Part } from "./answers.d.ts" */
/** @import { Ring } from "./geometry.js" */
/** @import { Sheet } from "./sheet.js" */
/** @import { Also } from "./store.js" */

// Add to the part's picks and cut-outs what takes a reading, as one step.
/**
 * @param {Part} part
 * @param {Alternative} reading
 */
function take(part, { pick, cutout }) {
  /** @type {(role: string) => (value: [number, number]) => Also} */
  const added = (role) => (value) => ({ at: ["part", part.name, role, null], value });
  const [first, ...also] = [...pick.map(added("pick")), ...cutout.map(added("cutout"))];
  return setValue(first.at, first.value, null, also);
}

// As it was traced, said by the builder: an outline that a person has drawn is in no doubt.
/** @param {Part} part */
const keepAsIs = (part) => edit({ kind: "set-outline", part: part.name, outline: part.shape });

/**
 * @param {Sheet} sheet
 * @param {Part | null | undefined} part
 */
export function readingsOf(sheet, part) {
  if (!part?.outline) return null;
  const { outline, alternatives = [] } = part;
  const box = bounds([outline, ...alternatives.map((one) => one.outline)].flat(2));
  return h(
    "div",
    { class: "doubts", role: "group", "aria-label": `What ${part.name} may be` },
    card(
      sheet,
      { rings: outline, rings_px: part.outline_px ?? null, box, own: outline },
      {
        key: `doubt-${part.name}-keep`,
        label: "It is as traced",
        text: `${sureness(part.sure ?? 0)}: ${format.size(part.size_mm)}`,
        take: () => keepAsIs(part),
      },
    ),
    alternatives.map((one, number) =>
      card(
        sheet,
        { rings: one.outline, rings_px: one.outline_px, box, own: outline },
        {
          key: `doubt-${part.name}-${number}`,
          label: "It is this",
          text: `${sureness(one.sure)}: ${one.why}`,
          take: () => take(part, one),
        },
      ),
    ),
  );
}

/** @param {number} sure */
const sureness = (sure) => (sure < 0.01 ? "hardly likely" : `${Math.round(100 * sure)} % likely`);

// One reading, over the traced outline in dashes, all at one scale; under the hand or with the
// keyboard it is drawn on the plan, too.
/**
 * @param {Sheet} sheet
 * @param {{ rings: Ring[], rings_px: Ring[] | null, box: number[], own: Ring[] }} seen
 * @param {{ key: string, label: string, text: string, take: () => unknown }} said
 */
function card(sheet, { rings, rings_px: onPlan, box: [x0, y0, x1, y1], own }, said) {
  const pad = 0.06 * Math.max(x1 - x0, y1 - y0);
  const line = { "vector-effect": "non-scaling-stroke" };
  const shown = (/** @type {Ring[] | null} */ lit) => () => sheet.light(lit);
  return h(
    "figure",
    { class: "doubt" },
    s(
      "svg",
      {
        viewBox: `${x0 - pad} ${-y1 - pad} ${x1 - x0 + 2 * pad} ${y1 - y0 + 2 * pad}`,
        role: "img",
        "aria-label": said.text,
      },
      s(
        "g",
        { transform: "scale(1 -1)" },
        s("path", { d: pathOf(rings), class: "part-shape", "fill-rule": "evenodd", ...line }),
        rings === own ? null : s("path", { d: pathOf(own), class: "doubt-own", ...line }),
      ),
    ),
    h("figcaption", { class: "pencil" }, said.text),
    h(
      "button",
      {
        type: "button",
        "data-key": said.key,
        "aria-label": `${said.label}: ${said.text}`,
        onpointerenter: shown(onPlan),
        onpointerleave: shown(null),
        onfocus: shown(onPlan),
        onblur: shown(null),
        onclick: () => {
          sheet.light(null);
          said.take();
        },
      },
      said.label,
    ),
  );
}
