// One copy in the hand: how it turns and is turned over, and the buttons that do what the keys do.

import { h } from "./dom.js";
import { bounds, placed } from "./geometry.js";
import { icon } from "./icons.js";
import { part } from "./store.js";

function middle(one) {
  const [x0, y0, x1, y1] = bounds(placed(part(one.part).outline[0], one));
  return [(x0 + x1) / 2, (y0 + y1) / 2];
}

const within = (degrees) => ((degrees % 360) + 360) % 360;

// The same copy with another pose, its middle where it was, so that it stays under the hand.
function aboutMiddle(now, changes) {
  const moved = { ...now, ...changes };
  const [before, after] = [middle(now), middle(moved)];
  return {
    ...moved,
    x_mm: moved.x_mm + before[0] - after[0],
    y_mm: moved.y_mm + before[1] - after[1],
  };
}

export const turned = (now, degrees) =>
  aboutMiddle(now, { angle_deg: within(now.angle_deg + degrees) });

export const canTurnOver = (now) => part(now.part).hand === "either";

// Turned over with its grain lying as it did.
export function turnedOver(now) {
  const way = now.flipped ? -1 : 1;
  return aboutMiddle(now, {
    angle_deg: within(now.angle_deg + way * 2 * part(now.part).grain_deg),
    flipped: !now.flipped,
  });
}

export function pieceBar(now, isHeld, acts) {
  const name = part(now.part).copies > 1 ? `${now.part} ${now.copy}` : now.part;
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
