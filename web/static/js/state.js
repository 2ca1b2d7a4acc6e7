// What this window shows: pieces as the server last said, what is selected, which step of the job.

import { Sheet, WideSheet } from "./geometry.js";

const listeners = new Set();

export const state = {
  sheet: null,
  part: "",
  revision: 0,
  mode: "compose",
  goal: null,
  pieces: new Map(),
  order: [],
  selected: [],
  guides: true,
  // Places sent and not answered yet, by id.
  pending: new Map(),

  /** Read the numbers that came with the page or an answer. */
  read() {
    const data = JSON.parse(document.getElementById("desk-data").textContent);
    if (data.sheet) state.sheet = data.sheet.wide ? new WideSheet(data.sheet) : new Sheet(data.sheet);
    state.words = data.sheet?.words ?? state.words;
    state.soon = Boolean(data.soon);
    if (!state.soon) {
      state.labels = data.labels ?? [];
      state.late = Boolean(data.late);
    }
    state.box = data.box ?? state.box;
    state.part = data.part;
    state.sheetName = data.sheetName;
    state.revision = data.revision;
    state.order = data.pieces.map((p) => p.id);
    state.pieces = new Map(data.pieces.map((p) => [p.id, p]));
    if (data.select) state.selected = data.select;
    if ("goal" in data) state.goal = data.goal;
    state.selected = state.selected.filter((id) => state.pieces.has(id));
  },

  /** Which pictures this window has, so that the server sends only what is new. */
  have() {
    const out = {};
    for (const g of document.querySelectorAll("#pieces > .piece:not(.proposed)")) out[g.dataset.id] = g.dataset.key;
    return out;
  },

  select(ids) {
    const next = ids.filter((id) => state.pieces.has(id));
    if (next.join() === state.selected.join()) return false;
    state.selected = next;
    for (const fn of listeners) fn();
    return true;
  },

  onSelect(fn) {
    listeners.add(fn);
  },

  piece(id) {
    return state.pieces.get(id);
  },
};
