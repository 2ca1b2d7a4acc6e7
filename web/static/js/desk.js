// The desk: puts the parts together.

import { startBest } from "./best.js";
import { startFolds } from "./folds.js";
import { startGestures } from "./gestures.js";
import { startHandles } from "./handles.js";
import { startKeys } from "./keys.js";
import { hideArrived } from "./lift.js";
import { startLater } from "./later.js";
import { startLive, tell } from "./live.js";
import { drawOutlines } from "./marks.js";
import { startShelf } from "./shelf.js";
import { state } from "./state.js";
import { el, fitAll, look, onLook, reveal, startTable, toSheet, zoomAt } from "./table.js";
import { onAnswer, post, sayOnArrival, step } from "./talk.js";
import { startTies } from "./ties.js";
import { startWide } from "./wide.js";
import { startTint } from "./tint.js";
import { setTracing, tracing } from "./trace.js";

const desk = document.getElementById("desk");
state.mode = desk.dataset.mode;
state.read();
let told = concern();

/** What the panel tells of. */
function concern() {
  return `${state.selected} ${state.goal}`;
}

/** A panel that tells of something else than before is read from its top. */
function readFromTop() {
  if (state.soon || told === concern()) return;
  told = concern();
  document.getElementById("right").scrollTop = 0;
}

/** Put what came with an answer in its place: new pictures, order, what went. */
function arrive() {
  const before = state.revision;
  const goal = state.goal;
  const sheet = state.sheetName;
  state.read();
  if (state.sheetName !== sheet) {
    // The arm was measured or cut anew in another window: the whole sheet is another one.
    location.reload();
    return;
  }
  const pieces = document.getElementById("pieces");
  const arrivals = document.getElementById("arrivals");
  for (const g of [...arrivals.children]) {
    const old = document.getElementById("pieces").querySelector(`:scope > #${CSS.escape(g.id)}`);
    if (old) old.replaceWith(g);
    else pieces.append(g);
  }
  for (const g of [...pieces.children]) if (!state.pieces.has(g.dataset.id)) g.remove();
  let at = pieces.firstElementChild;
  for (const id of state.order) {
    const g = document.getElementById(`piece-${id}`);
    if (!g) continue;
    if (g === at) at = at.nextElementSibling;
    else pieces.insertBefore(g, at);
  }
  hideArrived();
  drawOutlines();
  markRows();
  readFromTop();
  if (state.goal && state.goal !== goal) document.dispatchEvent(new CustomEvent("desk:told"));
  if (state.revision !== before) tell();
  if (!state.soon) document.dispatchEvent(new CustomEvent("desk:arrived"));
}

onAnswer((ctx) => {
  if (ctx.text?.includes('id="desk-data"')) arrive();
});

function markRows() {
  for (const row of document.querySelectorAll("[data-pick]")) {
    row.setAttribute("aria-pressed", String(state.selected.includes(row.dataset.pick)));
  }
  const idle = state.mode === "tie-in" ? "Gaps and ties" : "Shelf";
  const words = state.selected.length === 1 ? state.piece(state.selected[0]).title
    : state.selected.length ? `${state.selected.length} pieces` : state.goal ? "Ways to fill it" : idle;
  document.getElementById("open-panel").textContent = words;
}

state.onSelect(() => {
  markRows();
  if (!tracing()) post("/refresh");
});

const acts = {
  undo: () => post("/undo"),
  redo: () => post("/redo"),
  remove: () => state.selected.length && step({ do: "remove", ids: state.selected }),
  duplicate: () => state.selected.length && step({ do: "duplicate", ids: state.selected }),
  flip: () => change((p) => ({ flip: !p.flip })),
  lock: () => change(() => ({ locked: true })),
  unlock: () => change(() => ({ locked: false })),
  all: () => state.select(state.order.filter((id) => !state.piece(id).filler && !state.piece(id).home)),
  trace: () => setTracing(!tracing()),
  "leave-line": () => setTracing(false),
  "let-go": () => state.select([]),
  whole: fitAll,
  larger: () => zoomAt(el.table.clientWidth / 2, el.table.clientHeight / 2, 1.4),
  smaller: () => zoomAt(el.table.clientWidth / 2, el.table.clientHeight / 2, 1 / 1.4),
  guides(button) {
    state.guides = !state.guides;
    document.querySelector('[data-act="guides"]').setAttribute("aria-pressed", String(state.guides));
    return button;
  },
  gaps() {
    const on = desk.classList.toggle("gaps-shown");
    document.querySelector('[data-act="gaps"]').setAttribute("aria-pressed", String(on));
    if (on) post("/refresh");
  },
};

function change(make) {
  if (!state.selected.length) return null;
  return step({ do: "change", pieces: state.selected.map((id) => ({ id, ...make(state.piece(id)) })) });
}

function act(name, button) {
  return acts[name]?.(button);
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button, [data-pick]");
  if (!button) return;
  const d = button.dataset;
  if (d.act) act(d.act, button);
  else if (d.step) step(JSON.parse(d.step));
  else if (d.order) step({ do: "order", ids: state.selected, to: d.order });
  else if (d.pick) pick(d.pick, event.shiftKey || event.ctrlKey || event.metaKey);
  else if (d.twin) post("/twin", { over: d.twin, linked: document.getElementById("twin-linked").checked ? "1" : "" });
  else if (d.open) drawer(d.open, true);
  else if (d.shut) drawer(d.shut, false);
});

function pick(id, many) {
  const has = state.selected.includes(id);
  if (many) state.select(has ? state.selected.filter((x) => x !== id) : [...state.selected, id]);
  else state.select([id]);
  const p = state.piece(id);
  if (p) reveal(...state.sheet.of(p).toFlat(state.sheet.of(p).within(p.u), p.s));
  drawer("left", false);
}

document.addEventListener("desk:pick", (event) => pick(event.detail, false));

function drawer(side, open) {
  for (const s of ["left", "right"]) document.getElementById(s).classList.toggle("open", s === side && open);
  if (open) document.querySelector(`#${side} .shut`).focus();
}

document.addEventListener("desk:told", () => {
  if (narrow.matches) drawer("right", true);
});
// Who draws on the sheet needs all of it.
document.addEventListener("desk:drawing", (event) => {
  if (narrow.matches && event.detail) drawer("right", false);
});

document.addEventListener("change", (event) => {
  const d = event.target.dataset;
  if (d.field) post("/field", { name: d.field, value: event.target.value });
  else if (d.setting) post("/setting", { name: d.setting, value: event.target.value });
  else if (d.set === "state") change(() => ({ state: event.target.value }));
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.target.dataset?.field || event.target.dataset?.setting)) event.target.blur();
});

// The rule below the sheet: a round length that fits, at the size that is seen. It never takes another line, which
// would make the sheet smaller and the rule with it.
const narrow = matchMedia("(max-width: 860px)");
const LENGTHS = [1, 2, 5, 10, 20, 50, 100, 200];
function drawRule() {
  const mm = [...LENGTHS].reverse().find((n) => n * look.z <= (narrow.matches ? 80 : 170)) ?? 1;
  const w = mm * look.z;
  const svg = document.getElementById("rule");
  svg.setAttribute("width", String(w + 2));
  svg.innerHTML = `<path d="M1 1v9h${w}v-9M${1 + w / 2} 10v-5"/>`;
  document.getElementById("rule-words").textContent = `${mm} mm${narrow.matches ? "" : " on skin"}`;
}
onLook(drawRule);

const where = document.getElementById("where");
const edge = document.querySelector("#sheet > .skin-edge");

/** Whether a place of the sheet (mm, y up) lies within the edges of chest or back. */
function onSkin(x, y) {
  return edge.isPointInFill(new DOMPoint(x, -y));
}

function ofMidline(sheet, u, s) {
  const mm = Math.round(u * sheet.patch.c1) * (sheet.part === "chest" ? 1 : -1);
  const side = mm === 0 ? "on the midline" : `${Math.abs(mm)} mm ${mm > 0 ? "left" : "right"} of the midline`;
  return `${side}, ${Math.round(s)} mm up from the ${sheet.far}`;
}

el.table.addEventListener("pointermove", (event) => {
  if (event.pointerType === "touch") return;
  const at = toSheet(event);
  const part = state.sheet.wide ? state.sheet.partAt(...at) : state.part;
  if (!part) {
    where.textContent = "";
    return;
  }
  const sheet = state.sheet.of({ part });
  const [u, s] = sheet.toSkin(...at);
  const name = state.sheet.wide ? `${part.replace("_", " ")}: ` : "";
  if (!sheet.closed) {
    where.textContent = onSkin(...at) ? name + ofMidline(sheet, u, s) : "";
    return;
  }
  const on = u >= sheet.seam && u <= sheet.seam + 1 && s >= sheet.sMin && s <= sheet.sMax;
  const off = (side) => Math.abs((((u - side.u + 0.5) % 1) + 1) % 1 - 0.5);
  where.textContent = on ? `${name}${[...sheet.sides].sort((a, b) => off(a) - off(b))[0].name}, ${Math.round(s)} mm up from the ${sheet.far}` : "";
});

desk.classList.toggle("gaps-shown", state.mode === "tie-in");
startTable();
startGestures();
startKeys(act);
startShelf();
startTies();
startHandles();
startLater();
startBest();
startWide();
startTint();
startFolds();
startLive();
drawOutlines();
markRows();
sayOnArrival();
document.body.classList.add("ready");
if (state.goal) document.dispatchEvent(new CustomEvent("desk:told"));
if (state.late || state.mode === "tie-in") post("/refresh");
