"use strict";
// The drawing: larger and smaller, along it, and what a spot has to say.  The server draws for the width there is;
// here only the part that is looked at changes.
const stage = document.getElementById("strap");
const MOST = 12;
const CARD = 85.6; // mm: width of an ID-1 card (ISO/IEC 7810)
const look = { k: 1, x: 0, y: 0 };
let real = false; // shown at its true size
let drawnFor = 0;
const hint = document.getElementById("spot").textContent;

function picture() { return stage.querySelector("svg.strap"); }

function whole() { return { w: parseFloat(picture().getAttribute("width")), h: parseFloat(picture().getAttribute("height")) }; }

function show() {
  const svg = picture();
  if (!svg) return;
  const { w, h } = whole();
  look.k = Math.min(MOST, Math.max(1, look.k));
  const vw = w / look.k, vh = h / look.k;
  look.x = Math.min(w - vw, Math.max(0, look.x));
  look.y = Math.min(h - vh, Math.max(0, look.y));
  svg.setAttribute("viewBox", [look.x, look.y, vw, vh].map((v) => v.toFixed(2)).join(" "));
  stage.toggleAttribute("data-zoomed", look.k > 1);
}

// Zoom by a factor about a point of the picture's box (shares of its width and height).
function zoomBy(f, px = 0.5, py = 0.5) {
  const { w, h } = whole();
  const k = Math.min(MOST, Math.max(1, look.k * f));
  look.x += px * (w / look.k - w / k);
  look.y += py * (h / look.k - h / k);
  look.k = k;
  show();
}

function moveBy(dx, dy) {
  if (look.k > 1) {
    look.x += dx / look.k;
    look.y += dy / look.k;
    show();
  } else stage.scrollLeft += dx;
}

function reset() { look.k = 1; look.x = look.y = 0; show(); }

function share(e) {
  const box = picture().getBoundingClientRect();
  return [(e.clientX - box.left) / box.width, (e.clientY - box.top) / box.height];
}

stage.addEventListener("wheel", (e) => {
  // The wheel stays the page's own unless the drawing is meant: pinched, focused, larger already, or the page is at its top.
  const mine = e.ctrlKey || look.k > 1 || stage.contains(document.activeElement) || (e.deltaY < 0 && window.scrollY <= 0);
  if (!picture() || !mine || (look.k === 1 && e.deltaY > 0)) return;
  e.preventDefault();
  zoomBy(Math.exp(-e.deltaY * (e.ctrlKey ? 0.01 : 0.002)), ...share(e));
}, { passive: false });

const fingers = new Map();
let apart = 0;
stage.addEventListener("pointerdown", (e) => {
  fingers.set(e.pointerId, e);
  if (fingers.size === 2) apart = distance();
});
function distance() {
  const [a, b] = [...fingers.values()];
  return Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
}
window.addEventListener("pointermove", (e) => {
  const before = fingers.get(e.pointerId);
  if (!before || !picture()) return;
  fingers.set(e.pointerId, e);
  if (fingers.size === 2) {
    const now = distance();
    const [a, b] = [...fingers.values()];
    zoomBy(now / apart, ...share({ clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 }));
    apart = now;
  } else if (look.k > 1) moveBy(before.clientX - e.clientX, before.clientY - e.clientY);
});
for (const end of ["pointerup", "pointercancel"]) window.addEventListener(end, (e) => fingers.delete(e.pointerId));
stage.addEventListener("touchmove", (e) => { if (e.touches.length > 1) e.preventDefault(); }, { passive: false });

stage.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.metaKey || e.altKey || !picture()) return;
  const step = { ArrowLeft: [-40, 0], ArrowRight: [40, 0], ArrowUp: [0, -30], ArrowDown: [0, 30] }[e.key];
  if (e.key === "+" || e.key === "=") zoomBy(1.25);
  else if (e.key === "-") zoomBy(0.8);
  else if (e.key === "0") reset();
  else if (step && e.target.closest(".spot")) next(e.target.closest(".spot"), step[0] + step[1] > 0 ? 1 : -1);
  else if (step && (look.k > 1 || (real && step[0]))) moveBy(...step);
  else return;
  e.preventDefault();
});

// -- spots ------------------------------------------------------------------

function spots() { return [...stage.querySelectorAll(".spot")].sort((a, b) => at(a) - at(b)); }
function at(s) {
  const box = s.querySelector(".hit");
  return parseFloat(box.getAttribute("x")) + parseFloat(box.getAttribute("y")) / 1000;
}

function next(from, by) {
  const all = spots();
  const to = all[Math.min(all.length - 1, Math.max(0, all.indexOf(from) + by))];
  for (const s of all) s.setAttribute("tabindex", s === to ? "0" : "-1");
  to.focus();
}

function answer(spot) {
  for (const s of stage.querySelectorAll(".spot")) s.classList.toggle("on", Boolean(spot) && s.dataset.spot === spot.dataset.spot);
  document.getElementById("spot").textContent = spot ? spot.getAttribute("aria-label") : hint;
}

for (const kind of ["pointerover", "focusin", "click"]) stage.addEventListener(kind, (e) => {
  const spot = e.target.closest(".spot");
  if (spot) answer(spot);
});
stage.addEventListener("pointerleave", (e) => { if (e.pointerType === "mouse") answer(document.activeElement.closest(".spot")); });

// -- the width there is, and the true size ----------------------------------

// A screen is known by its size; the number kept is CSS px per mm at the page zoom it was matched at.
function screenKey() { return "screen-" + screen.width + "x" + screen.height; }
function pxPerMm() {
  const kept = JSON.parse(localStorage.getItem(screenKey()) || "null");
  return kept ? kept.px * kept.ratio / window.devicePixelRatio : 0;
}

function room() { return Math.round(Math.min(2600, Math.max(240, stage.clientWidth || stage.parentElement.clientWidth || document.getElementById("piece").clientWidth - 2))); }

function viewQuery() {
  drawnFor = room();
  return "&view=" + drawnFor + (real ? "&scale=" + pxPerMm().toFixed(4) : "");
}

// A new drawing has come: the same part of it is looked at.
function viewChanged() {
  document.getElementById("zoom").hidden = false;
  if (Math.abs(room() - drawnFor) > 8 && !real) preview();
  show();
  const first = spots()[0];
  if (first) first.setAttribute("tabindex", "0");
  answer(null);
  if (real) document.getElementById("scale").textContent = tr("True size on this screen, as matched to a bank card.");
}

function fitted(how) {
  real = how === "true";
  for (const b of document.querySelectorAll("[data-zoom][aria-pressed]")) b.setAttribute("aria-pressed", String(b.dataset.zoom === how));
  reset();
  preview();
}

for (const b of document.querySelectorAll("[data-zoom]")) b.addEventListener("click", () => {
  const how = b.dataset.zoom;
  if (how === "in") zoomBy(1.4);
  else if (how === "out") zoomBy(1 / 1.4);
  else if (how === "fit") fitted("fit");
  else if (pxPerMm() && !real) fitted("true");
  else match();
});

const dialog = document.getElementById("screen");
const slider = document.getElementById("card-size");
function outline() {
  document.getElementById("card-svg").setAttribute("width", slider.value);
  document.getElementById("card-svg").setAttribute("height", String(slider.value * 53.98 / CARD));
}
function match() {
  slider.value = String(Math.round((pxPerMm() || 96 / 25.4) * CARD));
  outline();
  dialog.showModal();
}
slider.addEventListener("input", outline);
document.getElementById("card-cancel").addEventListener("click", () => dialog.close());
document.getElementById("card-done").addEventListener("click", () => {
  localStorage.setItem(screenKey(), JSON.stringify({ px: Number(slider.value) / CARD, ratio: window.devicePixelRatio }));
  dialog.close();
  fitted("true");
});

// From the first answer on the drawing follows the width there is.
function watchWidth() {
  let resized = 0;
  new ResizeObserver(() => {
    if (!picture() || real || Math.abs(room() - drawnFor) < 9) return;
    clearTimeout(resized);
    resized = setTimeout(preview, 150);
  }).observe(stage);
}
