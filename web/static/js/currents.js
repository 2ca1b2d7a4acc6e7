// How background runs: short strokes over the sheet, asked for again whenever the plan changes.

import { state } from "./state.js";
import { base, post } from "./talk.js";
import { setTracing, tracing } from "./trace.js";

const SVG = "http://www.w3.org/2000/svg";
let on = false;
let shown = -1;

function layer() {
  let g = document.getElementById("flow");
  if (!g) {
    g = document.createElementNS(SVG, "g");
    g.id = "flow";
    document.getElementById("overlay").after(g);
  }
  return g;
}

function mark() {
  for (const b of document.querySelectorAll('[data-act="flow"]')) b.setAttribute("aria-pressed", String(on));
}

async function show() {
  mark();
  document.getElementById("desk").classList.toggle("flow-shown", on);
  const g = layer();
  if (!on) {
    g.replaceChildren();
    shown = -1;
    return;
  }
  if (shown === state.revision) return;
  const asked = state.revision;
  const response = await fetch(`${base}/flow.svg`).catch(() => null);
  if (!response?.ok || !on || asked !== state.revision) return;
  shown = asked;
  g.innerHTML = await response.text();
}

export function startCurrents() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button?.dataset.act === "flow") {
      on = !on;
      show();
    } else if (button?.dataset.act === "current") {
      on = true;
      show();
      setTracing(!tracing(), "current");
    } else if (button?.dataset.stroke) post("/currents", { remove: button.dataset.stroke });
  });
  document.getElementById("panel").addEventListener("input", (event) => {
    if (event.target.id === "spiral") document.querySelector('output[for="spiral"]').textContent = `${event.target.value}°`;
  });
  document.getElementById("panel").addEventListener("change", (event) => {
    const name = event.target.dataset?.current;
    if (!name) return;
    on = true;
    post("/currents", { [name]: name === "rings" ? (event.target.checked ? "1" : "0") : event.target.value });
  });
  document.addEventListener("desk:arrived", show);
}
