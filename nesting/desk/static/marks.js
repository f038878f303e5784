// Pencil marks over the plan: outlines, dimensions, arrows, flags. A pen holds the canvas, the view
// and the colours.

import * as format from "./format.js";
import { bounds } from "./geometry.js";

/** @import { Point, Ring } from "./geometry.js" */
/** @import { Viewer } from "./viewer.js" */

export class Pen {
  /** @param {Viewer} viewer */
  constructor(viewer) {
    this.viewer = viewer;
    this.context = viewer.context;
  }

  /** @param {string} name */
  colour(name) {
    return getComputedStyle(this.viewer.canvas).getPropertyValue(`--sheet-${name}`).trim();
  }

  /**
   * @param {Ring[]} rings
   * @param {boolean} isClosed
   */
  trace(rings, isClosed = true) {
    this.context.beginPath();
    for (const ring of rings) {
      ring.forEach((point, index) => {
        const [x, y] = this.viewer.toScreen(point);
        if (index) this.context.lineTo(x, y);
        else this.context.moveTo(x, y);
      });
      if (isClosed) this.context.closePath();
    }
  }

  /**
   * @param {Ring[]} rings
   * @param {string} colour
   * @param {{ fill?: number, width?: number, dash?: number[] }} look
   */
  shape(rings, colour, { fill = 0.08, width = 1.5, dash = [] } = {}) {
    const { context } = this;
    this.trace(rings);
    context.fillStyle = context.strokeStyle = this.colour(colour);
    context.globalAlpha = fill;
    context.fill("evenodd");
    context.globalAlpha = 1;
    context.lineWidth = width;
    context.setLineDash(dash);
    context.stroke();
    context.setLineDash([]);
  }

  /**
   * @param {Point[]} points
   * @param {string} colour
   * @param {{ width?: number, dash?: number[] }} look
   */
  line(points, colour, { width = 2, dash = [] } = {}) {
    this.trace([points], false);
    this.context.strokeStyle = this.colour(colour);
    this.context.lineWidth = width;
    this.context.setLineDash(dash);
    this.context.stroke();
    this.context.setLineDash([]);
  }

  /**
   * @param {Point} at
   * @param {string} text
   * @param {string} colour
   */
  tag([x, y], text, colour) {
    const { context } = this;
    context.font = "600 13px system-ui, sans-serif";
    const width = context.measureText(text).width;
    context.fillStyle = "rgba(255, 255, 255, 0.9)";
    context.fillRect(x - width / 2 - 5, y - 10, width + 10, 20);
    context.fillStyle = this.colour(colour);
    context.textAlign = "center";
    context.fillText(text, x, y + 4.5);
  }

  /**
   * @param {Ring[]} rings
   * @param {string} text
   */
  name(rings, text) {
    const corners = rings[0].map((point) => this.viewer.toScreen(point));
    const [x0, y0, x1] = bounds(corners);
    this.tag([(x0 + x1) / 2, y0 - 14], text, "blue");
  }

  /**
   * @param {Point} from
   * @param {Point} to
   * @param {string} colour
   * @param {{ width?: number, dash?: number[] }} look
   */
  arrow(from, to, colour, { dash = [], width = 1.5 } = {}) {
    const { context } = this;
    const ends = [this.viewer.toScreen(from), this.viewer.toScreen(to)];
    const angle = Math.atan2(ends[1][1] - ends[0][1], ends[1][0] - ends[0][0]);
    context.strokeStyle = this.colour(colour);
    context.lineWidth = width;
    context.setLineDash(dash);
    context.beginPath();
    context.moveTo(...ends[0]);
    context.lineTo(...ends[1]);
    context.stroke();
    context.setLineDash([]);
    context.beginPath();
    for (const [k, end] of ends.entries()) {
      const turn = k ? 0 : Math.PI;
      for (const side of [-1, 1]) {
        context.moveTo(...end);
        context.lineTo(
          end[0] - 9 * Math.cos(angle + turn + side * 0.4),
          end[1] - 9 * Math.sin(angle + turn + side * 0.4),
        );
      }
    }
    context.stroke();
  }

  /**
   * @param {{ from: Point, to: Point, length_mm?: number | null }} known
   * @param {boolean} isTentative
   */
  known({ from, to, length_mm: length = null }, isTentative = false) {
    const { context } = this;
    const [one, other] = [this.viewer.toScreen(from), this.viewer.toScreen(to)];
    const angle = Math.atan2(other[1] - one[1], other[0] - one[0]);
    const across = [-9 * Math.sin(angle), 9 * Math.cos(angle)];
    context.strokeStyle = this.colour("red");
    context.lineWidth = 1.8;
    context.setLineDash(isTentative ? [6, 4] : []);
    context.beginPath();
    context.moveTo(...one);
    context.lineTo(...other);
    for (const end of [one, other]) {
      context.moveTo(end[0] - across[0], end[1] - across[1]);
      context.lineTo(end[0] + across[0], end[1] + across[1]);
    }
    context.stroke();
    context.setLineDash([]);
    if (length)
      this.tag([(one[0] + other[0]) / 2, (one[1] + other[1]) / 2], format.length(length), "red");
  }

  /** @param {Point} at */
  flag(at) {
    const { context } = this;
    const [x, y] = this.viewer.toScreen(at);
    context.strokeStyle = context.fillStyle = this.colour("red");
    context.lineWidth = 2;
    context.beginPath();
    context.moveTo(x, y);
    context.lineTo(x, y - 24);
    context.stroke();
    context.beginPath();
    context.moveTo(x, y - 24);
    context.lineTo(x + 15, y - 18);
    context.lineTo(x, y - 12);
    context.fill();
  }

  // A ring round a place of the plan, as a pencil circles what needs a look.
  /**
   * @param {Point} at
   * @param {number} radius
   * @param {string} colour
   * @param {{ width?: number, dash?: number[] }} look
   */
  ring(at, radius, colour, { width = 2, dash = [] } = {}) {
    const { context } = this;
    context.beginPath();
    context.arc(...this.viewer.toScreen(at), radius, 0, 2 * Math.PI);
    context.strokeStyle = this.colour(colour);
    context.lineWidth = width;
    context.setLineDash(dash);
    context.stroke();
    context.setLineDash([]);
  }

  /**
   * @param {Point} at
   * @param {string} colour
   * @param {{ radius?: number, isHollow?: boolean }} look
   */
  dot(at, colour, { radius = 4, isHollow = true } = {}) {
    const { context } = this;
    context.beginPath();
    context.arc(...this.viewer.toScreen(at), radius, 0, 2 * Math.PI);
    context.fillStyle = isHollow ? "#fff" : this.colour(colour);
    context.fill();
    context.strokeStyle = this.colour(colour);
    context.lineWidth = 1.8;
    context.stroke();
  }

  /** @param {Point} at */
  cross([x, y]) {
    const { context } = this;
    context.strokeStyle = this.colour("red");
    context.lineWidth = 1.5;
    context.beginPath();
    for (const [dx, dy] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ]) {
      context.moveTo(x + 5 * dx, y + 5 * dy);
      context.lineTo(x + 16 * dx, y + 16 * dy);
    }
    context.stroke();
  }
}
