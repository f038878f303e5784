// A part of which half is drawn: two points on its centre line complete it.

import { h, slip, speak } from "./dom.js";
import { icon } from "./icons.js";
import { setValue } from "./store.js";
import { firstIsSet } from "./startover.js";

/** @import { Aim } from "./aims.js" */
/** @import { Point } from "./geometry.js" */
/** @import { Sheet } from "./sheet.js" */

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
export function halfAim(sheet) {
  /** @type {{ at: Point, part: string } | null} */
  let first = null;
  const again = () => {
    first = null;
    sheet.render();
    sheet.viewer.draw();
  };
  /** @param {Point[] | null} value */
  const set = (value) => setValue(["part", sheet.part?.name ?? "", "mirror"], value);

  return {
    name: "half",
    text: "complete half a part",
    snaps: true,
    hasGlass: true,
    hint: "Where only half of the chosen part is drawn: click two points on the centre line.",
    begin() {
      first = null;
    },
    async click(at) {
      if (!sheet.part || sheet.part.from) {
        slip(
          "Choose a part of this sheet first: click it with ‘look around’, or in the list of " +
            "parts.",
          "fault",
        );
        return;
      }
      if (first?.part !== sheet.part.name) {
        first = { at, part: sheet.part.name };
        speak("First point of the centre line set. Now another, far from it.");
        sheet.render();
        sheet.viewer.draw();
        return;
      }
      const value = [first.at, at];
      first = null;
      if (await set(value)) speak("The centre line is kept; the part is traced again.");
      sheet.viewer.draw();
    },
    draw(pen) {
      if (sheet.part?.mirror)
        pen.line(sheet.part.mirror, "blue", { width: 1.6, dash: [14, 4, 3, 4] });
      if (first?.part === sheet.part?.name && first)
        pen.line(
          [first.at, sheet.snap ?? (sheet.pointer ? sheet.viewer.toPlan(sheet.pointer) : first.at)],
          "blue",
          { dash: [14, 4, 3, 4] },
        );
    },
    pad() {
      const { part } = sheet;
      if (!part || part.from) return h("p", { class: "hint" }, "Choose a part of this sheet.");
      return h(
        "section",
        { class: "slate", "data-key": "half-box" },
        first?.part === part.name
          ? firstIsSet("half", "First point set; now another on the centre line.", again)
          : null,
        part.mirror
          ? h(
              "p",
              { class: "row" },
              h(
                "span",
                {},
                `Half of ${part.name} is drawn; its centre line goes through ` +
                  `${part.mirror.map((at) => at.map(Math.round).join(", ")).join(" and ")}.`,
              ),
              h(
                "button",
                {
                  class: "quiet",
                  "data-key": "half-drop",
                  "aria-label": `All of ${part.name} is drawn: take the centre line away`,
                  onclick: () => set(null),
                },
                icon("bin"),
              ),
            )
          : h("p", { class: "hint" }, `${part.name} is taken as it is drawn.`),
      );
    },
  };
}
