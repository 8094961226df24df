// A number by taps: the likeliest one fills the field, large steps move it, and nothing is noted before `Note`.
// Without this file the number is typed, as it can be with it.

document.documentElement.classList.add("stepping");

const field_of = (button) => button.closest("form").querySelector("[data-by]");

function fill(field, number) {
  field.value = String(Math.round(Math.max(0, number) * 10) / 10);
  if (!field.form.querySelector(".nudges")) field.form.append(steps_for(field));
}

function steps_for(field) {
  const group = document.createElement("div"), by = field.dataset.by.split(" ");
  group.className = "nudges";
  group.setAttribute("role", "group");
  group.setAttribute("aria-label", `± ${field.getAttribute("aria-label")}`);
  group.style.setProperty("--across", by.length);
  group.append(...by.map((n) => step(`−${n}`, -n)), ...by.map((n) => step(`+${n}`, +n)));
  return group;
}

function step(label, by) {
  const button = document.createElement("button");
  Object.assign(button, { type: "button", className: "quiet", textContent: label });
  button.dataset.step = by;
  return button;
}

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-likely], [data-step]");
  if (!button) return;
  const field = field_of(button), now = Number(field.value.replace(",", ".")) || 0;
  fill(field, button.dataset.likely ? Number(button.dataset.likely) : now + Number(button.dataset.step));
  if (button.dataset.likely) field.form.querySelector(".nudges button").focus({ preventScroll: true });
});

document.addEventListener("reset", (event) => event.target.querySelector(".nudges")?.remove());
