// One board as it would look on the wall: wood as pale or dark as it is light or heavy, a pencil
// note of its density, and the parts that lie on it as the paper patterns that will be stuck there.

import { s } from "./dom.js";
import { bounds, pathOf, placed } from "./geometry.js";

/** @import { Board, Part, Placement } from "./answers.d.ts" */
/** @import { Box, Point, Ring } from "./geometry.js" */

/**
 * @typedef {object} Look
 * @property {boolean | null} [onPart] whether a part can be taken in the hand
 * @property {{ part: string, copy: number } | null} [chosen]
 * @property {number} [scale] pixels a millimetre
 * @property {boolean} [isShown] only shown: it cannot be dragged, and does not say which copy it is
 */

const LIGHTEST_KG_M3 = 70;
const HEAVIEST_KG_M3 = 300;
const PALE = [250, 236, 207];
const DARK = [202, 150, 92];
const PLY = [226, 196, 148];

// Balsa darkens with density on the page, as a builder's eye expects; ply has one colour and
// visible layers.
/** @param {Board} board */
export function woodColour(board) {
  if (!board.material.includes("balsa")) return `rgb(${PLY})`;
  const density = board.density_kg_m3 ?? 130;
  const share = Math.min(
    1,
    Math.max(0, (density - LIGHTEST_KG_M3) / (HEAVIEST_KG_M3 - LIGHTEST_KG_M3)),
  );
  return `rgb(${PALE.map((light, i) => Math.round(light + share * (DARK[i] - light)))})`;
}

// Grain lines that are always the same for one board, so that the wood does not shimmer as the page
// redraws.
/**
 * @param {Board} board
 * @param {Box} box
 */
function grainLines(board, [x0, y0, x1, y1]) {
  let seed = [...board.name].reduce((sum, letter) => (sum * 31 + letter.charCodeAt(0)) % 9973, 7);
  const next = () => {
    seed = (seed * 1103 + 12345) % 65536;
    return seed / 65536;
  };
  const lines = [];
  const step = Math.max((y1 - y0) / 11, 3);
  for (let y = y0 + step / 2; y < y1; y += step) {
    const at = y + (next() - 0.5) * step * 0.7;
    const [a, b] = [(next() - 0.5) * step, (next() - 0.5) * step];
    const third = (x1 - x0) / 3;
    lines.push(
      `M${x0} ${at.toFixed(1)}C${(x0 + third).toFixed(1)} ${(at + a).toFixed(1)} ` +
        `${(x1 - third).toFixed(1)} ${(at + b).toFixed(1)} ${x1} ${at.toFixed(1)}`,
    );
  }
  return lines.join("");
}

/**
 * @param {Board} board
 * @param {Placement[]} placements
 * @param {Part[]} parts
 * @param {Look & { clip?: string }} look
 */
export function boardDrawing(
  board,
  placements,
  parts,
  { onPart = null, chosen = null, scale = 1, clip = "", isShown = false } = {},
) {
  const box = bounds(board.outline[0]);
  const [x0, y0, x1, y1] = box;
  const pad = 3 / scale;
  const id = `wood-${clip}${board.number}`;
  return s(
    "svg",
    {
      class: "board-drawing",
      viewBox: `${x0 - pad} ${-y1 - pad} ${x1 - x0 + 2 * pad} ${y1 - y0 + 2 * pad}`,
      width: (x1 - x0 + 2 * pad) * scale,
      height: (y1 - y0 + 2 * pad) * scale,
      "data-board": isShown ? null : board.name,
      role: "group",
      "aria-label": `Board ${board.name}`,
    },
    s(
      "defs",
      {},
      s("clipPath", { id }, s("path", { d: pathOf(board.outline), "clip-rule": "evenodd" })),
    ),
    s(
      "g",
      { transform: "scale(1 -1)", class: "board-frame" },
      s("path", {
        d: pathOf(board.outline),
        class: "wood",
        fill: woodColour(board),
        "fill-rule": "evenodd",
        "vector-effect": "non-scaling-stroke",
      }),
      s("path", {
        d: grainLines(board, box),
        class: "wood-grain",
        "clip-path": `url(#${id})`,
        "vector-effect": "non-scaling-stroke",
      }),
      board.blemishes.map((flaw) =>
        s("path", {
          d: pathOf([flaw.outline]),
          class: flaw.is_soft ? "blemish soft" : "blemish",
          "vector-effect": "non-scaling-stroke",
        }),
      ),
      s(
        "g",
        { class: "on-board" },
        placements.map((placement) =>
          pieceDrawing(placement, parts, { onPart, chosen, scale, isShown }),
        ),
      ),
    ),
  );
}

// What is only shown cannot be dragged, so it does not say which copy it is.
/**
 * @param {Placement} placement
 * @param {Part[]} parts
 * @param {Look} look
 */
export function pieceDrawing(placement, parts, { onPart, chosen, scale = 1, isShown = false }) {
  const part = parts.find((one) => one.name === placement.part);
  if (!part?.outline) return null;
  const rings = part.outline.map((ring) => placed(ring, placement));
  const label = (part.copies ?? 1) > 1 ? `${part.name} ${placement.copy}` : part.name;
  const [x0, y0, x1, y1] = bounds(rings[0]);
  const isChosen = chosen && chosen.part === placement.part && chosen.copy === placement.copy;
  const size = Math.min(15 / scale, 0.34 * (y1 - y0), (1.7 * (x1 - x0)) / label.length);
  return s(
    "g",
    {
      class:
        `piece${isChosen ? " chosen" : ""}${placement.pinned ? " pinned" : ""}` +
        `${placement.holds === false ? " stale" : ""}`,
      tabindex: onPart ? "0" : null,
      role: onPart ? "button" : "img",
      "aria-label": [
        label,
        placement.pinned && "pinned",
        placement.flipped && "turned over",
        placement.holds === false && "no longer fits here",
      ]
        .filter(Boolean)
        .join(", "),
      "data-key": isShown ? null : `piece-${placement.part}-${placement.copy}`,
      "data-part": isShown ? null : placement.part,
      "data-copy": isShown ? null : placement.copy,
    },
    s("path", { d: pathOf(rings), "fill-rule": "evenodd", "vector-effect": "non-scaling-stroke" }),
    size * scale > 6
      ? s(
          "text",
          {
            x: inside(rings)[0],
            y: -inside(rings)[1],
            transform: "scale(1 -1)",
            "font-size": size,
            "text-anchor": "middle",
            "dominant-baseline": "central",
          },
          label,
        )
      : null,
    placement.pinned
      ? s("circle", { cx: x0 + 5 / scale, cy: y1 - 5 / scale, r: 4 / scale, class: "pin" })
      : null,
  );
}

// A place well inside a shape for its name: the middle of the widest stretch at half height.
/**
 * @param {Ring[]} rings
 * @returns {Point}
 */
function inside(rings) {
  const [x0, y0, x1, y1] = bounds(rings[0]);
  /** @type {Point} */
  let best = [(x0 + x1) / 2, (y0 + y1) / 2];
  let widest = 0;
  for (const share of [0.5, 0.38, 0.62]) {
    const y = y0 + share * (y1 - y0);
    const cuts = [];
    for (const ring of rings) {
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
        const [[ax, ay], [bx, by]] = [ring[j], ring[i]];
        if (ay > y !== by > y) cuts.push(ax + ((y - ay) / (by - ay)) * (bx - ax));
      }
    }
    cuts.sort((one, other) => one - other);
    for (let k = 0; k + 1 < cuts.length; k += 2) {
      if (cuts[k + 1] - cuts[k] > 1.02 * widest) {
        widest = cuts[k + 1] - cuts[k];
        best = [(cuts[k] + cuts[k + 1]) / 2, y];
      }
    }
  }
  return best;
}
