// A line drawn by hand on the sheet, with pen, finger or mouse: the outline of a healed piece, or a stroke of the
// brush where background is wanted.

import { state } from "./state.js";
import { onLook, toPx } from "./table.js";
import { post, say } from "./talk.js";

const line = document.getElementById("trace-line");
const HOW = {
  trace: "Go once round the healed piece and lift where you began.",
  current: "Draw the way that background is to run.",
  ground: "Paint over the skin that it is to fill.",
  shade: "Draw how far shading is to go, across the skin.",
  keep: "Paint over what no cut may go through.",
  brush: "Paint over the skin that is to be filled, behind pieces too.",
};
let on = false;
let tool = "trace";
let points = [];
let values = {};
let drawing = false;

export function tracing() {
  return on;
}

/** Begin or end drawing a line; `what` is one of HOW, `more` goes with what is sent. */
export function setTracing(yes, what = "trace", more = {}) {
  on = yes;
  tool = what;
  values = more;
  drawing = false;
  points = [];
  draw();
  document.body.classList.toggle("tracing", on);
  markButtons();
  if (on) {
    if (tool !== "ground" && tool !== "keep") state.select([]);
    say(HOW[tool], { act: "leave-line", words: "Leave it", title: "Or press Escape" });
  } else say("");
  document.dispatchEvent(new CustomEvent("desk:drawing", { detail: on }));
}

function markButtons() {
  for (const name of Object.keys(HOW)) {
    for (const b of document.querySelectorAll(`[data-act="${name}"]`)) {
      b.setAttribute("aria-pressed", String(on && tool === name));
    }
  }
}

export function traceDown(at) {
  points = [at];
  drawing = true;
}

export function traceMove(at) {
  if (!drawing) return;
  const last = points[points.length - 1];
  if (Math.hypot(at[0] - last[0], at[1] - last[1]) < 0.4) return;
  points.push(at);
  draw();
}

/** Width of the brush, mm. */
function width() {
  return tool === "keep" ? 16 : Number(document.getElementById("brush-width")?.value ?? 26);
}

export async function traceUp() {
  if (!drawing) return;
  drawing = false;
  const sent = JSON.stringify(points.map(([x, y]) => [Math.round(x * 100) / 100, Math.round(y * 100) / 100]));
  const onPiece = { ground: "/remake", keep: "/keep" }[tool];
  if (onPiece) await post(onPiece, { ...values, stroke: sent, width: String(width()) });
  else if (tool === "brush") await post("/brush", { stroke: sent, width: String(width()) });
  else if (tool === "current") await post("/currents", { stroke: sent });
  else if (tool === "shade") await post("/shade", { stroke: sent });
  else await post("/trace", { ring: sent });
  const taken = tool === "brush" ? state.goal?.startsWith("brush:") : state.selected.length;
  if (onPiece || tool === "shade") setTracing(false);
  else if (!taken || tool === "current") points = [];
  else if (tool === "trace") setTracing(false);
  else {
    on = false;
    document.body.classList.remove("tracing");
  }
  draw();
}

function draw() {
  const px = points.map((p) => toPx(...p).map((v) => v.toFixed(1)).join(" "));
  const wide = ["brush", "ground", "keep"].includes(tool);
  if (wide && px.length === 1) px.push(px[0]);
  line.setAttribute("d", px.length > 1 ? `M${px.join("L")}` : "");
  line.classList.toggle("brush", wide);
  line.classList.toggle("current", tool === "current" || tool === "shade");
  const [a, b] = [toPx(0, 0), toPx(1, 0)];
  line.style.strokeWidth = wide ? `${(b[0] - a[0]) * width()}px` : "";
}

onLook(draw);
document.addEventListener("desk:arrived", () => {
  if (!on && points.length && !state.goal?.startsWith("brush:")) {
    points = [];
    draw();
  }
  markButtons();
});
