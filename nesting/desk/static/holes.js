// The holes of a part: each kept or filled with one click on it, and new ones cut. What was taken
// for a hole may be a letter, and a letter a hole.

import { h, slip, speak } from "./dom.js";
import { area, contains } from "./geometry.js";
import { choose, desk, setValue } from "./store.js";

/** @import { Aim } from "./aims.js" */
/** @import { Part } from "./answers.d.ts" */
/** @import { Point, Ring } from "./geometry.js" */
/** @import { Shape, Sheet } from "./sheet.js" */

// A closed shape that takes more of a part than this is the part itself.
const PART_SHARE = 0.95;

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
export function holeAim(sheet) {
  const seen = () => desk.state.seen.part[sheet.part?.name ?? ""];
  // The part that is meant: the chosen one, else the one under the hand.
  /** @param {Point} at */
  const meant = (at) => {
    const part = sheet.part ?? sheet.partAt(at);
    return part?.outline_px && !part.from && contains(part.outline_px[0], at) ? part : null;
  };
  /**
   * @param {Ring[] | undefined | null} rings
   * @param {Point} at
   */
  const under = (rings, at) => rings?.find((ring) => contains(ring, at)) ?? null;
  /** @param {Part} part */
  const holesOf = (part) => part.outline_px?.slice(1);

  /** @param {Point} at */
  function shapeAt(at) {
    const part = meant(at);
    if (!part?.outline_px) return null;
    const hole = under(part.filled_px, at) ?? under(holesOf(part), at);
    if (hole) return sheet.shapeOf([hole]);
    const region = sheet.regionAt(at);
    const isPart = !region || area(region.outline_px[0]) > PART_SHARE * area(part.outline_px[0]);
    return isPart ? null : region;
  }

  // Take an entry that lies in a ring out of a list of places of the part.
  /**
   * @param {Part} part
   * @param {"fill" | "cutout"} role
   * @param {Ring} ring
   */
  function without(part, role, ring) {
    const number = part[role].findIndex((place) => contains(ring, place));
    if (number < 0) return null;
    return setValue(["part", part.name, role, number], null, seen()?.[role]?.[number]);
  }

  /**
   * @param {Promise<boolean>} done
   * @param {string} text
   */
  const told = async (done, text) => {
    if (await done) speak(text);
  };

  return {
    name: "cutout",
    text: "keep, fill or cut a hole",
    hint:
      "Click a hole to fill it, as a letter that was taken for one; click it again to cut it. " +
      "Click any other shape in the part to cut that out.",
    hovers: true,
    hoverColour: "red",
    shapeAt,
    click(at) {
      const part = meant(at);
      if (!part) {
        slip("Click inside a part that is traced on this sheet.");
        return;
      }
      choose("part", part.name);
      const [filled, hole] = [under(part.filled_px, at), under(holesOf(part), at)];
      if (filled) {
        const kept = without(part, "fill", filled);
        if (kept) told(kept, "It is a hole again.");
      } else if (hole) {
        told(
          without(part, "cutout", hole) ?? setValue(["part", part.name, "fill", null], at),
          "The hole is filled.",
        );
      } else if (shapeAt(at))
        told(setValue(["part", part.name, "cutout", null], at), "It is cut out.");
      else
        slip(
          "No closed shape is drawn in the part there. A round hole can be drilled, by a step of " +
            "the part.",
        );
    },
    draw(pen) {
      const { part } = sheet;
      for (const ring of part?.filled_px ?? [])
        pen.shape([ring], "pencil", { fill: 0.06, width: 1.5, dash: [5, 4] });
      for (const ring of (part && holesOf(part)) ?? [])
        pen.shape([ring], "red", { fill: 0.05, width: 2 });
    },
    pad: () => {
      const { part } = sheet;
      if (!part?.outline_px) return null;
      const [cut, filled] = [holesOf(part)?.length ?? 0, part.filled_px?.length ?? 0];
      return h(
        "p",
        { class: "hint", "data-key": "holes-told" },
        `${part.name}: ${cut === 1 ? "1 hole" : `${cut} holes`}, ` +
          `${filled ? `${filled} filled (dashed)` : "none filled"}.`,
      );
    },
  };
}
