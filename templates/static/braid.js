"use strict";
const player = document.getElementById("player");
if (player) {
  const steps = [...player.querySelectorAll(".step")];
  const address = new URLSearchParams(location.search);
  let at = Number(player.dataset.at);
  const show = (n, push) => {
    at = Math.min(Math.max(n, 1), steps.length);
    steps.forEach((s, k) => { s.hidden = k + 1 !== at; });
    document.getElementById("where").textContent = "Step " + at + " of " + steps.length;
    document.getElementById("back").disabled = at === 1;
    document.getElementById("next").disabled = at === steps.length;
    if (push) {
      // The address keeps the place, so that a reload shows the same step.
      address.set("step", String(at));
      history.replaceState(null, "", "/braid?" + address);
    }
  };
  document.getElementById("back").addEventListener("click", () => show(at - 1, true));
  document.getElementById("next").addEventListener("click", () => show(at + 1, true));
  document.addEventListener("keydown", (e) => {
    if (e.target.closest("select, input, textarea")) return;
    if (e.key === "ArrowRight" || e.key === "PageDown") show(at + 1, true);
    else if (e.key === "ArrowLeft" || e.key === "PageUp") show(at - 1, true);
    else if (e.key === "Home") show(1, true);
    else if (e.key === "End") show(steps.length, true);
    else return;
    e.preventDefault();
  });
  show(at, false);
}
for (const s of document.querySelectorAll(".choose select")) s.addEventListener("change", () => s.form.requestSubmit());
