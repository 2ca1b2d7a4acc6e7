// Bring in a picture: choose, drop, paste or photograph it, then see what becomes of it while it is set.

import { Drawn } from "./bring_draw.js";

const root = document.getElementById("bring");
const base = root.dataset.base;
const form = document.getElementById("wish");
const answer = document.getElementById("answer");
const notice = document.getElementById("notice");
const SOON_MS = 130;
const CALM_MS = 650;

function say(sentence) {
  notice.textContent = sentence ?? "";
  notice.hidden = !sentence;
}

// ---- a file comes in

const LOST = "The server did not answer; check that it still runs, then try again.";

async function post(path, body) {
  try {
    const response = await fetch(`${base}${path}`, { method: "POST", body, headers: { "HX-Request": "true" } });
    const text = await response.text();
    try {
      return JSON.parse(text);
    } catch {
      const holder = document.createElement("template");
      holder.innerHTML = text;
      return { sentence: holder.content.textContent.trim() || LOST };
    }
  } catch {
    return { sentence: LOST };
  }
}

let taking = false;

async function take(file) {
  if (!file || taking) return;
  taking = true;
  root.setAttribute("aria-busy", "true");
  say(`Reading ${file.name || "the picture"} …`);
  const body = new FormData();
  body.append("page", document.getElementById("pdf-page")?.value ?? "1");
  body.append("file", file, file.name || "pasted.png");
  const said = await post("", body);
  taking = false;
  root.removeAttribute("aria-busy");
  if (said.to && said.sentence) sessionStorage.setItem("said-on-arrival", said.sentence);
  if (said.to) location.assign(said.to);
  else say(said.sentence);
}

for (const id of ["file", "camera"]) {
  const input = document.getElementById(id);
  const chosen = () => {
    take(input.files[0]);
    input.value = "";
  };
  input?.addEventListener("change", chosen);
  if (input?.files.length) chosen(); // before this script was there
}
document.addEventListener("dragover", (event) => {
  if (!event.dataTransfer?.types.includes("Files")) return;
  event.preventDefault();
  root.classList.add("drop-here");
});
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) root.classList.remove("drop-here");
});
document.addEventListener("drop", (event) => {
  root.classList.remove("drop-here");
  if (!event.dataTransfer?.files.length) return;
  event.preventDefault();
  take(event.dataTransfer.files[0]);
});
document.addEventListener("paste", (event) => {
  const file = [...(event.clipboardData?.files ?? [])][0];
  if (!file) return;
  event.preventDefault();
  take(file);
});

// ---- what is set, and what comes of it

let drawn = null;
let running = false;
let wanted = null; // "quick" or "whole", while something else is under way
let soon = 0;
let calm = 0;

function values(whole) {
  const body = new FormData(form);
  body.set("drawn", JSON.stringify(drawn.shapes()));
  body.set("whole", whole ? "1" : "0");
  return body;
}

/** Ask at once for a quick look, and for the whole drawing when the hand rests. */
function changed() {
  clearTimeout(soon);
  clearTimeout(calm);
  soon = setTimeout(() => look("quick"), SOON_MS);
  calm = setTimeout(() => look("whole"), SOON_MS + CALM_MS);
}

async function look(how) {
  if (running) {
    wanted = how;
    return;
  }
  running = true;
  answer.setAttribute("aria-busy", "true");
  try {
    const body = values(how === "whole");
    if (lengthMissing()) body.set("size_by", "file"); // until it is typed
    const response = await fetch(`${base}/look`, { method: "POST", body, headers: { "HX-Request": "true" } });
    show(await response.text());
  } catch {
    say(LOST);
  }
  running = false;
  if (wanted) {
    const next = wanted;
    wanted = null;
    look(next);
  } else answer.removeAttribute("aria-busy");
}

function show(html) {
  const holder = document.createElement("template");
  holder.innerHTML = html;
  const into = (from, to) => {
    const found = holder.content.querySelector(from);
    if (found) document.getElementById(to).innerHTML = found.innerHTML;
    found?.remove();
  };
  const quick = holder.content.querySelector(".drawing")?.dataset.quick === "1";
  if (quick && document.querySelector("#said h3")) holder.content.querySelector("#said-new")?.remove();
  into("#said-new", "said");
  into("#tones-new", "tone-table");
  into("#size-new", "size-now");
  answer.replaceChildren(holder.content);
  const outline = answer.querySelector("[data-outline]")?.dataset.outline ?? "";
  for (const path of document.querySelectorAll("#found path")) path.setAttribute("d", outline);
}

/** What can be set follows from what is chosen. */
function settle() {
  const data = new FormData(form);
  const method = data.get("method");
  for (const node of form.querySelectorAll("[data-for]")) node.hidden = !node.dataset.for.split(" ").includes(method);
  for (const node of form.querySelectorAll("[data-if]")) node.hidden = !data.has(node.dataset.if);
  for (const node of form.querySelectorAll("[data-photo]")) node.hidden = data.get("inked") === "1";
  for (const node of form.querySelectorAll("[data-size]")) node.hidden = node.dataset.size !== data.get("size_by");
  for (const slider of form.querySelectorAll("input[type=range]")) word(slider);
  const typed = form.elements.scale_length.value.trim();
  drawn.said(data.get("size_by") !== "scale" ? null : typed && `${typed} ${form.dataset.unit}`);
}

/** Whether two points are set and nobody has said yet how far apart they are. */
const lengthMissing = () => form.elements.size_by.value === "scale" && !form.elements.scale_length.value.trim() && drawn.shapes().scale;

function word(slider) {
  const { unit, left, right } = slider.dataset;
  const v = Number(slider.value);
  let text = `${Math.round(v * 100)}%`;
  if (unit === "mm") text = v === 0 ? "none" : `${v.toFixed(2).replace(/0$/, "")} mm`;
  else if (v <= 0.02 && left) text = left;
  else if (v >= 0.98 && right) text = right;
  form.querySelector(`#o-${slider.name}`).value = text;
  slider.setAttribute("aria-valuetext", text);
}

async function save(place) {
  const body = values(true);
  body.set("place", place);
  for (const b of form.querySelectorAll("[data-save]")) b.disabled = true;
  say(place === "1" ? "Drawing it whole, then laying it on the sheet …" : "Drawing it whole, then onto the shelf …");
  const said = await post("/save", body);
  if (said.to) location.assign(said.to);
  else {
    for (const b of form.querySelectorAll("[data-save]")) b.disabled = false;
    say(said.sentence);
  }
}

/** On a narrow screen the picture and the drawing share one place. */
function turnTo(which) {
  root.classList.toggle("show-drawing", which === "drawing");
  for (const b of document.querySelectorAll("[data-show]")) b.setAttribute("aria-pressed", String(b.dataset.show === which));
}

if (form) {
  drawn = new Drawn(JSON.parse(document.getElementById("drawn").textContent), {
    changed: (kind) => {
      if (kind === "lasso") form.elements.method.value = "lasso";
      if (kind === "scale") form.elements.size_by.value = "scale";
      settle();
      if (lengthMissing()) return;
      changed();
    },
    begun: () => turnTo("picture"),
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  const set = (event) => {
    if (event.target.name === "title") return;
    if (event.target.name === "method" && event.target.value === "lasso") {
      if (form.elements.holes.value === "auto") form.elements.holes.value = "filled";
      if (!drawn.shapes().lasso.length) drawn.take("lasso");
    }
    settle();
    if (event.target.name === "method" && event.target.value === "lasso" && !drawn.shapes().lasso.length) return;
    if (event.target.name === "size_by" && event.target.value === "typed" && !form.elements.long.value) {
      form.elements.long.focus();
      return;
    }
    if (event.target.name === "size_by" && event.target.value === "scale" && !drawn.shapes().scale) {
      drawn.take("scale");
      return;
    }
    if (event.target.name === "size_by" && lengthMissing()) {
      form.elements.scale_length.focus();
      return;
    }
    changed();
  };
  document.addEventListener("input", (event) => {
    if (event.target.form === form && event.target.type === "range") set(event);
  });
  document.addEventListener("change", (event) => {
    if (event.target.form === form && event.target.type !== "range") set(event);
  });
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button?.dataset.tool) drawn.take(button.dataset.tool);
    if (button?.dataset.save) save(button.dataset.save);
  });
  document.querySelector(".views").addEventListener("click", (event) => {
    if (event.target.dataset.show) turnTo(event.target.dataset.show);
  });
  settle();
  look("quick").then(() => look("whole"));
}
