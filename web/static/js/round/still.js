// Drawn views need no scripts; arrow keys are all that is added.

document.addEventListener("keydown", (event) => {
  const id = { ArrowLeft: "leftwards", ArrowRight: "rightwards" }[event.key];
  if (!id || event.altKey || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  document.getElementById(id).click();
});
