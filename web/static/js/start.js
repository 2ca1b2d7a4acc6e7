// A plan that has no measured part has no picture: its frame shows blank paper instead.

for (const img of document.querySelectorAll(".picture img")) {
  const blank = () => img.remove();
  if (img.complete && !img.naturalWidth) blank();
  else img.addEventListener("error", blank);
}
