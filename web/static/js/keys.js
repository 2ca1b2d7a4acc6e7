// The desk by keys. Single letters and signs count only while the sheet has the focus.

import { commit, drop, inHand, setSpace } from "./gestures.js";
import { carry, lift, placeOf } from "./lift.js";
import { follow } from "./marks.js";
import { turned } from "./geometry.js";
import { state } from "./state.js";
import { el, fitAll, panBy, zoomAt } from "./table.js";
import { setTracing, tracing } from "./trace.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const REST_MS = 380;
let nudged = null;
let timer = 0;

function writing(target) {
  return target.closest?.("input:not([type=radio]):not([type=checkbox]), textarea, select");
}

function freeIds() {
  return state.selected.filter((id) => !state.piece(id).locked);
}

function nudge(change) {
  const ids = freeIds();
  if (!ids.length || inHand()) return;
  if (!nudged) {
    nudged = new Map(ids.map((id) => {
      const p = placeOf(id);
      return [id, { u: state.sheet.of(p).within(p.u), s: p.s, turn: p.turn, scale: p.scale, flip: p.flip, part: p.part }];
    }));
    lift(ids);
  }
  for (const [id, place] of nudged) nudged.set(id, change(place));
  carry(nudged);
  follow();
  clearTimeout(timer);
  timer = setTimeout(settle, REST_MS);
}

function settle() {
  clearTimeout(timer);
  const places = nudged;
  nudged = null;
  if (places) commit(places);
}

function arrows(event) {
  const [dx, dy] = ARROWS[event.key];
  const mm = event.shiftKey ? 10 : event.altKey ? 0.1 : 1;
  if (!freeIds().length) {
    panBy(-dx * 60, dy * 60);
    return;
  }
  nudge((p) => {
    const [u, s] = state.sheet.of(p).beside(p.u, p.s, dx * mm, dy * mm);
    return { ...p, u, s };
  });
}

export function startKeys(act) {
  document.addEventListener("keydown", (event) => {
    if (writing(event.target)) {
      if (event.key === "Escape") el.table.focus();
      return;
    }
    const ctrl = event.ctrlKey || event.metaKey;
    if (ctrl && !event.altKey) {
      const name = event.key.toLowerCase();
      const to = name === "z" ? (event.shiftKey ? "redo" : "undo") : name === "y" ? "redo" : name === "d" ? "duplicate"
        : name === "a" ? "all" : null;
      if (to) {
        event.preventDefault();
        settle();
        act(to);
      }
      return;
    }
    if (event.key === "Escape") {
      nudged = null;
      clearTimeout(timer);
      if (tracing()) setTracing(false);
      else if (inHand()) drop();
      else state.select([]);
      return;
    }
    const onSheet = document.activeElement === el.table;
    const onRow = event.target.closest?.("[data-pick]");
    if (event.key in ARROWS && (onSheet || onRow)) {
      event.preventDefault();
      arrows(event);
    } else if ((event.key === "Delete" || event.key === "Backspace") && (onSheet || onRow) && state.selected.length) {
      event.preventDefault();
      act("remove");
    } else if (onSheet) sheetKeys(event, act);
  });
  document.addEventListener("keyup", (event) => {
    if (event.key === " ") setSpace(false);
    if (event.key in ARROWS || event.key === "[" || event.key === "]") {
      clearTimeout(timer);
      timer = setTimeout(settle, REST_MS);
    }
  });
}

function sheetKeys(event, act) {
  const [w, h] = [el.table.clientWidth / 2, el.table.clientHeight / 2];
  const turn = event.shiftKey ? 15 : event.altKey ? 0.1 : 1;
  const keys = {
    "[": () => nudge((p) => ({ ...p, turn: turned(p.turn + turn) })),
    "]": () => nudge((p) => ({ ...p, turn: turned(p.turn - turn) })),
    "{": () => nudge((p) => ({ ...p, turn: turned(p.turn + 15) })),
    "}": () => nudge((p) => ({ ...p, turn: turned(p.turn - 15) })),
    "+": () => zoomAt(w, h, 1.25),
    "=": () => zoomAt(w, h, 1.25),
    "-": () => zoomAt(w, h, 0.8),
    0: fitAll,
    f: () => act("flip"),
    g: () => act("guides"),
    " ": () => setSpace(true),
  };
  const fn = keys[event.key];
  if (!fn) return;
  event.preventDefault();
  fn();
}

