// What lies over the sheet, one at a time: stretch, zones, what is seen; its key and its numbers.

import { state } from "./state.js";
import { el, look, onLook, toPx } from "./table.js";
import { base, say } from "./talk.js";

const svg = document.getElementById("tint");
const tags = document.getElementById("tags");
const legend = document.getElementById("legend");
const menu = document.getElementById("tint-what");
const choices = { stretch: "", zones: "", seen: "", tone: "" };
let what = "";
let shown = "";
let asked = 0;
let spans = [];

function follow() {
  for (const [span, t] of spans) {
    const [x, y] = toPx(t.x, -t.y);
    span.style.transform = `translate(${Math.round(x)}px, ${Math.round(y)}px)`;
    span.style.visibility = look.z < 0.45 ? "hidden" : "";
  }
}

function put(data) {
  svg.innerHTML = data.svg;
  tags.replaceChildren();
  spans = data.tags.map((t) => {
    const span = document.createElement("span");
    span.textContent = t.text;
    tags.append(span);
    return [span, t];
  });
  const held = legend.contains(document.activeElement) ? document.activeElement.id : "";
  legend.innerHTML = data.legend;
  legend.hidden = !data.legend;
  if (held) document.getElementById(held)?.focus();
  follow();
}

async function refresh() {
  const sel = state.selected.length === 1 ? state.selected[0] : "";
  const key = what ? [what, choices[what], what === "seen" ? sel : "", state.revision, state.sheetName].join("|") : "";
  if (key === shown) return;
  shown = key;
  const mine = (asked += 1);
  if (!what) {
    put({ svg: "", tags: [], legend: "" });
    return;
  }
  let data;
  try {
    const values = { what, choice: choices[what], sel, rev: state.revision };
    const response = await fetch(`${base}/tint?${new URLSearchParams(values)}`, { headers: { Accept: "application/json" } });
    data = await response.json();
  } catch {
    data = { svg: "", tags: [], legend: "", sentence: "The server did not answer; check that it still runs." };
  }
  if (mine !== asked) return;
  put(data);
  if (data.sentence) say(data.sentence);
}

function set(next, choice) {
  what = next;
  if (choice !== undefined) choices[what] = choice;
  menu.value = what;
  refresh();
}

export function startTint() {
  menu.addEventListener("change", () => set(menu.value));
  legend.addEventListener("change", (event) => {
    if (event.target.name === "tint-choice") set(what, event.target.value);
  });
  legend.addEventListener("click", (event) => {
    if (!event.target.closest('[data-act="tint-off"]')) return;
    set("");
    menu.focus();
  });
  document.addEventListener("desk:pose", () => set("stretch", state.pose));
  document.addEventListener("desk:arrived", refresh);
  state.onSelect(refresh);
  onLook(follow);
  if (menu.value) set(menu.value);
}
