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
