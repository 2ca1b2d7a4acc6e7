// The list beside the turntable and what it says of the chosen piece; and word to other windows.

const channel = "BroadcastChannel" in window ? new BroadcastChannel("sleevewright") : null;

/** Tell other windows of this browser, and the one that opened this, which piece was chosen. */
export function tell(message) {
  channel?.postMessage(message);
  window.opener?.postMessage({ sleevewright: message }, location.origin);
}

/** Listen for a piece chosen in another window of the same plan and part. */
export function onTold(plan, part, choose) {
  channel?.addEventListener("message", (event) => {
    const m = event.data ?? {};
    if (m.plan === plan && m.part === part && typeof m.piece === "string") choose(m.piece);
  });
}

/** Show the piece (or nothing) beside the turntable. */
export function showPiece(piece) {
  const place = document.getElementById("chosen");
  for (const row of document.querySelectorAll("[data-piece]")) {
    if (row.dataset.piece === piece?.id) row.setAttribute("aria-current", "true");
    else row.removeAttribute("aria-current");
  }
  if (!piece) return place.replaceChildren();
  const form = document.getElementById("chosen-form").content.cloneNode(true);
  form.querySelector(".piece-title").textContent = piece.title;
  form.querySelector(".piece-state").textContent = piece.filler ? "background" : piece.state;
  for (const row of form.querySelectorAll("[data-side]")) {
    const share = Math.round(piece.seen[row.dataset.side] * 100);
    row.classList.toggle("best", row.dataset.side === piece.best);
    row.querySelector(".share").style.width = `${share}%`;
    row.querySelector(".number").textContent = `${share} %`;
  }
  const link = form.querySelector("[data-to]");
  link.href = link.getAttribute("href").replace(/sel=[^&]*/, `sel=${encodeURIComponent(piece.id)}`);
  place.replaceChildren(form);
  document.querySelector(`[data-piece="${CSS.escape(piece.id)}"]`)?.scrollIntoView({ block: "nearest" });
}
