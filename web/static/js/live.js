// Other windows on the same plan: ask for the revision now and then, and show what changed there.

import { inHand } from "./gestures.js";
import { state } from "./state.js";
import { post, quiet, say } from "./talk.js";

const EVERY_MS = 1500;
const plan = document.getElementById("desk")?.dataset.plan;
const channel = "BroadcastChannel" in window ? new BroadcastChannel(`plan-${plan}`) : null;
let gone = false;
let busy = false;

async function look() {
  if (busy || gone || document.hidden || inHand() || !quiet()) return;
  busy = true;
  try {
    const response = await fetch(`/plans/${plan}/revision`, { headers: { Accept: "application/json" } });
    const data = await response.json();
    if (data.gone) {
      gone = true;
      say(data.gone);
    } else if (data.revision !== state.revision && quiet() && !inHand()) {
      await post("/refresh");
    }
  } catch {
    // The server is away; the next act says so.
  } finally {
    busy = false;
  }
}

/** Tell the other windows of this browser at once. */
export function tell() {
  channel?.postMessage(state.revision);
}

export function startLive() {
  setInterval(look, EVERY_MS);
  document.addEventListener("visibilitychange", look);
  channel?.addEventListener("message", (event) => {
    if (event.data !== state.revision) look();
  });
}
