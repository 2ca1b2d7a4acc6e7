// Which piece lies at a point of the skin: the front one whose outline holds it.

/** Boxes of the pieces' outlines, so that most need not be asked. */
export function ready(pieces) {
  return pieces.map((piece) => {
    const box = [Infinity, -Infinity, Infinity, -Infinity];
    for (const ring of piece.rings) {
      for (let i = 0; i < ring.length; i += 2) {
        box[0] = Math.min(box[0], ring[i]);
        box[1] = Math.max(box[1], ring[i]);
        box[2] = Math.min(box[2], ring[i + 1]);
        box[3] = Math.max(box[3], ring[i + 1]);
      }
    }
    return { ...piece, box };
  });
}

function holds(rings, u, s) {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
      if (ring[i + 1] > s !== ring[j + 1] > s
        && u < (ring[j] - ring[i]) * (s - ring[i + 1]) / (ring[j + 1] - ring[i + 1]) + ring[i]) inside = !inside;
    }
  }
  return inside;
}

/** The front piece at (u, s) or null; `pieces` lie back to front. */
export function pieceAt(pieces, u, s) {
  for (let n = pieces.length - 1; n >= 0; n--) {
    const { box, rings } = pieces[n];
    if (s < box[2] || s > box[3]) continue;
    for (let k = Math.ceil(box[0] - u); k <= Math.floor(box[1] - u); k++) {
      if (holds(rings, u + k, s)) return pieces[n];
    }
  }
  return null;
}
