// The kit put together as far as places are known; what has none stands in rows beside it.
import * as THREE from "./three/three.module.min.js";
import { box, corners, solid } from "./solids.js";
import { lit, shown } from "./stage.js";
import { base, text } from "./talk.js";

const GAP_MM = 15;
const TALL_MM = 40;
const WIDE = 2.2; // times the root of the room that loose parts take
const FROM_THE_NOSE = [-0.75, -0.7, 0.5];
const FROM_THE_SIDE = [0, -0.8, 0.8]; // rows of loose parts, as on a table
const MOVED_MM = 30;
const CLICK_PX = 5;
const LAID_DOWN = new THREE.Matrix4().set(0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1); // a row's z runs aft then
const canvas = document.getElementById("kit-canvas");

// Gives a function that paints what is chosen; `choose` is told what is clicked.
export async function kitScene(chosen, choose) {
  const stage = lit(canvas);
  if (!stage) {
    document.getElementById("kit-note").textContent = await text("no_3d");
    canvas.hidden = true;
    return () => null;
  }
  let view = null;
  let whole = new THREE.Group();
  let made = "";
  let aimed = null; // whether something was in place, and how large it all was, when it was looked at anew
  const mark = () => {
    whole.traverse((mesh) => {
      if (!mesh.material) return;
      mesh.material.emissive.set(chosen.has(mesh.userData.part) ? accent() : "#000000");
      mesh.material.emissiveIntensity = 0.75;
    });
    view?.later();
  };
  const load = async () => {
    const answer = await fetch(`${base}/kit/scene`).catch(() => null);
    const words = answer?.ok ? await answer.text() : "";
    if (!words || words === made) return;
    const told = JSON.parse(words);
    const fresh = await puttingTogether(told);
    made = words;
    stage.scene.remove(whole);
    whole.traverse((mesh) => { mesh.geometry?.dispose(); mesh.material?.dispose(); });
    whole = fresh;
    stage.scene.add(whole);
    if (!whole.children.length) return;
    view ??= looking(stage, whole);
    const [placed, size] = [told.pieces.length > 0, box(whole).getSize(new THREE.Vector3())];
    const same = aimed && aimed.placed === placed; // seen from where it is seen now, or anew
    if (!same || aimed.size.distanceTo(size) > MOVED_MM)
      view.aim(whole, same ? view.side() : placed ? FROM_THE_NOSE : FROM_THE_SIDE);
    aimed = { placed, size };
    mark();
    canvas.dataset.pieces = String(told.pieces.length);
    canvas.dataset.loose = String(told.loose.flat().length);
  };
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", document.getElementById("kit-note").textContent);
  picking(() => view, () => whole, choose, chosen);
  document.addEventListener("refreshed", load);
  await load();
  return mark;
}

function looking(stage, whole) {
  const view = shown(stage, canvas, whole, FROM_THE_NOSE);
  view.controls.enableZoom = false; // the wheel turns the page until somebody is at work here
  canvas.style.touchAction = "pan-y";
  canvas.addEventListener("focus", () => { view.controls.enableZoom = true; });
  canvas.addEventListener("blur", () => { view.controls.enableZoom = false; });
  return view;
}

function accent() {
  const probe = document.createElement("span");
  probe.style.color = "var(--accent)";
  document.body.append(probe);
  const told = getComputedStyle(probe).color;
  probe.remove();
  return told;
}

async function puttingTogether({ pieces, loose }) {
  const whole = new THREE.Group();
  const count = pieces.length + loose.flat().length;
  await Promise.all([...pieces, ...loose.flat()].map(({ key }) => corners(key, count)));
  for (const piece of pieces) whole.add(await seated(piece, count));
  const around = pieces.length ? box(whole) : new THREE.Box3(new THREE.Vector3(), new THREE.Vector3());
  const groups = [];
  for (const parts of loose) {
    const group = new THREE.Group();
    if (parts.length > 1) group.setRotationFromMatrix(LAID_DOWN);
    for (const part of parts) group.add(await seated(part, count));
    const own = box(group);
    groups.push({ group, own, size: own.getSize(new THREE.Vector3()) });
  }
  groups.sort((a, b) => (b.size.z > TALL_MM) - (a.size.z > TALL_MM)); // what is tall stands behind what is low
  const room = groups.reduce((sum, { size }) => sum + (size.x + GAP_MM) * (size.y + GAP_MM), 0);
  const wide = Math.max(around.max.x - around.min.x, WIDE * Math.sqrt(room));
  let [x, y, deep] = [0, around.min.y - 3 * GAP_MM, 0];
  for (const { group, own, size } of groups) {
    if (x > 0 && x + size.x > wide) [x, y, deep] = [0, y - deep - GAP_MM, 0];
    group.position.set(around.min.x + x - own.min.x, y - own.max.y, around.min.z - own.min.z);
    x += size.x + GAP_MM;
    deep = Math.max(deep, size.y);
    whole.add(group);
  }
  return whole;
}

async function seated(piece, count) {
  const { mesh } = await solid(piece.key, piece.colour, null, count);
  const [t, s] = [piece.turn, piece.shift];
  mesh.matrixAutoUpdate = false; // it may mirror, which no turn and no scale of its own could say
  mesh.matrix.set(t[0], t[1], t[2], s[0], t[3], t[4], t[5], s[1], t[6], t[7], t[8], s[2], 0, 0, 0, 1);
  mesh.userData.part = piece.part;
  return mesh;
}

// A press that does not drag chooses the part under it, or lets it go.
function picking(view, whole, choose, chosen) {
  let from = null;
  canvas.addEventListener("pointerdown", (event) => { from = [event.clientX, event.clientY]; });
  canvas.addEventListener("pointerup", (event) => {
    if (!from || !view() || Math.hypot(event.clientX - from[0], event.clientY - from[1]) > CLICK_PX) return;
    const place = canvas.getBoundingClientRect();
    const at = new THREE.Vector2(
      (2 * (event.clientX - place.left)) / place.width - 1, 1 - (2 * (event.clientY - place.top)) / place.height,
    );
    const ray = new THREE.Raycaster();
    ray.setFromCamera(at, view().camera);
    const part = ray.intersectObject(whole(), true)[0]?.object.userData.part;
    if (part !== undefined) choose(part, !chosen.has(part));
  });
}
