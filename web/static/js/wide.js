// The wide drawer: what needs more room than the panel (the whole part, tables, the sleeve's edges).

import { state } from "./state.js";
import { base, post } from "./talk.js";

const drawer = document.getElementById("wide");
const body = document.getElementById("wide-body");
const told = document.getElementById("wide-told");
let open = null;
let asked = 0;

async function fill() {
  const mine = (asked += 1);
  let html = "";
  try {
    const glue = open.includes("?") ? "&" : "?";
    const response = await fetch(`${base}/${open}${glue}rev=${state.revision}`, { headers: { "HX-Request": "true" } });
    html = await response.text();
  } catch {
    html = '<p class="warn">The server did not answer; check that it still runs.</p>';
  }
  if (mine !== asked || !open) return;
  const opened = new Set([...body.querySelectorAll("details[open]")].map((d) => d.id));
  const held = body.contains(document.activeElement) ? document.activeElement.id : "";
  const top = drawer.scrollTop;
  body.innerHTML = html;
  for (const d of body.querySelectorAll("details")) d.open = d.open || opened.has(d.id);
  if (held) document.getElementById(held)?.focus();
  drawer.scrollTop = top;
  body.removeAttribute("aria-busy");
}

/** Open the drawer on an address below the desk's. */
export async function openWide(name) {
  open = name;
  body.innerHTML = '<h2 id="wide-title">One moment …</h2>';
  body.setAttribute("aria-busy", "true");
  told.hidden = true;
  if (!drawer.open) drawer.showModal();
  drawer.scrollTop = 0;
  await fill();
}

export function shutWide() {
  drawer.close();
}

async function send(path, values) {
  await post(path, values);
  const notice = document.getElementById("notice");
  told.textContent = notice?.hidden ? "" : notice?.textContent ?? "";
  told.hidden = !told.textContent;
  if (told.textContent) fill();
}

export function startWide() {
  document.addEventListener("click", (event) => {
    const opener = event.target.closest("[data-wide]");
    const pick = event.target.closest("[data-wide-pick]");
    if (opener) openWide(opener.dataset.wide);
    else if (pick) {
      shutWide();
      document.dispatchEvent(new CustomEvent("desk:pick", { detail: pick.dataset.widePick }));
    } else if (event.target.closest("[data-wide-shut]") || event.target === drawer) shutWide();
    const step = event.target.closest("#wide [data-wide-step]");
    if (step) send("/step", { step: step.dataset.wideStep });
  });
  drawer.addEventListener("close", () => {
    // The browser tells of the closing a little later; by then the drawer may have been opened again.
    if (!drawer.open) open = null;
  });
  drawer.addEventListener("change", (event) => {
    const d = event.target.dataset;
    if (d.limit) send("/threshold", { name: d.limit, value: event.target.value });
    else if (d.wideSend) send(d.wideSend, { name: event.target.name, value: event.target.value });
  });
  drawer.addEventListener("keydown", (event) => {
    event.stopPropagation();
    if (event.key === "Enter" && event.target.matches("input")) event.target.blur();
  });
  document.addEventListener("desk:arrived", () => {
    if (open) fill();
  });
}
