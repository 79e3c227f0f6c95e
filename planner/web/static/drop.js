// Receiving files: a folder dropped or chosen, single files, an archive; each is sent by itself.
import { airframe, announce, ask, base, text } from "./talk.js";
import { settled } from "./edits.js";
import { say } from "./strip.js";

const progress = document.getElementById("progress");
const words = document.getElementById("drop-words");
const bar = document.getElementById("drop-bar");
const list = document.getElementById("drop-files");
const AT_ONCE = 4;
const here = document.getElementById("kit-cards") ? "/kit" : ""; // files are added on these two sheets

for (const [button, input] of [["pick-folder", "folder"], ["pick-files", "files"], ["pick-moves", "moves-files"]]) {
  const field = document.getElementById(input);
  document.getElementById(button)?.addEventListener("click", () => field.click());
  field?.addEventListener("change", () => {
    const found = [...field.files].map((file) => ({ file, path: file.webkitRelativePath || file.name }));
    field.value = "";
    if (found.length) send(found);
  });
}

let over = 0;
const moves = document.getElementById("pick-moves"); // that sheet takes machine files, whatever they are called
const wanted = document.getElementById("pick-files") ?? moves; // not every sheet takes files
addEventListener("dragenter", (event) => { event.preventDefault(); over += 1; document.body.classList.add("over"); });
addEventListener("dragleave", () => { over -= 1; if (over <= 0) document.body.classList.remove("over"); });
addEventListener("dragover", (event) => event.preventDefault());
addEventListener("drop", async (event) => {
  event.preventDefault();
  over = 0;
  document.body.classList.remove("over");
  if (!wanted) {
    await say(await text(airframe ? "drop_on_parts" : "drop_on_home"), true);
    return;
  }
  const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  const found = [];
  if (entries.length) for (const entry of entries) await walk(entry, "", found);
  else for (const file of event.dataTransfer.files) found.push({ file, path: file.name });
  if (found.length) send(found);
  else await say(await text("drop_empty"), true);
});

async function walk(entry, above, found) {
  const path = above ? `${above}/${entry.name}` : entry.name;
  if (entry.isFile) {
    const file = await new Promise((done, failed) => entry.file(done, failed)).catch(() => null);
    if (file) found.push({ file, path });
    return;
  }
  const reader = entry.createReader();
  for (;;) { // a reader gives some entries at a time, and none at the end
    const some = await new Promise((done, failed) => reader.readEntries(done, failed)).catch(() => []);
    if (!some.length) return;
    for (const inner of some) await walk(inner, path, found);
  }
}

function line(path) {
  const item = document.createElement("li");
  const name = document.createElement("span");
  const state = document.createElement("span");
  name.textContent = path;
  item.append(name, state);
  list.append(item);
  return { item, state };
}

async function send(found) {
  await settled();
  progress.hidden = false;
  list.replaceChildren();
  words.className = "";
  announce(await text("receiving", { done: 0, total: found.length }));
  const seen = found.filter(({ path }) => !path.split("/").some((step) => step.startsWith(".")));
  bar.max = seen.length;
  bar.value = 0;
  const waiting = seen.map((one) => ({ ...one, ...line(one.path) }));
  for (const one of waiting) one.state.textContent = await text("waiting");
  let key;
  try {
    ({ key } = await ask("POST", "/drop", { moves: moves !== null }));
    let next = 0;
    const work = async () => {
      while (next < waiting.length) {
        const one = waiting[next++];
        await sendOne(key, one);
        bar.value += 1;
        words.textContent = await text("receiving", { done: bar.value, total: waiting.length });
      }
    };
    await Promise.all(Array.from({ length: AT_ONCE }, work));
    if (moves) return await readMoves(key, waiting);
    words.textContent = await text("unpacking");
    announce(words.textContent);
    const first = seen[0].path;
    const name = first.includes("/") ? first.split("/")[0] : first.replace(/\.[^.]*$/, "");
    const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const told = await ask("POST", `/drop/${key}/done`, airframe ? { into: airframe } : { name, zone });
    const leftOut = [...bad(waiting), ...(told.left_out ?? [])];
    if (leftOut.length) sessionStorage.setItem("planner-refused", JSON.stringify(leftOut));
    if (airframe) await kept(seen);
    location.href = `/a/${encodeURIComponent(told.airframe)}${airframe ? here : (told.sheet ?? "")}`;
  } catch (error) {
    words.textContent = error.message;
    announce(error.message);
    words.className = "wrong";
    if (key) ask("DELETE", `/drop/${key}`).catch(() => null);
  }
}

// The sheet that follows tells what the files do to grams, hours and money, from the choices of before.
async function kept(seen) {
  const [{ path }] = seen;
  const label = seen.length > 1 ? await text("received_many", { path, n: seen.length - 1 }) : await text("received_one", { path });
  sessionStorage.setItem("planner-received", JSON.stringify({ label, before: document.body.dataset.revision, airframe }));
}

// What was refused stays to be seen; the rest is read now.
async function readMoves(key, waiting) {
  if (waiting.some((one) => one.item.className !== "bad")) {
    await ask("POST", `${base}/moves`, { drop: key });
    if (!bad(waiting).length) progress.hidden = true;
    document.dispatchEvent(new CustomEvent("moves"));
    return;
  }
  words.textContent = await text("refused");
  words.className = "wrong";
  ask("DELETE", `/drop/${key}`).catch(() => null);
}

const bad = (waiting) =>
  waiting.filter((one) => one.item.className === "bad").map((one) => `${one.path}: ${one.state.textContent}`);

async function sendOne(key, one) {
  const address = `/drop/${key}?path=${encodeURIComponent(one.path)}`;
  const answer = await fetch(address, {
    method: "PUT",
    headers: { "content-type": "application/octet-stream" },
    body: one.file,
  }).catch(() => null);
  const told = await answer?.json().catch(() => ({}));
  if (answer?.ok) {
    one.state.textContent = await text(told.told === "taken" ? "taken" : "passed");
    return true;
  }
  one.item.className = "bad";
  one.state.textContent = told?.message ?? (await text("refused"));
  return false;
}

// What was refused is told on the sheet that follows.
const refused = sessionStorage.getItem("planner-refused");
if (refused && airframe) {
  sessionStorage.removeItem("planner-refused");
  progress.hidden = false;
  bar.hidden = true;
  words.textContent = await text("refused");
  for (const told of JSON.parse(refused)) line(told).item.className = "bad";
}
