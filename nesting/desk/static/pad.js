// The pad beside the sheet: which sheet, what a click is for, how large the plan is, the chosen
// part, the notes.

import { h } from "./dom.js";
import * as format from "./format.js";
import { bounds } from "./geometry.js";
import { readingsOf } from "./doubt.js";
import { icon } from "./icons.js";
import { choose, desk, isRunning, setValue } from "./store.js";

/** @import { Plan } from "./answers.d.ts" */
/** @import { Child } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Sheet } from "./sheet.js" */

const EDGES = [
  ["centre", "centre of the line"],
  ["inside", "inside of the line"],
  ["outside", "outside of the line"],
  ["solid", "rim of a solid shape"],
];

/** @type {["pick" | "cutout" | "fill", string][]} */
const ROLES = [
  ["pick", "shape"],
  ["cutout", "hole cut"],
  ["fill", "hole filled"],
];
const CORRECTIONS = [
  ["skew", "turn the picture straight"],
  ["lens", "take a lens’s bulge out"],
  ["perspective", "lay a photo flat by its corners"],
];

/**
 * @param {Sheet} sheet
 * @returns {Child[]}
 */
export function padOf(sheet) {
  if (!sheet.plan) return [h("p", {}, "This job has no plan yet."), uploader()];
  return [
    planChooser(sheet),
    sheet.says.pad(),
    h(
      "fieldset",
      { class: "aims" },
      h("legend", {}, "A click on the plan is to …"),
      sheet.aims.map((aim) =>
        h(
          "label",
          { class: "aim" },
          h("input", {
            type: "radio",
            name: "aim",
            value: aim.name,
            checked: sheet.aim === aim,
            "data-key": `aim-${aim.name}`,
            onchange: () => sheet.setAim(aim.name),
          }),
          h("span", {}, aim.text),
        ),
      ),
      h("p", { id: "aim-text", class: "hint" }, sheet.aim.hint),
    ),
    sheet.aim.pad?.() || null,
    scaleBox(sheet),
    chosenBox(sheet),
    notesBox(sheet),
  ];
}

/** @param {Sheet} sheet */
function planChooser(sheet) {
  const { plans } = desk.state;
  /**
   * @param {string} field
   * @param {unknown} value
   */
  const set = (field, value) => setValue(["plan", sheet.plan?.name ?? "", field], value);
  const { pages } = sheet.plan;
  const layers = pages.find((page) => page.number === sheet.plan.page)?.layers ?? [];
  return h(
    "section",
    { class: "bare" },
    h(
      "div",
      { class: "row wrap" },
      plans.length > 1 ? null : h("strong", {}, sheet.plan.name),
      uploader(),
    ),
    plans.length > 1 ? sheetStrip(sheet, plans) : null,
    pages.length > 1
      ? h(
          "label",
          {},
          "Page of the file",
          h(
            "select",
            {
              "data-key": "page",
              value: String(sheet.plan.page),
              onchange: (event) => set("page", Number(event.currentTarget.value)),
            },
            pages.map((page) =>
              h(
                "option",
                { value: String(page.number) },
                `${page.number} – ` +
                  (page.size_mm
                    ? format.size(page.size_mm, 0)
                    : `${Math.round(page.width)} × ${Math.round(page.height)}, no size`),
              ),
            ),
          ),
        )
      : null,
    layers.length > 1 ? layerBox(sheet.plan, layers, set) : null,
  );
}

// All sheets of the job, small, the one on the board framed.
/**
 * @param {Sheet} sheet
 * @param {Plan[]} plans
 */
const sheetStrip = (sheet, plans) =>
  h(
    "div",
    { class: "strip-of-sheets", role: "group", "aria-label": "Sheets" },
    plans.map((one) => {
      const small = sheet.small.get(one.number);
      return h(
        "button",
        {
          type: "button",
          class: "sheet-small",
          "data-key": `sheet-${one.number}`,
          "aria-pressed": String(one.number === desk.chosen.plan),
          onclick: () => choose("plan", one.number),
        },
        small ? h("img", { src: small, alt: "", loading: "lazy" }) : icon("sheet"),
        h("span", {}, one.name),
      );
    }),
  );

// No choice means: all layers that look like edges, as the tracer tells them.
/**
 * @param {Plan} plan
 * @param {string[]} layers
 * @param {(field: string, value: unknown) => unknown} set
 */
function layerBox(plan, layers, set) {
  const chosen = new Set(plan.layers ?? layers);
  return h(
    "details",
    { "data-key": "layers-box" },
    h(
      "summary",
      { "data-key": "layers" },
      plan.layers ? `Layers: ${plan.layers.length} of ${layers.length}` : "Layers: all",
    ),
    layers.map((name) =>
      h(
        "label",
        { class: "check" },
        h("input", {
          type: "checkbox",
          checked: chosen.has(name),
          "data-key": `layer-${name}`,
          onchange: (event) => {
            if (event.currentTarget.checked) chosen.add(name);
            else chosen.delete(name);
            set(
              "layers",
              chosen.size === layers.length || !chosen.size
                ? null
                : layers.filter((one) => chosen.has(one)),
            );
          },
        }),
        name || "without a name",
      ),
    ),
  );
}

/** @param {Sheet} sheet */
function scaleBox(sheet) {
  const { plan } = sheet;
  const seen = desk.state.seen.plan[plan.name]?.known ?? [];
  const { scale, known, fault } = plan;
  const stated = plan.pages.find((page) => page.number === plan.page)?.size_mm;
  /**
   * @param {string} field
   * @param {unknown} value
   */
  const set = (field, value) => setValue(["plan", plan.name, field], value);
  return h(
    "section",
    {},
    h("h2", {}, "How large the plan is"),
    fault ? h("p", { class: "fault" }, fault) : null,
    scale
      ? h(
          "p",
          {},
          `The page is ${format.size(scale.page_mm)}; `,
          h(
            "span",
            { class: "nowrap" },
            `${format.placesPerUnit(scale.mm_per_px[0])} ${plan.is_drawing ? "units" : "px"} ` +
              `per ${format.unit()}`,
          ),
          known.length || plan.sheet ? `, sure to ${(100 * scale.sigma).toFixed(3)} %.` : ".",
        )
      : null,
    scale && !scale.is_true_size
      ? h(
          "p",
          { class: "fault" },
          "Nobody has confirmed this size. Give a known length before anything is cut",
          plan.is_drawing || stated
            ? [
                plan.is_drawing ? ", or " : `, or trust the size that the file states: `,
                h(
                  "button",
                  {
                    class: "quiet",
                    "data-key": "as-drawn",
                    onclick: () => set("size", "as drawn"),
                  },
                  plan.is_drawing
                    ? "it is drawn at true size"
                    : `the sheet is ${format.size(stated, 0)}`,
                ),
              ]
            : null,
          ".",
        )
      : null,
    plan.size && !known.length
      ? h(
          "p",
          {},
          "Its size is taken as the file states it. ",
          h(
            "button",
            { class: "quiet", "data-key": "as-drawn-drop", onclick: () => set("size", null) },
            "Take that back",
          ),
        )
      : null,
    known.length
      ? h(
          "table",
          { class: "tight" },
          h(
            "thead",
            {},
            h(
              "tr",
              {},
              h("th", { scope: "col" }, "Known length"),
              h("th", { scope: "col" }, "Off by"),
              h("th", { scope: "col" }, h("span", { class: "unseen" }, "Remove")),
            ),
          ),
          h(
            "tbody",
            {},
            known.map((one, number) =>
              h(
                "tr",
                {},
                h("td", {}, format.length(one.length_mm)),
                h(
                  "td",
                  { class: "number" },
                  one.residual_mm === null
                    ? "–"
                    : (one.residual_mm >= 0 ? "+" : "−") +
                        format.length(Math.abs(one.residual_mm), 2),
                ),
                h(
                  "td",
                  {},
                  h(
                    "button",
                    {
                      class: "quiet",
                      "data-key": `drop-known-${number}`,
                      "aria-label": `Remove the known length ${format.length(one.length_mm)}`,
                      onclick: () =>
                        setValue(["plan", plan.name, "known", number], null, seen[number]),
                    },
                    icon("bin"),
                  ),
                ),
              ),
            ),
          ),
        )
      : h(
          "p",
          { class: "hint" },
          "No known length yet. Two, one along and one across, also show a scanner that stretches.",
        ),
    h(
      "label",
      { class: "row" },
      "The part's edge is the ",
      h(
        "select",
        {
          "data-key": "edge",
          value: plan.edge,
          onchange: (event) => set("edge", event.currentTarget.value),
        },
        EDGES.map(([value, text]) => h("option", { value }, text)),
      ),
    ),
    readBox(sheet, set),
  );
}

// Where a place lies on the sheet: from its left and from below, or what the file counts in where
// nobody knows how large it is.
/**
 * @param {Sheet} sheet
 * @param {Point} at
 */
export function placeWords(sheet, at) {
  if (!sheet.plan.scale) return at.map(Math.round).join(", ");
  const [x, y] = sheet.toMm(at);
  return format.size([x, y], 0).replace(" × ", ", ");
}

// What brings a place of the sheet into view.
/**
 * @param {Sheet} sheet
 * @param {Point} at
 */
const showing =
  (sheet, [x, y]) =>
  () =>
    sheet.viewer.showBox([x - 90, y - 90, x + 90, y + 90]);

// What reading a sheet does by itself, for the one on which it should not.
/**
 * @param {Sheet} sheet
 * @param {(field: string, value: unknown) => unknown} set
 */
function readBox(sheet, set) {
  const { plan } = sheet;
  const made = new Set(plan.flatten);
  /**
   * @param {string} name
   * @param {boolean} isWanted
   */
  const correct = (name, isWanted) => {
    if (isWanted) made.add(name);
    else made.delete(name);
    set(
      "flatten",
      made.size === CORRECTIONS.length
        ? null
        : CORRECTIONS.map(([one]) => one).filter((one) => made.has(one)),
    );
  };
  return h(
    "details",
    { "data-key": "read-box" },
    h("summary", { "data-key": "read" }, "How it is read"),
    h(
      "label",
      {},
      "Breaks in a line are bridged up to",
      h("input", {
        value: format.lengthField(plan.gap_mm),
        "data-key": "gap",
        autocomplete: "off",
        onchange: (event) => set("gap", event.currentTarget.value.trim() || null),
      }),
    ),
    plan.is_drawing
      ? null
      : h(
          "fieldset",
          { class: "bare" },
          h("legend", {}, "Reading may"),
          CORRECTIONS.map(([name, text]) =>
            h(
              "label",
              { class: "check" },
              h("input", {
                type: "checkbox",
                checked: made.has(name),
                "data-key": `flatten-${name}`,
                onchange: (event) => correct(name, event.currentTarget.checked),
              }),
              text,
            ),
          ),
        ),
    h(
      "label",
      { class: "check" },
      h("input", {
        type: "checkbox",
        checked: plan.axes === "separate",
        "data-key": "axes",
        onchange: (event) => set("axes", event.currentTarget.checked ? "separate" : null),
      }),
      "it is stretched: along and across may differ by more than 1.5 %",
    ),
    sheet.says.offer(),
  );
}

/** @param {Sheet} sheet */
function chosenBox(sheet) {
  const { part } = sheet;
  if (!part || part.from)
    return h("section", {}, h("h2", {}, "Parts on this sheet"), partList(sheet));
  const seen = desk.state.seen.part[part.name];
  return h(
    "section",
    {},
    h("h2", {}, part.name),
    part.fault ? h("p", { class: "fault" }, part.fault) : null,
    part.outline_px
      ? h(
          "p",
          {},
          `${format.size(part.size_mm)}, ${format.area(part.area_mm2)}, edge sure to ` +
            `${format.length(part.sigma_edge_mm, 2)}; pen line ` +
            `${format.length(part.pen_width_mm, 2)}.`,
        )
      : h("p", { class: "hint" }, isRunning("follow") ? "It is being traced …" : "Not traced."),
    h(
      "ul",
      { class: "picks" },
      ROLES.flatMap(([role, word]) =>
        part[role].map((at, number) =>
          h(
            "li",
            {},
            `${word} at ${placeWords(sheet, at)} `,
            h(
              "button",
              {
                class: "quiet",
                "data-key": `${role}-${number}`,
                "aria-label": `Take the ${word} at ${placeWords(sheet, at)} away`,
                onclick: () =>
                  setValue(["part", part.name, role, number], null, seen?.[role][number]),
              },
              icon("bin"),
            ),
          ),
        ),
      ),
    ),
    h(
      "label",
      {},
      "Its outline is drawn",
      h(
        "select",
        {
          value: part.line,
          "data-key": "part-line",
          onchange: (event) =>
            setValue(
              ["part", part.name, "line"],
              event.currentTarget.value === "solid" ? null : event.currentTarget.value,
            ),
        },
        h("option", { value: "solid" }, "in a solid line"),
        h("option", { value: "dashed" }, "in dashes: it is hidden"),
      ),
    ),
    h(
      "div",
      { class: "row wrap" },
      h(
        "button",
        {
          "data-key": "show-part",
          disabled: !part.outline_px,
          onclick: () => part.outline_px && sheet.viewer.showBox(bounds(part.outline_px[0])),
        },
        "Show it",
      ),
      h("a", { class: "button", href: "#parts" }, "Its wood and grain"),
      h(
        "button",
        {
          "data-key": "drop-part",
          onclick: () => {
            setValue(["part", part.name], null);
            choose("part", null);
          },
        },
        "Remove",
      ),
    ),
    h(
      "p",
      {},
      h(
        "button",
        { class: "quiet", "data-key": "all-parts", onclick: () => choose("part", null) },
        "All parts",
      ),
    ),
  );
}

/** @param {Sheet} sheet */
function partList(sheet) {
  const here = desk.state.parts.filter((part) => !part.from && sheet.isHere(part));
  if (!here.length)
    return h(
      "p",
      { class: "hint" },
      "None yet. Choose ‘pick a part’ above and click inside a shape.",
    );
  return h(
    "ul",
    { class: "plain" },
    here.map((part) =>
      h(
        "li",
        {},
        h(
          "button",
          {
            class: "line",
            "data-key": `part-${part.name}`,
            onclick: () => {
              choose("part", part.name);
              if (part.outline_px) sheet.viewer.showBox(bounds(part.outline_px[0]));
            },
          },
          part.name,
          h("span", { class: "pencil" }, part.fault ? " – see why" : ` – ${part.state}`),
        ),
      ),
    ),
  );
}

/** @param {Sheet} sheet */
function notesBox(sheet) {
  const ofParts = (desk.state.notes ?? []).filter(
    (note) => note.part && sheet.isHere(desk.state.parts.find((one) => one.name === note.part)),
  );
  const notes = [...(sheet.plan.notes ?? []), ...ofParts].filter(
    (note) => !desk.chosen.part || !note.part || note.part === desk.chosen.part,
  );
  const seen = new Set();
  const single = notes.filter((note) => {
    const key = `${note.part} ${note.text}`;
    const isNew = !seen.has(key);
    seen.add(key);
    return isNew;
  });
  if (!single.length) return null;
  return h(
    "section",
    {},
    h("h2", {}, "Notes"),
    h(
      "ul",
      { class: "notes" },
      single.map((note, number) =>
        h(
          "li",
          { class: note.state },
          note.part ? h("strong", {}, `${note.part}: `) : null,
          note.text,
          " ",
          note.at
            ? h(
                "button",
                {
                  class: "quiet",
                  "data-key": `note-${number}`,
                  onclick: showing(sheet, note.at),
                },
                "show",
              )
            : null,
          note.code === "doubtful"
            ? readingsOf(
                sheet,
                desk.state.parts.find((one) => one.name === note.part),
              )
            : null,
        ),
      ),
    ),
  );
}

/** @param {string} text */
export function uploader(text = "Add sheets", { isMain = false } = {}) {
  return h(
    "span",
    {},
    h(
      "button",
      {
        type: "button",
        class: isMain ? "main" : null,
        "data-key": "add-scan",
        onclick: (event) =>
          /** @type {HTMLElement} */ (event.currentTarget.nextElementSibling).click(),
      },
      text,
    ),
    h("input", {
      type: "file",
      class: "unseen",
      accept: ".png,.jpg,.jpeg,.tif,.tiff,.pdf,.svg,.dxf",
      multiple: true,
      "data-key": "upload",
      tabindex: "-1",
      "aria-hidden": "true",
      onchange: (event) => {
        const files = [...(event.currentTarget.files ?? [])];
        if (files.length)
          document.dispatchEvent(new CustomEvent("scans-dropped", { detail: files }));
        event.currentTarget.value = "";
      },
    }),
  );
}
