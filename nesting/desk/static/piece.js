// One copy in the hand: how it turns and is turned over, and the buttons that do what the keys do.

import { h } from "./dom.js";
import { bounds, placed } from "./geometry.js";
import { icon } from "./icons.js";
import { part } from "./store.js";

/** @import { Placement } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Drawing } from "./icons.js" */

/** @typedef {Placement & { board: string }} Held a copy as it lies, or as it is held */
/**
 * @typedef {object} Acts what may be done with the chosen copy
 * @property {(now: Held, degrees: number) => unknown} turn
 * @property {(now: Held) => unknown} over
 * @property {(now: Held, across: number, up: number) => unknown} move
 * @property {(now: Held) => unknown} keep
 * @property {(now: Held) => unknown} pin
 * @property {Render} putBack
 * @property {Render} leave
 */

// The edge of a part that lies on a board; one that is gone has none.
/** @param {string} name */
export const outlineOf = (name) => part(name)?.outline?.[0] ?? [];

/**
 * @param {Held} one
 * @returns {Point}
 */
function middle(one) {
  const [x0, y0, x1, y1] = bounds(placed(outlineOf(one.part), one));
  return [(x0 + x1) / 2, (y0 + y1) / 2];
}

/** @param {number} degrees */
const within = (degrees) => ((degrees % 360) + 360) % 360;

// The same copy with another pose, its middle where it was, so that it stays under the hand.
/**
 * @param {Held} now
 * @param {Partial<Held>} changes
 * @returns {Held}
 */
function aboutMiddle(now, changes) {
  const moved = { ...now, ...changes };
  const [before, after] = [middle(now), middle(moved)];
  return {
    ...moved,
    x_mm: moved.x_mm + before[0] - after[0],
    y_mm: moved.y_mm + before[1] - after[1],
  };
}

/**
 * @param {Held} now
 * @param {number} degrees
 */
export const turned = (now, degrees) =>
  aboutMiddle(now, { angle_deg: within(now.angle_deg + degrees) });

/** @param {Held} now */
export const canTurnOver = (now) => part(now.part)?.hand === "either";

// Turned over with its grain lying as it did.
/** @param {Held} now */
export function turnedOver(now) {
  const way = now.flipped ? -1 : 1;
  return aboutMiddle(now, {
    angle_deg: within(now.angle_deg + way * 2 * (part(now.part)?.grain_deg ?? 0)),
    flipped: !now.flipped,
  });
}

/**
 * @param {Held} now
 * @param {boolean} isHeld
 * @param {Acts} acts
 */
export function pieceBar(now, isHeld, acts) {
  const name = (part(now.part)?.copies ?? 1) > 1 ? `${now.part} ${now.copy}` : now.part;
  /**
   * @param {string} key
   * @param {Drawing | null} drawing
   * @param {string} text
   * @param {Render} act
   * @param {Record<string, unknown>} more
   */
  const button = (key, drawing, text, act, more = {}) =>
    h(
      "button",
      { type: "button", "data-key": `piece-bar-${key}`, onclick: act, ...more },
      drawing && icon(drawing),
      text,
    );
  return h(
    "div",
    {
      class: "piece-bar",
      role: "toolbar",
      "aria-label": `The chosen part, ${name}`,
      "data-key": "piece-bar",
    },
    h("strong", {}, name),
    h(
      "span",
      { class: "pencil" },
      isHeld ? "in your hand" : now.pinned ? `pinned on ${now.board}` : `on ${now.board}`,
    ),
    button("left", "turn", "1°", () => acts.turn(now, 1), {
      "aria-label": "Turn it a degree to the left",
    }),
    button("right", "turnback", "1°", () => acts.turn(now, -1), {
      "aria-label": "Turn it a degree to the right",
    }),
    button("half", "half", "Half round", () => acts.turn(now, 180)),
    canTurnOver(now) ? button("over", "over", "Turn over", () => acts.over(now)) : null,
    isHeld
      ? [
          button("keep", null, "Leave it there", () => acts.keep(now), { class: "main" }),
          button("back", null, "Put it back", acts.putBack),
        ]
      : [
          button("pin", "pin", now.pinned ? "Let it go" : "Pin it here", () => acts.pin(now), {
            "aria-pressed": String(Boolean(now.pinned)),
          }),
          button("leave", null, "×", acts.leave, {
            class: "quiet",
            "aria-label": "Choose no part",
          }),
        ],
  );
}
