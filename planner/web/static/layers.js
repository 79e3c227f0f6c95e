// Layers of a machine file, seen from above: one at a time, and the one below it faintly.
import { ask, base, text } from "./talk.js";

const CHUNK = 1 << 16; // beads that are fetched at once
const MOST_CHUNKS = 128; // 64 MiB are kept; what was looked at longest ago goes first
const EDGE_PX = 10;
const SAME_PX = 0.5; // a line shorter than that is drawn with the next one
const known = new WeakSet();

export async function look(details) {
  if (known.has(details)) return;
  known.add(details);
  const canvas = details.querySelector("canvas");
  const slider = details.querySelector("input");
  const output = details.querySelector("output");
  const told = await ask("GET", `${base}/moves/${details.dataset.layers}/layers`).catch((error) => {
    output.textContent = error.message;
    known.delete(details);
    return null;
  });
  if (!told) return;
  const view = new View(canvas, told, new Beads(details.dataset.layers, told.beads, () => view.draw()));
  const words = await text("layer");
  const shown = () => {
    const n = Number(slider.value);
    const said = words.replace("{n}", n + 1).replace("{all}", told.beads.length).replace("{z}", told.height_mm[n].toFixed(2));
    output.textContent = said;
    slider.setAttribute("aria-valuetext", said);
    view.at = n;
    view.draw();
  };
  slider.max = told.beads.length - 1;
  slider.addEventListener("input", shown);
  new ResizeObserver(() => view.fit()).observe(canvas);
  const dark = matchMedia("(prefers-color-scheme: dark)");
  dark.addEventListener("change", () => view.coloured());
  new MutationObserver(() => view.coloured()).observe(document.documentElement, { attributeFilter: ["data-look"] });
  shown();
}

// Beads by layer, fetched in chunks of whole layers; the chunk that is looked at comes first.
class Beads {
  constructor(key, counts, arrived) {
    this.path = `${base}/moves/${key}/beads`;
    this.arrived = arrived;
    this.counts = counts;
    this.chunks = [];
    this.of = counts.map((count, n) => {
      let last = this.chunks.at(-1);
      if (!last || last.count >= CHUNK) this.chunks.push(last = { from: n ? this.end : 0, count: 0, first: n, layers: [] });
      last.layers.push(last.count);
      last.count += count;
      this.end = last.from + last.count;
      return this.chunks.length - 1;
    });
    this.kept = new Map();
    this.asked = new Set();
  }

  // The beads of a layer, or null until they are there.
  layer(n) {
    const at = this.of[n];
    const chunk = this.chunks[at];
    const beads = this.kept.get(at);
    this.fetch(at);
    for (const near of [at + 1, at - 1]) this.fetch(near);
    if (!beads) return null;
    this.kept.delete(at);
    this.kept.set(at, beads);
    const from = 4 * chunk.layers[n - chunk.first];
    return beads.subarray(from, from + 4 * this.counts[n]);
  }

  async fetch(at) {
    const chunk = this.chunks[at];
    if (!chunk || this.kept.has(at) || this.asked.has(at)) return;
    this.asked.add(at);
    const found = new Int16Array(4 * chunk.count);
    try {
      for (let done = 0; done < chunk.count;) { // the page gives so much at once, and no more
        const answer = await fetch(`${this.path}?from=${chunk.from + done}&count=${chunk.count - done}`);
        if (!answer.ok) return;
        const part = new Int16Array(await answer.arrayBuffer());
        if (!part.length) return;
        found.set(part, 4 * done);
        done += part.length / 4;
      }
    } catch {
      return; // asked again with the next move of the slider
    } finally {
      this.asked.delete(at);
    }
    this.kept.set(at, found);
    while (this.kept.size > MOST_CHUNKS) this.kept.delete(this.kept.keys().next().value);
    this.arrived();
  }
}

class View {
  constructor(canvas, told, beads) {
    this.canvas = canvas;
    this.told = told;
    this.beads = beads;
    this.at = 0;
    this.pen = canvas.getContext("2d", { alpha: false });
    this.below = document.createElement("canvas"); // bed and outlines: drawn once for a size
    this.coloured();
  }

  coloured() {
    const style = getComputedStyle(this.canvas);
    this.colours = Object.fromEntries(["paper", "ink", "rule", "grey", "accent", "soft"].map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
    // light-dark() is worked out by a property that takes a colour
    for (const name of Object.keys(this.colours)) {
      this.canvas.style.outlineColor = `var(--${name})`;
      this.colours[name] = getComputedStyle(this.canvas).outlineColor;
    }
    this.canvas.style.outlineColor = "";
    this.fit();
  }

  fit() {
    const { width_mm: wide, depth_mm: deep } = this.told.bed;
    const across = this.canvas.clientWidth;
    if (!across) return;
    this.sharp = Math.min(devicePixelRatio || 1, 2);
    this.scale = ((across - 2 * EDGE_PX) / wide) * this.sharp;
    this.canvas.width = this.below.width = Math.round(across * this.sharp);
    this.canvas.height = this.below.height = Math.round(deep * this.scale + 2 * EDGE_PX * this.sharp);
    this.left = EDGE_PX * this.sharp;
    this.foot = this.canvas.height - EDGE_PX * this.sharp;
    this.ground();
    this.draw();
  }

  ring(pen, points) {
    pen.beginPath();
    for (const [x, y] of points) pen.lineTo(this.left + x * this.scale, this.foot - y * this.scale);
    pen.closePath();
  }

  ground() {
    const pen = this.below.getContext("2d", { alpha: false });
    const { bed, pieces } = this.told;
    pen.fillStyle = this.colours.paper;
    pen.fillRect(0, 0, this.below.width, this.below.height);
    pen.lineWidth = this.sharp;
    pen.strokeStyle = this.colours.ink;
    if (bed.shape === "round") {
      pen.beginPath();
      pen.arc(this.left + (bed.width_mm / 2) * this.scale, this.foot - (bed.depth_mm / 2) * this.scale, (bed.width_mm / 2) * this.scale, 0, 2 * Math.PI);
    } else if (bed.shape === "polygon") this.ring(pen, bed.outline_mm);
    else this.ring(pen, [[0, 0], [bed.width_mm, 0], [bed.width_mm, bed.depth_mm], [0, bed.depth_mm]]);
    pen.stroke();
    for (const ring of bed.keep_outs) this.hatched(pen, ring);
    pen.setLineDash([5 * this.sharp, 4 * this.sharp]);
    for (const piece of pieces) {
      this.ring(pen, piece.ring);
      pen.fillStyle = this.colours.soft;
      pen.fill();
      pen.strokeStyle = piece.missing ? this.colours.accent : this.colours.grey;
      pen.stroke();
    }
    pen.setLineDash([]);
  }

  hatched(pen, ring) {
    pen.save();
    this.ring(pen, ring);
    pen.strokeStyle = this.colours.accent;
    pen.stroke();
    pen.clip();
    pen.beginPath();
    const { width, height } = this.below;
    for (let x = -height; x < width; x += 7 * this.sharp) {
      pen.moveTo(x, height);
      pen.lineTo(x + height, 0);
    }
    pen.stroke();
    pen.restore();
  }

  draw() {
    if (!this.scale) return;
    const now = this.beads.layer(this.at);
    const before = this.at ? this.beads.layer(this.at - 1) : null;
    this.pen.drawImage(this.below, 0, 0);
    if (before) this.lines(before, this.colours.rule);
    if (now) this.lines(now, this.colours.ink);
    this.canvas.dataset.drawn = now ? this.at : "";
  }

  // Lines that go on from each other are one path; what is shorter than half a pixel waits for the next.
  lines(beads, colour) {
    const pen = this.pen;
    const each = this.told.unit_mm * this.scale;
    const left = this.left + this.told.offset_mm[0] * this.scale;
    const foot = this.foot - this.told.offset_mm[1] * this.scale;
    const same = SAME_PX * this.sharp;
    let lastX = NaN, lastY = NaN, penX = 0, penY = 0, due = false;
    pen.beginPath();
    for (let at = 0; at < beads.length; at += 4) {
      if (beads[at] !== lastX || beads[at + 1] !== lastY) {
        if (due) pen.lineTo(left + lastX * each, foot - lastY * each);
        penX = left + beads[at] * each;
        penY = foot - beads[at + 1] * each;
        pen.moveTo(penX, penY);
      }
      lastX = beads[at + 2];
      lastY = beads[at + 3];
      const x = left + lastX * each, y = foot - lastY * each;
      due = Math.abs(x - penX) < same && Math.abs(y - penY) < same;
      if (due) continue;
      pen.lineTo(x, y);
      penX = x;
      penY = y;
    }
    if (due) pen.lineTo(left + lastX * each, foot - lastY * each);
    pen.lineWidth = this.sharp;
    pen.strokeStyle = colour;
    pen.stroke();
  }
}
