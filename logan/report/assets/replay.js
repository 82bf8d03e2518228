"use strict";
const replay = document.getElementById("replay");
if (replay) {
  const [play, speed, again, clock, moment] = ["play", "speed", "again", "clock", "moment"].map((id) => document.getElementById(id));
  const seek = replay.elements.t, end = Number(replay.dataset.end);
  let t = Number(seek.value), last = performance.now(), asking = false;
  let playing = !matchMedia("(prefers-reduced-motion: reduce)").matches;
  const show = async () => {
    clock.textContent = `${t.toFixed(1)} of ${end.toFixed(1)} s`;
    if (asking) return;
    asking = true;
    try {
      const answer = await fetch(`${replay.dataset.at}?t=${t.toFixed(2)}`);
      if (answer.ok) moment.innerHTML = await answer.text();
    } catch { playing = false; } finally { asking = false; }
  };
  const told = () => { play.textContent = playing ? "Pause" : "Play"; };
  play.hidden = false;
  told();
  play.addEventListener("click", () => { playing = !playing; if (playing && t >= end) t = 0; told(); });
  seek.addEventListener("input", () => { t = Number(seek.value); show(); });
  replay.addEventListener("submit", (event) => event.preventDefault());
  setInterval(() => {
    const now = performance.now(), passed = (now - last) / 1000;
    last = now;
    if (!playing) return;
    t += passed * Number(speed.value);
    if (t >= end) { t = again.checked ? 0 : end; playing = again.checked; told(); }
    seek.value = t;
    show();
  }, 200);
}
