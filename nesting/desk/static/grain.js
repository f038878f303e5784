// The grain of a part: two points along it, or an arrow to turn.

import { h, slip, speak } from "./dom.js";
import { grainEnds } from "./geometry.js";
import { setValue } from "./store.js";
import { firstIsSet } from "./startover.js";

/** @import { Aim } from "./aims.js" */
/** @import { Part } from "./answers.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Sheet } from "./sheet.js" */

/** @typedef {Part & { outline_px: Point[][], grain_deg: number }} Laid a part with its grain */

/** @param {number} degrees */
const turned = (degrees) => ((degrees % 180) + 180) % 180;

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
export function grainAim(sheet) {
  /** @type {Point | null} */
  let first = null;
  /** @type {{ name: string, degrees: number } | null} */
  let turning = null;
  /** @param {Laid} part */
  const degreesOf = (part) => (turning?.name === part.name ? turning.degrees : part.grain_deg);

  /** @param {Laid} part */
  const ends = (part) => grainEnds(sheet, part, degreesOf(part));

  /**
   * @param {Laid} part
   * @param {Point} at
   */
  function degreesAt(part, at) {
    const [one, other] = ends(part).map((end) => sheet.toMm(end));
    const [x, y] = sheet.toMm(at);
    return turned(
      (Math.atan2(y - (one[1] + other[1]) / 2, x - (one[0] + other[0]) / 2) * 180) / Math.PI,
    );
  }

  /**
   * @param {Part | null} part
   * @returns {part is Laid}
   */
  const isReady = (part) =>
    Boolean(part?.outline_px && part.grain_deg !== undefined && sheet.plan?.scale);
  /** @param {number} degrees */
  const keep = (degrees) =>
    setValue(
      ["part", sheet.part?.name ?? "", "grain"],
      `${Math.round(10 * turned(degrees)) / 10} deg`,
    );

  return {
    name: "grain",
    text: "lay the grain",
    snaps: false,
    hasGlass: true,
    hint: "Click two points along the grain of the chosen part, or turn its arrow by an end.",
    begin() {
      first = turning = null;
    },
    drawsGrainOf: (part) => part.name === sheet.part?.name && isReady(part),
    click(at) {
      const { part } = sheet;
      if (!part) {
        slip("Choose a part first: click it with ‘look around’, or in the list of parts.", "fault");
        return;
      }
      if (!first) {
        first = at;
        speak("First point set. Now another along the grain.");
        sheet.render();
        sheet.viewer.draw();
        return;
      }
      const value = [first, at];
      first = null;
      setValue(["part", part.name, "grain"], value);
    },
    grab(at, reach) {
      const { part } = sheet;
      if (
        !isReady(part) ||
        !ends(part).some((end) => Math.hypot(end[0] - at[0], end[1] - at[1]) < 2 * reach)
      )
        return false;
      turning = { name: part.name, degrees: part.grain_deg };
      return true;
    },
    drag(at, { isByKeys = false } = {}) {
      const { part } = sheet;
      if (isByKeys || !turning || !isReady(part)) return;
      turning.degrees = degreesAt(part, at);
      sheet.render();
    },
    async drop(at) {
      const held = turning;
      if (at && sheet.part && held) await keep(held.degrees);
      if (turning === held) turning = null;
      sheet.viewer.draw();
    },
    draw(pen) {
      const { part } = sheet;
      if (isReady(part)) {
        const isAssumed = part.is_grain_assumed && !turning;
        const [from, to] = ends(part);
        pen.arrow(from, to, isAssumed ? "pencil" : "blue", {
          width: 3,
          dash: isAssumed ? [7, 5] : [],
        });
        for (const end of [from, to]) pen.dot(end, isAssumed ? "pencil" : "blue", { radius: 6 });
      }
      if (first)
        pen.line([first, sheet.pointer ? sheet.viewer.toPlan(sheet.pointer) : first], "blue", {
          dash: [6, 4],
        });
    },
    pad() {
      const { part } = sheet;
      if (!isReady(part)) return h("p", { class: "hint" }, "Choose a part that is traced.");
      const degrees = Math.round(10 * degreesOf(part)) / 10;
      return h(
        "section",
        { class: "slate", "data-key": "grain-box" },
        first
          ? firstIsSet("grain", "First point set; now another along the grain.", () => {
              first = null;
              sheet.render();
              sheet.viewer.draw();
            })
          : null,
        h(
          "label",
          {},
          `Grain of ${part.name}: ${degrees}° from the right, counter-clockwise`,
          h("input", {
            type: "range",
            min: 0,
            max: 179,
            step: 1,
            value: Math.round(degrees),
            "data-key": "grain-turn",
            oninput: (event) => {
              turning = { name: part.name, degrees: Number(event.currentTarget.value) };
              sheet.viewer.draw();
            },
            onchange: async (event) => {
              const held = turning;
              await keep(Number(event.currentTarget.value));
              if (turning === held) turning = null;
            },
          }),
        ),
        part.is_grain_assumed
          ? h(
              "p",
              { class: "hint" },
              "Assumed to follow the long side; the arrow is dashed until you say. ",
              h(
                "button",
                { class: "quiet", "data-key": "grain-accept", onclick: () => keep(part.grain_deg) },
                "It is so",
              ),
            )
          : null,
      );
    },
  };
}
