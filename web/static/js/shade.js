// Shade lines: drawn over the sheet, chosen on it, changed in the panel.

import { state } from "./state.js";
import { post } from "./talk.js";
import { setTracing, tracing } from "./trace.js";

let chosen = "";

/** Mark the line that is looked at on the sheet and in the panel. */
function mark() {
  for (const g of document.querySelectorAll("#shade [data-shade]")) g.classList.toggle("chosen", g.dataset.shade === chosen);
  for (const row of document.querySelectorAll("#panel [data-line]")) row.classList.toggle("chosen", row.dataset.line === chosen);
}

function choose(id) {
  chosen = id;
  mark();
  const row = document.getElementById(`shade-${id}`);
  if (!row) return;
  row.closest("details").open = true;
  row.focus({ preventScroll: true });
  row.scrollIntoView({ block: "nearest" });
}

function clicked(event) {
  const button = event.target.closest("button");
  const { act, swap, unshade } = button?.dataset ?? {};
  if (act === "shade") setTracing(!tracing(), "shade");
  else if (act === "shade-again") post("/shade/again");
  else if (swap) post("/shade", { swap });
  else if (unshade) post("/shade", { remove: unshade });
}

export function startShade() {
  const panel = document.getElementById("panel");
  document.addEventListener("click", clicked);
  document.addEventListener("desk:shade", async (event) => {
    if (state.goal || state.selected.length) {
      state.goal = null;
      state.selected = [];
      await post("/refresh");
    }
    choose(event.detail);
  });
  panel.addEventListener("change", (event) => {
    const { fall, shadeSet } = event.target.dataset ?? {};
    if (fall) post("/shade", { line: fall, fall: event.target.value });
    else if (shadeSet === "cuff") post("/shade", { cuff: event.target.value });
    else if (shadeSet === "contrast") post("/shade", { contrast: event.target.checked ? "1" : "0" });
  });
  panel.addEventListener("submit", (event) => {
    if (event.target.id !== "shade-level") return;
    event.preventDefault();
    const { value } = document.getElementById("shade-at");
    if (value.trim()) post("/shade", { level: value });
  });
  panel.addEventListener("focusin", (event) => {
    const line = event.target.closest?.("[data-line]")?.dataset.line;
    if (!line || line === chosen) return;
    chosen = line;
    mark();
  });
  document.addEventListener("desk:arrived", mark);
}
