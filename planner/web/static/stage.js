// A scene that is turned by hand or by keys, and painted only when it changes.
import * as THREE from "./three/three.module.min.js";
import { OrbitControls } from "./three/OrbitControls.js";
import { box, paintedBy } from "./solids.js";

const FILLED = 0.94; // of the picture

// A canvas with its light; null where the browser shows no 3D.
export function lit(canvas) {
  let renderer;
  try {
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true });
  } catch {
    return null;
  }
  paintedBy(renderer.getContext());
  const scene = new THREE.Scene();
  scene.add(new THREE.HemisphereLight(0xffffff, 0x8090a0, 2.2));
  const sun = new THREE.DirectionalLight(0xffffff, 1.6);
  sun.position.set(-1, -2, 3);
  scene.add(sun);
  return { renderer, scene };
}

const cornersOf = ({ min, max }) =>
  [0, 1, 2, 3, 4, 5, 6, 7].map((k) => new THREE.Vector3(k & 1 ? min.x : max.x, k & 2 ? min.y : max.y, k & 4 ? min.z : max.z));

// Look at a thing of the scene from a side, as far off as its size times `far`; without it, so that it fills the canvas.
export function shown({ renderer, scene }, canvas, target, from, far) {
  const camera = new THREE.PerspectiveCamera(35, 1, 1, 1000);
  camera.up.set(0, 0, 1);
  const controls = new OrbitControls(camera, canvas);
  const aim = (thing, side = from) => {
    const around = box(thing);
    const middle = around.getCenter(new THREE.Vector3());
    const reach = Math.max(around.getSize(new THREE.Vector3()).length(), 20);
    [camera.near, camera.far] = [reach / 200, reach * 20];
    const way = new THREE.Vector3(...side);
    const distance = far ? reach * far : filling(thing, middle, way.normalize());
    camera.position.copy(middle).add(way.multiplyScalar(distance));
    controls.target.copy(middle);
  };
  // Moves the middle to that of what is seen, and gives the distance from which every corner of its bodies is just
  // inside the picture (Source: geometry).
  const filling = (thing, middle, way) => {
    const right = new THREE.Vector3().crossVectors(camera.up, way).normalize();
    const up = new THREE.Vector3().crossVectors(way, right);
    const seen = thing.children.flatMap((child) => cornersOf(box(child)));
    for (const along of [right, up]) {
      const places = seen.map((corner) => corner.dot(along));
      middle.addScaledVector(along, (Math.min(...places) + Math.max(...places)) / 2 - middle.dot(along));
    }
    const tall = Math.tan((camera.fov * Math.PI) / 360) * FILLED;
    const wide = (tall * canvas.clientWidth) / Math.max(canvas.clientHeight, 1);
    return Math.max(1, ...seen.map((corner) => {
      const off = corner.clone().sub(middle);
      return off.dot(way) + Math.max(Math.abs(off.dot(right)) / wide, Math.abs(off.dot(up)) / tall);
    }));
  };
  aim(target);
  let asked = false;
  // A machine that cannot paint fast enough turns a coarser picture, and gets the fine one when it rests.
  let [coarse, last, resting] = [false, 0, 0];
  const paint = (now) => {
    asked = false;
    const { clientWidth: w, clientHeight: h } = canvas;
    const turning = now - last < 400;
    if (turning && now - last > 40) coarse = true;
    last = now;
    clearTimeout(resting);
    if (coarse && turning) resting = setTimeout(later, 420);
    renderer.setPixelRatio(coarse && turning ? 0.4 : Math.min(devicePixelRatio, 2));
    renderer.setSize(w, h, false);
    camera.aspect = w / h;
    camera.updateProjectionMatrix();
    renderer.render(scene, camera);
    canvas.dataset.painted = String(Number(canvas.dataset.painted ?? 0) + 1);
    canvas.dataset.triangles = String(renderer.info.render.triangles);
  };
  const later = () => { if (!asked) { asked = true; requestAnimationFrame(paint); } }; // painted only when it changes
  controls.addEventListener("change", later);
  addEventListener("resize", later);
  const keys = (event) => {
    const offset = camera.position.clone().sub(controls.target);
    const ball = new THREE.Spherical().setFromVector3(new THREE.Vector3(offset.x, offset.z, -offset.y));
    const step = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1] }[event.key];
    if (step) { ball.theta += step[0]; ball.phi = Math.min(3.1, Math.max(0.04, ball.phi + step[1])); }
    else if (event.key === "+") ball.radius *= 0.88;
    else if (event.key === "-") ball.radius /= 0.88;
    else return;
    event.preventDefault();
    const v = new THREE.Vector3().setFromSpherical(ball);
    camera.position.copy(controls.target).add(new THREE.Vector3(v.x, -v.z, v.y));
    controls.update();
    later();
  };
  canvas.addEventListener("keydown", keys);
  controls.update();
  later();
  return {
    aim(thing, side) { aim(thing, side); controls.update(); later(); },
    side: () => camera.position.clone().sub(controls.target).normalize().toArray(),
    camera,
    controls,
    later,
    end() {
      canvas.removeEventListener("keydown", keys);
      removeEventListener("resize", later);
      controls.dispose();
      scene.traverse((thing) => { thing.geometry?.dispose(); thing.material?.dispose?.(); });
      renderer.dispose();
    },
  };
}
