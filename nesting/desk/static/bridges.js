// Gaps through which an outline leaks: shown where they are, and closed by hand with two clicks.

import { h, speak } from "./dom.js";
import { icon } from "./icons.js";
import { desk, setValue } from "./store.js";
import { firstIsSet } from "./startover.js";

/** @import { Aim } from "./aims.js" */
/** @import { Plan } from "./answers.d.ts" */
/** @import { Box, Point } from "./geometry.js" */
/** @import { Sheet } from "./sheet.js" */

/** @param {Plan} plan */
const seenOf = (plan) => desk.state.seen.plan[plan.name]?.bridge ?? [];

/**
 * @param {string} plan
 * @param {number} number
 * @param {string} seen
 */
const dropping = (plan, number, seen) => () =>
  setValue(["plan", plan, "bridge", number], null, seen);

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
export function bridgeAim(sheet) {
  /** @type {Point | null} */
  let first = null;
  const gaps = () => sheet.openNotes().filter((note) => note.code === "open-part");
  /**
   * @param {Point} point
   * @param {number} reach
   * @returns {Box}
   */
  const around = ([x, y], reach) => [x - reach, y - reach, x + reach, y + reach];
  /** @param {Point} at */
  const goTo = (at) =>
    sheet.viewer.showBox(around(at, sheet.viewer.isDrawing ? 0.05 * sheet.viewer.span : 90));

  return {
    name: "bridge",
    text: "close a gap in a line",
    hasGlass: true,
    snaps: true,
    hint:
      "Red flags stand where an outline leaks. Click the two ends of the line that should " +
      "meet.",
    begin() {
      first = null;
    },
    async click(at) {
      if (!first) {
        first = at;
        speak("First end set. Now the other end.");
        sheet.render();
        sheet.viewer.draw();
        return;
      }
      const [from, to] = [first, at];
      first = null;
      if (await setValue(["plan", sheet.plan.name, "bridge", null], { from, to }))
        speak("The gap is closed. The part is traced again.");
      sheet.viewer.draw();
    },
    draw(pen) {
      for (const note of gaps()) pen.ring(note.at, 16, "red", { dash: [5, 4] });
      if (first)
        pen.line(
          [first, sheet.snap ?? (sheet.pointer ? sheet.viewer.toPlan(sheet.pointer) : first)],
          "red",
          { dash: [6, 4] },
        );
      for (const { from, to } of sheet.plan?.bridges ?? [])
        for (const end of [from, to]) pen.dot(end, "blue");
    },
    pad: () =>
      h(
        "section",
        { class: "slate", "data-key": "bridge-box" },
        first
          ? firstIsSet("bridge", "First end set; now the other.", () => {
              first = null;
              sheet.render();
              sheet.viewer.draw();
            })
          : null,
        gaps().length
          ? h(
              "ul",
              { class: "notes" },
              gaps().map((note, number) =>
                h(
                  "li",
                  { class: "open" },
                  note.text,
                  " ",
                  h(
                    "button",
                    {
                      class: "quiet",
                      "data-key": `gap-${number}`,
                      onclick: () => {
                        goTo(note.at);
                        sheet.canvas.focus();
                      },
                    },
                    "show",
                  ),
                ),
              ),
            )
          : h("p", { class: "hint" }, "No outline is known to leak."),
        sheet.plan.bridges.length ? h("h3", {}, "Closed by hand") : null,
        h(
          "ul",
          { class: "picks" },
          sheet.plan.bridges.map(({ from, to }, number) =>
            h(
              "li",
              {},
              `${from.map(Math.round).join(", ")} to ${to.map(Math.round).join(", ")} `,
              h(
                "button",
                {
                  class: "quiet",
                  "data-key": `show-bridge-${number}`,
                  onclick: () => goTo([(from[0] + to[0]) / 2, (from[1] + to[1]) / 2]),
                },
                "show",
              ),
              h(
                "button",
                {
                  class: "quiet",
                  "data-key": `drop-bridge-${number}`,
                  "aria-label": `Open again the gap at ${from.map(Math.round).join(", ")}`,
                  onclick: dropping(sheet.plan.name, number, seenOf(sheet.plan)[number]),
                },
                icon("bin"),
              ),
            ),
          ),
        ),
      ),
  };
}
