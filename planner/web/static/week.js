// The week as a drawing: days across, half hours down; drawing on it writes the hours of the day.
const DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const SLOTS = 48;
const PIXEL = 12;
const HEAD = 18;
const LEFT = 40;

let redraw = null;

function start() {
  const grid = document.getElementById("grid");
  const form = document.getElementById("week");
  if (!grid) return;
  if (grid.firstChild) {
    redraw?.(); // the hours beside it may be others now
    return;
  }
  const canvas = document.createElement("canvas");
  let width = 0, column = 0, ratio = 1;
  const fit = () => {
    width = Math.min(440, Math.max(280, grid.parentElement.clientWidth - 8));
    column = (width - LEFT) / 7;
    ratio = devicePixelRatio || 1;
    canvas.width = width * ratio;
    canvas.height = (HEAD + SLOTS * PIXEL + 8) * ratio;
    canvas.style.width = `${width}px`;
    canvas.style.height = `${HEAD + SLOTS * PIXEL + 8}px`;
  };
  fit();
  grid.append(canvas);
  const field = (day) => document.getElementById(`day-${day}`);
  const minutes = (word) => { const [h, m] = word.trim().split(":"); return Number(h) * 60 + Number(m ?? 0); };
  const spans = (day) =>
    [...field(day).value.matchAll(/(\d{1,2}(?::\d\d)?)\s*[-–]\s*(\d{1,2}(?::\d\d)?)/g)].map((m) => [minutes(m[1]), minutes(m[2]) || 1440]);
  const slots = (day) => {
    const on = Array(SLOTS).fill(false);
    for (const [a, b] of spans(day)) for (let k = 0; k < SLOTS; k += 1) if (k * 30 < b && (k + 1) * 30 > a) on[k] = true;
    return on;
  };
  const clock = (slot) => `${String(Math.floor(slot / 2)).padStart(2, "0")}:${slot % 2 ? "30" : "00"}`;
  const write = (day, on) => {
    const told = [];
    for (let k = 0; k < SLOTS; k += 1) {
      if (!on[k]) continue;
      const from = k;
      while (on[k]) k += 1;
      told.push(`${clock(from)}-${clock(k)}`);
    }
    field(day).value = told.join(", ");
  };
  const draw = () => {
    const pen = canvas.getContext("2d");
    const style = getComputedStyle(grid);
    const ink = style.color;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, width, canvas.height);
    pen.font = "12px sans-serif";
    DAYS.forEach((day, at) => {
      const x = LEFT + at * column;
      pen.globalAlpha = 0.6;
      pen.fillStyle = "#0072b2";
      for (const [a, b] of spans(day)) pen.fillRect(x + 2, HEAD + (a / 30) * PIXEL, column - 4, ((b - a) / 30) * PIXEL);
      pen.globalAlpha = 1;
      pen.fillStyle = ink;
      pen.fillText(day, x + 4, 12);
    });
    pen.strokeStyle = ink;
    for (let hour = 0; hour <= 24; hour += 1) {
      pen.globalAlpha = hour % 6 ? 0.15 : 0.7;
      pen.beginPath();
      pen.moveTo(LEFT, HEAD + hour * 2 * PIXEL + 0.5);
      pen.lineTo(width, HEAD + hour * 2 * PIXEL + 0.5);
      pen.stroke();
      pen.globalAlpha = 1;
      if (hour % 3 === 0) pen.fillText(`${String(hour).padStart(2, "0")}:00`, 2, HEAD + hour * 2 * PIXEL + 4);
    }
  };
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    const day = Math.floor((event.clientX - box.left - LEFT) / column);
    const slot = Math.floor((event.clientY - box.top - HEAD) / PIXEL);
    return day >= 0 && day < 7 && slot >= 0 && slot < SLOTS ? [DAYS[day], slot] : null;
  };
  let drawing = null;
  canvas.addEventListener("pointerdown", (event) => {
    const spot = at(event);
    if (!spot) return;
    canvas.setPointerCapture(event.pointerId);
    drawing = { on: !slots(spot[0])[spot[1]] };
    put(spot);
  });
  canvas.addEventListener("pointermove", (event) => { if (drawing) put(at(event)); });
  canvas.addEventListener("pointerup", () => { drawing = null; });
  const put = (spot) => {
    if (!spot) return;
    const on = slots(spot[0]);
    if (on[spot[1]] === drawing.on) return;
    on[spot[1]] = drawing.on;
    write(spot[0], on);
    draw();
  };
  form.addEventListener("input", draw);
  redraw = draw;
  draw();
  new ResizeObserver(() => { // a phone that is turned, a window that is drawn narrower
    if (canvas.isConnected && grid.parentElement.clientWidth - 8 !== width) { fit(); draw(); }
  }).observe(grid.parentElement);
}

document.addEventListener("refreshed", start);
start();
