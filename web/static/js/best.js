// Where a drawing sits best: asking, looking at a proposal on the sheet, taking one.

import { state } from "./state.js";
import { base, post } from "./talk.js";

const SVG = "http://www.w3.org/2000/svg";
const groups = new Map();
let looked = 0;
export const shelf = { best: false };

const asked = () => Boolean(state.goal?.startsWith("best:"));

/** Ask where a motif of the shelf, or a piece, sits best. What is asked goes with the request: an answer that is still on
 * its way to something else says goal, too. */
export async function askBest(kind, id) {
  const goal = `best:${kind}:${id}`;
  state.goal = goal;
  groups.clear();
  await post("/refresh", { goal });
  document.getElementById("right").scrollTop = 0;
}

function sizes() {
  const at = document.getElementById("best-size");
  const [low, high] = ["best-low", "best-high"].map((i) => document.getElementById(i).value.replaceAll(":", " ").trim());
  state.goal = low && high ? `${at.dataset.key}:${low}:${high}` : at.dataset.key;
  post("/refresh", { goal: state.goal });
}

function values(button) {
  return { for: state.goal, ...JSON.parse(button.dataset.best) };
}

/** Show a proposal over the sheet as it would lie; null takes it away. */
async function show(button) {
  const mine = (looked += 1);
  document.getElementById("piece-best")?.remove();
  if (!button) return;
  const url = `${base}/best/group?${new URLSearchParams(values(button))}`;
  if (!groups.has(url)) groups.set(url, fetch(url).then((r) => (r.ok ? r.text() : "")).catch(() => ""));
  const html = await groups.get(url);
  if (!html || mine !== looked) return;
  const holder = document.createElementNS(SVG, "g");
  holder.innerHTML = html;
  const g = holder.firstElementChild;
  g.classList.add("proposed");
  document.getElementById("pieces").append(g);
}

async function take(button) {
  const sent = values(button);
  show(null);
  state.goal = null;
  await post("/best/take", sent);
}

state.onSelect(() => {
  if (asked()) state.goal = null;
});

export function startBest() {
  const panel = document.getElementById("panel");
  document.addEventListener("click", (event) => {
    const offer = event.target.closest("[data-best]");
    const ask = event.target.closest("[data-ask-best]");
    if (offer) take(offer);
    else if (ask) askBest("piece", ask.dataset.askBest);
    else if (event.target.closest('[data-act="best-back"]')) {
      state.goal = null;
      show(null);
      post("/refresh");
    }
  });
  panel.addEventListener("change", (event) => {
    if (event.target.name === "tap-lays") shelf.best = event.target.value === "best";
    if (event.target.closest("#best-size")) sizes();
  });
  panel.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.closest("#best-size")) event.target.blur();
  });
  document.addEventListener("pointerover", (event) => {
    if (event.pointerType === "touch" || !asked()) return;
    const offer = event.target.closest?.("[data-best]");
    if (offer) show(offer);
    else if (document.getElementById("piece-best")) show(null);
  });
  document.addEventListener("focusin", (event) => {
    if (asked()) show(event.target.closest?.("[data-best]"));
  });
  document.addEventListener("desk:arrived", () => {
    if (!asked()) document.getElementById("piece-best")?.remove();
    for (const choice of panel.querySelectorAll('[name="tap-lays"]')) choice.checked = (choice.value === "best") === shelf.best;
  });
}
