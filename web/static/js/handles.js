// Grips on a filler in the Tie in step: the line that it follows, where that starts and ends, the edge of its ground.
// A pull only moves what is drawn here; it is sent once, when it ends, and the old drawing stays until the new one comes.

import { bell, smooth } from "./spline.js";
import { state } from "./state.js";
import { el, onLook, toPx, toSheet } from "./table.js";
import { base, post, say } from "./talk.js";
import { tracing } from "./trace.js";

const SVG = "http://www.w3.org/2000/svg";
const CALM_MS = 90;
const REST_MS = 700;
const SOFT = { line: 1.7, edge: 1.3 };
const LEAST_PX = 30;
const STILL_MM = 0.5;
const FINGER_PX = 44;
const finger = matchMedia("(pointer: coarse), (max-width: 620px)");
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

let layer = null;
let lines = {};
let own = null; // the grips as the server last said, with their places on the sheet
let now = null; // the same as pulled
let grips = [];
let hand = null;
let resting = 0;
let asking = 0;
const sent = { line: 0, edge: 0 };
let keeping = 0;
let nudged = null;
let fewer = false; // whether grips are left out for want of room
let calm = 0;

/** The one filler that is selected in the Tie in step, if its grips may be shown. */
function wanted() {
  if (state.mode !== "tie-in" || state.selected.length !== 1 || tracing()) return null;
  const piece = state.piece(state.selected[0]);
  return piece?.filler && !piece.locked && !piece.home ? piece : null;
}

/** What the panel says of the grips; it may have been filled anew meanwhile. */
function tell() {
  const words = document.getElementById("pull-how");
  if (!words || !own || own.id !== state.selected[0]) return;
  const has = (k) => own.kinds?.includes(k);
  const parts = [];
  if (has("path") || has("stream")) parts.push("its line");
  if (has("path")) parts.push("where it starts and ends, on a piece or in the open");
  if (has("centre")) parts.push("the point that they come from");
  if (has("edge")) parts.push("the edge of its ground");
  const how = parts.length ? `Drag ${parts.join(", or ")}; it is drawn anew when you let go.`
    : own.note ? "" : "There is nothing of it to pull.";
  words.textContent = [how, fewer ? "Come closer for more grips." : "", own.note].filter(Boolean).join(" ");
}

/** Ask for the grips of what is selected, once things have come to rest. */
async function ask() {
  const piece = wanted();
  if (!piece) {
    clear();
    return;
  }
  if (own?.id !== piece.id) clear();
  if (own?.id === piece.id && own.revision === state.revision) {
    tell();
    return;
  }
  const mine = (asking += 1);
  const response = await fetch(`${base}/handles?id=${encodeURIComponent(piece.id)}`).catch(() => null);
  const data = response?.ok ? await response.json().catch(() => null) : null;
  if (mine !== asking || hand || resting || keeping) return;
  if (!data) {
    const words = document.getElementById("pull-how");
    if (words) words.textContent = "Its grips could not be worked out; choose it again.";
    return;
  }
  if (wanted()?.id !== data.id) return;
  own = onSheet(data);
  now = copy(own);
  build();
  tell();
}

function copy(h) {
  return { ...h, line: h.line.map((p) => [...p]), edge: h.edge.map((p) => [...p]) };
}

/**
 * Places (u, s) as places on the sheet, mm; on a limb by whole turns to where most of them lie on it. Over a seam each
 * place says which part it lies on.
 */
function onSheet(data) {
  const h = { ...data, sheet: state.sheet.of({ part: data.part }), parts: {}, first: {} };
  const all = [...(data.line ?? []), ...(data.edge ?? [])];
  const mean = all.reduce((t, p) => t + p[0], 0) / Math.max(all.length, 1);
  h.shift = all.length && !all[0][2] ? h.sheet.within(mean) - mean : 0;
  for (const k of ["line", "edge"]) {
    const places = data[k] ?? [];
    h.parts[k] = places.map((p) => p[2]);
    h[k] = places.map(([u, s, part]) => (part ? state.sheet.of({ part }) : h.sheet).toFlat(u + h.shift, s));
    h.first[k] = h[k];
  }
  return h;
}

/** A pulled place as it is sent: (u, s), and over a seam the part under it; what was not pulled stays on its part. */
function toPlace([x, y], part, [x0, y0], { sheet, shift }) {
  const on = part && Math.hypot(x - x0, y - y0) > STILL_MM ? state.sheet.partAt(x, y) ?? part : part;
  const [u, s] = (on ? state.sheet.of({ part: on }) : sheet).toSkin(x, y);
  const place = [Math.round((u - shift) * 1e6) / 1e6, Math.round(s * 1e3) / 1e3];
  return on ? [...place, on] : place;
}

function clear() {
  own = now = hand = null;
  fewer = false;
  clearTimeout(resting);
  resting = 0;
  grips = [];
  document.getElementById("desk").classList.remove("gripped");
  layer.replaceChildren(lines.svg);
  for (const path of [lines.line, lines.edge]) path.setAttribute("d", "");
}

function name(what, i, many) {
  const title = own.title;
  if (what === "edge") return `Edge of ${title}, grip ${i + 1} of ${many}`;
  if (own.kinds.includes("centre")) return `Where ${title} come from`;
  if (own.kinds.includes("path") && (i === 0 || i === many - 1)) {
    const tie = own.held[i ? 1 : 0] ? ", held by a piece" : "";
    return `${title}: where it ${i ? "ends" : "starts"}${tie}`;
  }
  return `Line of ${title}, grip ${i + 1} of ${many}`;
}

function build() {
  const held = document.activeElement?.dataset?.pull;
  const make = (what, list) => list.map((at, i) => {
    const b = document.createElement("button");
    b.type = "button";
    b.dataset.pull = `${what} ${at}`;
    const end = what === "line" && (own.kinds.includes("path") || own.kinds.includes("centre"))
      && (i === 0 || i === list.length - 1);
    b.className = `pull of-${what}${end ? " end" : ""}${end && own.held[i ? 1 : 0] ? " held" : ""}`;
    b.setAttribute("aria-label", name(what, i, list.length));
    b.setAttribute("aria-describedby", "pull-keys");
    return { what, at, rank: i, button: b };
  });
  grips = [...make("edge", own.edgeGrips ?? []), ...make("line", own.lineGrips ?? [])];
  layer.replaceChildren(lines.svg, ...grips.map((g) => g.button));
  document.getElementById("desk").classList.toggle("gripped", grips.length > 0);
  if (held) grips.find((g) => g.button.dataset.pull === held)?.button.focus({ preventScroll: true });
  draw();
}

function path(points, shut) {
  if (points.length < 2) return "";
  return `M${points.map((p) => toPx(...p).map((v) => v.toFixed(1)).join(" ")).join("L")}${shut ? "Z" : ""}`;
}

function draw() {
  if (!now) return;
  lines.line.setAttribute("d", path(smooth(now.line, 1.5), false));
  lines.edge.setAttribute("d", path(now.edge, true));
  const px = grips.map((g) => toPx(...now[g.what][g.at]));
  if (finger.matches) {
    thin(px);
    return;
  }
  // Where grips of the edge would lie on each other, every second or third shows.
  const ring = px.filter((_, i) => grips[i].what === "edge");
  const apart = ring.map((p, i) => Math.hypot(p[0] - ring[(i + 1) % ring.length][0], p[1] - ring[(i + 1) % ring.length][1]));
  const middle = [...apart].sort((a, b) => a - b)[apart.length >> 1] ?? 99;
  const every = Math.max(1, Math.min(3, Math.ceil(LEAST_PX / middle)));
  grips.forEach((g, i) => {
    g.button.style.transform = `translate(${px[i][0]}px, ${px[i][1]}px)`;
    g.button.hidden = g.what === "edge" && g.rank % every > 0 && hand?.grip !== g;
  });
}

/** Where the grips that turn and scale are, px. */
function desksOwn() {
  return ["grip-turn", "grip-size"].map((id) => document.getElementById(id)).filter((g) => g.style.display !== "none")
    .map((g) => g.getAttribute("transform")?.match(/-?[\d.]+/g)?.map(Number)).filter(Boolean)
    .map(([x, y]) => [x, y, FINGER_PX + 8]);
}

/**
 * Under a finger only grips that lie 44 px apart show, and as far from those that turn and scale: ends of the line
 * first, then its others, then the edge.
 */
function thin(px) {
  const last = (own.lineGrips ?? []).length - 1;
  const order = grips.map((g, i) => i).sort((a, b) => weight(grips[a]) - weight(grips[b]));
  const shown = [], taken = desksOwn();
  function weight(g) {
    if (hand?.grip === g || g.button === document.activeElement) return 0;
    return g.what === "edge" ? 3 : g.rank === 0 || g.rank === last ? 1 : 2;
  }
  for (const i of order) {
    if (taken.every(([x, y, far = FINGER_PX]) => Math.abs(px[i][0] - x) >= far || Math.abs(px[i][1] - y) >= FINGER_PX)) {
      shown.push(i);
      taken.push(px[i]);
    }
  }
  grips.forEach((g, i) => {
    g.button.style.transform = `translate(${px[i][0]}px, ${px[i][1]}px)`;
    g.button.hidden = !shown.includes(i);
  });
  if (fewer !== shown.length < grips.length) {
    fewer = !fewer;
    tell();
  }
}

/** Move the places round a grip with it, the nearer the more. */
function pull(from, grip, dx, dy) {
  const places = from[grip.what];
  const list = grip.what === "line" ? own.lineGrips : own.edgeGrips;
  const n = places.length;
  let off = (i) => i - grip.at;
  let reach = SOFT.line * Math.max((n - 1) / Math.max(list.length - 1, 1), 1);
  if (grip.what === "edge") {
    const far = [0];
    for (let i = 1; i <= n; i += 1) {
      const [p, q] = [places[i % n], places[i - 1]];
      far.push(far[i - 1] + Math.hypot(p[0] - q[0], p[1] - q[1]));
    }
    reach = (SOFT.edge * far[n]) / list.length;
    off = (i) => {
      const d = Math.abs(far[i] - far[grip.at]);
      return Math.min(d, far[n] - d);
    };
  }
  now[grip.what] = places.map(([x, y], i) => {
    const w = bell(off(i), reach);
    return [x + w * dx, y + w * dy];
  });
  draw();
}

/** Put back what was pulled and not kept. */
function giveUp() {
  clearTimeout(resting);
  resting = 0;
  hand = null;
  layer.classList.remove("pulling");
  if (own) {
    now = copy(own);
    draw();
  }
}

function dim(id, yes) {
  document.getElementById(`piece-${id}`)?.classList.toggle("redrawing", yes);
}

/** Send what a pull came to: drawn first, without anything waiting for it, then kept. */
async function keep(what) {
  clearTimeout(resting);
  resting = 0;
  layer.classList.remove("pulling");
  const mine = (sent[what] += 1);
  const { id } = now;
  const places = now[what].map((p, i) => toPlace(p, now.parts[what][i], now.first[what][i], now));
  const values = { id, what, places: JSON.stringify(places) };
  dim(id, true);
  keeping += 1;
  const fault = "The server did not answer; check that it still runs.";
  const tried = await fetch(`${base}/handles/try`, { method: "POST", body: new URLSearchParams(values) })
    .then((r) => r.json()).catch(() => ({ ok: false, sentence: fault }));
  const before = state.revision;
  if (mine === sent[what] && tried.ok) await post("/handles/keep", values);
  keeping -= 1;
  if (mine !== sent[what]) return;
  if (!tried.ok) say(tried.sentence);
  if (keeping) return;
  dim(id, false);
  if (state.revision === before && own?.id === id && !hand && !resting) giveUp();
  ask();
}

/** The grip nearest to a pointer, of those whose 44 px it lies in. */
function nearest(event, grip) {
  const r = el.table.getBoundingClientRect();
  const at = [event.clientX - r.left, event.clientY - r.top];
  const far = (g) => {
    const p = toPx(...now[g.what][g.at]);
    return Math.hypot(p[0] - at[0], p[1] - at[1]) - (g.what === "line" ? 3 : 0);
  };
  return grips.filter((g) => !g.button.hidden).reduce((best, g) => (far(g) < far(best) ? g : best), grip);
}

function down(event) {
  const first = grips.find((g) => g.button === event.target.closest(".pull"));
  if (!first || event.button > 0) return;
  event.stopPropagation();
  event.preventDefault();
  if (hand) return;
  if (resting) keep(nudged.what);
  const grip = nearest(event, first);
  grip.button.focus({ preventScroll: true });
  first.button.setPointerCapture(event.pointerId);
  hand = { grip, pointer: event.pointerId, start: toSheet(event), from: copy(now), moved: false };
  layer.classList.add("pulling");
}

function move(event) {
  if (!hand || event.pointerId !== hand.pointer) return;
  event.stopPropagation();
  const [x, y] = toSheet(event);
  const [dx, dy] = [x - hand.start[0], y - hand.start[1]];
  const [a, b] = [toPx(0, 0), toPx(dx, dy)];
  if (!hand.moved && Math.hypot(b[0] - a[0], b[1] - a[1]) < 4) return;
  hand.moved = true;
  pull(hand.from, hand.grip, dx, dy);
}

function up(event) {
  if (!hand || event.pointerId !== hand.pointer) return;
  event.stopPropagation();
  const { grip, moved } = hand;
  hand = null;
  layer.classList.remove("pulling");
  if (moved) keep(grip.what);
  else if (own.revision !== state.revision) ask();
}

function keys(event) {
  const grip = grips.find((g) => g.button === event.target);
  if (event.key === "Escape" && (hand || resting)) {
    event.preventDefault();
    event.stopPropagation();
    giveUp();
    return;
  }
  if (!grip) return;
  if (event.key in ARROWS) {
    event.preventDefault();
    event.stopPropagation();
    if (hand) return;
    if (resting && nudged.what !== grip.what) keep(nudged.what);
    const mm = event.shiftKey ? 5 : 1;
    const [x, y] = ARROWS[event.key];
    pull(copy(now), grip, x * mm, y * mm);
    nudged = grip;
    clearTimeout(resting);
    resting = setTimeout(() => keep(grip.what), REST_MS);
  } else if (event.key === "Enter" && resting) {
    event.preventDefault();
    keep(grip.what);
  }
}

export function startHandles() {
  layer = document.createElement("div");
  layer.className = "handles";
  layer.id = "handles";
  lines.svg = document.createElementNS(SVG, "svg");
  lines.svg.setAttribute("class", "marks");
  lines.svg.setAttribute("aria-hidden", "true");
  for (const k of ["edge", "line"]) {
    lines[k] = document.createElementNS(SVG, "path");
    lines[k].setAttribute("class", k);
    lines.svg.append(lines[k]);
  }
  layer.append(lines.svg);
  document.getElementById("marks").before(layer);
  const help = document.createElement("p");
  help.id = "pull-keys";
  help.className = "unseen";
  help.textContent = "Arrow keys move it 1 mm, with Shift 5 mm; Enter draws it at once; Escape gives up.";
  document.getElementById("table-help").after(help);
  layer.addEventListener("pointerdown", down);
  layer.addEventListener("pointermove", move);
  layer.addEventListener("pointerup", up);
  layer.addEventListener("pointercancel", (event) => {
    event.stopPropagation();
    if (hand) giveUp();
  });
  // Before the desk's own keys: Escape gives up the pull and keeps what is selected.
  document.addEventListener("keydown", keys, true);
  onLook(draw);
  state.onSelect(() => {
    if (own && own.id !== wanted()?.id) clear();
  });
  document.addEventListener("desk:arrived", () => {
    if (!wanted()) clear();
    tell();
    clearTimeout(calm);
    calm = setTimeout(ask, CALM_MS);
  });
  document.addEventListener("click", (event) => {
    const { around, back } = event.target.closest?.("[data-around], [data-back]")?.dataset ?? {};
    if (around !== undefined) post("/handles/around", { id: around });
    else if (back) {
      dim(back, true);
      post("/handles/back", { id: back }).then(() => dim(back, false));
    }
  });
}
