// Gaps and ties light up together on the sheet and in the lists; what is proposed shows on the sheet.

import { state } from "./state.js";
import { post } from "./talk.js";

const shown = document.getElementById("shown");

function light(key) {
  for (const node of document.querySelectorAll(".lit")) node.classList.remove("lit");
  if (!key) return;
  for (const node of document.querySelectorAll(`[data-light="${CSS.escape(key)}"]`)) node.classList.add("lit");
}

function markOpen() {
  for (const node of document.querySelectorAll("#overlay [data-goal]")) {
    node.classList.toggle("open", node.dataset.goal === state.goal);
  }
  for (const row of document.querySelectorAll("#lists [data-goal]")) {
    row.setAttribute("aria-pressed", String(row.dataset.goal === state.goal));
  }
}

/** Open a gap or a tie (or none) in the panel. */
export async function open(goal) {
  state.goal = goal;
  state.selected = [];
  markOpen();
  if (state.mode !== "tie-in") {
    location.href = `/plans/${document.getElementById("desk").dataset.plan}/tie-in/${state.part}?goal=${encodeURIComponent(goal)}`;
    return;
  }
  await post("/refresh");
}

/** Show art on the sheet that is only proposed. */
export function show(html) {
  shown.innerHTML = html ?? "";
}

export function startTies() {
  document.addEventListener("pointerover", (event) => {
    const node = event.target.closest?.("[data-light]");
    light(node?.dataset.light);
  });
  document.addEventListener("focusin", (event) => light(event.target.closest?.("[data-light]")?.dataset.light));
  document.addEventListener("click", (event) => {
    const row = event.target.closest("#lists [data-goal], #panel [data-goal]");
    if (row) open(row.dataset.goal);
    else if (event.target.closest('[data-act="leave"]')) open(null);
  });
  document.addEventListener("desk:goal", (event) => open(event.detail));
  document.addEventListener("desk:arrived", markOpen);
  markOpen();
}

