// What is drawn over the table in its own pixels: outlines of what is selected, the two grips,
// guide lines, and the pencilled words at the edge of the sheet.

import { linear, placed } from "./geometry.js";
import { state } from "./state.js";
import { el, look, onLook, toPx } from "./table.js";
import { isLifted, placeOf } from "./lift.js";

const SVG = "http://www.w3.org/2000/svg";
const outline = document.getElementById("outline");
const guides = document.getElementById("guides");
const grips = { turn: document.getElementById("grip-turn"), size: document.getElementById("grip-size") };
const stem = document.getElementById("grip-stem");

function frameOf(id) {
  const place = placeOf(id);
  return placed(state.sheet, { ...place, u: state.sheet.of(place).within(place.u) });
}

/** Corners of a piece's own box in table px: top left, top right, bottom right, bottom left. */
export function corners(id) {
  const [x0, y0, x1, y1] = state.piece(id).box;
  const f = frameOf(id);
  return [[x0, y1], [x1, y1], [x1, y0], [x0, y0]].map(([x, y]) => {
    const [dx, dy] = linear.at(f.m, x, y);
    return toPx(f.x + dx, f.y + dy);
  });
}

/** Anchor of the selection in sheet mm: a piece's own, or the middle of several. */
export function pivot() {
  let x = 0;
  let y = 0;
  for (const id of state.selected) {
    const f = frameOf(id);
    x += f.x;
    y += f.y;
  }
  return [x / state.selected.length, y / state.selected.length];
}

// Size of the table, told when it changes: to ask for it while a hand moves would lay the page out anew.
let [wide, high] = [el.table.clientWidth, el.table.clientHeight];
new ResizeObserver(() => {
  [wide, high] = [el.table.clientWidth, el.table.clientHeight];
  follow();
}).observe(el.table);

function clampTo(p) {
  const [w, h] = [wide, high];
  return [Math.min(Math.max(p[0], 30), w - 30), Math.min(Math.max(p[1], 24), h - 24)];
}

function gripPlaces() {
  if (state.selected.length === 1) {
    const [a, b, c, d] = corners(state.selected[0]);
    const up = [(a[0] + b[0] - c[0] - d[0]) / 2, (a[1] + b[1] - c[1] - d[1]) / 2];
    const n = Math.hypot(...up) || 1;
    const top = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    const side = state.piece(state.selected[0]).flip ? d : c;
    const out = [side[0] - (a[0] + c[0]) / 2, side[1] - (a[1] + c[1]) / 2];
    const m = Math.hypot(...out) || 1;
    return { root: top, turn: [top[0] + (up[0] / n) * 34, top[1] + (up[1] / n) * 34],
      size: [side[0] + (out[0] / m) * 22, side[1] + (out[1] / m) * 22] };
  }
  const all = state.selected.flatMap(corners);
  const x0 = Math.min(...all.map((p) => p[0]));
  const x1 = Math.max(...all.map((p) => p[0]));
  const y0 = Math.min(...all.map((p) => p[1]));
  const y1 = Math.max(...all.map((p) => p[1]));
  return { root: [(x0 + x1) / 2, y0], turn: [(x0 + x1) / 2, y0 - 34], size: [x1 + 16, y1 + 16] };
}

function hide(node, yes) {
  node.style.display = yes ? "none" : "";
}

/** Redraw the outlines (when what is selected, or its picture, changed). */
export function drawOutlines() {
  outline.replaceChildren();
  for (const id of state.selected) {
    for (const skin of document.querySelectorAll(`#piece-${CSS.escape(id)} path.skin`)) {
      const path = document.createElementNS(SVG, "path");
      path.setAttribute("d", skin.getAttribute("d"));
      path.setAttribute("class", state.piece(id).locked ? "held" : "");
      path.setAttribute("transform", "scale(.01)");
      path.dataset.id = id;
      outline.append(path);
    }
  }
  follow();
}

/** Follow pan and zoom: outlines, grips and words. */
export function follow() {
  followHand();
  followWords();
}

/** Follow the hand: outlines and grips; words stay where they are while nothing but pieces moves. */
export function followHand() {
  for (const path of outline.children) hide(path, isLifted(path.dataset.id));
  const free = state.selected.length > 0 && state.mode !== "trace" &&
    state.selected.every((id) => !state.piece(id).locked);
  hide(grips.turn, !free);
  hide(grips.size, !free);
  hide(stem, !free);
  if (free) {
    const at = gripPlaces();
    at.turn = clampTo(at.turn);
    at.size = clampTo(at.size);
    if (Math.hypot(at.size[0] - at.turn[0], at.size[1] - at.turn[1]) < 50) at.size[1] = at.turn[1] + 50;
    grips.turn.setAttribute("transform", `translate(${at.turn[0]} ${at.turn[1]})`);
    grips.size.setAttribute("transform", `translate(${at.size[0]} ${at.size[1]})`);
    stem.setAttribute("d", `M${at.root[0]} ${at.root[1]}L${at.turn[0]} ${at.turn[1]}`);
  }
}

/** Guide lines through levels and sides; `at` is {u} and/or {s}, or null. */
export function drawGuides(at) {
  guides.replaceChildren();
  if (!at) return;
  const line = (points) => {
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("d", `M${points.map(([x, y]) => toPx(x, y).join(" ")).join("L")}`);
    guides.append(path);
  };
  const sheet = state.sheet.of(at);
  if (at.u !== undefined) {
    const u = sheet.within(at.u);
    const [from, to] = sheet.midline ?? [sheet.sMin, sheet.sMax];
    line([sheet.toFlat(u, from), sheet.toFlat(u, to)]);
  }
  if (at.s !== undefined) {
    line(Array.from({ length: 33 }, (_, i) => sheet.toFlat(sheet.seam + i / 32, at.s)));
  }
}

/** How far a word beside a place at x has to move so that the edge of the table does not cut it off. */
function inside(x, width, at) {
  if (at === "gap" || x < 0 || x > wide) return 0;
  const left = at === "left" ? x - width : at === "right" ? x : x - width / 2;
  return Math.max(4 - left, 0) + Math.min(wide - 4 - left - width, 0);
}

/** Pencilled words nearer than this to one before them are left out where they would run into it. */
const LINE_PX = 16;
let spans = [];
let written = "";
let taken = [];
function followWords() {
  if (taken[0] !== state.words || taken[1] !== state.labels) {
    taken = [state.words, state.labels];
    writeWords([...(state.words ?? []), ...(state.labels ?? [])]);
  }
  const stand = [];
  for (const [span, w, width] of spans) {
    let [x, y] = toPx(w.x, -w.y);
    if (w.rise) y -= Math.max(Math.min((width / 2 + 6) / w.rise, w.deep * look.z + 8) - 8, 0);
    if (w.way) [x, y] = [x + w.way[0] * (width / 2 + 10), y + w.way[1] * 18];
    const at = w.at.split(" ")[0];
    const shift = inside(x, width, at);
    const left = x + shift - (at === "left" ? width : at === "right" ? 0 : width / 2);
    const hides = !w.key && stand.some((o) => o.at === w.at && Math.abs(o.y - y) < LINE_PX
      && left < o.left + o.width + 4 && o.left < left + width + 4);
    const gone = hides || (w.wide && w.wide * look.z < 26);
    span.style.visibility = gone ? "hidden" : "";
    if (!gone) stand.push({ at: w.at, left, width, y });
    span.style.transform = `translate(${Math.round(x + shift)}px, ${Math.round(y)}px)`;
  }
}

/** Write the words anew where they are not the same as before. */
function writeWords(all) {
  const name = JSON.stringify(all);
  if (written !== name) {
    written = name;
    el.words.replaceChildren();
    spans = all.map((w) => {
      const span = document.createElement("span");
      span.textContent = w.text;
      span.className = `at-${w.at}`;
      if (w.key) span.dataset.light = w.key;
      el.words.append(span);
      return [span, w];
    });
    for (const row of spans) row.push(row[0].offsetWidth);
  }
}

onLook(follow);
state.onSelect(drawOutlines);
