"use strict";
// The page asks the server what every field means; it works nothing out itself.
const form = document.getElementById("piece");
const byId = (id) => document.getElementById(id);
let asked = 0;
let timer = 0;

function query() {
  const out = new URLSearchParams();
  for (const [name, value] of new FormData(form)) if (String(value).trim() !== "") out.set(name, String(value));
  return out;
}

function fill(parent, rows, make) {
  parent.replaceChildren(...rows.map(make));
}

function element(tag, text, name) {
  const e = document.createElement(tag);
  if (text !== undefined) e.textContent = text;
  if (name) e.className = name;
  return e;
}

function line(row) {
  const tr = element("tr");
  const head = element("th", row.what);
  head.scope = "row";
  tr.append(head, element("td", row.mm), element("td", row.why));
  return tr;
}

function tell(answer) {
  for (const note of form.querySelectorAll("[data-note]")) {
    const name = note.dataset.note;
    const wrong = answer.errors[name];
    note.textContent = wrong || answer.notes[name] || "";
    note.classList.toggle("wrong", Boolean(wrong));
    const box = byId("f-" + name);
    if (wrong) box.setAttribute("aria-invalid", "true");
    else box.removeAttribute("aria-invalid");
  }
  byId("general").textContent = answer.general;
  byId("general").hidden = !answer.general;
  for (const a of form.querySelectorAll("[data-file]")) {
    a.href = "/file/" + a.dataset.file + "?" + query();
  }
  byId("take-dxf").hidden = !byId("f-machine").value;
  const strands = byId("f-strands").value || "3";
  byId("to-braid").href = "/braid?strands=" + encodeURIComponent(strands) + "&hand=" + byId("f-hand").value;
  byId("result").hidden = !answer.ok;
  if (!answer.ok) return;
  fill(byId("lengths"), answer.lengths, ([what, value, why]) => {
    const box = element("div");
    box.append(element("span", what), element("b", value), element("span", why));
    return box;
  });
  // Drawings come from our own renderer, which escapes every label.
  byId("strap").innerHTML = answer.strap;
  byId("braid").innerHTML = answer.braid;
  zoom();
  byId("braid-card").hidden = !answer.braid;
  fill(byId("rows"), answer.rows, line);
  byId("band").textContent = "Band of the cut length: " + answer.band;
  fill(byId("braiding"), answer.braiding, (text) => element("li", text));
  fill(byId("hardware"), answer.hardware, (text) => element("li", text));
  byId("with").textContent = answer.with.length ? "With it comes: " + answer.with.join(", ") + "." : "";
  byId("load-card").hidden = !answer.load;
  if (answer.load) {
    byId("load-intro").textContent = answer.load.intro;
    fill(byId("load"), answer.load.rows, line);
    fill(byId("load-after"), answer.load.after, (text) => element("p", text));
  }
  byId("sheets").textContent = answer.sheets;
  fill(byId("findings"), answer.findings, (f) => {
    const li = element("li", undefined, "level-" + f.level);
    li.append(element("b", f.level + ": "), f.message + " ", element("small", "(" + f.source + ")"));
    return li;
  });
}

async function preview() {
  const mine = ++asked;
  try {
    const answer = await (await fetch("/preview?" + query())).json();
    if (mine === asked) tell(answer);
  } catch {
    byId("general").textContent = "The page has lost its server; start 'strapwork serve' again.";
    byId("general").hidden = false;
  }
}

let factor = "fit";
function zoom() {
  const svg = byId("strap").querySelector("svg");
  if (!svg) return;
  const wide = parseFloat(svg.getAttribute("viewBox").split(" ")[2]);
  if (factor === "fit") { svg.removeAttribute("width"); svg.removeAttribute("height"); svg.style.maxWidth = "100%"; }
  else { svg.setAttribute("width", wide * Number(factor) + "mm"); svg.removeAttribute("height"); svg.style.maxWidth = "none"; }
}

async function goods() {
  const name = new FormData(form).get("pattern");
  const r = await (await fetch("/pattern/" + encodeURIComponent(name))).json();
  byId("what").textContent = r.what;
  byId("how").textContent = r.how;
  byId("how-drawing").innerHTML = r.drawing;
  const picked = byId("f-hardware");
  const was = new URLSearchParams(location.search).get("hardware") || "";
  fill(picked, [["", "what the leather takes"], ...r.hardware], ([value, text]) => {
    const o = element("option", text);
    o.value = value;
    return o;
  });
  picked.value = r.hardware.some(([value]) => value === was) ? was : "";
}

function remember(push) {
  const address = "/?" + query();
  if (address === location.pathname + location.search) return;
  if (push) history.pushState(null, "", address);
  else history.replaceState(null, "", address);
}

form.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(preview, 90); });
form.addEventListener("change", async (e) => {
  // Hardware belongs to the goods: other goods, other choices.
  if (e.target.name === "pattern") { byId("f-hardware").value = ""; remember(true); await goods(); } else remember(true);
  preview();
});
form.addEventListener("submit", (e) => { e.preventDefault(); remember(true); preview(); });
window.addEventListener("popstate", async () => {
  const back = new URLSearchParams(location.search);
  for (const box of form.elements) {
    if (!box.name) continue;
    if (box.type === "radio") box.checked = box.value === (back.get("pattern") || "wristband");
    else box.value = back.get(box.name) || (box.name === "units" ? "mm" : "");
  }
  await goods();
  preview();
});
for (const b of document.querySelectorAll("[data-zoom]")) b.addEventListener("click", () => {
  factor = b.dataset.zoom;
  for (const other of document.querySelectorAll("[data-zoom]")) other.setAttribute("aria-pressed", String(other === b));
  zoom();
});
byId("to-job").addEventListener("click", () => {
  const list = JSON.parse(sessionStorage.getItem("pieces") || "[]");
  list.push(Object.fromEntries(query()));
  sessionStorage.setItem("pieces", JSON.stringify(list));
  byId("added").textContent = "Added; " + list.length + " in the job.";
});
preview();
