// Everything that is said to the server goes through htmx, with what this window shows.

import { state } from "./state.js";

const root = document.getElementById("desk");
export const base = root?.dataset.base ?? "";
let waiting = 0;
const listeners = new Set();

/** Called after each answer of the server has been put in. */
export function onAnswer(fn) {
  listeners.add(fn);
}

document.addEventListener("htmx:config:request", (event) => {
  const { request } = event.detail.ctx;
  if (!root || !request.action.startsWith(base)) return;
  const body = request.body;
  body.set("sel", state.selected.join(" "));
  body.set("mode", state.mode);
  if (!body.has("goal")) body.set("goal", state.goal ?? "");
  body.set("gaps", root.classList.contains("gaps-shown") ? "1" : "0");
  body.set("rev", String(state.revision));
  if (request.method !== "GET") body.set("have", JSON.stringify(state.have()));
});

document.addEventListener("htmx:before:request", () => busy(1));
document.addEventListener("htmx:finally:request", () => busy(-1));
document.addEventListener("htmx:after:swap", (event) => {
  for (const fn of listeners) fn(event.detail.ctx);
});
document.addEventListener("htmx:error", () => {
  say("The server did not answer. Nothing was lost that was saved; check that it still runs, then try again.");
});

function busy(by) {
  waiting = Math.max(0, waiting + by);
  document.body.classList.toggle("waiting", waiting > 0);
}

/** A sentence in the quiet notice line; `way` is a button behind it: what it does, its words, its title. */
export function say(sentence, way = null) {
  const line = document.getElementById("notice");
  if (!line) return;
  line.textContent = sentence;
  line.hidden = !sentence;
  if (!way) return;
  const button = document.createElement("button");
  button.dataset.act = way.act;
  button.textContent = way.words;
  button.title = way.title;
  line.append(button);
}

/** Say what the page before this one left to be said here. */
export function sayOnArrival() {
  const left = sessionStorage.getItem("said-on-arrival");
  if (!left) return;
  sessionStorage.removeItem("said-on-arrival");
  say(left);
}

let last = Promise.resolve();
let queued = 0;

/** Whether nothing is on its way. */
export function quiet() {
  return queued === 0;
}

/**
 * POST to the desk; values are plain strings or numbers. One at a time, in order. Resolves when
 * the answer is in place.
 */
export function post(path, values = {}) {
  queued += 1;
  const run = () => window.htmx.ajax("POST", `${base}${path}`, { source: root, target: root, swap: "none", values });
  const mine = last.then(run).catch((error) => {
    console.error(error);
    say("That could not be sent. Load the page again, then repeat the last step.");
  }).finally(() => {
    queued -= 1;
  });
  last = mine;
  return mine;
}

/**
 * Make a change whose picture is waited for: it comes first, by itself; gaps, lists and panel follow, unless
 * something that brings them waits already. Resolves when the picture is in place.
 */
export async function stepSoon(change) {
  await post("/step", { step: JSON.stringify(change), soon: "1" });
  if (state.soon && !queued) post("/refresh"); // a refusal is answered whole
}

/** Make one change to the plan. */
export function step(change, values = {}) {
  return post("/step", { step: JSON.stringify(change), ...values });
}
