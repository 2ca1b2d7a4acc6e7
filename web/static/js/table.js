// The table: where the sheet lies, how large it is seen, and moving about on it.

import { state } from "./state.js";

const el = {
  table: document.getElementById("table"),
  stage: document.getElementById("stage"),
  words: document.getElementById("words"),
};
const listeners = new Set();
const LARGEST = 24;

// `x`, `y`: where the sheet's (0, 0) lies in the table, px; `z`: px for a mm.
export const look = { x: 0, y: 0, z: 1, fit: 1, touched: false };

export function onLook(fn) {
  listeners.add(fn);
}

/** Sheet mm (y up) to table px. */
export function toPx(x, y) {
  return [look.x + x * look.z, look.y - y * look.z];
}

/** Pointer event (or client px) to sheet mm (y up). */
export function toSheet(event) {
  const [px, py] = inTable(event);
  return [(px - look.x) / look.z, -(py - look.y) / look.z];
}

export function inTable(event) {
  const r = el.table.getBoundingClientRect();
  return [event.clientX - r.left, event.clientY - r.top];
}

let settle = 0;
const WAIT = 140; // ms of rest before the sheet is drawn afresh; longer where that takes long
let wait = WAIT;

function show(moving) {
  // The sheet is a layer of its own, moved by one transform; while it moves it is only a texture.
  const k = look.z / look.base;
  el.stage.style.transform =
    `translate(${look.x + state.box.x * look.z}px, ${look.y + state.box.y * look.z}px) scale(${k})`;
  for (const fn of listeners) fn();
  clearTimeout(settle);
  if (moving) settle = setTimeout(rest, wait);
}

function rest() {
  // At rest the sheet is drawn afresh at its new size, so lines stay sharp.
  look.base = look.z;
  const began = performance.now();
  requestAnimationFrame(() => requestAnimationFrame(() => {
    wait = Math.min(Math.max(2 * (performance.now() - began), WAIT), 700);
  }));
  for (const svg of el.stage.querySelectorAll("svg.sheet")) {
    svg.style.width = `${state.box.w * look.z}px`;
    svg.style.height = `${state.box.h * look.z}px`;
  }
  show(false);
}

/** The room that words at the edge need, px; above, what is said lies there too. */
function room() {
  const w = el.table.clientWidth;
  if (state.sheet.wide) return { left: 24, right: 24, top: 52, bottom: 30 };
  if (!state.sheet.closed && w >= 620) return { left: 80, right: 80, top: 52, bottom: 36 };
  return w < 620 ? { left: 14, right: 14, top: 34, bottom: 14 } : { left: 40, right: 128, top: 52, bottom: 18 };
}

export function fitAll() {
  const m = room();
  const w = el.table.clientWidth - m.left - m.right;
  const h = el.table.clientHeight - m.top - m.bottom;
  if (w <= 0 || h <= 0) return;
  look.fit = Math.min(w / state.box.w, h / state.box.h);
  look.z = look.fit;
  look.x = m.left + (w - state.box.w * look.z) / 2 - state.box.x * look.z;
  look.y = m.top + (h - state.box.h * look.z) / 2 - state.box.y * look.z;
  look.touched = false;
  rest();
}

function kept() {
  // The sheet can't be lost: a hand's breadth of it always stays on the table.
  const w = el.table.clientWidth;
  const h = el.table.clientHeight;
  const left = look.x + state.box.x * look.z;
  const top = look.y + state.box.y * look.z;
  const keep = 80;
  const nx = Math.min(Math.max(left, keep - state.box.w * look.z), w - keep);
  const ny = Math.min(Math.max(top, keep - state.box.h * look.z), h - keep);
  look.x += nx - left;
  look.y += ny - top;
}

export function zoomAt(px, py, factor) {
  const z = Math.min(Math.max(look.z * factor, look.fit * 0.6), LARGEST);
  const f = z / look.z;
  look.x = px - (px - look.x) * f;
  look.y = py - (py - look.y) * f;
  look.z = z;
  look.touched = true;
  kept();
  show(true);
}

export function panBy(dx, dy) {
  look.x += dx;
  look.y += dy;
  look.touched = true;
  kept();
  show(true);
}

/** Bring a box of the sheet (mm, y up) into view if it is not. */
export function reveal(x, y) {
  const [px, py] = toPx(x, y);
  const w = el.table.clientWidth;
  const h = el.table.clientHeight;
  if (px > 40 && px < w - 40 && py > 40 && py < h - 40) return;
  panBy(w / 2 - px, h / 2 - py);
}

/** Sheet mm in the middle of what is seen. */
export function middle() {
  return [(el.table.clientWidth / 2 - look.x) / look.z, -(el.table.clientHeight / 2 - look.y) / look.z];
}

el.table?.addEventListener("wheel", (event) => {
  event.preventDefault();
  const [px, py] = inTable(event);
  const pad = event.deltaMode === 0 && (event.deltaX !== 0 || Math.abs(event.deltaY) < 40);
  if (event.ctrlKey) zoomAt(px, py, Math.exp(-event.deltaY * 0.01));
  else if (event.shiftKey) panBy(-(event.deltaX || event.deltaY), 0);
  else if (pad) panBy(-event.deltaX, -event.deltaY);
  else zoomAt(px, py, Math.exp(-Math.sign(event.deltaY) * 0.16));
}, { passive: false });

let first = true;
export function startTable() {
  new ResizeObserver(() => {
    if (first || !look.touched) fitAll();
    else show(true);
    first = false;
  }).observe(el.table);
}

export { el };
