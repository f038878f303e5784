// A photographed sheet: its four corners marked on the picture, and its true size typed, flatten
// it.

import { focusOn, h, speak, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { setValue } from "./store.js";

/** @import { Aim } from "./aims.js" */
/** @import { Point } from "./geometry.js" */
/** @import { Sheet } from "./sheet.js" */

/**
 * @param {Point} one
 * @param {Point} other
 */
const near = (one, other) => Math.hypot(one[0] - other[0], one[1] - other[1]);

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
export function cornersAim(sheet) {
  /** @type {Point[]} */
  let marked = [];
  /** @type {number | null} */
  let moving = null;
  /** @type {number | null} */
  let held = null;
  // As they were last read from the job; what differs from that is the builder's, and not to be
  // read over.
  let read = "";
  const isIdle = () => held === null && moving === null;
  const asText = () => JSON.stringify(marked);
  const refreshed = () => {
    sheet.render();
    sheet.viewer.draw();
  };

  function begin() {
    marked = (sheet.plan?.corners ?? []).map(([x, y]) => [x, y]);
    moving = held = null;
    read = asText();
  }

  /** @param {string} size */
  async function keep(size) {
    const sent = asText();
    const done = await setValue(["plan", sheet.plan.name, "sheet"], size || null, null, [
      {
        at: ["plan", sheet.plan.name, "corners"],
        value: size && marked.length === 4 ? marked : null,
      },
    ]);
    if (done && isIdle() && asText() === sent) begin();
    else if (done && isIdle()) saveMoved();
    refreshed();
  }

  const isSaved = () => asText() === JSON.stringify(sheet.plan?.corners ?? []);
  const saveMoved = () => {
    if (marked.length === 4 && sheet.plan?.sheet) keep(sheet.plan.sheet);
  };

  return {
    name: "corners",
    text: "mark the corners of a photo",
    hasGlass: true,
    snaps: true,
    snapsTo: "edge",
    begin,
    hint:
      "For a photographed sheet: click its four corners in any order, then type how large " +
      "the sheet is.",
    told(what) {
      if (
        what === "state" &&
        marked.length === 4 &&
        isIdle() &&
        asText() === read &&
        sheet.plan?.corners
      )
        begin();
    },
    click(at) {
      if (moving !== null) {
        marked[moving] = at;
        moving = null;
        saveMoved();
      } else if (marked.length < 4) {
        marked = [...marked, at];
        speak(
          marked.length < 4
            ? `${marked.length} of 4 corners marked.`
            : "All four corners marked. Type the size of the sheet.",
        );
      } else
        speak(
          "All four corners are marked. Drag one, or move it with its button beside the sheet.",
        );
      refreshed();
      if (marked.length === 4 && !isSaved()) focusOn("[data-key=sheet-size]");
    },
    grab(at, reach) {
      held = marked.findIndex((corner) => near(corner, at) < 1.6 * reach);
      if (held < 0) held = null;
      return held !== null;
    },
    drag(at, { isByKeys = false } = {}) {
      if (isByKeys || held === null) return;
      marked[held] = at;
      sheet.viewer.draw();
    },
    async drop(at) {
      const number = held;
      const landed = at && (sheet.snap ?? (await sheet.snapped(at)) ?? at);
      held = null;
      if (landed && number !== null) marked[number] = landed;
      saveMoved();
      refreshed();
    },
    draw(pen) {
      if (marked.length > 2)
        pen.shape([around(marked)], "red", { fill: 0.04, width: 1.5, dash: [6, 4] });
      marked.forEach((corner, number) => {
        const [x, y] = sheet.viewer.toScreen(corner);
        pen.ring(corner, 9, "red", { width: number === moving ? 3.5 : 2 });
        pen.tag([x + 20, y - 14], String(number + 1), "red");
      });
    },
    pad: () =>
      h(
        "form",
        {
          class: "slate",
          "data-key": "corners-form",
          onsubmit: (event) => {
            event.preventDefault();
            keep(typedIn(event.currentTarget, "sheet"));
          },
        },
        h(
          "p",
          {},
          marked.length === 4 ? "Four corners marked." : `${marked.length} of 4 corners marked.`,
        ),
        h(
          "ol",
          { class: "picks" },
          marked.map(([x, y], number) =>
            h(
              "li",
              {},
              `corner ${number + 1} at ${Math.round(x)}, ${Math.round(y)} `,
              h(
                "button",
                {
                  type: "button",
                  class: "quiet",
                  "data-key": `corner-move-${number}`,
                  "aria-pressed": String(moving === number),
                  onclick: () => {
                    moving = number;
                    refreshed();
                    sheet.canvas.focus();
                    speak("Click, or press Enter, where this corner is.");
                  },
                },
                "move",
              ),
              h(
                "button",
                {
                  type: "button",
                  class: "quiet",
                  "data-key": `corner-drop-${number}`,
                  "aria-label": `Take corner ${number + 1} away`,
                  onclick: () => {
                    marked.splice(number, 1);
                    moving = null;
                    refreshed();
                  },
                },
                icon("bin"),
              ),
            ),
          ),
        ),
        h(
          "label",
          {},
          "True size of the sheet",
          h("input", {
            name: "sheet",
            "data-key": "sheet-size",
            list: "sheet-sizes",
            required: marked.length === 4,
            value: sheet.plan?.sheet ?? "",
            placeholder: format.hint("A3, or 420 x 297 mm", "Letter, or 17 x 11 in"),
            autocomplete: "off",
          }),
        ),
        h(
          "datalist",
          { id: "sheet-sizes" },
          ["A4", "A3", "A2", "A1", "A0", "Letter", "Tabloid"].map((name) =>
            h("option", { value: name }),
          ),
        ),
        h(
          "p",
          { class: "hint" },
          "With a size and no corners the sheet is looked for on the picture.",
        ),
        h(
          "div",
          { class: "row wrap" },
          h(
            "button",
            {
              class: "main",
              type: "submit",
              "data-key": "corners-keep",
              disabled: marked.length > 0 && marked.length < 4,
            },
            "Flatten the photo",
          ),
          sheet.plan?.sheet || marked.length
            ? h(
                "button",
                {
                  type: "button",
                  "data-key": "corners-clear",
                  onclick: () => {
                    marked = [];
                    moving = null;
                    keep("");
                  },
                },
                "It is no photo",
              )
            : null,
        ),
      ),
  };
}

// The corners as they go round, whatever the order they were marked in.
/**
 * @param {Point[]} points
 * @returns {Point[]}
 */
function around(points) {
  const middle = [0, 1].map(
    (axis) => points.reduce((sum, point) => sum + point[axis], 0) / points.length,
  );
  return [...points].sort(
    (one, other) =>
      Math.atan2(one[1] - middle[1], one[0] - middle[0]) -
      Math.atan2(other[1] - middle[1], other[0] - middle[0]),
  );
}
