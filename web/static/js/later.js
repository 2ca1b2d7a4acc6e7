// What takes longer than an answer may comes after it: a node with data-later is filled from that
// address. data-of names what it is about; while that stays the same the old content stays in view.

import { state } from "./state.js";
import { base } from "./talk.js";

const CALM_MS = 60;
const known = new WeakMap();
let timer = 0;

async function fill(node) {
  const url = node.dataset.later;
  const had = known.get(node);
  if (had?.url === url) return;
  if (had?.of !== node.dataset.of) node.innerHTML = `<p class="note">${node.dataset.wait ?? ""}</p>`;
  known.set(node, { url, of: node.dataset.of });
  node.setAttribute("aria-busy", "true");
  let html = "";
  try {
    const response = await fetch(`${base}${url}`, { headers: { "HX-Request": "true" } });
    html = await response.text();
  } catch {
    html = '<p class="note">The server did not answer; check that it still runs.</p>';
  }
  if (known.get(node).url !== url || !node.isConnected) return;
  const open = new Set([...node.querySelectorAll("details[open]")].map((d) => d.id));
  const held = node.contains(document.activeElement) ? document.activeElement.id : "";
  node.innerHTML = html;
  for (const d of node.querySelectorAll("details")) d.open = d.open || open.has(d.id);
  if (held) document.getElementById(held)?.focus();
  node.removeAttribute("aria-busy");
  document.dispatchEvent(new CustomEvent("desk:filled", { detail: node }));
}

/** Fill what waits to be filled. */
export function fillLater() {
  for (const node of document.querySelectorAll("[data-later]")) fill(node);
}

/** Poses: the sentence of the pose that is looked at. */
function pose(event) {
  if (event.target.name !== "pose") return;
  state.pose = event.target.value;
  const words = document.getElementById("pose-words");
  if (words) words.textContent = `${event.target.dataset.words} The readings take the worst pose.`;
  document.dispatchEvent(new CustomEvent("desk:pose"));
}

export function startLater() {
  document.addEventListener("desk:arrived", () => {
    clearTimeout(timer);
    timer = setTimeout(fillLater, CALM_MS);
  });
  document.addEventListener("change", pose);
  if (!state.late) fillLater();
}
