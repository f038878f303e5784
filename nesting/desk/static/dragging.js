// Equipment and ballast taken along the beam by mouse, touch or arrow keys; kept when it is let go.

import { speak } from "./dom.js";
import * as format from "./format.js";
import { desk, setValue } from "./store.js";

/** @import { Moved } from "./moved.js" */

/** @typedef {[number, number]} Ends */
/**
 * @typedef {object} Handles
 * @property {Ends | null} ends of the beam while something is moved, in mm
 * @property {(kind: Moved["kind"], name: string, station: number, ends: Ends, at: (mm: number) =>
 *   number) => Record<string, any>} of attributes of what can be taken along the beam
 */

/** @type {(Moved & { ends: Ends, isHeld: boolean }) | null} */
let moved = null;
export const nowMoved = () => moved;

const again = () => document.dispatchEvent(new CustomEvent("beam-moved"));

/** @param {Moved["kind"]} kind */
const rowsOf = (kind) => (kind === "item" ? desk.state.balance.items : desk.state.balance.ballast);

/** @returns {Handles} */
export function handles() {
  return { ends: moved?.ends ?? null, of: attributes };
}

/**
 * @param {Moved["kind"]} kind
 * @param {string} name
 * @param {number} station
 * @param {Ends} ends
 * @param {(mm: number) => number} at
 * @returns {Record<string, any>}
 */
function attributes(kind, name, station, ends, at) {
  if (!rowsOf(kind).some((row) => row.name === name)) return {};
  /** @param {number} mm */
  const to = (mm) => {
    const within = Math.min(Math.max(mm, ends[0]), ends[1]);
    moved = { kind, name, station: within, ends, isHeld: moved?.isHeld ?? false };
    again();
  };
  return {
    class: kind === "item" ? "mass movable" : "lead movable",
    tabindex: "0",
    role: "slider",
    "data-key": `move-${kind}-${name}`,
    "aria-label": `Station of ${name}`,
    "aria-valuemin": ends[0].toFixed(1),
    "aria-valuemax": ends[1].toFixed(1),
    "aria-valuenow": station.toFixed(1),
    "aria-valuetext": format.length(station),
    onpointerdown: (/** @type {PointerEvent} */ event) => grab(event, station, ends, at, to),
    onkeydown: (/** @type {KeyboardEvent} */ event) => byKey(event, station, to),
    onblur: () => moved && !moved.isHeld && keep(),
  };
}

/**
 * @param {PointerEvent} event
 * @param {number} station
 * @param {Ends} ends
 * @param {(mm: number) => number} at
 * @param {(mm: number) => void} to
 */
function grab(event, station, ends, at, to) {
  const handle = /** @type {SVGGElement} */ (event.currentTarget);
  const picture = handle.ownerSVGElement;
  if (event.button || !picture) return;
  event.preventDefault();
  handle.focus({ preventScroll: true });
  handle.setPointerCapture(event.pointerId);
  // How many mm a pixel of the screen is along the beam.
  const perPixel =
    ((picture.viewBox.baseVal.width / picture.getBoundingClientRect().width) *
      (ends[1] - ends[0])) /
    (at(ends[1]) - at(ends[0]));
  const from = event.clientX;
  let isMoved = false;
  /** @param {PointerEvent} now */
  const follow = (now) => {
    if (!isMoved && Math.abs(now.clientX - from) < 3) return;
    isMoved = true;
    to(station + (now.clientX - from) * perPixel);
    if (moved) moved.isHeld = true;
  };
  const over = new AbortController();
  const { signal } = over;
  handle.addEventListener("pointermove", follow, { signal });
  handle.addEventListener(
    "pointerup",
    () => {
      over.abort();
      if (isMoved) keep();
    },
    { signal },
  );
  handle.addEventListener(
    "pointercancel",
    () => {
      over.abort();
      letGo();
    },
    { signal },
  );
}

/**
 * @param {KeyboardEvent} event
 * @param {number} station
 * @param {(mm: number) => void} to
 */
function byKey(event, station, to) {
  const step = format.arrowStep(event.shiftKey);
  const by = { ArrowLeft: -step, ArrowDown: -step, ArrowRight: step, ArrowUp: step }[event.key];
  if (by !== undefined) to(station + by);
  else if (event.key === "Enter" && moved) keep();
  else if (event.key === "Escape" && moved) letGo();
  else return;
  event.preventDefault();
  event.stopPropagation();
}

function letGo() {
  moved = null;
  again();
}

// One step of undo; a point of the drawing gives way to the station. Until the answer is there the
// thing stays where it was put.
async function keep() {
  const kept = moved;
  if (!kept) return;
  kept.isHeld = true;
  const row = rowsOf(kept.kind).find((one) => one.name === kept.name);
  const at = ["balance", kept.kind, kept.name];
  const also = row?.at ? [{ at: [...at, "at"], value: null }] : [];
  const station = Math.round(kept.station * 100) / 100;
  await setValue([...at, "station"], format.exactLength(station), null, also);
  speak(`${kept.name} at ${format.length(station)}`);
  await followed();
  if (moved === kept) letGo();
}

// The report of the job as it is now: the state tells once it is there.
async function followed() {
  for (let tries = 0; tries < 600 && !desk.state.is_followed; tries++)
    await new Promise((done) => setTimeout(done, 100));
}
