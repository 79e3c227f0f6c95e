// The turnable view: one part on the bed with its findings, all parts side by side, or a bed as planned.
import * as THREE from "./three/three.module.min.js";
import { OrbitControls } from "./three/OrbitControls.js";
import { base, text } from "./talk.js";

const dialog = document.getElementById("view");
const canvas = document.getElementById("view-canvas");
const note = document.getElementById("view-note");
const name = document.getElementById("view-name");
let shown = null;

document.getElementById("view-close").addEventListener("click", () => dialog.close());
dialog.addEventListener("close", () => { shown?.end(); shown = null; });

// Parts on the screen at once from which coarser meshes do; fewer where no graphics processor paints them.
const [MANY, MANY_IN_SOFTWARE] = [20, 4];
let many = MANY;
const kept = new Map();
async function corners(key, count) {
  const path = count > many ? `${key}?coarse` : key;
  if (!kept.has(path)) {
    kept.set(path, fetch(`${base}/scene/${path}`).then(async (answer) => new Float32Array(await answer.arrayBuffer())));
  }
  return kept.get(path);
}

async function solid(key, colour, pose, count = 1) {
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

const box = (thing) => new THREE.Box3().setFromObject(thing);

function stand(thing, x, y) {
  const around = box(thing);
  const middle = around.getCenter(new THREE.Vector3());
  thing.position.add(new THREE.Vector3(x - middle.x, y - middle.y, -around.min.z));
}

function bedLines(bed, ink) {
  const points = [];
  if (bed.shape === "round") {
    const r = bed.width / 2;
    for (let k = 0; k <= 96; k += 1) points.push([r + r * Math.cos((k * Math.PI) / 48), r + r * Math.sin((k * Math.PI) / 48)]);
  } else points.push([0, 0], [bed.width, 0], [bed.width, bed.depth], [0, bed.depth], [0, 0]);
  const line = (list, opacity) => {
    const geometry = new THREE.BufferGeometry().setFromPoints(list.map(([x, y]) => new THREE.Vector3(x, y, 0)));
    return new THREE.Line(geometry, new THREE.LineBasicMaterial({ color: ink, transparent: true, opacity }));
  };
  const group = new THREE.Group();
  group.add(line(points, 0.9));
  for (let x = 20; x < bed.width; x += 20) {
    const half = bed.shape === "round" ? Math.sqrt((bed.width / 2) ** 2 - (x - bed.width / 2) ** 2) : bed.depth / 2;
    group.add(line([[x, bed.depth / 2 - half], [x, bed.depth / 2 + half]], 0.15));
  }
  for (let y = 20; y < bed.depth; y += 20) {
    const half = bed.shape === "round" ? Math.sqrt((bed.depth / 2) ** 2 - (y - bed.depth / 2) ** 2) : bed.width / 2;
    group.add(line([[bed.width / 2 - half, y], [bed.width / 2 + half, y]], 0.15));
  }
  return group;
}

async function onePart(scene, button, ink) {
  const bed = JSON.parse(document.getElementById("parts").dataset.bed);
  const { group, mesh } = await solid(button.dataset.scene, button.dataset.colour, JSON.parse(button.dataset.pose));
  const spots = JSON.parse(button.dataset.spots);
  const size = box(mesh).getSize(new THREE.Vector3()).length();
  for (const { spot } of spots) {
    const ball = new THREE.Mesh(
      new THREE.SphereGeometry(Math.max(1, size / 60), 16, 12),
      new THREE.MeshBasicMaterial({ color: "#d01c1c", depthTest: false, transparent: true, opacity: 0.85 }),
    );
    ball.renderOrder = 2;
    ball.position.set(...spot);
    mesh.add(ball);
  }
  stand(group, bed.width / 2, bed.depth / 2);
  scene.add(group, bedLines(bed, ink));
  name.textContent = button.dataset.name;
  return { target: group, words: spots.length ? [(await text("mark")) + spots.map((one) => one.text).join(" ")] : [] };
}

async function allParts(scene, told) {
  let [x, y, deep] = [0, 0, 0];
  const rows = Object.values(told.parts);
  const whole = new THREE.Group();
  await Promise.all(rows.map((part) => corners(part.key, rows.length))); // all at once, not one after the other
  for (const part of rows) {
    const { group } = await solid(part.key, part.colour, part.pose, rows.length);
    const size = box(group).getSize(new THREE.Vector3());
    if (x + size.x > 1100) [x, y, deep] = [0, y - deep - 15, 0];
    stand(group, x + size.x / 2, y - size.y / 2);
    x += size.x + 15;
    deep = Math.max(deep, size.y);
    whole.add(group);
  }
  scene.add(whole);
  name.textContent = await text("all_parts");
  return { target: whole, words: [] };
}

// Airframe axes: x aft, y to the right, z up; seen from ahead and above, nose towards the lower left.
function accent() {
  const probe = document.createElement("span"); // the browser itself says which of the two schemes holds
  probe.style.color = "var(--accent)";
  document.body.append(probe);
  const told = getComputedStyle(probe).color;
  probe.remove();
  return told;
}

async function assembled(scene, told, ink) {
  const whole = new THREE.Group();
  const { pieces } = told.assembled;
  await Promise.all(pieces.map(({ part }) => told.parts[part] && corners(told.parts[part].key, pieces.length)));
  for (const piece of pieces) {
    const part = told.parts[piece.part];
    if (!part) continue;
    const { mesh } = await solid(part.key, piece.colour, null, pieces.length);
    const [t, s] = [piece.turn, piece.shift];
    const m = new THREE.Matrix4();
    m.set(t[0], t[1], t[2], s[0], t[3], t[4], t[5], s[1], t[6], t[7], t[8], s[2], 0, 0, 0, 1);
    mesh.matrixAutoUpdate = false; // it may mirror, which no turn and no scale of its own could say
    mesh.matrix.copy(m);
    whole.add(mesh);
  }
  scene.add(whole);
  if (told.assembled.balance) {
    const size = box(whole).getSize(new THREE.Vector3()).length();
    const over = { depthTest: false, transparent: true };
    const ball = new THREE.Mesh(new THREE.SphereGeometry(size / 110, 20, 14), new THREE.MeshBasicMaterial({ color: accent(), opacity: 0.9, ...over }));
    const ring = new THREE.Mesh(new THREE.TorusGeometry(size / 60, size / 500, 8, 40), new THREE.MeshBasicMaterial({ color: ink, ...over }));
    ball.add(ring);
    ball.position.set(...told.assembled.balance);
    [ball.renderOrder, ring.renderOrder] = [2, 2];
    scene.add(ball);
  }
  name.textContent = await text("assembled");
  return { target: whole, words: told.assembled.balance ? [await text("balance_mark")] : [] };
}

async function oneBed(scene, told, bedName, ink) {
  const bed = told.beds[bedName];
  const whole = new THREE.Group();
  for (const piece of bed.pieces) {
    const part = told.parts[piece.part];
    if (!part) continue;
    const { group } = await solid(part.key, part.colour, part.pose);
    const turned = new THREE.Group();
    if (piece.mirrored) group.scale.x = -1;
    group.rotation.z = (piece.turn * Math.PI) / 180;
    if (piece.mirrored) group.updateMatrix();
    turned.add(group);
    stand(turned, ...piece.middle);
    whole.add(turned);
  }
  scene.add(whole, bedLines(bed, ink));
  name.textContent = bedName;
  return { target: whole, words: [] };
}

function inSoftware(gl) {
  const told = gl.getExtension("WEBGL_debug_renderer_info");
  return told !== null && /swiftshader|llvmpipe|software|basic render/i.test(gl.getParameter(told.UNMASKED_RENDERER_WEBGL));
}

export async function open({ one, all, bed, assembled: together }) {
  shown?.end();
  if (!dialog.open) dialog.showModal();
  let renderer;
  try {
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true });
  } catch {
    name.textContent = one?.dataset.name ?? bed ?? "";
    note.textContent = await text("no_3d");
    return;
  }
  many = inSoftware(renderer.getContext()) ? MANY_IN_SOFTWARE : MANY;
  const ink = getComputedStyle(document.body).color;
  const scene = new THREE.Scene();
  scene.add(new THREE.HemisphereLight(0xffffff, 0x8090a0, 2.2));
  const sun = new THREE.DirectionalLight(0xffffff, 1.6);
  sun.position.set(-1, -2, 3);
  scene.add(sun);
  const told = one ? null : await fetch(`${base}/scenes`).then((answer) => answer.json());
  const { target, words } = one
    ? await onePart(scene, one, ink)
    : all ? await allParts(scene, told) : together ? await assembled(scene, told, ink) : await oneBed(scene, told, bed, ink);
  const around = box(target);
  const middle = around.getCenter(new THREE.Vector3());
  const reach = Math.max(around.getSize(new THREE.Vector3()).length(), 20);
  const camera = new THREE.PerspectiveCamera(35, 1, reach / 200, reach * 20);
  camera.up.set(0, 0, 1);
  const from = together ? new THREE.Vector3(-0.75, -0.7, 0.5) : new THREE.Vector3(0.55, -1.15, 0.75);
  camera.position.copy(middle).add(from.multiplyScalar(reach * (all ? 0.85 : together ? 1.0 : 1.1)));
  const controls = new OrbitControls(camera, canvas);
  controls.target.copy(middle);
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
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", name.textContent);
  note.textContent = [...words, await text("drag")].join(" ");
  controls.update();
  later();
  shown = {
    end() {
      canvas.removeEventListener("keydown", keys);
      removeEventListener("resize", later);
      controls.dispose();
      scene.traverse((thing) => { thing.geometry?.dispose(); thing.material?.dispose?.(); });
      renderer.dispose();
    },
  };
}
