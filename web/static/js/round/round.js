// In the round: puts the turntable, its buttons and keys, and the list together.

import { onTold, showPiece, tell } from "./beside.js";
import { handle, Look, zoomAt } from "./look.js";
import { pieceAt, ready } from "./pick.js";
import { Stage } from "./stage.js";

const given = JSON.parse(document.getElementById("round-data").textContent);
const { base, plan, part, how } = given;
const page = document.getElementById("round");
const stand = document.getElementById("stand");
const wait = document.getElementById("wait");
const where = document.getElementById("where");
const EIGHT = ["front", "front outer", "outer", "back outer", "back", "back inner", "inner", "front inner"];
const look = new Look();
let stage, pieces = [], chosen = null, revision = given.revision, pose = how.pose;

/** The address of what is shown now; `still` asks for drawn views. */
function address(still = false) {
  const words = new URLSearchParams();
  if (side() !== "front") words.set("view", side());
  if (pose !== "relaxed" && !(still && pose !== "flexed")) words.set("pose", pose);
  if (stage?.mirror ?? how.mirror) words.set("mirror", "1");
  if (stage?.rings ?? how.rings) words.set("rings", "1");
  if (chosen ?? how.piece) words.set("piece", chosen ?? how.piece);
  if (still) words.set("still", "1");
  return `${base}${words.size ? `?${words}` : ""}`;
}

function side() {
  if (!stage?.data) return how.view;
  const turn = (look.u - stage.data.views.front) / (stage.data.views.outer > 0 ? 1 : -1);
  return EIGHT[((Math.round(turn * 8) % 8) + 8) % 8];
}

function goTo(view) {
  const i = EIGHT.indexOf(view);
  look.go({ u: i / 8 * (stage.data.views.outer > 0 ? 1 : -1), tilt: 0.14 });
}

function mirror(on) {
  stage.mirror = on;
  stand.classList.toggle("mirrored", on);
  press("mirror", on);
  stage.ask();
}

function rings(on) {
  stage.rings = on;
  press("rings", on);
  stage.ask();
}

/** What the colours of a pose mean, in words; nothing at rest. */
function stretch(on) {
  const { moved } = stage.data;
  stage.told = Boolean(moved && on);
  const place = document.getElementById("moved");
  place.hidden = !stage.told;
  const button = document.querySelector('[data-act="stretch"]');
  button.hidden = !moved || moved.only;
  press("stretch", stage.told);
  if (!stage.told) return;
  place.querySelector("b").textContent = moved.title;
  place.querySelector("ul").replaceChildren(...moved.key.map(([ink, says]) => {
    const row = document.createElement("li"), swatch = document.createElement("i");
    if (ink === "hatch") swatch.className = "hatch";
    else swatch.style.background = ink;
    row.append(swatch, says);
    return row;
  }));
  place.querySelector(".most").textContent = moved.most;
  place.querySelector(".model").textContent = moved.sentence;
}

/** One of the part's poses. */
async function strike(name) {
  pose = name;
  for (const link of page.querySelectorAll("[data-pose]")) {
    if (link.dataset.pose === name) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
  try {
    await fetchShape();
  } catch (error) {
    where.textContent = error.message;
  }
}

function press(act, on) {
  document.querySelector(`[data-act="${act}"]`).setAttribute("aria-pressed", String(on));
}

/** Choose a piece; `turn` goes round to the side that shows it best, `say` tells other windows. */
function choose(id, { turn = false, say = true } = {}) {
  const piece = pieces.find((p) => p.id === id) ?? null;
  chosen = piece?.id ?? "";
  stage.mark(piece);
  showPiece(piece);
  if (piece && turn) {
    const z = stage.grid.at(piece.u, piece.s)[2];
    look.go({ u: stage.data.views[piece.best], tilt: 0.14, across: 0, along: look.zoom > 1.05 ? z - stage.centre.z : look.along });
  }
  if (piece && say) tell({ plan, part, piece: piece.id });
  stage.ask();
}

const acts = {
  mirror: () => mirror(!stage.mirror),
  rings: () => rings(!stage.rings),
  stretch: () => stretch(!stage.told),
  whole: () => look.go({ zoom: 1, along: 0, across: 0, tilt: 0.14 }),
  larger: () => look.go({ zoom: look.zoom * 1.5 }),
  smaller: () => look.go({ zoom: look.zoom / 1.5 }),
};

function buttons() {
  page.addEventListener("click", (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    const to = event.target.closest("[data-view], [data-pose], [data-act], [data-piece]");
    if (!to) return;
    event.preventDefault();
    if (to.dataset.view) goTo(to.dataset.view);
    else if (to.dataset.pose) strike(to.dataset.pose);
    else if (to.dataset.act) acts[to.dataset.act]();
    else choose(to.dataset.piece, { turn: true });
  });
  for (const link of page.querySelectorAll('a[role="button"]')) {
    link.addEventListener("keydown", (event) => {
      if (event.key !== " ") return;
      event.preventDefault();
      link.click();
    });
  }
}

function keys() {
  const step = () => 0.5 / (16 * look.zoom);
  const map = {
    ArrowLeft: () => look.set({ u: look.u + step() * (stage.mirror ? -1 : 1) }),
    ArrowRight: () => look.set({ u: look.u - step() * (stage.mirror ? -1 : 1) }),
    ArrowUp: () => look.set(look.zoom > 1.05 ? { along: look.along + 40 / look.zoom } : { tilt: look.tilt + 0.05 }),
    ArrowDown: () => look.set(look.zoom > 1.05 ? { along: look.along - 40 / look.zoom } : { tilt: look.tilt - 0.05 }),
    "+": () => look.set({ zoom: look.zoom * 1.2 }), "=": () => look.set({ zoom: look.zoom * 1.2 }),
    "-": () => look.set({ zoom: look.zoom / 1.2 }), 0: acts.whole,
    1: () => goTo("front"), 2: () => goTo("outer"), 3: () => goTo("back"), 4: () => goTo("inner"),
    m: acts.mirror, l: acts.rings, Escape: () => choose(""),
  };
  stand.addEventListener("keydown", (event) => {
    const act = map[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  });
}

function words() {
  const name = side();
  const own = stage.data.words;
  const said = own ? name.split(" ").map((w) => own[w] ?? w).join(", ") : name;
  const text = own ? `${said[0].toUpperCase()}${said.slice(1)}${stage.mirror ? ", as in the mirror" : ""}` : `${name[0].toUpperCase()}${name.slice(1)}${/front|back/.test(name) ? "" : " side"}${stage.mirror ? ", as in the mirror" : ""}`;
  if (where.textContent !== text) where.textContent = text;
  for (const link of page.querySelectorAll("[data-view]")) {
    if (link.dataset.view === name) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
}

async function fetchShape() {
  const response = await fetch(`${base}/shape.json?${new URLSearchParams({ pose })}`);
  if (!response.ok) throw new Error("The part could not be read; load the page again.");
  const data = await response.json();
  pieces = ready(data.pieces);
  revision = data.revision;
  const told = stage.data?.pose === data.pose ? stage.told : null;
  await stage.put(data, base);
  stretch(told ?? data.moved?.only);
}

/** Follow what other windows do to the plan. */
function live() {
  let busy = false;
  const look1 = async () => {
    if (busy || document.hidden) return;
    busy = true;
    try {
      const data = await (await fetch(`/plans/${plan}/revision`)).json();
      if (data.revision !== undefined && data.revision !== revision) {
        await fetchShape();
        choose(chosen, { say: false });
      }
    } catch {
      // The server is away; the next look tells.
    } finally {
      busy = false;
    }
  };
  setInterval(look1, 2000);
  document.addEventListener("visibilitychange", look1);
}

async function start() {
  try {
    stage = new Stage(stand, document.getElementById("canvas"), document.getElementById("words"), look);
  } catch {
    location.replace(address(true));
    return;
  }
  document.getElementById("canvas").addEventListener("webglcontextlost", () => {
    const gone = setTimeout(() => location.replace(address(true)), 4000);
    document.getElementById("canvas").addEventListener("webglcontextrestored", () => clearTimeout(gone), { once: true });
  });
  look.tilt = 0.14;
  await fetchShape();
  look.set({ u: EIGHT.indexOf(how.view) / 8 * (stage.data.views.outer > 0 ? 1 : -1) });
  const at = (x, y) => {
    const us = stage.skinAt(x, y);
    return us && pieceAt(pieces, ...us);
  };
  let asked = 0;
  const hand = handle(stage, look, {
    radius: () => Math.max(stage.data.girth / 2 / Math.PI * 0.8, 24),
    tap: (x, y) => choose(at(x, y)?.id ?? ""),
    hover(x, y) {
      cancelAnimationFrame(asked);
      asked = requestAnimationFrame(() => stand.classList.toggle("over-piece", Boolean(at(x, y))));
    },
  });
  stand.addEventListener("dblclick", (event) => {
    if (look.zoom > 1.6) acts.whole();
    else zoomAt(stage, look, event.clientX, event.clientY, 3);
  });
  stage.rested = () => {
    if (hand.held()) return;
    words();
    history.replaceState(null, "", address());
  };
  buttons();
  keys();
  mirror(how.mirror);
  rings(how.rings);
  if (how.piece) choose(how.piece, { say: false });
  onTold(plan, part, (id) => choose(id, { turn: true, say: false }));
  words();
  wait.hidden = true;
  stand.dataset.ready = "1";
  live();
}

start().catch((error) => {
  wait.hidden = false;
  wait.textContent = error.message;
});
// What the checks and the benchmark look at.
export const shown = { look, get stage() { return stage; } };
