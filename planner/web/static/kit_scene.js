// The kit put together as far as places are known; what has none stands in rows beside it.
import * as THREE from "./three/three.module.min.js";
import { box, corners, solid } from "./solids.js";
import { lit, shown } from "./stage.js";
import { base, text } from "./talk.js";

const GAP_MM = 15;
const LEAST_WIDE_MM = 500;
const CLICK_PX = 5;
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
    const before = made ? JSON.parse(made).pieces.length : -1;
    const told = JSON.parse(words);
    const fresh = await puttingTogether(told);
    made = words;
    stage.scene.remove(whole);
    whole.traverse((mesh) => { mesh.geometry?.dispose(); mesh.material?.dispose(); });
    whole = fresh;
    stage.scene.add(whole);
    if (!whole.children.length) return;
    view ??= looking(stage, whole);
    if (before >= 0 && before !== told.pieces.length) view.aim(whole);
    mark();
    canvas.dataset.pieces = String(told.pieces.length);
    canvas.dataset.loose = String(told.loose.length);
  };
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", document.getElementById("kit-note").textContent);
  picking(() => view, () => whole, choose, chosen);
  document.addEventListener("refreshed", load);
  await load();
  return mark;
}

function looking(stage, whole) {
  const view = shown(stage, canvas, whole, [-0.75, -0.7, 0.5]);
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
  const count = pieces.length + loose.length;
  await Promise.all([...pieces, ...loose].map(({ key }) => corners(key, count)));
  for (const piece of pieces) {
    const { mesh } = await solid(piece.key, piece.colour, null, count);
    const [t, s] = [piece.turn, piece.shift];
    mesh.matrixAutoUpdate = false; // it may mirror, which no turn and no scale of its own could say
    mesh.matrix.set(t[0], t[1], t[2], s[0], t[3], t[4], t[5], s[1], t[6], t[7], t[8], s[2], 0, 0, 0, 1);
    mesh.userData.part = piece.part;
    whole.add(mesh);
  }
  const around = pieces.length ? box(whole) : new THREE.Box3(new THREE.Vector3(), new THREE.Vector3());
  const wide = Math.max(around.max.x - around.min.x, LEAST_WIDE_MM);
  let [x, y, deep] = [0, around.min.y - 3 * GAP_MM, 0];
  for (const part of loose) {
    const { group, mesh } = await solid(part.key, part.colour, null, count);
    mesh.userData.part = part.part;
    const own = box(group);
    const size = own.getSize(new THREE.Vector3());
    if (x > 0 && x + size.x > wide) [x, y, deep] = [0, y - deep - GAP_MM, 0];
    group.position.set(around.min.x + x - own.min.x, y - own.max.y, around.min.z - own.min.z);
    x += size.x + GAP_MM;
    deep = Math.max(deep, size.y);
    whole.add(group);
  }
  return whole;
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
