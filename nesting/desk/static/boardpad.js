// The pad beside the rack: add boards, weigh and rename the chosen one, mark its blemishes.

import { h, sent, slip, typedIn } from "./dom.js";
import * as format from "./format.js";
import { bounds } from "./geometry.js";
import { icon } from "./icons.js";
import { soundOf } from "./sound.js";
import { board, choose, desk, edit } from "./store.js";

/** @import { Board } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */
/** @import { RackUi } from "./rack.js" */

const FIELDS = [
  ["name", "Name"],
  ["material", "Material"],
  ["thickness", "Thickness"],
  ["measured thickness", "Measured thickness"],
  ["length", "Length"],
  ["width", "Width"],
  ["mass", "Mass on the scale"],
];
const FLAW = [
  ["x", "from the left"],
  ["y", "from below"],
  ["w", "long"],
  ["t", "wide"],
];
const CUTS = ["", "tangential", "mixed", "quarter"];

/**
 * @param {RackUi} ui
 * @param {Render} render
 */
export function addForm(ui, render) {
  return h(
    "form",
    {
      "data-key": "new-board",
      onsubmit: async (event) => {
        event.preventDefault();
        const form = event.currentTarget;
        const pasted = typedIn(form, "table");
        const row = FIELDS.map(([name]) => typedIn(form, name));
        const cells = row.map((cell) => `"${cell.replaceAll('"', '""')}"`).join(",");
        const table = pasted || `${FIELDS.map(([name]) => name).join(",")}\n${cells}`;
        const was = sent(form);
        if (!(await edit({ kind: "add-boards", table }))) return;
        if (was.isAsSent()) {
          ui.isAdding = false;
          render();
        } else was.empty();
      },
    },
    h("h2", {}, "Add boards"),
    h(
      "p",
      { class: "hint" },
      `Write units as you would on the board: ` +
        `${format.hint("1000 mm, 3/32 in, 49.5 g", "36 in, 3/32 in, 1 3/4 oz")}.`,
    ),
    FIELDS.map(([name, label]) =>
      h(
        "label",
        {},
        label,
        h("input", {
          name,
          "data-key": `new-${name}`,
          autocomplete: "off",
          value: name === "material" ? "balsa" : "",
        }),
      ),
    ),
    h(
      "label",
      {},
      "Or paste rows from a spreadsheet, with or without their headings",
      h("textarea", {
        name: "table",
        rows: 4,
        "data-key": "new-table",
        spellcheck: "false",
        placeholder: FIELDS.map(([name]) => name).join("\t"),
      }),
    ),
    h("button", { class: "main", type: "submit", "data-key": "new-keep" }, "Put them in the rack"),
  );
}

/**
 * @param {RackUi} ui
 * @param {Render} render
 */
export function boardForm(ui, render) {
  const one = board(desk.chosen.board);
  if (!one)
    return [
      h("h2", {}, "No board is chosen"),
      h(
        "p",
        { class: "hint" },
        "Choose a board by its name to weigh it, rename it or mark a blemish. Parts can be " +
          "dragged along and between boards; the arrow keys move the one that has the keyboard.",
      ),
      keysHelp(),
    ];
  /**
   * @param {string} field
   * @param {unknown} value
   */
  const set = (field, value) => edit({ kind: "set-board", board: one.name, field, value });
  /** @type {Record<string, string>} */
  const shown = {
    name: one.name,
    material: one.material,
    thickness: format.lengthField(one.thickness_mm),
    "measured thickness": format.lengthField(one.measured_thickness_mm),
    length: format.lengthField(one.length_mm),
    width: format.lengthField(one.width_mm),
    mass: format.massField(one.mass_g),
  };
  return [
    h("h2", {}, `Board ${one.name}`),
    h(
      "p",
      {},
      one.density_kg_m3 === null
        ? one.fault
        : `${one.density_text}, sure to ± ${format.density(one.sigma_kg_m3 ?? 0)}.` +
            (one.mass_g === null
              ? " Nobody has weighed it; this is the usual density of the material."
              : ""),
    ),
    FIELDS.map(([name, label]) =>
      h(
        "label",
        {},
        label,
        h("input", {
          value: shown[name],
          "data-key": `b-${name}`,
          autocomplete: "off",
          onchange: async (event) => {
            const value = event.currentTarget.value.trim();
            if ((await set(name, value)) && name === "name") choose("board", value);
          },
        }),
      ),
    ),
    h(
      "label",
      {},
      "Cut",
      h(
        "select",
        {
          value: one.cut && CUTS.includes(one.cut) ? one.cut : "",
          "data-key": "b-cut",
          onchange: (event) => set("cut", event.currentTarget.value),
        },
        CUTS.map((cut) => h("option", { value: cut }, cut || "not known")),
      ),
    ),
    h(
      "label",
      {},
      "Note",
      h("input", {
        value: one.notes,
        "data-key": "b-notes",
        onchange: (event) => set("notes", event.currentTarget.value),
      }),
    ),
    soundOf(one.name, set, render),
    blemishes(one, ui),
    h(
      "button",
      {
        "data-key": "drop-board",
        onclick: () => {
          edit({ kind: "drop-board", board: one.name });
          choose("board", null);
        },
      },
      "Take it out of the rack",
    ),
    keysHelp(),
  ];
}

/**
 * @param {Board} one
 * @param {RackUi} ui
 */
function blemishes(one, ui) {
  const byHand = h(
    "form",
    {
      class: "slate",
      onsubmit: (event) => {
        event.preventDefault();
        const form = event.currentTarget;
        const unread = FLAW.find(([name]) => format.parsedLength(typedIn(form, name)) === null);
        if (unread) {
          slip(
            `‘${typedIn(form, unread[0])}’ is no length; write ${unread[1]} as ` +
              `${format.hint("12 mm", "1/2 in")}.`,
            "fault",
          );
          return;
        }
        const [x, y, w, t] = FLAW.map(([name]) => format.parsedLength(typedIn(form, name)) ?? 0);
        edit({ kind: "add-blemish", board: one.name, corner: [x, y], opposite: [x + w, y + t] });
      },
    },
    h("p", { class: "hint" }, "From the lower left of the board:"),
    h(
      "div",
      { class: "four" },
      FLAW.map(([name, label]) =>
        h(
          "label",
          {},
          label,
          h("input", {
            name,
            required: true,
            placeholder: format.hint("12 mm", "1/2 in"),
            "data-key": `flaw-${name}`,
            autocomplete: "off",
          }),
        ),
      ),
    ),
    h("button", { type: "submit", "data-key": "flaw-keep" }, "Mark it"),
  );
  return h(
    "details",
    {
      "data-key": "flaws-box",
      open: ui.isMarking || null,
      ontoggle: (event) => {
        ui.isMarking = event.currentTarget.open;
      },
    },
    h("summary", { "data-key": "flaws" }, `Blemishes (${one.blemishes.length})`),
    h(
      "p",
      { class: "hint" },
      "With this open, drag over the flaw on the board, or type where it is.",
    ),
    h(
      "ul",
      { class: "plain" },
      one.blemishes.map((flaw, number) =>
        h(
          "li",
          { class: "row" },
          format.size(
            [
              bounds(flaw.outline)[2] - bounds(flaw.outline)[0],
              bounds(flaw.outline)[3] - bounds(flaw.outline)[1],
            ],
            0,
          ),
          h(
            "button",
            {
              class: "quiet",
              "aria-label": "Remove this blemish",
              "data-key": `flaw-${number}`,
              onclick: () =>
                edit({ kind: "drop-blemish", board: one.name, number, seen: flaw.seen }),
            },
            icon("bin"),
          ),
        ),
      ),
    ),
    byHand,
  );
}

function keysHelp() {
  return h(
    "details",
    { "data-key": "keys-box" },
    h("summary", { "data-key": "keys" }, "By keyboard"),
    h(
      "dl",
      { class: "keys" },
      [
        ["arrows", `move the part ${format.arrowWords()}`],
        [", and .", "turn it a degree either way, with Shift half round"],
        ["o", "turn it over, where that is allowed"],
        ["Enter", "leave it there and pin it"],
        ["h", "hold it where it is, or let go"],
        ["Escape", "put it back"],
      ].map(([key, text]) => [h("dt", {}, key), h("dd", {}, text)]),
    ),
  );
}
