// Pieces lifted off the sheet while a hand moves them: each on a layer of its own, moved by one
// CSS transform, so that the sheet below is not drawn again.

import { linear, placed } from "./geometry.js";
import { state } from "./state.js";
import { look, toPx, onLook } from "./table.js";

const SVG = "http://www.w3.org/2000/svg";
const layer = document.getElementById("lift");
const lifted = new Map();

/** Where a piece is now: moved and not yet answered, or as the server last said. */
export function placeOf(id) {
  return lifted.get(id)?.place ?? state.pending.get(id) ?? state.piece(id);
}

function copyNearest(group) {
  // A piece over the seam is drawn twice; lift the copy whose anchor lies on the sheet.
  let best = null;
  for (const copy of group.querySelectorAll(".copy")) {
    const u = state.piece(group.dataset.id).u + Number(copy.dataset.shift);
    const off = Math.abs(u - (state.sheet.of(state.piece(group.dataset.id)).seam + 0.5));
    if (!best || off < best.off) best = { copy, off, shift: Number(copy.dataset.shift) };
  }
  return best;
}

function picture(group, copy, z) {
  const b = copy.getBBox();
  const pad = 250;
  const box = [b.x - pad, b.y - pad, b.width + 2 * pad, b.height + 2 * pad];
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("viewBox", box.join(" "));
  svg.setAttribute("class", "lifted-art");
  const w = (box[2] / 100) * z;
  const h = (box[3] / 100) * z;
  svg.style.width = `${w}px`;
  svg.style.height = `${h}px`;
  const g = document.createElementNS(SVG, "g");
  g.setAttribute("class", group.getAttribute("class").replace("lifted", "") + " up");
  const own = copy.cloneNode(true);
  own.removeAttribute("clip-path");
  g.append(own);
  svg.append(g);
  return { svg, left: (box[0] / 100) * z, top: (box[1] / 100) * z };
}

/** Lift pieces; their pictures on the sheet are hidden until they are put down. */
export function lift(ids) {
  for (const id of ids) {
    if (lifted.has(id)) continue;
    const group = document.getElementById(`piece-${id}`);
    const piece = state.piece(id);
    if (!group || !piece) continue;
    const { copy, shift } = copyNearest(group);
    const base = { u: piece.u + shift, s: piece.s, turn: piece.turn, scale: piece.scale, flip: piece.flip, part: piece.part };
    const art = picture(group, copy, look.z);
    const from = placed(state.sheet, base);
    const twin = ids.length === 1 && state.sheet.closed ? art.svg.cloneNode(true) : null;
    const now = state.pending.get(id);
    const item = { group, base, from, art, twin, z: look.z, shift, hold: 0,
      place: now ? { ...now, u: now.u + shift } : { ...base } };
    layer.append(art.svg);
    if (twin) layer.append(twin);
    group.classList.add("lifted");
    lifted.set(id, item);
    show(item);
  }
}

function transform(item, place) {
  const { from, art, z } = item;
  const to = placed(state.sheet, place);
  const m = linear.mul(to.m, linear.inv(from.m));
  const k = look.z / z;
  const [px, py] = toPx(to.x, to.y);
  // The picture's own origin (its top left) relative to the old anchor, then carried by m (y down).
  const ox = art.left - from.x * z;
  const oy = art.top + from.y * z;
  const a = m[0] * k, b = -m[1] * k, c = -m[2] * k, d = m[3] * k;
  return `matrix(${a},${b},${c},${d},${px + a * ox + c * oy},${py + b * ox + d * oy})`;
}

function show(item) {
  item.art.svg.style.transform = transform(item, item.place);
  if (item.twin) {
    const over = item.place.u > state.sheet.seam + 0.5 ? -1 : 1;
    item.twin.style.transform = transform(item, { ...item.place, u: item.place.u + over });
  }
}

/** Move lifted pieces: places by id. */
export function carry(places) {
  for (const [id, place] of places) {
    const item = lifted.get(id);
    if (!item) continue;
    item.place = place;
    show(item);
  }
}

/** Put pieces down: the pictures on the sheet show again. */
export function putDown(ids) {
  for (const id of ids) {
    const item = lifted.get(id);
    if (!item) continue;
    item.art.svg.remove();
    item.twin?.remove();
    document.getElementById(`piece-${id}`)?.classList.remove("lifted");
    lifted.delete(id);
  }
}

export function isLifted(id) {
  return lifted.has(id);
}

/** New pictures that arrive for pieces still in the hand stay hidden. */
export function hideArrived() {
  for (const [id, item] of lifted) {
    const group = document.getElementById(`piece-${id}`);
    if (group) group.classList.add("lifted");
    else {
      item.art.svg.remove();
      item.twin?.remove();
      lifted.delete(id);
    }
  }
}

onLook(() => {
  for (const item of lifted.values()) show(item);
});
