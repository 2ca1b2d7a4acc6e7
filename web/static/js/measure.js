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

// What was asked before the form is sent must not take the place of what the sending answers.
form.addEventListener("htmx:before:request", () => {
  clearTimeout(timer);
  asked += 1;
});

// What was refused is looked at where it stands, not searched for.
form.addEventListener("htmx:after:swap", () => {
  if (document.getElementById("measure-notice").classList.contains("warn")) form.querySelector("[aria-invalid]")?.focus();
});

form.addEventListener("change", (event) => {
  clearTimeout(timer);
  if (event.target.name === "new_up" || event.target.name === "new_girth") {
    if (!form.elements.new_up.value || !form.elements.new_girth.value) return;
  }
  timer = setTimeout(look, 30);
});
