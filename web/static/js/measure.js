// While the tape is read: the arm is drawn again as it would unroll, and odd values are remarked on.

const form = document.getElementById("measure-form");
let timer = 0;
let asked = 0;

async function look() {
  const mine = (asked += 1);
  const values = Object.fromEntries(new FormData(form));
  const text = await fetch(`${form.getAttribute("action")}/look`, { method: "POST", body: new URLSearchParams(values),
    headers: { "HX-Request": "true" } }).then((response) => response.text()).catch(() => null);
  if (text === null) return;
  if (mine !== asked) return;
  await window.htmx.swap({ text, target: form, swap: "innerMorph", sourceElement: form });
}

form.addEventListener("change", (event) => {
  clearTimeout(timer);
  if (event.target.name === "new_up" || event.target.name === "new_girth") {
    if (!form.elements.new_up.value || !form.elements.new_girth.value) return;
  }
  timer = setTimeout(look, 30);
});
