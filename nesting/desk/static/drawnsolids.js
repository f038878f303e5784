// The same bodies without WebGL: triangles on a plain canvas, the farthest first.

import { eye, OPENING, places } from "./orbit.js";
import { fitted, streaksOfWood } from "./solids.js";

/** @import { Body } from "./glb.js" */
/** @import { Drawer } from "./solids.js" */

/** @typedef {number[]} V */
/** @typedef {{ body: Body, corners: [number, number][], depth: number, shade: number }} Face */

/** @param {V} a @param {V} b */
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
/** @param {V} a @param {V} b */
const crossed = (a, b) => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
/** @param {V} a */
const unit = (a) => a.map((value) => value / (Math.hypot(...a) || 1));

/**
 * @param {HTMLCanvasElement} canvas
 * @param {Body[]} bodies
 * @returns {Drawer}
 */
export function paintedDrawer(canvas, bodies) {
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const streaks = /** @type {CanvasPattern} */ (pen.createPattern(streaksOfWood(), "repeat"));
  /** @type {Face[]} */
  let faces = [];
  return {
    draw({ bodies: shown, look, lit, colours }) {
      const { width, height } = fitted(canvas);
      const at = places(bodies, look);
      const { from, to } = eye(shown, at, look, width / height);
      const ahead = unit(to.map((value, i) => value - from[i]));
      const right = unit(crossed(ahead, [0, 1, 0]));
      const up = crossed(right, ahead);
      const scale = height / 2 / Math.tan((OPENING * Math.PI) / 360);
      /** @param {V} point */
      const seen = (point) => {
        const away = point.map((value, i) => value - from[i]);
        const deep = Math.max(1e-6, dot(away, ahead));
        return {
          deep,
          x: width / 2 + (scale * dot(away, right)) / deep,
          y: height / 2 - (scale * dot(away, up)) / deep,
        };
      };
      faces = shown.flatMap((body) => facesOf(body, at.get(body) ?? body.at, from, seen));
      faces.sort((one, other) => other.depth - one.depth);
      pen.fillStyle = colours.paper;
      pen.fillRect(0, 0, width, height);
      pen.lineJoin = "round";
      for (const face of faces) {
        const isLit = face.body.said.part === lit;
        trace(pen, face.corners);
        pen.fillStyle = pen.strokeStyle = shaded(face.body.colour, face.shade, isLit);
        // Neighbours leave a hair between them without a line of their own colour.
        pen.lineWidth = 1;
        pen.stroke();
        pen.fill();
        const turn = grainTurn(face.body, at.get(face.body) ?? face.body.at, seen);
        streaks.setTransform(new DOMMatrix().rotate((turn * 180) / Math.PI + 90).scale(0.5));
        pen.globalCompositeOperation = "multiply";
        pen.fillStyle = streaks;
        pen.fill();
        pen.globalCompositeOperation = "source-over";
      }
    },
    partAt(x, y) {
      const [px, py] = [x * canvas.width, y * canvas.height];
      const found = faces.findLast((face) => isInside(face.corners, px, py));
      return found?.body.said.part ?? null;
    },
    close() {
      faces = [];
    },
  };
}

/**
 * The triangles of a body that look at the eye.
 *
 * @param {Body} body
 * @param {V} at
 * @param {V} from
 * @param {(point: V) => { x: number, y: number, deep: number }} seen
 * @returns {Face[]}
 */
function facesOf(body, at, from, seen) {
  const { points, triangles } = body;
  /** @type {Face[]} */
  const found = [];
  for (let i = 0; i < triangles.length; i += 3) {
    const places = [0, 1, 2].map((k) => {
      const j = 3 * triangles[i + k];
      return [points[j] + at[0], points[j + 1] + at[1], points[j + 2] + at[2]];
    });
    const [a, b, c] = places;
    const normal = unit(
      crossed(
        b.map((value, k) => value - a[k]),
        c.map((value, k) => value - a[k]),
      ),
    );
    const toEye = unit(from.map((value, k) => value - a[k]));
    if (dot(normal, toEye) <= 0) continue;
    const drawn = places.map(seen);
    found.push({
      body,
      corners: drawn.map(({ x, y }) => [x, y]),
      depth: (drawn[0].deep + drawn[1].deep + drawn[2].deep) / 3,
      shade: 0.68 + 0.22 * Math.max(0, normal[1]) + 0.12 * dot(normal, toEye),
    });
  }
  return found;
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {[number, number][]} corners
 */
function trace(pen, corners) {
  pen.beginPath();
  corners.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y)));
  pen.closePath();
}

/**
 * @param {[number, number, number]} colour
 * @param {number} shade
 * @param {boolean} isLit
 */
function shaded(colour, shade, isLit) {
  const glow = isLit ? [20, 45, 95] : [0, 0, 0];
  const [red, green, blue] = colour.map((value, i) =>
    Math.round(Math.min(255, value * Math.min(1, shade) * (isLit ? 0.8 : 1) + glow[i])),
  );
  return `rgb(${red}, ${green}, ${blue})`;
}

/**
 * @param {Body} body
 * @param {V} at
 * @param {(point: V) => { x: number, y: number }} seen
 */
function grainTurn(body, at, seen) {
  const [one, other] = [-0.02, 0.02].map((step) =>
    seen(at.map((value, i) => value + step * body.said.grain[i])),
  );
  return Math.atan2(other.y - one.y, other.x - one.x);
}

/**
 * @param {[number, number][]} corners
 * @param {number} x
 * @param {number} y
 */
function isInside(corners, x, y) {
  const turns = corners.map(([ax, ay], i) => {
    const [bx, by] = corners[(i + 1) % 3];
    return Math.sign((bx - ax) * (y - ay) - (by - ay) * (x - ax));
  });
  return !(turns.includes(1) && turns.includes(-1));
}
