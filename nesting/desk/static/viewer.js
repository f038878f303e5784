// A plan on a canvas: tiles at the size that the screen needs, coarser ones until those are there,
// line work on top. Only what is visible is asked for and drawn, so that a huge sheet moves as
// lightly as a small one.

// A drawing has no tiles: its strokes are drawn themselves, in their own units, and DXF has y
// upwards.

import { get, tileAddress } from "./api.js";

/** @import { Sketch, Stroke, Tiles } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */
/** @import { Box, Point } from "./geometry.js" */

/**
 * @typedef {object} Heard what happens on the canvas
 * @property {(context: CanvasRenderingContext2D, viewer: Viewer) => void} onDraw
 * @property {Render} [onMove]
 * @property {(dx: number, dy: number) => void} [onResize]
 */
/** @typedef {{ level: number, column: number, row: number }} Place of a tile */
/** @typedef {{ bitmap: ImageBitmap | null, used: number }} Tile */
/** @typedef {{ path: Path2D, width: number, isDashed: boolean, isFilled: boolean }} Inked */
/**
 * @typedef {object} Lying the sheet on the board
 * @property {number | null} plan
 * @property {string | null} key
 * @property {Tiles | Sketch | null} picture
 * @property {Inked[] | null} strokes
 */

const MOST_TILES = 260;
const MOST_ASKED = 6;
const LARGEST_ZOOM = 16;

export class Viewer {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {Heard} heard
   */
  constructor(canvas, { onDraw, onMove, onResize }) {
    this.canvas = canvas;
    const context = canvas.getContext("2d", { alpha: false });
    this.context = /** @type {CanvasRenderingContext2D} */ (context);
    this.onDraw = onDraw;
    this.onMove = onMove ?? (() => {});
    this.onResize = onResize ?? (() => {});
    /** @type {number | null} */
    this.plan = null;
    /** @type {string | null} */
    this.key = null;
    /** @type {Tiles | Sketch | null} */
    this.picture = null;
    /** @type {Inked[] | null} */
    this.strokes = null;
    /** @type {Map<string, Tile>} */
    this.tiles = new Map();
    /** @type {Set<string>} */
    this.waiting = new Set();
    this.width = this.height = 0;
    this.zoom = 1;
    /** @type {Point} */
    this.centre = [0, 0];
    this.isPlanned = false;
    this.resizer = new ResizeObserver(() => this.resize());
    this.resizer.observe(canvas);
  }

  close() {
    this.resizer.disconnect();
    for (const tile of this.tiles.values()) tile.bitmap?.close?.();
    this.tiles.clear();
  }

  /**
   * @param {number} plan
   * @param {string} key
   * @param {Tiles | Sketch} picture
   */
  async open(plan, key, picture) {
    if (this.key === key) return;
    const drawing = picture.kind === "drawing" ? await get(`plans/${plan}/strokes`) : null;
    this.put({ plan, key, picture, strokes: drawing ? drawing.strokes.map(inked) : null });
    this.resize();
    this.fit();
  }

  // Lay another sheet on the board, or none.
  /** @param {Partial<Lying>} sheet */
  put({ plan = null, key = null, picture = null, strokes = null } = {}) {
    Object.assign(this, { plan, key, picture, strokes });
    this.tiles.clear();
    this.draw();
  }

  get isDrawing() {
    return this.picture?.kind === "drawing";
  }
  // Which way a step down on the screen goes on the plan.
  get down() {
    return this.picture?.is_y_up ? -1 : 1;
  }
  // The extent of what lies on the board; nothing asks for it while there is nothing.
  /** @returns {Box} */
  get box() {
    return /** @type {Tiles | Sketch} */ (this.picture).box;
  }
  // The sheet where it is shown by tiles, for all that only tiles need.
  get tiled() {
    return /** @type {Tiles} */ (this.picture);
  }
  get span() {
    const [x0, y0, x1, y1] = this.box;
    return Math.max(x1 - x0, y1 - y0);
  }

  resize() {
    const ratio = window.devicePixelRatio || 1;
    const { clientWidth, clientHeight } = this.canvas;
    if (!clientWidth || !clientHeight) return;
    const isFirst = !this.width;
    // The middle of the view stays the middle; what was pointed at goes with it.
    if (!isFirst) this.onResize((clientWidth - this.width) / 2, (clientHeight - this.height) / 2);
    this.width = clientWidth;
    this.height = clientHeight;
    this.canvas.width = Math.round(clientWidth * ratio);
    this.canvas.height = Math.round(clientHeight * ratio);
    if (isFirst) this.fit();
    this.draw();
  }

  get leastZoom() {
    return this.picture && this.width ? 0.6 * this.wholeZoom : 0.01;
  }

  get largestZoom() {
    return this.isDrawing ? 60 * this.wholeZoom : LARGEST_ZOOM;
  }

  get wholeZoom() {
    const [x0, y0, x1, y1] = this.box;
    return Math.min(this.width / (x1 - x0), this.height / (y1 - y0));
  }

  fit() {
    if (!this.picture || !this.width) return;
    const [x0, y0, x1, y1] = this.picture.box;
    this.zoom = 0.94 * this.wholeZoom;
    this.centre = [(x0 + x1) / 2, (y0 + y1) / 2];
    this.draw();
  }

  /** @param {Box} box */
  showBox([x0, y0, x1, y1]) {
    this.centre = [(x0 + x1) / 2, (y0 + y1) / 2];
    const least = 1e-3 * this.span;
    const wanted =
      0.7 * Math.min(this.width / Math.max(x1 - x0, least), this.height / Math.max(y1 - y0, least));
    this.zoom = Math.min(Math.max(wanted, this.leastZoom), this.isDrawing ? this.largestZoom : 4);
    this.draw();
  }

  // Pixel centres are at whole numbers: pixel 0 reaches from -0.5 to 0.5.
  /**
   * @param {Point} point
   * @returns {Point}
   */
  toScreen([x, y]) {
    return [
      (x - this.centre[0]) * this.zoom + this.width / 2,
      this.down * (y - this.centre[1]) * this.zoom + this.height / 2,
    ];
  }

  /**
   * @param {Point} point
   * @returns {Point}
   */
  toPlan([x, y]) {
    return [
      (x - this.width / 2) / this.zoom + this.centre[0],
      (this.down * (y - this.height / 2)) / this.zoom + this.centre[1],
    ];
  }

  /**
   * @param {number} factor
   * @param {Point} at
   */
  zoomBy(factor, at = [this.width / 2, this.height / 2]) {
    const before = this.toPlan(at);
    this.zoom = Math.min(Math.max(this.zoom * factor, this.leastZoom), this.largestZoom);
    const after = this.toPlan(at);
    this.centre = [this.centre[0] + before[0] - after[0], this.centre[1] + before[1] - after[1]];
    this.draw();
  }

  /**
   * @param {number} dx
   * @param {number} dy
   */
  moveBy(dx, dy) {
    const [x0, y0, x1, y1] = this.picture?.box ?? [0, 0, 0, 0];
    this.centre = [
      Math.min(Math.max(this.centre[0] - dx / this.zoom, x0), x1),
      Math.min(Math.max(this.centre[1] - (this.down * dy) / this.zoom, y0), y1),
    ];
    this.draw();
  }

  // Two fingers on the sheet: it follows both; `pointers` holds where each was, by its id.
  /**
   * @param {Map<number, Point>} pointers
   * @param {number} id
   * @param {Point} at
   */
  pinch(pointers, id, at) {
    const other = [...pointers].find(([one]) => one !== id)?.[1];
    const before = pointers.get(id);
    if (!other || !before) return;
    const ratio =
      Math.hypot(at[0] - other[0], at[1] - other[1]) /
      Math.max(1, Math.hypot(before[0] - other[0], before[1] - other[1]));
    this.zoomBy(ratio, [(at[0] + other[0]) / 2, (at[1] + other[1]) / 2]);
    this.moveBy((at[0] - before[0]) / 2, (at[1] - before[1]) / 2);
    pointers.set(id, at);
  }

  draw() {
    if (this.isPlanned) return;
    this.isPlanned = true;
    requestAnimationFrame(() => {
      this.isPlanned = false;
      this.drawNow();
    });
  }

  drawNow() {
    const { context, canvas } = this;
    if (!this.width) return;
    const ratio = canvas.width / this.width;
    const style = getComputedStyle(canvas);
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.fillStyle = style.getPropertyValue("--bench");
    context.fillRect(0, 0, this.width, this.height);
    if (!this.picture) return;
    const [x0, y0, x1, y1] = this.picture.box;
    const [left, top] = this.toScreen([x0, this.down > 0 ? y0 : y1]);
    context.fillStyle = "#fff";
    context.fillRect(left, top, (x1 - x0) * this.zoom, (y1 - y0) * this.zoom);
    context.imageSmoothingEnabled = this.zoom < 3;
    if (this.strokes) this.drawStrokes([this.width / 2, this.height / 2], this.centre, this.zoom);
    else this.drawTiles(ratio);
    this.onDraw(context, this);
    this.onMove();
  }

  // All strokes, with the place `at` of the plan at `screen`; a hairline stays a pixel wide at any
  // closeness.
  /**
   * @param {Point} screen
   * @param {Point} at
   * @param {number} zoom
   */
  drawStrokes(screen, at, zoom) {
    const { context, down } = this;
    context.save();
    context.transform(
      zoom,
      0,
      0,
      down * zoom,
      screen[0] - at[0] * zoom,
      screen[1] - down * at[1] * zoom,
    );
    context.strokeStyle = "#222";
    context.fillStyle = "rgb(34 34 34 / 12%)";
    for (const stroke of this.strokes ?? []) {
      if (stroke.isFilled) context.fill(stroke.path, "evenodd");
      context.setLineDash(stroke.isDashed ? [6 / zoom, 4 / zoom] : []);
      context.lineWidth = Math.max(stroke.width, 1 / zoom);
      context.stroke(stroke.path);
    }
    context.restore();
  }

  /** @param {number} ratio */
  level(ratio) {
    const wanted = Math.floor(Math.log2(1 / (this.zoom * ratio)) + 0.35);
    return Math.min(Math.max(wanted, 0), this.tiled.levels - 1);
  }

  /** @param {number} ratio */
  drawTiles(ratio) {
    const level = this.level(ratio);
    const wanted = this.visible(level);
    for (const tile of wanted) this.drawBest(tile);
    this.ask(wanted);
  }

  /** @param {number} level */
  visible(level) {
    const span = this.tiled.tile * 2 ** level;
    const [x0, y0] = this.toPlan([0, 0]);
    const [x1, y1] = this.toPlan([this.width, this.height]);
    const columns = Math.ceil(Math.ceil(this.tiled.width / 2 ** level) / this.tiled.tile);
    const rows = Math.ceil(Math.ceil(this.tiled.height / 2 ** level) / this.tiled.tile);
    const tiles = [];
    for (
      let row = Math.max(0, Math.floor(y0 / span));
      row <= Math.min(rows - 1, Math.floor(y1 / span));
      row += 1
    ) {
      for (
        let column = Math.max(0, Math.floor(x0 / span));
        column <= Math.min(columns - 1, Math.floor(x1 / span));
        column += 1
      ) {
        tiles.push({ level, column, row });
      }
    }
    const middle = [(x0 + x1) / (2 * span), (y0 + y1) / (2 * span)];
    /** @param {Place} tile */
    const far = (tile) => Math.hypot(tile.column + 0.5 - middle[0], tile.row + 0.5 - middle[1]);
    return tiles.sort((one, other) => far(one) - far(other));
  }

  // The tile itself, or the part of the nearest coarser one that covers the same place.
  /** @param {Place} tile */
  drawBest({ level, column, row }) {
    for (let up = 0; level + up < this.tiled.levels; up += 1) {
      const held = this.tiles.get(`${level + up}/${column >> up}/${row >> up}`);
      if (!held?.bitmap) continue;
      const side = this.tiled.tile / 2 ** up;
      const sx = (column - ((column >> up) << up)) * side;
      const sy = (row - ((row >> up) << up)) * side;
      const width = Math.min(side, held.bitmap.width - sx);
      const height = Math.min(side, held.bitmap.height - sy);
      if (width <= 0 || height <= 0) return;
      const span = this.tiled.tile * 2 ** level;
      const [x, y] = this.toScreen([column * span - 0.5, row * span - 0.5]);
      const scale = this.zoom * 2 ** (level + up);
      this.context.drawImage(
        held.bitmap,
        sx,
        sy,
        width,
        height,
        x,
        y,
        width * scale,
        height * scale,
      );
      held.used = performance.now();
      return;
    }
  }

  /** @param {Place[]} wanted */
  ask(wanted) {
    const last = { level: this.tiled.levels - 1, column: 0, row: 0 };
    for (const tile of [last, ...wanted]) {
      const name = `${tile.level}/${tile.column}/${tile.row}`;
      if (this.tiles.has(name) || this.waiting.has(name) || this.waiting.size >= MOST_ASKED)
        continue;
      this.load(name, tile);
    }
  }

  /**
   * @param {string} name
   * @param {Place} tile
   */
  async load(name, { level, column, row }) {
    const { key, plan } = this;
    if (key === null || plan === null) return;
    this.waiting.add(name);
    try {
      const response = await fetch(tileAddress(plan, key, level, column, row));
      const bitmap = response.ok ? await createImageBitmap(await response.blob()) : null;
      if (key === this.key) this.tiles.set(name, { bitmap, used: performance.now() });
    } catch {
      // The server is gone; the shell says so, and a later redraw asks again.
    } finally {
      this.waiting.delete(name);
    }
    this.forget();
    this.draw();
  }

  forget() {
    if (this.tiles.size <= MOST_TILES) return;
    const oldest = [...this.tiles].sort(([, one], [, other]) => one.used - other.used).slice(0, 40);
    for (const [name, tile] of oldest) {
      tile.bitmap?.close?.();
      this.tiles.delete(name);
    }
  }

  // A round glass over a place of the plan, at a fixed enlargement, drawn from full-size tiles.
  /**
   * @param {Point} at
   * @param {Point} screen
   * @param {{ radius?: number, enlargement?: number, mark?: Point | null, colour?: string }} look
   */
  drawGlass(at, screen, { radius = 84, enlargement = 5, mark = null, colour = "#000" } = {}) {
    const { context } = this;
    const [cx, cy] = screen;
    context.save();
    context.beginPath();
    context.arc(cx, cy, radius, 0, 2 * Math.PI);
    context.fillStyle = "#fff";
    context.fill();
    context.clip();
    context.imageSmoothingEnabled = false;
    if (this.strokes) this.drawStrokes(screen, at, enlargement * this.zoom);
    else this.drawGlassTiles(at, screen, radius, enlargement);
    const scale = this.strokes ? enlargement * this.zoom : enlargement;
    context.strokeStyle = colour;
    context.lineWidth = 1;
    context.globalAlpha = 0.55;
    context.beginPath();
    context.moveTo(cx - radius, cy);
    context.lineTo(cx + radius, cy);
    context.moveTo(cx, cy - radius);
    context.lineTo(cx, cy + radius);
    context.stroke();
    context.globalAlpha = 1;
    if (mark) {
      context.beginPath();
      context.arc(
        cx + (mark[0] - at[0]) * scale,
        cy + this.down * (mark[1] - at[1]) * scale,
        6,
        0,
        2 * Math.PI,
      );
      context.lineWidth = 2.5;
      context.stroke();
    }
    context.restore();
    context.beginPath();
    context.arc(cx, cy, radius, 0, 2 * Math.PI);
    context.lineWidth = 3;
    context.strokeStyle = colour;
    context.stroke();
  }

  /**
   * @param {Point} at
   * @param {Point} screen
   * @param {number} radius
   * @param {number} enlargement
   */
  drawGlassTiles(at, [cx, cy], radius, enlargement) {
    const { context } = this;
    const span = this.tiled.tile;
    const reach = radius / enlargement;
    for (
      let row = Math.floor((at[1] - reach) / span);
      row <= Math.floor((at[1] + reach) / span);
      row += 1
    ) {
      for (
        let column = Math.floor((at[0] - reach) / span);
        column <= Math.floor((at[0] + reach) / span);
        column += 1
      ) {
        const held = this.tiles.get(`0/${column}/${row}`);
        if (held?.bitmap) {
          const x = cx + (column * span - 0.5 - at[0]) * enlargement;
          const y = cy + (row * span - 0.5 - at[1]) * enlargement;
          context.drawImage(
            held.bitmap,
            x,
            y,
            held.bitmap.width * enlargement,
            held.bitmap.height * enlargement,
          );
        } else if (
          row >= 0 &&
          column >= 0 &&
          column * span < this.tiled.width &&
          row * span < this.tiled.height
        ) {
          this.ask([{ level: 0, column, row }]);
        }
      }
    }
  }
}

// A stroke as a path that the canvas can draw at any closeness.
/** @param {Stroke} stroke */
function inked({ points, width, is_closed: isClosed, is_dashed: isDashed, is_filled: isFilled }) {
  const path = new Path2D();
  points.forEach(([x, y], index) => (index ? path.lineTo(x, y) : path.moveTo(x, y)));
  if (isClosed) path.closePath();
  return { path, width, isDashed, isFilled };
}
