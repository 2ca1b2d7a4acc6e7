// Quiet help for the hand: levels, sides and upright attract within a few pixels.

import { placed, turned } from "./geometry.js";
import { state } from "./state.js";
import { look } from "./table.js";

const PULL_PX = 7;
const PULL_DEG = 2.5;

/** The place drawn to a side or a level that is near; `guide` says to which. */
export function snapPlace(place) {
  if (!state.guides) return { place, guide: null };
  const sheet = state.sheet.of(place);
  const here = placed(sheet, place);
  const guide = place.part ? { part: place.part } : {};
  const out = { ...place };
  for (const side of sheet.sides) {
    const u = side.u + Math.round(place.u - side.u);
    const [x, y] = sheet.toFlat(u, place.s);
    if (Math.hypot(x - here.x, y - here.y) * look.z < PULL_PX) {
      out.u = u;
      guide.u = u;
    }
  }
  for (const level of sheet.levels) {
    if (Math.abs(level.s - place.s) * look.z < PULL_PX) {
      out.s = level.s;
      guide.s = level.s;
    }
  }
  return { place: out, guide: "u" in guide || "s" in guide ? guide : null };
}

/** A turn drawn to upright and to each 45 degrees. */
export function snapTurn(deg) {
  if (!state.guides) return deg;
  const near = Math.round(deg / 45) * 45;
  return Math.abs(deg - near) < PULL_DEG ? turned(near) : deg;
}
