// Gaps and ties light up together on the sheet and in the lists; what is proposed shows on the sheet.

import { state } from "./state.js";
import { startCurrents } from "./currents.js";
import { startShade } from "./shade.js";
import { setTracing, tracing } from "./trace.js";
import { base, onAnswer, post, say } from "./talk.js";

const SVG = "http://www.w3.org/2000/svg";
const panel = document.getElementById("panel");
const groups = new Map();
const seeds = new Map();
const refused = new Map();
let filled = "";
let chosen = null;
let wanted = 0;

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
async function open(goal) {
  if (state.mode !== "tie-in") {
    const { plan } = document.getElementById("desk").dataset;
    location.href = `/plans/${plan}/tie-in/${state.part}?goal=${encodeURIComponent(goal)}`;
    return;
  }
  state.goal = goal;
  state.selected = [];
  if (goal) {
    document.getElementById("desk").classList.add("gaps-shown");
    document.querySelector('[data-act="gaps"]').setAttribute("aria-pressed", "true");
  }
  seeds.clear();
  markOpen();
  if (goal) document.dispatchEvent(new CustomEvent("desk:told"));
  await post("/refresh", { goal: goal ?? "" });
  document.getElementById("right").scrollTop = 0;
}

/** What is wished, as the sliders stand. */
function wishes(root) {
  return Object.fromEntries([...root.querySelectorAll("input[type=range][name]")].map((i) => [i.name, i.value]));
}

function asking(kind) {
  return { for: state.goal ?? "", kind, seed: String(seeds.get(kind) ?? 1), ...wishes(document.getElementById("wishes")) };
}

async function text(path, values) {
  try {
    const response = await fetch(`${base}${path}`, { method: "POST", body: new URLSearchParams(values),
      headers: { "HX-Request": "true" } });
    return { ok: response.ok, body: await response.text() };
  } catch {
    return { ok: false, body: '<p class="note">The server did not answer; check that it still runs.</p>' };
  }
}

/** Ask for one kind's pictures. */
async function fill(kind) {
  const target = document.getElementById(`picks-${kind}`);
  if (!target) return;
  const values = asking(kind);
  target.dataset.asked = JSON.stringify(values);
  target.classList.add("waiting");
  const mine = target.dataset.asked;
  const { body } = await text("/candidates", values);
  const now = document.getElementById(`picks-${kind}`);
  if (!now || now.dataset.asked !== mine) return;
  now.innerHTML = body;
  now.classList.remove("waiting");
  if (now.querySelector(".picks.sketched")) finish(now, values, mine);
}

/** What was sketched is drawn meanwhile, and takes its place when it is there. */
async function finish(target, values, asked) {
  const { ok, body } = await text("/candidates", { ...values, finished: "1" });
  if (!ok || !target.isConnected || target.dataset.asked !== asked) return;
  const mine = target.contains(chosen) ? chosen.dataset.candidate : null;
  const focused = target.contains(document.activeElement) ? document.activeElement.dataset.candidate : null;
  const find = (index) => target.querySelector(`.pick[data-candidate="${index}"]`);
  await window.htmx.swap({ text: body, target, swap: "innerHTML", sourceElement: target });
  for (const index of refused.get(asked) ?? []) find(index)?.closest("li").remove();
  if (focused !== null) find(focused)?.focus();
  if (mine !== null) choose(find(mine));
}

/** Fill the panel's pictures when it shows a gap, a tie or a plan that it did not show before. */
async function fillAll(again = false) {
  const goal = document.getElementById("goal");
  const name = goal ? `${state.goal} ${state.revision}` : "";
  if (!again && name === filled) return;
  if (name !== filled) groups.clear();
  filled = name;
  choose(null);
  if (!goal) return;
  for (const section of panel.querySelectorAll(".kind")) {
    await fill(section.dataset.kind);
    if (filled !== name) return;
  }
}

async function group(kind, index, finished) {
  const values = { ...asking(kind), index, finished };
  const key = JSON.stringify(values);
  if (!groups.has(key)) groups.set(key, text("/candidate", values));
  const { ok, body } = await groups.get(key);
  return ok ? body : null;
}

/** Show a candidate on the sheet, behind the pieces as it would lie; null takes it away. */
async function show(button) {
  const mine = (wanted += 1);
  document.getElementById("piece-proposed")?.remove();
  if (!button) return;
  const { kind, finished } = button.closest("[data-kind]").dataset;
  const html = await group(kind, button.dataset.candidate, finished ?? "");
  if (!html || mine !== wanted) return;
  const holder = document.createElementNS(SVG, "g");
  holder.innerHTML = html;
  const g = holder.firstElementChild;
  g.classList.add("proposed");
  const pieces = document.getElementById("pieces");
  document.getElementById("piece-proposed")?.remove();
  pieces.insertBefore(g, pieces.querySelector(":scope > .piece:not(.filler)"));
}

function choose(button) {
  chosen = button;
  for (const b of panel.querySelectorAll(".pick")) b.setAttribute("aria-pressed", String(b === button));
  const bar = document.getElementById("choose");
  if (bar) bar.hidden = !button;
  show(button);
}

function more(kind) {
  seeds.set(kind, (seeds.get(kind) ?? 1) + 1);
  choose(null);
  fill(kind);
}

function refuse() {
  if (!chosen) return;
  const { kind } = chosen.closest("[data-kind]").dataset;
  const list = chosen.closest("ul");
  const { asked } = list.parentElement.dataset;
  refused.set(asked, [...(refused.get(asked) ?? []), chosen.dataset.candidate]);
  chosen.closest("li").remove();
  choose(null);
  if (!list.children.length) more(kind);
  else list.querySelector("button").focus();
}

async function accept() {
  if (!chosen) return;
  const { kind } = chosen.closest("[data-kind]").dataset;
  const values = { ...asking(kind), index: chosen.dataset.candidate };
  state.goal = null;
  await post("/accept", values);
  show(null);
}

function sayValue(input) {
  const v = Number(input.value);
  if (!(input.dataset.unit in { mm: 1, share: 1, times: 1 })) return;
  const words = { mm: `${v} mm`, share: `${Math.round(v * 100)}%`, times: `× ${v.toFixed(2)}` };
  input.parentElement.querySelector(`output[for="${input.id}"]`).textContent = words[input.dataset.unit];
}

/** What a filler is to be drawn anew with. */
function remakeValues(form) {
  return { id: form.dataset.id, way: form.querySelector("select")?.value ?? "", ...wishes(form) };
}

async function finished() {
  const mark = document.querySelector("#whole-state[data-finished]");
  if (!mark) return;
  const sentence = mark.textContent.trim();
  const kept = mark.dataset.finished === "kept";
  delete mark.dataset.finished;
  if (kept) await post("/refresh");
  say(sentence);
}

function clicked(event) {
  const row = event.target.closest("#lists [data-goal], #panel [data-goal]");
  const pick = event.target.closest(".pick");
  const act = event.target.closest("[data-act]")?.dataset.act;
  const another = event.target.closest("[data-more]");
  const remake = event.target.closest("[data-remake]");
  const { take, drop, must, key, fix, keep, id } =
    event.target.closest("[data-take], [data-drop], [data-must], [data-fix], [data-keep]")?.dataset ?? {};
  if (row) open(row.dataset.goal);
  else if (pick) choose(chosen === pick ? null : pick);
  else if (another) more(another.dataset.more);
  else if (act === "brush") setTracing(!tracing(), "brush");
  else if (act === "leave") open(null);
  else if (act === "accept") accept();
  else if (act === "refuse") refuse();
  else if (take) post("/take", { option: take });
  else if (drop) post("/drop", { option: drop });
  else if (must) post("/must", { for: key, on: must });
  else if (keep) post("/keep", { id, on: keep });
  else if (act === "keep") setTracing(!tracing(), "keep", { id: event.target.closest("button").dataset.id });
  else if (fix) post("/fix", { id, on: fix });
  else if (act === "ground") setTracing(!tracing(), "ground", remakeValues(event.target.closest("form")));
  else if (remake) {
    post("/remake", { ...remakeValues(remake.closest("form")), another: remake.dataset.remake });
  }
}

export function startTies() {
  document.addEventListener("pointerover", (event) => {
    light(event.target.closest?.("[data-light]")?.dataset.light);
    if (event.pointerType === "touch") return;
    const pick = event.target.closest?.(".pick");
    if (pick) show(pick);
    else if (event.target.closest?.("#panel") || event.target.closest?.("#table")) {
      if (document.getElementById("piece-proposed") || wanted) show(chosen);
    }
  });
  document.addEventListener("focusin", (event) => {
    light(event.target.closest?.("[data-light]")?.dataset.light);
    if (event.target.matches?.(".pick:focus-visible")) show(event.target);
  });
  document.addEventListener("click", clicked);
  panel.addEventListener("input", (event) => {
    if (event.target.type === "range") sayValue(event.target);
  });
  panel.addEventListener("change", (event) => {
    if (event.target.type === "range" && event.target.closest("#wishes")) fillAll(true);
  });
  document.addEventListener("desk:goal", (event) => open(event.detail));
  document.addEventListener("desk:arrived", () => {
    markOpen();
    fillAll();
  });
  startCurrents();
  startShade();
  onAnswer(finished);
  markOpen();
  fillAll();
}

