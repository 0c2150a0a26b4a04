// There is always one blank row below: typing in the last one adds the next, filled in alike.

const body = document.querySelector(".room-rows tbody");
const KEPT = [".height_m", ".edge select", ".boards select", ".ceiling select", ".walls select"];

function nextRow(last) {
  const row = last.cloneNode(true);
  const name = last.querySelector("[name$='-version']").name;
  const number = Number(name.split("-")[1]);
  const from = `new-${number}`;
  const to = `new-${number + 1}`;
  for (const element of row.querySelectorAll("[name], [id], [for]")) {
    for (const attribute of ["name", "id", "for", "aria-describedby"]) {
      const value = element.getAttribute(attribute);
      if (value) element.setAttribute(attribute, value.replace(from, to));
    }
  }
  for (const list of row.querySelectorAll(".errorlist")) list.remove();
  for (const cell of row.querySelectorAll(".wrong")) cell.classList.remove("wrong");
  for (const cleared of row.querySelectorAll(".name input, .length_m input, .width_m input, .openings input, .order input")) cleared.value = "";
  for (const kept of KEPT) {
    const [there, here] = [row, last].map((one) => one.querySelector(kept.includes("select") ? kept : `${kept} input`));
    there.value = here.value;
  }
  row.querySelector("output").textContent = "";
  return row;
}

body?.addEventListener("input", (event) => {
  const row = event.target.closest("tr");
  if (row.classList.contains("new") && row === body.lastElementChild && event.target.value) {
    row.after(nextRow(row));
  }
});
