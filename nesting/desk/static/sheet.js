// The plan: the sheet on the board, what is drawn over it, and the hand that points at it. What a
// click does is an aim's matter (aims.js and the files that it names); what stands beside the sheet
// is the pad's (pad.js).

import { get, tileAddress, wordsOf } from "./api.js";
import { aimsFor } from "./aims.js";
import { h, show, slip, speak } from "./dom.js";
import * as format from "./format.js";
import { area, bounds, contains, grainEnds, scaleFromMm, scaleToMm } from "./geometry.js";
import { Pen } from "./marks.js";
import { padOf } from "./pad.js";
import { Says } from "./says.js";
import { choose, desk, isRunning, listen } from "./store.js";
import { Viewer } from "./viewer.js";

/** @import { Aim } from "./aims.js" */
/** @import { Part, Region, Scale } from "./answers.d.ts" */
/** @import { Box, Point, Ring } from "./geometry.js" */
/** @import { News } from "./store.js" */

/** @typedef {Region & { box: Box }} Shape a closed shape, with the box that it lies in */

const SNAP_WAIT_MS = 70;
/** @type {Record<string, Point>} */
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** @param {HTMLElement} place */
export function sheetView(place) {
  const sheet = new Sheet(place);
  return () => sheet.close();
}

export class Sheet {
  /** @param {HTMLElement} place */
  constructor(place) {
    this.canvas = h("canvas", {
      id: "sheet",
      tabindex: "0",
      role: "application",
      "aria-busy": "true",
      "aria-label":
        "The plan. Arrow keys move the aim, Enter clicks, plus and minus zoom, 0 shows the " +
        "whole sheet.",
      "aria-describedby": "aim-text",
    });
    this.pad = h("aside", {
      class: "pad",
      "aria-label": "What to do on the plan",
      "data-scroll": "pad",
    });
    this.readout = h("p", { id: "readout", class: "pencil" });
    this.waiting = h("p", { class: "waiting", hidden: true });
    /** @type {Point | null} where the hand is, on the screen */
    this.pointer = null;
    this.viewer = new Viewer(this.canvas, {
      onDraw: () => this.drawOver(),
      onResize: (dx, dy) => {
        if (this.pointer && this.isFine)
          this.pointer = [this.pointer[0] + dx, this.pointer[1] + dy];
      },
    });
    this.pen = new Pen(this.viewer);
    this.says = new Says(this);
    this.planShown = desk.chosen.plan;
    /** @type {Point | null} the drawn place that is meant */
    this.snap = null;
    /** @type {Shape | null} the closed shape under the hand */
    this.hover = null;
    /** @type {Ring[] | null} a reading that is pointed at beside the sheet */
    this.lit = null;
    /** @type {Shape[]} */
    this.regions = [];
    this.areRegionsThere = false;
    /** @type {string | null} */
    this.shapesAsked = null;
    /** @type {Map<number, string>} the address of a small picture of each sheet */
    this.small = new Map();
    this.isFine = false;
    this.snapTimer = 0;
    // Clicks that wait for the line that is meant are answered in their order.
    this.clicked = Promise.resolve();
    this.forget();
    this.layOut(place);
    this.aims = aimsFor(this);
    /** @type {Aim} */
    this.aim = this.aims[0];
    this.setAim("look");
    this.hear();
    this.stopListening = listen((what) => this.told(what));
    this.load();
    this.loadSmall().catch(() => {});
  }

  close() {
    clearTimeout(this.snapTimer);
    this.stopListening();
    this.viewer.close();
  }

  /** @param {HTMLElement} place */
  layOut(place) {
    const { viewer } = this;
    show(
      place,
      h(
        "div",
        { class: "sheet-view" },
        h("h1", { class: "unseen" }, "Plan"),
        h(
          "div",
          { class: "sheet-place" },
          this.canvas,
          this.waiting,
          h(
            "div",
            { class: "sheet-keys", role: "group", "aria-label": "Closeness" },
            h("button", { onclick: () => viewer.zoomBy(1.5), "aria-label": "Closer" }, "+"),
            h("button", { onclick: () => viewer.zoomBy(1 / 1.5), "aria-label": "Farther" }, "−"),
            h("button", { onclick: () => viewer.fit(), "aria-label": "Whole sheet" }, "□"),
          ),
          this.readout,
        ),
        this.pad,
      ),
    );
  }

  // ---- what is looked at -----------------------------------------------------------------------

  get plan() {
    return desk.state?.plans?.[desk.chosen.plan] ?? null;
  }
  // The chosen part, if it is one of this sheet.
  get part() {
    return (
      desk.state?.parts?.find((part) => part.name === desk.chosen.part && this.isHere(part)) ?? null
    );
  }

  /** @param {Part | null | undefined} part */
  isHere(part) {
    return !part?.plan || part.plan === this.plan?.name;
  }

  // Between places on the plan and millimetres, for a plan that has a scale.
  /** @param {Point} point */
  toMm(point) {
    return scaleToMm(this.scale, point);
  }
  /** @param {Point} point */
  fromMm(point) {
    return scaleFromMm(this.scale, point);
  }
  get mmPerPx() {
    return this.scale.mm_per_px[0];
  }
  get scale() {
    return /** @type {Scale} */ (this.plan?.scale);
  }

  changePlan() {
    this.planShown = desk.chosen.plan;
    this.forget();
    this.pointer = null;
    this.readout.textContent = "";
    if (!this.part) choose("part", null);
    this.viewer.put();
    this.setAim("look");
    this.load();
  }

  // Another plan, or another page of it: what was known of the last one is gone.
  forget() {
    this.says.forget();
    this.regions = [];
    this.areRegionsThere = false;
    this.hover = this.snap = this.lit = null;
    this.canvas.setAttribute("aria-busy", "true");
  }

  async load() {
    const { plan } = this;
    if (!plan) return;
    this.says.load().catch(() => {});
    try {
      const view = await get(`plans/${plan.number}/picture`);
      if (plan.number !== this.plan?.number) return;
      if (view.key !== this.viewer.key && this.viewer.key) this.forget();
      this.waiting.hidden = Boolean(view.picture);
      if (!view.picture) {
        this.waiting.textContent =
          plan.fault && desk.state.is_followed
            ? "This page of the plan cannot be shown; the pad says why."
            : "The plan is being made ready to look at …";
        return;
      }
      await this.viewer.open(plan.number, view.key, view.picture);
      this.canvas.setAttribute("aria-busy", "false");
      await this.loadRegions();
    } catch (error) {
      this.waiting.hidden = false;
      this.waiting.textContent = wordsOf(error);
    }
  }

  // Small pictures of the sheets, where there are several; a drawing has none.
  async loadSmall() {
    const plans = desk.state?.plans ?? [];
    if (plans.length < 2) return;
    const found = new Map();
    for (const { number } of plans) {
      const { key, picture } = await get(`plans/${number}/picture`);
      if (picture?.kind === "picture")
        found.set(number, tileAddress(number, key, picture.levels - 1, 0, 0));
    }
    const isNew = [...found].some(([number, address]) => this.small.get(number) !== address);
    this.small = found;
    if (isNew) this.render();
  }

  // What the closed shapes of a plan are found with: where one of these is another, the shapes are
  // too.
  get askedShapes() {
    const { number, scale, edge, gap_mm: gap, layers, bridges, page } = this.plan ?? {};
    return JSON.stringify([number, scale?.matrix, scale?.lens, edge, gap, layers, bridges, page]);
  }

  async loadRegions() {
    if (!this.plan?.scale || isRunning("follow")) return;
    const asked = this.askedShapes;
    const found = await get(`plans/${this.plan.number}/regions`);
    // Another plan, or the same one with other settings, is asked for by what brought it.
    if (asked !== this.askedShapes) return;
    this.regions = (found.regions ?? []).map((region) => ({
      ...region,
      box: bounds(region.outline_px[0]),
    }));
    this.areRegionsThere = found.regions !== null;
    // Shapes that wait for a search on another plan are asked for again at its end.
    this.shapesAsked = found.regions || found.is_searched ? asked : null;
    // What lies under a hand that rests is told as soon as it is known.
    if (this.pointer && this.aim.hovers) this.aimAt(this.pointer);
    this.viewer.draw();
    this.render();
  }

  /** @param {News} what */
  told(what) {
    if (what === "picture" || (what === "state" && !this.viewer.picture)) this.load();
    if (what === "chosen" && this.planShown !== desk.chosen.plan) this.changePlan();
    if (what === "state" || what === "reading") this.says.load().catch(() => {});
    if (what === "state" || what === "picture") this.loadSmall().catch(() => {});
    if (what === "state") this.lit = null;
    if (what === "state" && this.shapesAsked !== this.askedShapes) this.areRegionsThere = false;
    // The news of a change may come before the task that followed it has ended: then its end is
    // waited for. A search for these shapes that was stopped or failed is not begun again by its
    // own end.
    const searched = desk.tasks.get("regions")?.state ?? "done";
    const maySearch =
      searched === "done" || (searched !== "running" && this.shapesAsked !== this.askedShapes);
    const mayBeThere = what === "state" || (what === "task" && maySearch && !isRunning("follow"));
    if (what === "regions" || (mayBeThere && !this.areRegionsThere))
      this.loadRegions().catch(() => {});
    if (what === "task") this.tellProgress();
    if (what === "state" || what === "chosen") this.aim.told?.(what);
    if (what !== "task" || this.says.answer?.state === "running") this.render();
    this.viewer.draw();
  }

  tellProgress() {
    const cutting = desk.tasks.get("follow");
    if (cutting?.state !== "running" || this.viewer.picture) return;
    this.waiting.textContent =
      `${cutting.text || cutting.title} ` +
      `${cutting.share ? `${Math.round(100 * cutting.share)} %` : "…"}`;
  }

  // ---- drawing over the sheet ------------------------------------------------------------------

  drawOver() {
    const { pen } = this;
    pen.context.lineJoin = "round";
    for (const part of desk.state?.parts ?? []) if (!this.aim.hides?.(part)) this.drawPart(part);
    if (this.hover)
      pen.shape(this.hover.outline_px, this.aim.hoverColour ?? "green", { fill: 0.16, width: 2 });
    this.says.draw(pen);
    if (this.lit) pen.shape(this.lit, "green", { fill: 0.2, width: 3 });
    for (const known of this.plan?.known ?? []) pen.known(known);
    for (const bridge of this.plan?.bridges ?? [])
      pen.line([bridge.from, bridge.to], "blue", { width: 2.6 });
    for (const note of this.openNotes()) pen.flag(note.at);
    this.aim.draw?.(pen);
    if (!this.pointer) return;
    if (this.aim.hasGlass) this.drawGlass(this.pointer);
    if (this.aim.hasGlass || this.isFine) pen.cross(this.pointer);
  }

  /** @param {Part} part */
  drawPart(part) {
    if (!part.outline_px || !this.isHere(part)) return;
    const isChosen = part.name === desk.chosen.part;
    this.pen.shape(part.outline_px, "blue", {
      fill: isChosen ? 0.2 : 0.08,
      width: isChosen ? 2.6 : 1.5,
    });
    const { outline_px, grain_deg: degrees } = part;
    const isKnown = degrees !== undefined && !part.is_grain_free && this.plan?.scale;
    if (isKnown && !this.aim.drawsGrainOf?.(part)) {
      this.pen.arrow(
        ...grainEnds(this, { outline_px }, degrees),
        part.is_grain_assumed ? "pencil" : "blue",
        { dash: part.is_grain_assumed ? [5, 4] : [] },
      );
    }
    if (isChosen) this.pen.name(part.outline_px, part.name);
  }

  /** @param {Point} pointer */
  drawGlass(pointer) {
    const [x, y] = pointer;
    /** @type {Point} */
    const glass = [
      x + (x > this.viewer.width / 2 ? -120 : 120),
      y + (y < this.viewer.height / 2 ? 120 : -120),
    ];
    this.viewer.drawGlass(this.viewer.toPlan(pointer), glass, {
      mark: this.snap,
      colour: this.pen.colour("red"),
    });
  }

  // Draw a shape that is spoken of beside the sheet, or none.
  /** @param {Ring[] | null} rings */
  light(rings) {
    this.lit = rings;
    this.viewer.draw();
  }

  // What is open at a place of this sheet.
  openNotes() {
    return (desk.state?.notes ?? []).flatMap((note) => {
      const isHere = this.isHere(desk.state.parts.find((one) => one.name === note.part));
      return note.state === "open" && note.at && isHere ? [{ ...note, at: note.at }] : [];
    });
  }

  // ---- where the hand points -------------------------------------------------------------------

  /** @param {Point} screen */
  aimAt(screen) {
    this.pointer = screen;
    const at = this.viewer.toPlan(screen);
    this.hover = this.aim.hovers ? (this.aim.shapeAt ?? ((one) => this.regionAt(one)))(at) : null;
    this.snap = null;
    clearTimeout(this.snapTimer);
    if (this.aim.snaps) this.snapTimer = window.setTimeout(() => this.findSnap(at), SNAP_WAIT_MS);
    this.showReadout(at);
    this.viewer.draw();
  }

  /** @param {Point} at */
  async findSnap(at) {
    const found = await this.snapped(at);
    const now = this.pointer && this.viewer.toPlan(this.pointer);
    if (now && Math.hypot(now[0] - at[0], now[1] - at[1]) < 2 / this.viewer.zoom) this.snap = found;
    this.viewer.draw();
  }

  // Where the line or corner is that a place near it means, or null where nothing is drawn near it.
  /**
   * @param {Point} at
   * @returns {Promise<Point | null>}
   */
  async snapped(at) {
    try {
      const [x, y] = at.map((value) => value.toFixed(3));
      const reach = this.viewer.isDrawing ? `&reach=${(14 / this.viewer.zoom).toFixed(3)}` : "";
      const on = this.aim.snapsTo ? `&on=${this.aim.snapsTo}` : "";
      return (await get(`plans/${this.plan.number}/snap?x=${x}&y=${y}${reach}${on}`)).at;
    } catch {
      return null;
    }
  }

  /** @param {Point} at */
  regionAt(at) {
    let best = null;
    for (const region of this.regions) {
      const [x0, y0, x1, y1] = region.box;
      if (
        at[0] < x0 ||
        at[0] > x1 ||
        at[1] < y0 ||
        at[1] > y1 ||
        !contains(region.outline_px[0], at)
      )
        continue;
      if (!best || area(region.outline_px[0]) < area(best.outline_px[0])) best = region;
    }
    return best;
  }

  // Rings of the plan as a shape with its size.
  /**
   * @param {Ring[]} rings
   * @returns {Shape}
   */
  shapeOf(rings) {
    const mm = rings.map((ring) => ring.map((point) => this.toMm(point)));
    const [x0, y0, x1, y1] = bounds(mm[0]);
    const edge = mm[0].reduce((sum, point, i) => {
      const [x, y] = mm[0].at(i - 1) ?? point;
      return sum + Math.hypot(point[0] - x, point[1] - y);
    }, 0);
    return {
      name: "",
      at: rings[0][0],
      outline_px: rings,
      box: bounds(rings[0]),
      size_mm: [x1 - x0, y1 - y0],
      area_mm2: area(mm[0]),
      perimeter_mm: edge,
    };
  }

  /** @param {Point} at */
  partAt(at) {
    const found = (desk.state?.parts ?? []).filter(
      (part) => part.outline_px && this.isHere(part) && contains(part.outline_px[0], at),
    );
    return found.sort((one, other) => (one.area_mm2 ?? 0) - (other.area_mm2 ?? 0))[0] ?? null;
  }

  /** @param {Point} at */
  showReadout(at) {
    const place = this.viewer.isDrawing
      ? `at ${at[0].toFixed(2)}, ${at[1].toFixed(2)}`
      : `pixel ${at[0].toFixed(1)}, ${at[1].toFixed(1)}`;
    const part = this.partAt(at);
    const found = part ?? this.hover;
    this.readout.textContent = found
      ? `${part ? `${part.name}: ` : ""}${format.size(found.size_mm)}, ` +
        `${format.area(found.area_mm2)}, edge ${format.length(found.perimeter_mm, 0)} · ${place}`
      : place;
  }

  /** @param {Point} screen */
  click(screen) {
    const at = this.viewer.toPlan(screen);
    const { aim, snap } = this;
    if (aim.name !== "look" && !this.isOnSheet(at)) {
      slip("That is beside the sheet. Click on the sheet itself.");
      return;
    }
    if (!aim.snaps || aim.clicksRaw) {
      aim.click(at);
      return;
    }
    const meant = snap ? Promise.resolve(snap) : this.snapped(at);
    this.clicked = this.clicked.then(async () => {
      const point = (await meant) ?? at;
      if (aim === this.aim) aim.click(point);
    });
  }

  /** @param {Point} at */
  isOnSheet([x, y]) {
    const [x0, y0, x1, y1] = this.viewer.picture?.box ?? [x, y, x, y];
    return x >= x0 && x <= x1 && y >= y0 && y <= y1;
  }

  /** @param {string} name */
  setAim(name) {
    this.aim.leave?.();
    this.aim = this.aims.find((aim) => aim.name === name) ?? this.aims[0];
    this.snap = this.hover = null;
    this.aim.begin?.();
    this.canvas.dataset.aim = name;
    this.render();
    this.viewer.draw();
  }

  render() {
    show(this.pad, ...padOf(this));
  }

  // ---- pointer and keyboard --------------------------------------------------------------------

  hear() {
    const { canvas, viewer } = this;
    /** @type {Map<number, Point>} */
    const pointers = new Map();
    /** @type {{ from: Point, last: Point, hasMoved: boolean, isHeld: boolean } | null} */
    let drag = null;
    /**
     * @param {MouseEvent} event
     * @returns {Point}
     */
    const place = (event) => [event.offsetX, event.offsetY];
    canvas.addEventListener("pointerdown", (event) => {
      canvas.focus({ preventScroll: true });
      canvas.setPointerCapture(event.pointerId);
      pointers.set(event.pointerId, place(event));
      const isHeld =
        pointers.size === 1 &&
        Boolean(
          this.aim.grab?.(
            viewer.toPlan(place(event)),
            (event.pointerType === "touch" ? 20 : 9) / viewer.zoom,
          ),
        );
      drag = { from: place(event), last: place(event), hasMoved: pointers.size > 1, isHeld };
    });
    canvas.addEventListener("pointermove", (event) => {
      const at = place(event);
      if (pointers.size === 2 && pointers.has(event.pointerId)) {
        viewer.pinch(pointers, event.pointerId, at);
        return;
      }
      this.isFine = false;
      if (drag && pointers.has(event.pointerId)) {
        if (Math.hypot(at[0] - drag.from[0], at[1] - drag.from[1]) > 5) drag.hasMoved = true;
        if (drag.hasMoved && drag.isHeld) this.aim.drag?.(viewer.toPlan(at));
        else if (drag.hasMoved) viewer.moveBy(at[0] - drag.last[0], at[1] - drag.last[1]);
        drag.last = at;
      }
      this.aimAt(at);
    });
    /** @param {PointerEvent} event */
    const up = (event) => {
      const done = drag;
      pointers.delete(event.pointerId);
      if (!pointers.size) drag = null;
      if (!done) return;
      const isUp = event.type === "pointerup";
      if (done.isHeld && done.hasMoved) {
        this.aim.drop?.(isUp ? viewer.toPlan(place(event)) : null);
        return;
      }
      if (isUp && !done.hasMoved) {
        this.aimAt(place(event));
        this.click(place(event));
      }
    };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    canvas.addEventListener("pointerleave", () => {
      if (drag || this.isFine) return;
      this.pointer = this.hover = null;
      viewer.draw();
    });
    canvas.addEventListener(
      "wheel",
      (event) => {
        event.preventDefault();
        viewer.zoomBy(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0016)), place(event));
      },
      { passive: false },
    );
    canvas.addEventListener("keydown", (event) => this.pressed(event));
    this.pad.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !this.aim.close?.()) return;
      event.preventDefault();
      canvas.focus({ preventScroll: true });
    });
  }

  /** @param {KeyboardEvent} event */
  pressed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const { viewer } = this;
    if (this.aim.pressed?.(event)) {
      /* The aim's own key. */
    } else if (ARROWS[event.key]) this.moveAim(ARROWS[event.key], event.shiftKey ? 40 : 4);
    else if (event.key === "Enter" || event.key === " ")
      this.click(this.pointer ?? [viewer.width / 2, viewer.height / 2]);
    else if (event.key === "+" || event.key === "=") viewer.zoomBy(1.4, this.pointer ?? undefined);
    else if (event.key === "-") viewer.zoomBy(1 / 1.4, this.pointer ?? undefined);
    else if (event.key === "0") viewer.fit();
    else if (event.key === "Escape") this.aim.close?.() || this.setAim("look");
    else return;
    event.preventDefault();
  }

  // Bring the hand to a place of the plan, and the place into view.
  /** @param {Point} at */
  pointTo(at) {
    const { viewer } = this;
    const [x, y] = viewer.toScreen(at);
    if (x < 20 || y < 20 || x > viewer.width - 20 || y > viewer.height - 20)
      viewer.moveBy(viewer.width / 2 - x, viewer.height / 2 - y);
    this.isFine = true;
    this.aimAt(viewer.toScreen(at));
  }

  /**
   * @param {Point} way
   * @param {number} by
   */
  moveAim([dx, dy], by) {
    const { viewer } = this;
    const from = this.pointer ?? [viewer.width / 2, viewer.height / 2];
    /** @type {Point} */
    const to = [from[0] + dx * by, from[1] + dy * by];
    const edge = 30;
    const push = [
      Math.min(0, to[0] - edge) + Math.max(0, to[0] - viewer.width + edge),
      Math.min(0, to[1] - edge) + Math.max(0, to[1] - viewer.height + edge),
    ];
    if (push[0] || push[1]) viewer.moveBy(-push[0], -push[1]);
    this.isFine = true;
    this.aimAt([to[0] - push[0], to[1] - push[1]]);
    this.aim.drag?.(viewer.toPlan(this.pointer ?? to), { isByKeys: true });
    speak(this.hover ? `${format.size(this.hover.size_mm)} shape` : this.readout.textContent);
  }
}
