// Folds stay as the artist left them when the server's answer puts new ones in their place.

const left = new Map();

export function startFolds() {
  document.addEventListener("click", (event) => {
    const fold = event.target.closest("summary")?.parentElement;
    if (fold?.id) left.set(fold.id, !fold.open);
  });
  document.addEventListener("desk:arrived", () => {
    for (const [id, open] of left) {
      const fold = document.getElementById(id);
      if (fold) fold.open = open;
    }
  });
}
