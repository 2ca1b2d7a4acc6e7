// A form that asks for its answer with each change also asks for what was changed before this page could hear it: on a
// slow start, or as the browser puts back what was ticked before it was loaded again.

function differs(control) {
  if (control.type === "checkbox" || control.type === "radio") return control.checked !== control.defaultChecked;
  if (control.tagName !== "SELECT") return control.type !== "hidden" && control.value !== control.defaultValue;
  const said = [...control.options].findIndex((option) => option.defaultSelected);
  return control.selectedIndex !== Math.max(said, 0);
}

function catchUp(form) {
  const changed = [...form.querySelectorAll("input, select, textarea")].find(differs);
  changed?.dispatchEvent(new Event("change", { bubbles: true }));
}

const ASKING = 'form[hx-trigger="change"]';
let heard = false;
document.addEventListener("htmx:after:init", (event) => {
  if (heard || !event.target.matches?.(ASKING)) return;
  heard = true;
  catchUp(event.target);
});
window.addEventListener("pageshow", () => heard && document.querySelectorAll(ASKING).forEach(catchUp));
