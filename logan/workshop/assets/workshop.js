"use strict";
const bar = document.getElementById("progress");
if (bar) {
  const events = new EventSource(`/cases/${bar.dataset.case}/progress`);
  events.onmessage = (event) => {
    const told = JSON.parse(event.data);
    bar.value = told.share;
    document.getElementById("doing").textContent = told.doing;
    if (told.state === "done") { events.close(); location.assign(`/cases/${bar.dataset.case}/report`); }
    if (told.state === "failed") { events.close(); location.reload(); }
  };
}
const drop = document.querySelector(".drop");
if (drop) {
  const input = drop.querySelector("input");
  drop.addEventListener("dragover", (event) => event.preventDefault());
  drop.addEventListener("drop", (event) => { event.preventDefault(); input.files = event.dataTransfer.files; });
}
const again = document.querySelector("[data-again]");
if (again) setTimeout(() => location.reload(), 1000 * again.dataset.again);
const faults = [...document.querySelectorAll("option[data-engines]")];
if (faults.length) {
  const form = faults[0].closest("form"), engine = form.elements.engine, chosen = form.elements.fault;
  const offer = () => {
    for (const one of faults) one.hidden = one.disabled = !one.dataset.engines.split(" ").includes(engine.value);
    if (chosen.selectedOptions[0]?.disabled) chosen.value = "";
  };
  engine.addEventListener("change", offer);
  offer();
}
