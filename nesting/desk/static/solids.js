// Bodies drawn with WebGL: lit wood with its grain, edges as a pencil draws them.

import * as three from "./three.min.js";
import { eye, OPENING, places } from "./orbit.js";

/** @import { Body } from "./glb.js" */
/** @import { Look } from "./orbit.js" */

/**
 * @typedef {object} Scenery what is drawn
 * @property {Body[]} bodies those that are shown
 * @property {Look} look
 * @property {string | null} lit the part that is lit
 * @property {{ paper: string, ink: string, blue: string }} colours
 */
/**
 * @typedef {object} Drawer
 * @property {(scenery: Scenery) => void} draw
 * @property {(x: number, y: number) => string | null} partAt at a share of width and height
 * @property {() => void} close
 */

const EDGE_DEG = 30;
const STREAK_M = 0.024;
const STREAK_LENGTH_M = 0.4;

/**
 * @param {HTMLCanvasElement} canvas
 * @param {Body[]} bodies
 * @returns {Drawer | null} null where the browser has no WebGL
 */
export function solidDrawer(canvas, bodies) {
  /** @type {three.WebGLRenderer} */
  let renderer;
  try {
    renderer = new three.WebGLRenderer({ canvas, antialias: true });
  } catch {
    return null;
  }
  const streaks = grainTexture();
  const scene = new three.Scene();
  const camera = new three.PerspectiveCamera(OPENING, 1, 0.01, 100);
  const light = new three.DirectionalLight(0xfff4e0, 1.9);
  scene.add(new three.HemisphereLight(0xffffff, 0xb8a888, 1.7), light, camera);
  const pencil = new three.LineBasicMaterial({
    color: "#4a3b22",
    transparent: true,
    opacity: 0.55,
  });
  const drawn = bodies.map((body) => solid(body, streaks, pencil));
  for (const one of drawn) scene.add(one.group);
  const ray = new three.Raycaster();
  return {
    draw({ bodies: shown, look, lit, colours }) {
      const { width, height } = fitted(canvas);
      renderer.setSize(width, height, false);
      scene.background = new three.Color(colours.paper);
      pencil.color.set(colours.ink);
      const at = places(bodies, look);
      for (const one of drawn) {
        one.group.visible = shown.includes(one.body);
        one.group.position.set(...(at.get(one.body) ?? one.body.at));
        one.material.emissive.set(one.body.said.part === lit ? "#2a4f86" : "#000000");
      }
      const { from, to, far, radius } = eye(shown, at, look, width / height);
      camera.aspect = width / height;
      camera.near = Math.max(0.001, far - 4 * radius);
      camera.far = far + 4 * radius;
      camera.position.set(...from);
      camera.lookAt(...to);
      camera.updateProjectionMatrix();
      light.position.set(from[0] + 0.3 * radius, from[1] + 1.5 * radius, from[2] + 0.8 * radius);
      renderer.render(scene, camera);
    },
    partAt(x, y) {
      ray.setFromCamera(new three.Vector2(2 * x - 1, 1 - 2 * y), camera);
      const seen = drawn.filter((one) => one.group.visible);
      const [first] = ray.intersectObjects(seen.map((one) => one.mesh));
      return seen.find((one) => one.mesh === first?.object)?.body.said.part ?? null;
    },
    close() {
      for (const one of drawn) {
        one.geometry.dispose();
        one.edges.dispose();
        one.material.dispose();
      }
      pencil.dispose();
      streaks.dispose();
      renderer.dispose();
    },
  };
}

/**
 * The canvas brought to as many dots as the screen shows of it.
 *
 * @param {HTMLCanvasElement} canvas
 */
export function fitted(canvas) {
  const dots = Math.min(2, window.devicePixelRatio || 1);
  const width = Math.max(1, Math.round(canvas.clientWidth * dots));
  const height = Math.max(1, Math.round(canvas.clientHeight * dots));
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== height) canvas.height = height;
  return { width, height };
}

/**
 * @param {Body} body
 * @param {three.CanvasTexture} streaks
 * @param {three.LineBasicMaterial} pencil
 */
function solid(body, streaks, pencil) {
  const geometry = new three.BufferGeometry();
  const { points, normals, across } = corners(body);
  geometry.setAttribute("position", new three.BufferAttribute(points, 3));
  geometry.setAttribute("normal", new three.BufferAttribute(normals, 3));
  geometry.setAttribute("uv", new three.BufferAttribute(across, 2));
  const [red, green, blue] = body.colour.map((value) => value / 255);
  const color = new three.Color().setRGB(red, green, blue, three.SRGBColorSpace);
  const material = new three.MeshLambertMaterial({ color, map: streaks });
  const mesh = new three.Mesh(geometry, material);
  const edges = new three.EdgesGeometry(geometry, EDGE_DEG);
  const group = new three.Object3D();
  group.add(mesh, new three.LineSegments(edges, pencil));
  return { body, group, mesh, geometry, edges, material };
}

// Each triangle with corners of its own, so that it is lit flat, and how far each lies across and
// along the grain.
/** @param {Body} body */
function corners({ points, triangles, said }) {
  const count = triangles.length;
  const found = {
    points: new Float32Array(3 * count),
    normals: new Float32Array(3 * count),
    across: new Float32Array(2 * count),
  };
  const grain = said.grain;
  for (let i = 0; i < count; i += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => {
      const j = 3 * triangles[i + k];
      return [points[j], points[j + 1], points[j + 2]];
    });
    const normal = unit(crossed(minus(b, a), minus(c, a)));
    const side = crossed(normal, grain);
    // End grain shows no streaks along it.
    const away = Math.hypot(...side) > 0.2 ? unit(side) : unit(crossed(normal, [0.3, 0.5, 0.8]));
    [a, b, c].forEach((point, k) => {
      found.points.set(point, 3 * (i + k));
      found.normals.set(normal, 3 * (i + k));
      found.across.set(
        [dot(point, away) / STREAK_M, dot(point, grain) / STREAK_LENGTH_M],
        2 * (i + k),
      );
    });
  }
  return found;
}

/** @typedef {number[]} V */
/** @param {V} a @param {V} b */
const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
/** @param {V} a @param {V} b */
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
/** @param {V} a @param {V} b */
const crossed = (a, b) => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
/** @param {V} a */
function unit(a) {
  const size = Math.hypot(...a) || 1;
  return [a[0] / size, a[1] / size, a[2] / size];
}

// Streaks along the grain, the same every time, so that the wood does not shimmer.
/** @returns {HTMLCanvasElement} */
export function streaksOfWood() {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 256;
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, 256, 256);
  let state = 7;
  const next = () => {
    state = (state * 1103 + 12345) % 65536;
    return state / 65536;
  };
  for (let x = 3; x < 254; x += 4 + 9 * next()) {
    pen.strokeStyle = `rgba(107, 79, 42, ${0.12 + 0.3 * next()})`;
    pen.lineWidth = 0.8 + 1.6 * next();
    const [a, b] = [6 * (next() - 0.5), 6 * (next() - 0.5)];
    pen.beginPath();
    pen.moveTo(x, 0);
    pen.bezierCurveTo(x + a, 85, x + b, 170, x, 256);
    pen.stroke();
  }
  return canvas;
}

function grainTexture() {
  const texture = new three.CanvasTexture(streaksOfWood());
  texture.wrapS = texture.wrapT = three.RepeatWrapping;
  texture.anisotropy = 4;
  texture.colorSpace = three.SRGBColorSpace;
  return texture;
}
