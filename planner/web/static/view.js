// The turnable view: one part on the bed with its findings, all parts side by side, or a bed as planned.
import * as THREE from "./three/three.module.min.js";
import { box, corners, solid } from "./solids.js";
import { lit, shown as show } from "./stage.js";
import { base, text } from "./talk.js";

const dialog = document.getElementById("view");
const canvas = document.getElementById("view-canvas");
const note = document.getElementById("view-note");
const name = document.getElementById("view-name");
let shown = null;

document.getElementById("view-close").addEventListener("click", () => dialog.close());
dialog.addEventListener("close", () => { shown?.end(); shown = null; });

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

export async function open({ one, all, bed, assembled: together }) {
  shown?.end();
  if (!dialog.open) dialog.showModal();
  const stage = lit(canvas);
  if (!stage) {
    name.textContent = one?.dataset.name ?? bed ?? "";
    note.textContent = await text("no_3d");
    return;
  }
  const { scene } = stage;
  const ink = getComputedStyle(document.body).color;
  const told = one ? null : await fetch(`${base}/scenes`).then((answer) => answer.json());
  const { target, words } = one
    ? await onePart(scene, one, ink)
    : all ? await allParts(scene, told) : together ? await assembled(scene, told, ink) : await oneBed(scene, told, bed, ink);
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", name.textContent);
  note.textContent = [...words, await text("drag")].join(" ");
  shown = show(
    stage, canvas, target, together ? [-0.75, -0.7, 0.5] : [0.55, -1.15, 0.75], all ? 0.85 : together ? 1.0 : 1.1,
  );
}
