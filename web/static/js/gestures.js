// Mouse, pen and fingers on the table. A gesture only changes places held here; what it came to
// is sent once, when it ends.

import { anchorFor, gripAt, turned } from "./geometry.js";
import { carry, lift, placeOf, putDown } from "./lift.js";
import { corners, drawGuides, drawOutlines, follow, followHand, pivot } from "./marks.js";
import { snapPlace, snapTurn } from "./snap.js";
import { state } from "./state.js";
import { el, inTable, panBy, toPx, toSheet, zoomAt } from "./table.js";
import { step, stepSoon } from "./talk.js";
import { traceDown, traceMove, traceUp, tracing } from "./trace.js";

const SLACK = { mouse: 3, pen: 5, touch: 9 };
const LONG_MS = 480;
const fingers = new Map();
let act = null;
let frame = 0;
let space = false;

const marquee = document.getElementById("marquee");

function plain(place) {
  return { u: place.u, s: place.s, turn: place.turn, scale: place.scale, flip: place.flip, part: place.part };
}

/** Places of the selection as they are, with the anchor's u on the sheet. */
function starts(ids) {
  return new Map(ids.map((id) => {
    const p = plain(placeOf(id));
    return [id, { ...p, u: state.sheet.of(p).within(p.u) }];
  }));
}

function free(ids) {
  return ids.filter((id) => state.piece(id) && !state.piece(id).locked);
}

/** Send what a gesture came to, and put the pieces down when the answer has been drawn. */
export async function commit(places) {
  const pieces = [];
  for (const [id, now] of places) {
    const old = state.pending.get(id) ?? state.piece(id);
    if (!old) continue;
    const item = { id };
    if (Math.abs(now.u - old.u) > 1e-9 && Math.abs(Math.abs(now.u - old.u) % 1) > 1e-9) item.u = now.u;
    if (Math.abs(now.s - old.s) > 1e-6) item.s_mm = now.s;
    if (Math.abs(now.turn - old.turn) > 1e-6) item.turn_deg = now.turn;
    if (Math.abs(now.scale - old.scale) > 1e-9) item.scale = now.scale;
    if (now.flip !== old.flip) item.flip = now.flip;
    if (Object.keys(item).length > 1) pieces.push(item);
  }
  const ids = [...places.keys()];
  const over = ids.length === 1 ? goesOver(ids[0], places.get(ids[0])) : null;
  if (!pieces.length) {
    settleDown(ids, null);
    return;
  }
  const token = {};
  for (const [id, now] of places) state.pending.set(id, { ...now, token });
  follow();
  if (over) await step(over);
  else await stepSoon({ do: "change", pieces });
  settleDown(ids, token);
}

/** The step that takes a piece to the part its anchor was put on, or null when that is its own. */
function goesOver(id, place) {
  if (!state.sheet.wide) return null;
  const from = state.sheet.of(place);
  const { x, y, m } = from.frame(place.u, place.s);
  const part = state.sheet.partAt(x, y);
  if (!part || part === place.part || onPart(place.part, x, y)) return null;
  const to = state.sheet.parts.get(part);
  const [u, s] = to.toSkin(x, y);
  const f = to.frame(u, s).m;
  const turn = ((Math.atan2(m[3], m[2]) - Math.atan2(f[3], f[2])) * 180) / Math.PI;
  return { do: "rehome", id, part, u, s_mm: s, turn_deg: turned(place.turn + turn) };
}

function onPart(part, x, y) {
  return state.sheet.probe.isPointInPath(state.sheet.outlines.get(part), x, -y);
}

function settleDown(ids, token) {
  const mine = ids.filter((id) => !token || state.pending.get(id)?.token === token);
  for (const id of mine) state.pending.delete(id);
  const held = act?.places ? new Set(act.places.keys()) : new Set();
  putDown(mine.filter((id) => !held.has(id)));
  drawOutlines();
}

function begin(kind, ids, extra) {
  const places = starts(ids);
  act = { kind, start: places, places: new Map(places), ...extra };
  lift(ids);
  document.body.classList.add("in-hand");
}

function schedule() {
  if (!frame) frame = requestAnimationFrame(run);
}

function run() {
  frame = 0;
  if (!act?.places) return;
  MOVES[act.kind]?.();
  carry(act.places);
  followHand();
}

const MOVES = {
  drag() {
    const lead = act.start.get(act.lead);
    const [x, y] = act.at;
    let to = { ...lead, ...anchorFor(state.sheet, lead, act.grip, x, y) };
    const pulled = act.loose ? { place: to, guide: null } : snapPlace(to);
    to = pulled.place;
    drawGuides(pulled.guide);
    for (const [id, from] of act.start) {
      if (id === act.lead) act.places.set(id, to);
      else if (state.sheet.wide) act.places.set(id, alongside(from, lead, to));
      else act.places.set(id, { ...from, u: from.u + to.u - lead.u, s: from.s + to.s - lead.s });
    }
  },
  turn() {
    const [x, y] = act.at;
    let by = ((Math.atan2(y - act.pivot[1], x - act.pivot[0]) - act.from) * 180) / Math.PI;
    if (act.start.size === 1 && !act.loose) {
      const [from] = act.start.values();
      by = snapTurn(turned(from.turn + by)) - from.turn;
    }
    around(by, 1);
  },
  size() {
    const [x, y] = act.at;
    around(0, Math.max(Math.hypot(x - act.pivot[0], y - act.pivot[1]) / act.from, 0.05));
  },
  pinch() {
    const [p, q] = act.two.map((f) => f.at);
    const [a, b] = act.two.map((f) => f.start);
    const k = Math.hypot(q[0] - p[0], q[1] - p[1]) / Math.max(Math.hypot(b[0] - a[0], b[1] - a[1]), 1);
    const by = ((Math.atan2(q[1] - p[1], q[0] - p[0]) - Math.atan2(b[1] - a[1], b[0] - a[0])) * 180) / Math.PI;
    const from = act.start.get(act.lead);
    const place = { ...from, turn: turned(from.turn + by), scale: bounded(from.scale * k) };
    const to = anchorFor(state.sheet, place, act.grip, (p[0] + q[0]) / 2, (p[1] + q[1]) / 2);
    act.places.set(act.lead, { ...place, ...to });
  },
};

/** On a wide sheet parts lie turned to each other: what is moved along goes the same way over the sheet. */
function alongside(from, lead, to) {
  const [home, sheet] = [state.sheet.of(from), state.sheet.of(lead)];
  const [[ax, ay], [bx, by], [x, y]] = [sheet.toFlat(lead.u, lead.s), sheet.toFlat(to.u, to.s), home.toFlat(from.u, from.s)];
  const [u, s] = home.toSkin(x + bx - ax, y + by - ay);
  return { ...from, u, s };
}

function bounded(scale) {
  return Math.min(Math.max(scale, 0.02), 50);
}

function around(deg, factor) {
  const t = (deg * Math.PI) / 180;
  for (const [id, from] of act.start) {
    const sheet = state.sheet.of(from);
    const place = { ...from, scale: bounded(from.scale * factor) };
    if (act.start.size === 1) {
      place.turn = turned(from.turn + deg);
    } else {
      const [x, y] = sheet.toFlat(from.u, from.s);
      const dx = x - act.pivot[0];
      const dy = y - act.pivot[1];
      const [u, s] = sheet.toSkin(act.pivot[0] + factor * (dx * Math.cos(t) - dy * Math.sin(t)),
        act.pivot[1] + factor * (dx * Math.sin(t) + dy * Math.cos(t)));
      place.turn = turned(from.turn + deg + sheet.patch.turnAt(from.u) - sheet.patch.turnAt(u));
      Object.assign(place, { u, s });
    }
    act.places.set(id, place);
  }
}

function pieceAt(event) {
  return event.target.closest?.(".piece")?.dataset.id ?? null;
}

function down(event) {
  if (event.button > 1) return;
  el.table.focus({ preventScroll: true });
  el.table.setPointerCapture(event.pointerId);
  const finger = { id: event.pointerId, type: event.pointerType, px: inTable(event), start: toSheet(event),
    at: toSheet(event), piece: pieceAt(event) };
  fingers.set(event.pointerId, finger);
  if (tracing()) {
    if (fingers.size === 1) traceDown(finger.at);
    return;
  }
  if (fingers.size === 2) {
    twoFingers();
    return;
  }
  if (fingers.size > 2) return;
  const handle = event.target.closest?.("[data-grip]")?.dataset.grip;
  if (handle) {
    const p = pivot();
    const [dx, dy] = [finger.at[0] - p[0], finger.at[1] - p[1]];
    begin(handle, free(state.selected), { pivot: p, from: handle === "turn" ? Math.atan2(dy, dx) : Math.hypot(dx, dy),
      at: finger.at });
    return;
  }
  const many = event.shiftKey || event.ctrlKey || event.metaKey;
  const goal = event.target.closest?.("[data-goal]")?.dataset.goal ?? null;
  const shade = event.target.closest?.("[data-shade]")?.dataset.shade;
  act = { kind: "wait", finger, many, goal, shade, pan: event.button === 1 || space, filler: state.piece(finger.piece)?.filler };
  if (finger.type !== "mouse") act.timer = setTimeout(longPress, LONG_MS);
}

function longPress() {
  if (act?.kind !== "wait") return;
  navigator.vibrate?.(12);
  if (act.finger.piece) {
    toggle(act.finger.piece);
    act = { kind: "done" };
  } else {
    act = { kind: "marquee", from: act.finger.px, to: act.finger.px, many: true };
    drawMarquee();
  }
}

function toggle(id) {
  const has = state.selected.includes(id);
  state.select(has ? state.selected.filter((x) => x !== id) : [...state.selected, id]);
}

function twoFingers() {
  const two = [...fingers.values()];
  clearTimeout(act?.timer);
  const held = state.selected.length === 1 ? state.selected[0] : null;
  const onIt = held && free([held]).length && two.every((f) => inside(f.px, held));
  if (act?.places) {
    // A second finger while one drags: start over with both from where the piece is now.
    putDown([...act.places.keys()]);
    drawGuides(null);
  }
  for (const f of two) f.start = f.at;
  if (onIt) {
    const place = starts([held]).get(held);
    const mid = [(two[0].at[0] + two[1].at[0]) / 2, (two[0].at[1] + two[1].at[1]) / 2];
    begin("pinch", [held], { two, lead: held, grip: gripAt(state.sheet, place, ...mid) });
  } else {
    document.body.classList.remove("in-hand");
    act = { kind: "view", two, last: two.map((f) => f.px) };
  }
}

function inside(p, id) {
  const c = corners(id);
  const [x0, x1] = [Math.min(...c.map((q) => q[0])), Math.max(...c.map((q) => q[0]))];
  const [y0, y1] = [Math.min(...c.map((q) => q[1])), Math.max(...c.map((q) => q[1]))];
  return p[0] > x0 - 30 && p[0] < x1 + 30 && p[1] > y0 - 30 && p[1] < y1 + 30;
}

function move(event) {
  const finger = fingers.get(event.pointerId);
  if (!finger) return;
  const before = finger.px;
  finger.px = inTable(event);
  finger.at = toSheet(event);
  if (tracing()) {
    for (const e of event.getCoalescedEvents?.() ?? [event]) traceMove(toSheet(e));
    return;
  }
  if (!act) return;
  if (act.kind === "wait") waitMove(finger, event);
  else if (act.kind === "pan") panBy(finger.px[0] - before[0], finger.px[1] - before[1]);
  else if (act.kind === "view") viewMove();
  else if (act.kind === "marquee") {
    act.to = finger.px;
    drawMarquee();
  } else if (act.places) {
    act.at = finger.at;
    act.loose = event.altKey;
    schedule();
  }
}

function waitMove(finger, event) {
  const first = act.finger.first ?? (act.finger.first = toPx(...finger.start));
  if (Math.hypot(finger.px[0] - first[0], finger.px[1] - first[1]) < (SLACK[finger.type] ?? 5)) return;
  clearTimeout(act.timer);
  const id = act.finger.piece;
  const grabs = id && !act.pan && free([id]).length && (!act.filler || state.selected.includes(id));
  if (grabs) {
    if (!state.selected.includes(id)) state.select(act.many ? [...state.selected, id] : [id]);
    const ids = free(state.selected);
    const lead = starts([id]).get(id);
    begin("drag", ids, { lead: id, grip: gripAt(state.sheet, lead, ...finger.start), at: finger.at });
    schedule();
  } else if (act.many && !act.pan) {
    act = { kind: "marquee", from: first, to: finger.px, many: true };
    drawMarquee();
  } else {
    act = { kind: "pan" };
    panBy(finger.px[0] - first[0], finger.px[1] - first[1]);
  }
}

function viewMove() {
  const [p, q] = act.two.map((f) => f.px);
  const [a, b] = act.last;
  panBy((p[0] + q[0] - a[0] - b[0]) / 2, (p[1] + q[1] - a[1] - b[1]) / 2);
  const was = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (was > 10) zoomAt((p[0] + q[0]) / 2, (p[1] + q[1]) / 2, Math.hypot(q[0] - p[0], q[1] - p[1]) / was);
  act.last = [p, q];
}

function drawMarquee() {
  const [x0, x1] = [Math.min(act.from[0], act.to[0]), Math.max(act.from[0], act.to[0])];
  const [y0, y1] = [Math.min(act.from[1], act.to[1]), Math.max(act.from[1], act.to[1])];
  act.box = [x0, y0, x1, y1];
  Object.entries({ x: x0, y: y0, width: x1 - x0, height: y1 - y0 }).forEach(([k, v]) => marquee.setAttribute(k, v));
  marquee.style.display = "";
}

function endMarquee() {
  marquee.style.display = "none";
  const [x0, y0, x1, y1] = act.box;
  const hit = state.order.filter((id) => {
    if (state.piece(id).home) return false;
    const c = corners(id);
    const x = c.reduce((t, p) => t + p[0], 0) / 4;
    const y = c.reduce((t, p) => t + p[1], 0) / 4;
    return x > x0 && x < x1 && y > y0 && y < y1;
  });
  state.select(act.many ? [...new Set([...state.selected, ...hit])] : hit);
}

function up(event) {
  const finger = fingers.get(event.pointerId);
  if (!finger) return;
  fingers.delete(event.pointerId);
  if (tracing()) {
    traceUp();
    return;
  }
  if (!act) return;
  clearTimeout(act.timer);
  if (act.kind === "wait") click();
  else if (act.kind === "marquee") endMarquee();
  else if (act.places) end();
  if (act?.kind === "view" && fingers.size === 1) return;
  if (!fingers.size || act?.kind !== "view") act = null;
}

function click() {
  const id = act.finger.piece;
  if (act.pan) return;
  if (act.shade) {
    document.dispatchEvent(new CustomEvent("desk:shade", { detail: act.shade }));
  } else if (act.goal) {
    document.dispatchEvent(new CustomEvent("desk:goal", { detail: act.goal }));
  } else if (id && act.many) toggle(id);
  else state.select(id ? [id] : []);
}

function end() {
  if (frame) {
    cancelAnimationFrame(frame);
    run();
  }
  drawGuides(null);
  document.body.classList.remove("in-hand");
  const { places } = act;
  act = null;
  commit(places);
}

function cancel(event) {
  fingers.delete(event.pointerId);
  drop();
}

/** Let go of whatever is in the hand without keeping it. */
export function drop() {
  clearTimeout(act?.timer);
  if (act?.places) putDown([...act.places.keys()].filter((id) => !state.pending.has(id)));
  act = null;
  drawGuides(null);
  marquee.style.display = "none";
  document.body.classList.remove("in-hand");
  drawOutlines();
}

export function inHand() {
  return Boolean(act?.places);
}

export function setSpace(on) {
  space = on;
  el.table.classList.toggle("panning", on);
}

export function startGestures() {
  el.table.addEventListener("pointerdown", down);
  el.table.addEventListener("pointermove", move);
  el.table.addEventListener("pointerup", up);
  el.table.addEventListener("pointercancel", cancel);
  el.table.addEventListener("contextmenu", (e) => e.preventDefault());
  el.table.addEventListener("dragstart", (e) => e.preventDefault());
}
