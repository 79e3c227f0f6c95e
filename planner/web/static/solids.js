// Light meshes of parts, fetched once.
import * as THREE from "./three/three.module.min.js";
import { base } from "./talk.js";

// Parts on the screen at once from which coarser meshes do; fewer where no graphics processor paints them.
const [MANY, MANY_IN_SOFTWARE] = [20, 4];
let many = MANY;
export function paintedBy(gl) { many = inSoftware(gl) ? MANY_IN_SOFTWARE : MANY; }

const kept = new Map();
export async function corners(key, count) {
  const path = count > many ? `${key}?coarse` : key;
  if (!kept.has(path)) {
    kept.set(path, fetch(`${base}/scene/${path}`).then(async (answer) => new Float32Array(await answer.arrayBuffer())));
  }
  return kept.get(path);
}

export async function solid(key, colour, pose, count = 1) {
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute("position", new THREE.BufferAttribute(await corners(key, count), 3));
  geometry.computeVertexNormals();
  const soft = new THREE.Color(colour).lerp(new THREE.Color("#ffffff"), 0.15); // as in the pictures
  const material = new THREE.MeshLambertMaterial({ color: soft, side: THREE.DoubleSide, flatShading: true });
  const mesh = new THREE.Mesh(geometry, material);
  const group = new THREE.Group();
  if (pose) {
    const m = new THREE.Matrix4();
    m.set(...pose[0], 0, ...pose[1], 0, ...pose[2], 0, 0, 0, 0, 1);
    mesh.applyMatrix4(m);
  }
  group.add(mesh);
  return { group, mesh };
}

export const box = (thing) => new THREE.Box3().setFromObject(thing);

function inSoftware(gl) {
  const told = gl.getExtension("WEBGL_debug_renderer_info");
  return told !== null && /swiftshader|llvmpipe|software|basic render/i.test(gl.getParameter(told.UNMASKED_RENDERER_WEBGL));
}
