// A board that is looked for on a photo: what the page holds of it until it is kept or put away.

import { post, sendOffcut } from "./api.js";
import { focusOn, slip, speak } from "./dom.js";
import * as format from "./format.js";
import { attempt, choose, refresh } from "./store.js";

/** @import { OffcutAnswer, OffcutSize } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { RackUi } from "./rack.js" */

/**
 * @typedef {object} Photo
 * @property {File | null} file
 * @property {string} address of the picture; empty where there is none
 * @property {Point | null} size
 * @property {string} sheet
 * @property {"grain" | "corners"} aim
 * @property {number[]} grain none, one or both of its points, one number after the other
 * @property {Point[] | null} corners
 * @property {boolean} isByHand
 * @property {number | null} active the corner that is being moved
 * @property {OffcutAnswer | null} found
 * @property {(Partial<OffcutSize> & Pick<OffcutSize, "size_mm" | "area_mm2">) | null} told
 * @property {boolean} isBusy
 * @property {number} turn counts what was asked
 * @property {{ board: string, material: string, thickness: string, mass: string, density: string
 *   }} said
 */

/** @returns {Photo} */
export const freshPhoto = () => ({
  file: null,
  address: "",
  size: null,
  sheet: "A4",
  aim: "grain",
  grain: [],
  corners: null,
  isByHand: false,
  active: null,
  found: null,
  told: null,
  isBusy: false,
  turn: 0,
  said: { board: "", material: "balsa", thickness: "", mass: "", density: "" },
});

// Nothing of the photo stays, here or at the server.
/** @param {RackUi} ui */
export function leavePhoto(ui) {
  if (!ui.photo) return;
  if (ui.photo.address) URL.revokeObjectURL(ui.photo.address);
  if (ui.photo.told) post("offcuts/forget").catch(() => {});
  ui.photo = null;
}

// The photo as the browser shows it is as the server reads it: both turn it as the camera says.
/**
 * @param {File | null} file
 * @param {Photo} photo
 * @param {Render} render
 */
export function take(file, photo, render) {
  if (photo.address) URL.revokeObjectURL(photo.address);
  Object.assign(photo, {
    file,
    address: file ? URL.createObjectURL(file) : "",
    size: null,
    grain: [],
    found: null,
    aim: "grain",
  });
  haveCornersFound(photo);
  render();
  if (!file) return;
  const picture = new Image();
  picture.onload = () => {
    if (photo.file === file) {
      photo.size = [picture.naturalWidth, picture.naturalHeight];
      render();
    }
  };
  picture.onerror = () =>
    slip(`${file.name} is no picture that can be shown here; save it as JPEG or PNG.`, "fault");
  picture.src = photo.address;
}

// Marks to be drawn out to the corners of the sheet, where they were not found.
/**
 * @param {Point} size
 * @returns {Point[]}
 */
export const startingCorners = ([width, height]) =>
  [
    [0.1, 0.1],
    [0.9, 0.1],
    [0.9, 0.9],
    [0.1, 0.9],
  ].map(([x, y]) => /** @type {Point} */ ([x * width, y * height]));

// What was found by other corners is not what would be found by these.
/**
 * @param {Photo} photo
 * @param {number} number
 * @param {Point} at
 */
export function moveCorner(photo, number, at) {
  photo.corners = (photo.corners ?? []).map((one, k) => (k === number ? at : one));
  photo.isByHand = true;
  photo.found = null;
}

/** @param {Photo} photo */
export const haveCornersFound = (photo) =>
  Object.assign(photo, { corners: null, isByHand: false, active: null, found: null, aim: "grain" });

/**
 * @param {Photo} photo
 * @param {Render} render
 */
export async function lookForIt(photo, render) {
  const { file } = photo;
  if (!file) return;
  photo.isBusy = true;
  photo.found = null;
  render();
  const said = {
    sheet: photo.sheet,
    ...(photo.isByHand && photo.corners
      ? {
          corners: photo.corners
            .flat()
            .map((one) => one.toFixed(1))
            .join(","),
        }
      : {}),
  };
  const found = await attempt(() => sendOffcut(file, said));
  photo.isBusy = false;
  if (found && photo.file === file) {
    photo.found = photo.told = found;
    if (!photo.isByHand) photo.corners = found.corners_px;
    await tell(photo, render);
    speak(`Found: ${format.size(photo.told.size_mm)}, ${format.area(photo.told.area_mm2)}.`);
    focusOn("[data-key=offcut-board]");
  }
  render();
}

/** @param {Photo} photo */
const grainOf = (photo) =>
  photo.grain.length === 4 ? [photo.grain.slice(0, 2), photo.grain.slice(2)] : null;

// Size along the grain, and what it weighs, are asked of the server anew whenever what they follow
// from changes.
/**
 * @param {Photo} photo
 * @param {Render} render
 */
export async function tell(photo, render) {
  if (photo.found) {
    const { thickness, mass, density } = photo.said;
    const asked = { number: photo.found.number, grain: grainOf(photo), thickness, mass, density };
    const turn = (photo.turn += 1);
    const told = await attempt(() => post("offcuts/describe", asked));
    // An answer that was overtaken by a later one says what no longer holds.
    if (told && turn === photo.turn && photo.found) photo.told = told;
  }
  render();
}

/**
 * @param {RackUi} ui
 * @param {Photo} photo
 * @param {number} number of the board that was found
 * @param {Render} render
 */
export async function keep(ui, photo, number, render) {
  const { board, material, thickness, mass } = photo.said;
  const kept = await attempt(() =>
    post("offcuts/keep", {
      number,
      board,
      material,
      thickness,
      mass,
      grain: grainOf(photo),
    }),
  );
  if (kept) {
    const text = `${kept.board} is in the rack. Undo takes it away.`;
    slip(text);
    speak(text);
    photo.told = null; // the server has put it away by itself
    if (ui.photo === photo) {
      leavePhoto(ui);
      ui.isPhoto = false;
    }
    choose("board", kept.board);
  }
  await refresh();
  render();
}
