// Lines and spots for the builder that a part's pattern carries: each picked or typed on the plan,
// in the words of the trade.

import { h } from "./dom.js";
import { icon } from "./icons.js";
import { pickPoint } from "./picker.js";
import { desk, setValue } from "./store.js";

/** @import { Mark, Part, Plan } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Drawing } from "./icons.js" */

/** @typedef {Mark & { part: string, number: number | null, seen: string | null }} MarkDraft */

const KINDS = ["datum", "balance", "centre line", "doubler", "fold"];
/** @type {Record<string, number>} */
const NEEDED = { doubler: 3 };

// The mark that is being made or changed; one at a time, until the server has taken it.
/** @type {MarkDraft | null} */
let draft = null;

export const closeMark = () => {
  draft = null;
};

/** @param {Point} point */
const shown = ([x, y]) => `${Number(x.toFixed(1))}, ${Number(y.toFixed(1))}`;
/** @param {Mark} mark */
const wordsOf = (mark) =>
  `${mark.kind}${mark.text ? ` ‘${mark.text}’` : ""} ` +
  `${mark.at.length === 1 ? "at" : "through"} pixel ${mark.at.map(shown).join(" and ")}`;

/**
 * @param {Part} part
 * @param {Plan | null} plan
 * @param {Render} render
 */
export function marksOf(part, plan, render) {
  /** @param {string} name */
  const key = (name) => `${part.name}/${name}`;
  const seen = desk.state.seen.part[part.name]?.mark ?? [];
  /**
   * @param {number | null} number
   * @param {Mark} mark
   */
  const begin = (number, mark) => {
    draft = {
      part: part.name,
      number,
      seen: number === null ? null : (seen[number] ?? null),
      kind: mark.kind,
      text: mark.text,
      at: mark.at.map(([x, y]) => [x, y]),
    };
    render();
  };
  const isOpen = draft?.part === part.name;
  /**
   * @param {string} what
   * @param {number} number
   * @param {string} label
   * @param {Drawing} drawing
   * @param {Render} onclick
   */
  const tool = (what, number, label, drawing, onclick) =>
    h(
      "button",
      {
        type: "button",
        class: "quiet",
        "data-key": key(`mark-${what}-${number}`),
        "aria-label": label,
        onclick,
      },
      icon(drawing),
    );
  return h(
    "details",
    { class: "making", "data-key": key("marks-box") },
    h(
      "summary",
      { "data-key": key("marks") },
      `Lines for the builder${part.marks.length ? ` (${part.marks.length})` : ""}`,
    ),
    h("p", { class: "hint" }, "Drawn on the pattern: one point is a spot, two or more are a line."),
    h(
      "ul",
      { class: "plain" },
      part.marks.map((mark, number) =>
        h(
          "li",
          { class: "row", "data-key": key(`mark-${number}`) },
          h("span", {}, wordsOf(mark)),
          h(
            "span",
            { class: "tools" },
            tool("change", number, `Change: ${wordsOf(mark)}`, "pencil", () => begin(number, mark)),
            tool("drop", number, `Take away: ${wordsOf(mark)}`, "bin", () => {
              draft = null;
              setValue(["part", part.name, "mark", number], null, seen[number]);
            }),
          ),
        ),
      ),
    ),
    draft && isOpen
      ? form(part, draft, plan, render)
      : h(
          "button",
          {
            type: "button",
            class: "quiet",
            "data-key": key("mark-add"),
            onclick: () => begin(null, { kind: "centre line", text: "", at: [] }),
          },
          "Add a line or a spot",
        ),
  );
}

/**
 * @param {string} text
 * @returns {Point | null}
 */
const typed = (text) => {
  const [x, y, ...more] = text
    .trim()
    .split(/[\s,;]+/)
    .map(Number);
  return Number.isFinite(x) && Number.isFinite(y) && !more.length ? [x, y] : null;
};

/**
 * @param {Part} part
 * @param {MarkDraft} now
 * @param {Plan | null} plan
 * @param {Render} render
 */
function form(part, now, plan, render) {
  /** @param {string} name */
  const key = (name) => `${part.name}/mark-${name}`;
  /** @param {Partial<MarkDraft>} next */
  const change = (next) => {
    Object.assign(now, next);
    render();
  };
  /** @param {number} k */
  const put = (k) => (/** @type {Point | null} */ at) => {
    if (at) change({ at: now.at.map((one, n) => (n === k ? at : one)) });
    else render();
  };
  /** @param {SubmitEvent} event */
  const keep = async (event) => {
    event.preventDefault();
    const held = now;
    const mark = { kind: held.kind, at: held.at, ...(held.text ? { text: held.text } : {}) };
    if (
      (await setValue(["part", part.name, "mark", held.number], mark, held.seen)) &&
      draft === held
    ) {
      draft = null;
      render();
    }
  };
  return h(
    "form",
    {
      class: "slate",
      "data-key": key("form"),
      onsubmit: keep,
      onkeydown: (event) => {
        if (event.key === "Escape") {
          draft = null;
          render();
        }
      },
    },
    h(
      "div",
      { class: "fields" },
      h(
        "label",
        {},
        "What it is",
        h(
          "select",
          {
            value: now.kind,
            "data-key": key("kind"),
            onchange: (event) => change({ kind: event.currentTarget.value }),
          },
          KINDS.map((kind) => h("option", { value: kind }, kind)),
        ),
      ),
      h(
        "label",
        {},
        "Written beside it",
        h("input", {
          value: now.text,
          placeholder: now.kind,
          "data-key": key("text"),
          autocomplete: "off",
          oninput: (event) => {
            now.text = event.currentTarget.value.trim();
          },
        }),
      ),
    ),
    h(
      "ul",
      { class: "plain" },
      now.at.map((at, k) =>
        h(
          "li",
          { class: "point" },
          h(
            "label",
            {},
            `Point ${k + 1}, in pixels`,
            h("input", {
              value: shown(at),
              "data-key": key(`point-${k}`),
              autocomplete: "off",
              onchange: (event) => put(k)(typed(event.currentTarget.value)),
            }),
          ),
          h(
            "button",
            {
              type: "button",
              "data-key": key(`pick-${k}`),
              "aria-label": `Pick point ${k + 1} on the plan`,
              disabled: !plan,
              onclick: (event) =>
                plan && pickPoint(plan, `Point ${k + 1}`, at, put(k), event.currentTarget),
            },
            icon("aim"),
            "Pick",
          ),
          h(
            "button",
            {
              type: "button",
              class: "quiet",
              "data-key": key(`point-drop-${k}`),
              "aria-label": `Take point ${k + 1} away`,
              onclick: () => change({ at: now.at.filter((_, n) => n !== k) }),
            },
            icon("bin"),
          ),
        ),
      ),
    ),
    h(
      "div",
      { class: "row wrap" },
      h(
        "button",
        {
          type: "button",
          "data-key": key("pick"),
          disabled: !plan,
          onclick: (event) =>
            plan &&
            pickPoint(
              plan,
              "Another point",
              now.at.at(-1) ?? part.pick[0] ?? null,
              (at) => change({ at: [...now.at, at] }),
              event.currentTarget,
            ),
        },
        icon("aim"),
        "Pick a point",
      ),
      h(
        "button",
        {
          type: "button",
          class: "quiet",
          "data-key": key("type"),
          onclick: () => change({ at: [...now.at, now.at.at(-1) ?? part.pick[0] ?? [0, 0]] }),
        },
        "Type a point",
      ),
    ),
    h(
      "div",
      { class: "row wrap" },
      h(
        "button",
        {
          class: "main",
          type: "submit",
          "data-key": key("keep"),
          disabled: now.at.length < (NEEDED[now.kind] ?? 1),
        },
        "Keep it",
      ),
      h(
        "button",
        {
          type: "button",
          "data-key": key("leave"),
          onclick: () => {
            draft = null;
            render();
          },
        },
        "Leave it",
      ),
    ),
  );
}
