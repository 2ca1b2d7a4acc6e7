// The shelf: tap a drawing to lay it, drag it to its place, add one's own.

import { askBest, shelf } from "./best.js";
import { state } from "./state.js";
import { el, look, middle } from "./table.js";
import { post, say } from "./talk.js";

const panel = document.getElementById("panel");
const desk = document.getElementById("desk");
let carrying = null;

function place(motif, x, y, room = "") {
  const on = state.sheet.wide ? (state.sheet.partAt(x, y) ?? state.sheet.part) : "";
  const sheet = state.sheet.of({ part: on });
  const [u, s] = sheet.toSkin(x, y);
  return post("/place", { motif, on, u, s: Math.min(Math.max(s, sheet.sMin), sheet.sMax), room });
}

/** Whether a place on the sheet is in view. */
function seen([x, y]) {
  const [px, py] = [x * look.z + look.x, -y * look.z + look.y];
  return px > 0 && py > 0 && px < el.table.clientWidth && py < el.table.clientHeight;
}

/** An open place for a drawing that was tapped, and the width that is free there: the widest open gap if one is known,
 * on a bare limb high on it, clear of the joint, else what is in view. */
function openPlace() {
  const gaps = (state.labels ?? []).filter((l) => l.at === "gap" && l.wide > 1).sort((a, b) => b.wide - a.wide);
  if (gaps.length && state.order.length) return [gaps[0].x, -gaps[0].y, gaps[0].wide];
  const [x, y] = middle();
  if (state.sheet.wide && state.sheet.partAt(x, y)) return [x, y];
  const sheet = state.sheet.of({});
  const high = sheet.toFlat(sheet.seam + 0.5, sheet.sMin + 0.75 * (sheet.sMax - sheet.sMin));
  if (!state.order.length && seen(high)) return high;
  const [u, s] = sheet.toSkin(x, y);
  const inside = u > sheet.seam && u < sheet.seam + 1 && s > sheet.sMin && s < sheet.sMax;
  return inside ? [x, y] : sheet.toFlat(sheet.seam + 0.5, (sheet.sMin + sheet.sMax) / 2);
}

function down(event) {
  const card = event.target.closest("[data-motif]");
  if (!card || event.button) return;
  carrying = { motif: card.dataset.motif, card, x: event.clientX, y: event.clientY, id: event.pointerId, ghost: null };
}

function move(event) {
  if (!carrying || event.pointerId !== carrying.id) return;
  if (!carrying.ghost && Math.hypot(event.clientX - carrying.x, event.clientY - carrying.y) > 8) {
    const ghost = carrying.card.querySelector("img").cloneNode();
    ghost.className = "ghost-drag";
    document.body.append(ghost);
    carrying.ghost = ghost;
  }
  if (carrying.ghost) carrying.ghost.style.transform = `translate(${event.clientX - 60}px, ${event.clientY - 60}px)`;
}

function up(event) {
  if (!carrying || event.pointerId !== carrying.id) return;
  const { motif, ghost } = carrying;
  carrying = null;
  if (!ghost) return;
  ghost.remove();
  const suppress = (e) => e.stopPropagation();
  document.addEventListener("click", suppress, { capture: true, once: true });
  setTimeout(() => document.removeEventListener("click", suppress, { capture: true }), 0);
  const r = el.table.getBoundingClientRect();
  if (event.clientX < r.left || event.clientX > r.right || event.clientY < r.top || event.clientY > r.bottom) return;
  place(motif, (event.clientX - r.left - look.x) / look.z, -(event.clientY - r.top - look.y) / look.z);
}

/** A picture that was dropped: kept, then gone on with on its own page. */
async function bringIn(file) {
  const goal = document.getElementById("bring-in")?.getAttribute("href") ?? `/plans/${desk.dataset.plan}/bring-in`;
  say(`Reading ${file.name || "the picture"} …`);
  const body = new FormData();
  body.append("file", file);
  const to = goal.endsWith("/bring-in") ? await fetch(goal).then((r) => new URL(r.url).pathname) : goal;
  const said = await fetch(to, { method: "POST", body, headers: { "HX-Request": "true" } })
    .then((response) => response.json())
    .catch(() => ({ sentence: "The picture could not be sent; check that the server still runs, then drop it again." }));
  if (said.to) location.assign(said.to);
  else say(said.sentence);
}

/** Take in SVG files of the artist; a picture goes to its own page. */
export async function takeIn(files) {
  const own = [...files];
  if (!own.length) return;
  const picture = own.find((f) => !/svg/i.test(f.type) && !/\.svg$/i.test(f.name));
  if (picture) {
    await bringIn(picture);
    return;
  }
  const body = new FormData();
  for (const file of own) body.append("file", file);
  const text = await fetch("/shelf", { method: "POST", body, headers: { "HX-Request": "true" } })
    .then((response) => response.text())
    .catch(() => "The server did not answer; check that it still runs, then add the drawing again.");
  let sentence = "";
  try {
    sentence = JSON.parse(text).sentence;
  } catch {
    const holder = document.createElement("template");
    holder.innerHTML = text;
    sentence = holder.content.textContent.trim() || "The drawing could not be taken in.";
  }
  state.select([]);
  await post("/refresh");
  say(sentence);
}

function find(event) {
  const words = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
  let seen = 0;
  for (const li of panel.querySelectorAll("#shelf > li")) {
    const fits = words.every((w) => li.dataset.words.includes(w));
    li.hidden = !fits;
    seen += fits;
  }
  panel.querySelector("#shelf-none").hidden = seen > 0;
}

export function startShelf() {
  panel.addEventListener("pointerdown", down);
  window.addEventListener("pointermove", move);
  window.addEventListener("pointerup", up);
  window.addEventListener("pointercancel", () => {
    carrying?.ghost?.remove();
    carrying = null;
  });
  panel.addEventListener("click", (event) => {
    const card = event.target.closest("[data-motif]");
    if (card && shelf.best) askBest("motif", card.dataset.motif);
    else if (card) place(card.dataset.motif, ...openPlace());
  });
  panel.addEventListener("input", (event) => {
    if (event.target.id === "shelf-find") find(event);
  });
  panel.addEventListener("change", (event) => {
    if (event.target.id === "own-art") takeIn(event.target.files);
  });
  desk.addEventListener("dragover", (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    desk.classList.add("drop-here");
  });
  desk.addEventListener("dragleave", () => desk.classList.remove("drop-here"));
  desk.addEventListener("drop", (event) => {
    desk.classList.remove("drop-here");
    if (!event.dataTransfer?.files.length) return;
    event.preventDefault();
    takeIn(event.dataTransfer.files);
  });
}

