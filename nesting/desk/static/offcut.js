// The pad that takes a board without straight edges off a photo: it lies on a sheet of known size.
// What was found is shown on the photo; only 'Keep it' puts it into the rack.

import { h } from "./dom.js";
import * as format from "./format.js";
import {
  freshPhoto,
  haveCornersFound,
  keep,
  leavePhoto,
  lookForIt,
  moveCorner,
  startingCorners,
  take,
  tell,
} from "./offcutfinding.js";

/** @import { OffcutAnswer } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */
/** @import { Photo } from "./offcutfinding.js" */
/** @import { RackUi } from "./rack.js" */

const SHEETS = ["A4", "A3", "A2", "A1", "A0", "Letter"];
/** @type {[Photo["aim"], string][]} */
const AIMS = [
  ["grain", "lay the grain, by two points along it"],
  ["corners", "set a corner of the sheet"],
];

/**
 * @param {RackUi} ui
 * @param {Render} render
 */
export function offcutForm(ui, render) {
  ui.photo ??= freshPhoto();
  const { photo } = ui;
  return [
    h(
      "form",
      {
        "data-key": "offcut",
        onsubmit: (event) => {
          event.preventDefault();
          lookForIt(photo, render);
        },
      },
      h("h2", {}, "Offcut by photo"),
      h(
        "p",
        { class: "hint" },
        "Lay the board wholly on a sheet of paper or card of another brightness, and take the " +
          "whole sheet into the picture, from straight above.",
      ),
      h(
        "label",
        {},
        "The photo",
        h("input", {
          type: "file",
          name: "photo",
          accept: "image/*",
          capture: "environment",
          required: true,
          "data-key": "offcut-photo",
          onchange: (event) => take(event.currentTarget.files?.[0] ?? null, photo, render),
        }),
      ),
      h(
        "label",
        {},
        "The sheet that it lies on",
        h("input", {
          name: "sheet",
          value: photo.sheet,
          required: true,
          list: "offcut-sheets",
          "data-key": "offcut-sheet",
          autocomplete: "off",
          oninput: (event) => {
            photo.sheet = event.currentTarget.value;
            if (photo.found) {
              photo.found = null;
              render();
            }
          },
        }),
      ),
      h(
        "datalist",
        { id: "offcut-sheets" },
        SHEETS.map((name) => h("option", { value: name })),
      ),
      h(
        "p",
        { class: "hint" },
        `A3, A4, Letter, or two lengths such as ${format.hint("420 x 297 mm", "17 x 11 in")}.`,
      ),
      photo.size ? aims(photo, render) : null,
      photo.corners && photo.aim === "corners" ? cornerFields(photo, render) : null,
      h(
        "button",
        {
          class: photo.found ? "" : "main",
          type: "submit",
          "data-key": "offcut-look",
          disabled: photo.isBusy,
        },
        photo.isBusy
          ? "Looking for the board …"
          : photo.found
            ? "Look again"
            : "Look for the board",
      ),
    ),
    photo.found && photo.told ? keepForm(ui, photo, photo.found, photo.told, render) : null,
    h(
      "p",
      {},
      h(
        "button",
        {
          type: "button",
          "data-key": "offcut-away",
          onclick: () => {
            leavePhoto(ui);
            ui.isPhoto = false;
            render();
          },
        },
        "Put it away",
      ),
    ),
  ];
}

/**
 * @param {Photo} photo
 * @param {Render} render
 */
function aims(photo, render) {
  /** @param {Photo["aim"]} aim */
  const set = (aim) => {
    photo.aim = aim;
    if (aim === "corners" && photo.size) photo.corners ??= startingCorners(photo.size);
    render();
  };
  return h(
    "fieldset",
    { class: "rows" },
    h("legend", {}, "A click on the photo is to …"),
    AIMS.map(([aim, text]) =>
      h(
        "label",
        { class: "aim" },
        h("input", {
          type: "radio",
          name: "offcut-aim",
          value: aim,
          checked: photo.aim === aim,
          "data-key": `offcut-aim-${aim}`,
          onchange: () => set(aim),
        }),
        text,
      ),
    ),
    h(
      "p",
      { class: "hint" },
      photo.aim === "corners"
        ? "Drag each mark onto a corner of the sheet, click beside it, move it by the arrow " +
            "keys, or type its pixel below."
        : "Where the sheet is not found, or its corners lie wrongly, set them by hand.",
    ),
    h(
      "label",
      {},
      "Grain: two pixels of the photo along it",
      h("input", {
        name: "grain",
        value: photo.grain.join(", "),
        placeholder: "along the long side",
        "data-key": "offcut-grain",
        autocomplete: "off",
        onchange: (event) => {
          photo.grain = numbers(event.currentTarget.value).slice(0, 4);
          tell(photo, render);
        },
      }),
    ),
  );
}

/** @param {string} text */
const numbers = (text) =>
  text
    .split(/[\s,;]+/)
    .filter(Boolean)
    .map(Number)
    .filter(Number.isFinite);

/**
 * @param {Photo} photo
 * @param {Render} render
 */
function cornerFields(photo, render) {
  /** @param {number} k */
  const set = (k) => (/** @type {{ currentTarget: HTMLInputElement }} */ event) => {
    const [x, y, ...more] = numbers(event.currentTarget.value);
    if (y !== undefined && !more.length) moveCorner(photo, k, [x, y]);
    render();
  };
  return h(
    "fieldset",
    { class: "rows" },
    h("legend", {}, "Corners of the sheet, in pixels"),
    h(
      "div",
      { class: "four" },
      photo.corners?.map((at, k) =>
        h(
          "label",
          {},
          `Corner ${k + 1}`,
          h("input", {
            value: at.map((one) => Math.round(one)).join(", "),
            "data-key": `offcut-corner-${k}`,
            autocomplete: "off",
            onchange: set(k),
            onfocus: () => {
              photo.active = k;
              render();
            },
          }),
        ),
      ),
    ),
    photo.isByHand
      ? h(
          "button",
          {
            type: "button",
            class: "quiet",
            "data-key": "offcut-find-corners",
            onclick: () => {
              haveCornersFound(photo);
              render();
            },
          },
          "Have them found instead",
        )
      : null,
  );
}

/**
 * @param {RackUi} ui
 * @param {Photo} photo
 * @param {OffcutAnswer} found
 * @param {NonNullable<Photo["told"]>} told
 * @param {Render} render
 */
function keepForm(ui, photo, found, told, render) {
  /**
   * @param {keyof Photo["said"]} name
   * @param {string} label
   * @param {Record<string, unknown>} more
   */
  const field = (name, label, more = {}) =>
    h(
      "label",
      {},
      label,
      h("input", {
        name,
        value: photo.said[name],
        "data-key": `offcut-${name}`,
        autocomplete: "off",
        oninput: (event) => {
          photo.said[name] = event.currentTarget.value;
        },
        onchange: () => tell(photo, render),
        ...more,
      }),
    );
  return h(
    "form",
    {
      class: "slate",
      "data-key": "offcut-found",
      onsubmit: (event) => {
        event.preventDefault();
        keep(ui, photo, found.number, render);
      },
    },
    h("h3", {}, "Found"),
    h(
      "p",
      { "data-key": "offcut-told" },
      `${format.size(told.size_mm)}, ${format.area(told.area_mm2)}. ` +
        `${photo.grain.length === 4 ? "" : "Its grain is taken to run along its long side."}`,
    ),
    found.notes.map((note) => h("p", { class: "hint" }, note.text)),
    field("board", "Name", { required: true }),
    field("material", "Material", { required: true }),
    field("thickness", "Thickness", { required: true, placeholder: format.hint("3 mm", "1/8 in") }),
    field("mass", "Mass on the scale", { placeholder: "not weighed" }),
    field("density", "Or its density, to see what it would weigh", {
      placeholder: format.hint("120 kg/m3", "7.5 lb/ft3"),
    }),
    told.mass_g == null
      ? null
      : h("p", { "data-key": "offcut-mass-told" }, `It would weigh ${format.mass(told.mass_g)}.`),
    told.density_kg_m3 == null
      ? null
      : h(
          "p",
          { "data-key": "offcut-density-told" },
          `By the scale it is wood of ${format.density(told.density_kg_m3)}.`,
        ),
    h("button", { class: "main", type: "submit", "data-key": "offcut-keep" }, "Keep it"),
  );
}
