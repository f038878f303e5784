// Picks one point on a plan, over whatever view is open: the same sheet, glass and snapping as on
// the plan itself.

import { get, wordsOf } from "./api.js";
import { h, speak } from "./dom.js";
import { Viewer } from "./viewer.js";

/** @import { Plan } from "./answers.d.ts" */
/** @import { Point } from "./geometry.js" */

const SNAP_WAIT_MS = 70;

/**
 * @param {Plan} plan
 * @param {string} label
 * @param {Point | null} from
 * @param {(at: Point) => unknown} done
 * @param {HTMLElement} opener
 */
export function pickPoint(plan, label, from, done, opener) {
  const canvas = h("canvas", {
    class: "picker-sheet",
    tabindex: "0",
    role: "application",
    "aria-label":
      `${label}. Arrow keys move the aim, with Shift faster; Enter picks, Escape ` +
      `leaves, plus and minus zoom.`,
  });
  const readout = h(
    "p",
    { class: "pencil", role: "status" },
    "Drag to move the sheet, turn the wheel or spread two fingers to come closer, click the point.",
  );
  /** @type {HTMLDialogElement} */
  const dialog = h(
    "dialog",
    { class: "picker", "aria-label": label },
    h(
      "div",
      { class: "row wrap between" },
      h("h2", {}, label),
      h(
        "div",
        { class: "row" },
        h(
          "button",
          { type: "button", onclick: () => viewer.zoomBy(1.5), "aria-label": "Closer" },
          "+",
        ),
        h(
          "button",
          { type: "button", onclick: () => viewer.zoomBy(1 / 1.5), "aria-label": "Farther" },
          "−",
        ),
        h(
          "button",
          { type: "button", onclick: () => dialog.close(), "data-key": "picker-leave" },
          "Leave it",
        ),
      ),
    ),
    canvas,
    readout,
  );
  document.body.append(dialog);
  /** @type {Point | null} */
  let aim = null;
  /** @type {Point | null} */
  let snap = null;
  let timer = 0;
  /** @type {{ from: Point, last: Point, hasMoved: boolean } | null} */
  let drag = null;
  const ink = () => getComputedStyle(canvas).getPropertyValue("--sheet-red").trim();
  const viewer = new Viewer(canvas, { onDraw: (context) => draw(context) });

  /** @param {CanvasRenderingContext2D} context */
  function draw(context) {
    if (from) cross(context, viewer.toScreen(from), 9);
    if (!aim) return;
    const side = [aim[0] > viewer.width / 2 ? -120 : 120, aim[1] < viewer.height / 2 ? 120 : -120];
    viewer.drawGlass(viewer.toPlan(aim), [aim[0] + side[0], aim[1] + side[1]], {
      mark: snap,
      colour: ink(),
    });
    cross(context, aim, 16);
  }

  /**
   * @param {CanvasRenderingContext2D} context
   * @param {Point} at
   * @param {number} reach
   */
  function cross(context, [x, y], reach) {
    context.strokeStyle = ink();
    context.lineWidth = 1.6;
    context.beginPath();
    for (const [dx, dy] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ]) {
      context.moveTo(x + 4 * dx, y + 4 * dy);
      context.lineTo(x + reach * dx, y + reach * dy);
    }
    context.stroke();
  }

  /** @param {Point} at */
  const snapped = async (at) =>
    (await get(`plans/${plan.number}/snap?x=${at[0].toFixed(2)}&y=${at[1].toFixed(2)}`)).at;

  /** @param {Point} screen */
  function aimAt(screen) {
    aim = screen;
    snap = null;
    clearTimeout(timer);
    const at = viewer.toPlan(screen);
    readout.textContent = `pixel ${at[0].toFixed(1)}, ${at[1].toFixed(1)}`;
    timer = window.setTimeout(async () => {
      const found = await snapped(at).catch(() => null);
      if (aim === screen) {
        snap = found;
        viewer.draw();
      }
    }, SNAP_WAIT_MS);
    viewer.draw();
  }

  /** @param {Point} screen */
  async function pick(screen) {
    const at = viewer.toPlan(screen);
    const found = (aim === screen && snap) || (await snapped(at).catch(() => null)) || at;
    dialog.close();
    done([Number(found[0].toFixed(2)), Number(found[1].toFixed(2))]);
    speak(`${label}: pixel ${found[0].toFixed(0)}, ${found[1].toFixed(0)}`);
  }

  /**
   * @param {MouseEvent} event
   * @returns {Point}
   */
  const placeOf = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  /** @type {Map<number, Point>} */
  const pointers = new Map();
  canvas.addEventListener("pointerdown", (event) => {
    pointers.set(event.pointerId, placeOf(event));
    drag = { from: placeOf(event), last: placeOf(event), hasMoved: pointers.size > 1 };
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    const now = placeOf(event);
    if (pointers.size === 2 && pointers.has(event.pointerId)) {
      viewer.pinch(pointers, event.pointerId, now);
      return;
    }
    if (!drag) {
      aimAt(now);
      return;
    }
    drag.hasMoved ||= Math.hypot(now[0] - drag.from[0], now[1] - drag.from[1]) > 5;
    if (drag.hasMoved) viewer.moveBy(now[0] - drag.last[0], now[1] - drag.last[1]);
    drag.last = now;
  });
  canvas.addEventListener("pointercancel", (event) => {
    pointers.delete(event.pointerId);
    if (!pointers.size) drag = null;
  });
  canvas.addEventListener("pointerup", (event) => {
    const wasDrag = drag?.hasMoved;
    pointers.delete(event.pointerId);
    if (!pointers.size) drag = null;
    if (!wasDrag)
      pick(
        aim && Math.hypot(aim[0] - placeOf(event)[0], aim[1] - placeOf(event)[1]) < 3
          ? aim
          : placeOf(event),
      );
  });
  canvas.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      viewer.zoomBy(event.deltaY < 0 ? 1.2 : 1 / 1.2, placeOf(event));
    },
    { passive: false },
  );
  canvas.addEventListener("keydown", (event) => {
    const by = event.shiftKey ? 20 : 2;
    /** @type {Record<string, Point>} */
    const moves = {
      ArrowLeft: [-by, 0],
      ArrowRight: [by, 0],
      ArrowUp: [0, -by],
      ArrowDown: [0, by],
    };
    /** @type {Point} */
    const middle = aim ?? [viewer.width / 2, viewer.height / 2];
    const move = moves[event.key];
    if (move) aimAt([middle[0] + move[0], middle[1] + move[1]]);
    else if (event.key === "+" || event.key === "=") viewer.zoomBy(1.5, middle);
    else if (event.key === "-") viewer.zoomBy(1 / 1.5, middle);
    else if (event.key === "Enter") pick(middle);
    else return;
    event.preventDefault();
  });
  dialog.addEventListener("close", () => {
    clearTimeout(timer);
    viewer.close();
    dialog.remove();
    if (opener?.isConnected) opener.focus();
  });
  dialog.showModal();
  canvas.focus();
  get(`plans/${plan.number}/picture`)
    .then((view) => {
      if (view.picture) viewer.open(plan.number, view.key, view.picture);
      else
        readout.textContent =
          "The plan is still being made ready to look at; leave this and try again in a moment.";
      if (from && view.picture)
        viewer.showBox([from[0] - 400, from[1] - 300, from[0] + 400, from[1] + 300]);
    })
    .catch((error) => {
      readout.textContent = wordsOf(error);
    });
}
