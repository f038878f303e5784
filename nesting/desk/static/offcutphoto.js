// The photo of an offcut as large as the wall: what was found on it, the sheet with its four
// corners to be moved, the grain, and a glass over the corner that is being moved.

import { h, s, speak } from "./dom.js";
import { pathOf } from "./geometry.js";
import { moveCorner, tell } from "./offcutfinding.js";

/** @import { Render } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Photo } from "./offcutfinding.js" */

const GLASS_PX = 36;

/**
 * @param {Photo} photo
 * @param {Point} size
 * @param {Render} render
 */
export function photoSection(photo, [width, height], render) {
  const corners = photo.aim === "corners" ? photo.corners : photo.found?.corners_px;
  const dot = Math.max(width, height) / 90;
  const line = { "vector-effect": "non-scaling-stroke" };
  const at = photo.grain;
  return h(
    "div",
    { class: "photo-place" },
    s(
      "svg",
      {
        class: "photo",
        viewBox: `-0.5 -0.5 ${width} ${height}`,
        role: "group",
        "aria-label": "The photo. The fields beside it take the same points by keyboard.",
        "data-key": "offcut-picture",
        onclick: (event) => clicked(photo, placeOf(event.currentTarget, event), render),
      },
      // Pixel centres are at whole numbers, so the first pixel begins half a pixel before.
      s("image", { href: photo.address, x: -0.5, y: -0.5, width, height }),
      photo.found
        ? s("path", {
            class: "found",
            d: pathOf(photo.found.outline_px),
            "fill-rule": "evenodd",
            "data-key": "offcut-outline",
            role: "img",
            "aria-label": "The board as it was found",
            ...line,
          })
        : null,
      corners ? s("path", { class: "sheet-edge", d: pathOf([corners]), ...line }) : null,
      at.length === 4
        ? s("line", { class: "along", x1: at[0], y1: at[1], x2: at[2], y2: at[3], ...line })
        : null,
      at.length >= 2
        ? s("circle", { class: "along", cx: at[0], cy: at[1], r: dot, ...line })
        : null,
      photo.aim === "corners"
        ? photo.corners?.map((corner, k) => handle(photo, corner, k, dot, render))
        : null,
    ),
    photo.aim === "corners" && photo.active !== null
      ? glass(photo, photo.corners?.[photo.active] ?? [0, 0], [width, height])
      : null,
  );
}

/**
 * @param {SVGSVGElement} picture
 * @param {MouseEvent} event
 * @returns {Point}
 */
function placeOf(picture, event) {
  const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(
    picture.getScreenCTM()?.inverse(),
  );
  return [Number(x.toFixed(1)), Number(y.toFixed(1))];
}

/**
 * @param {Photo} photo
 * @param {Point} at
 * @param {Render} render
 */
function clicked(photo, at, render) {
  if (photo.aim === "corners" && photo.corners) {
    const far = photo.corners.map((corner) => Math.hypot(corner[0] - at[0], corner[1] - at[1]));
    photo.active = far.indexOf(Math.min(...far));
    moveCorner(photo, photo.active, at);
    render();
  } else {
    const rounded = at.map(Math.round);
    photo.grain = photo.grain.length === 2 ? [...photo.grain, ...rounded] : rounded;
    tell(photo, render);
  }
}

/**
 * @param {Photo} photo
 * @param {Point} at
 * @param {number} k
 * @param {number} dot
 * @param {Render} render
 */
function handle(photo, [x, y], k, dot, render) {
  /** @param {Point} to */
  const moved = (to) => {
    photo.active = k;
    moveCorner(photo, k, to);
    render();
  };
  return s(
    "g",
    {
      class: "corner",
      tabindex: "0",
      role: "button",
      "data-key": `offcut-handle-${k}`,
      "aria-label":
        `Corner ${k + 1} of the sheet at ${Math.round(x)}, ${Math.round(y)}; the ` +
        `arrow keys move it by a pixel, with Shift by ten`,
      onpointerdown: (event) => {
        event.currentTarget.setPointerCapture(event.pointerId);
        event.currentTarget.focus({ preventScroll: true });
      },
      onpointermove: (event) => {
        if (event.currentTarget.hasPointerCapture(event.pointerId))
          moved(placeOf(/** @type {SVGSVGElement} */ (event.currentTarget.ownerSVGElement), event));
      },
      onclick: (event) => event.stopPropagation(),
      onfocus: () => {
        photo.active = k;
        render();
      },
      onkeydown: (event) => {
        const by = event.shiftKey ? 10 : 1;
        /** @type {Record<string, Point>} */
        const steps = {
          ArrowLeft: [-by, 0],
          ArrowRight: [by, 0],
          ArrowUp: [0, -by],
          ArrowDown: [0, by],
        };
        const step = steps[event.key];
        if (!step) return;
        event.preventDefault();
        const [x0, y0] = photo.corners?.[k] ?? [x, y];
        /** @type {Point} */
        const to = [x0 + step[0], y0 + step[1]];
        moved(to);
        speak(to.map(Math.round).join(", "));
      },
    },
    s("circle", { class: "reach", cx: x, cy: y, r: 2.5 * dot }),
    s("circle", { class: "mark", cx: x, cy: y, r: dot, "vector-effect": "non-scaling-stroke" }),
    s("text", { x: x + 1.6 * dot, y: y - 1.2 * dot, "font-size": 2.4 * dot }, String(k + 1)),
  );
}

/**
 * @param {Photo} photo
 * @param {Point} corner
 * @param {Point} size
 */
function glass(photo, [x, y], [width, height]) {
  return s(
    "svg",
    {
      class: "photo-glass",
      viewBox: `${x - GLASS_PX} ${y - GLASS_PX} ${2 * GLASS_PX} ${2 * GLASS_PX}`,
      "aria-hidden": "true",
    },
    s("image", { href: photo.address, x: -0.5, y: -0.5, width, height }),
    s("path", {
      d: `M${x - GLASS_PX} ${y}h${2 * GLASS_PX}M${x} ${y - GLASS_PX}v${2 * GLASS_PX}`,
      "vector-effect": "non-scaling-stroke",
    }),
  );
}
