// Drawing the outline of a healed piece by hand, with pen, finger or mouse.

import { state } from "./state.js";
import { onLook, toPx } from "./table.js";
import { post, say } from "./talk.js";

const line = document.getElementById("trace-line");
let on = false;
let points = [];
let drawing = false;

export function tracing() {
  return on;
}

/** Begin or end tracing. */
export function setTracing(yes) {
  on = yes;
  drawing = false;
  points = [];
  draw();
  document.body.classList.toggle("tracing", on);
  for (const b of document.querySelectorAll('[data-act="trace"]')) b.setAttribute("aria-pressed", String(on));
  if (on) {
    state.select([]);
    say("Go once round the healed piece and lift where you began. Escape leaves it.");
  } else say("");
}

export function traceDown(at) {
  points = [at];
  drawing = true;
}

export function traceMove(at) {
  if (!drawing) return;
  const last = points[points.length - 1];
  if (Math.hypot(at[0] - last[0], at[1] - last[1]) < 0.4) return;
  points.push(at);
  draw();
}

export async function traceUp() {
  if (!drawing) return;
  drawing = false;
  const ring = points.map(([x, y]) => [Math.round(x * 100) / 100, Math.round(y * 100) / 100]);
  await post("/trace", { ring: JSON.stringify(ring) });
  if (state.selected.length) setTracing(false);
  else {
    points = [];
    draw();
  }
}

function draw() {
  line.setAttribute("d", points.length > 1 ? `M${points.map((p) => toPx(...p).map((v) => v.toFixed(1)).join(" ")).join("L")}` : "");
}

onLook(draw);
