// Types of what the page uses of three.min.js. No browser reads it.

export class Vector2 {
  constructor(x?: number, y?: number);
}
export class Vector3 {
  x: number;
  y: number;
  z: number;
  set(x: number, y: number, z: number): this;
}
export class Color {
  constructor(colour?: string | number);
  set(colour: string | number): this;
  setRGB(red: number, green: number, blue: number, space?: string): this;
}
export class Object3D {
  position: Vector3;
  visible: boolean;
  add(...things: Object3D[]): this;
  lookAt(x: number, y: number, z: number): void;
}
export class Scene extends Object3D {
  background: Color | null;
}
export class PerspectiveCamera extends Object3D {
  constructor(fov: number, aspect: number, near: number, far: number);
  aspect: number;
  near: number;
  far: number;
  updateProjectionMatrix(): void;
}
export class HemisphereLight extends Object3D {
  constructor(sky: number, ground: number, strength: number);
}
export class DirectionalLight extends Object3D {
  constructor(colour: number, strength: number);
}
export class BufferAttribute {
  constructor(values: Float32Array, size: number);
}
export class BufferGeometry {
  setAttribute(name: string, values: BufferAttribute): this;
  dispose(): void;
}
export class CanvasTexture {
  constructor(canvas: HTMLCanvasElement);
  wrapS: number;
  wrapT: number;
  anisotropy: number;
  colorSpace: string;
  dispose(): void;
}
export class MeshLambertMaterial {
  constructor(settings: { color: Color; map: CanvasTexture });
  emissive: Color;
  dispose(): void;
}
export class LineBasicMaterial {
  constructor(settings: { color: string; transparent?: boolean; opacity?: number });
  color: Color;
  dispose(): void;
}
export class EdgesGeometry extends BufferGeometry {
  constructor(geometry: BufferGeometry, angleDeg?: number);
}
export class Mesh extends Object3D {
  constructor(geometry: BufferGeometry, material: MeshLambertMaterial);
}
export class LineSegments extends Object3D {
  constructor(geometry: BufferGeometry, material: LineBasicMaterial);
}
export class Raycaster {
  setFromCamera(at: Vector2, camera: PerspectiveCamera): void;
  intersectObjects(things: Object3D[]): { object: Object3D; distance: number }[];
}
export class WebGLRenderer {
  constructor(settings: { canvas: HTMLCanvasElement; antialias?: boolean });
  setPixelRatio(ratio: number): void;
  setSize(width: number, height: number, setsStyle?: boolean): void;
  render(scene: Scene, camera: PerspectiveCamera): void;
  dispose(): void;
}
export const RepeatWrapping: number;
export const SRGBColorSpace: string;
