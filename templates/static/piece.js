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
  problem(answer.general);
  for (const a of form.querySelectorAll("[data-file]")) {
    a.href = "/file/" + a.dataset.file + "?" + query();
  }
  byId("take-dxf").hidden = !byId("f-machine").value;
  const strands = byId("f-strands").value || "3";
  byId("to-braid").href = "/braid?strands=" + encodeURIComponent(strands) + "&hand=" + encodeURIComponent(answer.hand || byId("f-hand").value);
  byId("result").hidden = !answer.ok;
  if (!answer.ok) return;
  fill(byId("lengths"), answer.lengths, (row) => {
    const box = element("div");
    box.append(element("span", row.what), element("b", row.mm), element("span", row.why));
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

function problem(text) {
  byId("general").textContent = text;
  byId("general").hidden = !text;
}

async function preview() {
  const mine = ++asked;
  await attempt(async () => {
    const answer = await ask("/preview?" + query());
    if (mine === asked) tell(answer);
  }, problem);
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
  const r = await ask("/pattern/" + encodeURIComponent(name));
  byId("what").textContent = r.what;
  byId("how").textContent = r.how;
  byId("how-drawing").innerHTML = r.drawing;
  fill(byId("l-hardware"), r.hardware, ([value, text]) => {
    const o = element("option", text);
    o.value = value;
    return o;
  });
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
  if (e.target.name === "pattern") {
    byId("f-hardware").value = "";
    byId("f-holes").value = "";
    remember(true);
    await attempt(goods, problem);
  } else remember(true);
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
  await attempt(goods, problem);
  preview();
});
for (const b of document.querySelectorAll("[data-zoom]")) b.addEventListener("click", () => {
  factor = b.dataset.zoom;
  for (const other of document.querySelectorAll("[data-zoom]")) other.setAttribute("aria-pressed", String(other === b));
  zoom();
});
// The row of the job that this piece was opened from: it goes back there.
const row = new URLSearchParams(location.search).get("row");
if (row !== null) byId("to-job").textContent = "Put it back into the job";
byId("to-job").addEventListener("click", () => attempt(async () => {
  const made = await ask("/job/piece?" + query());
  const doc = readJob();
  const at = row !== null && Number(row) < doc.pieces.length ? Number(row) : doc.pieces.length;
  doc.pieces[at] = made.piece;
  const kept = [];
  for (const [key, value] of Object.entries(made.job)) {
    // A piece opened from the job brings the job's own words back; another piece only fills what is open.
    if (row !== null || doc.job[key] === undefined || doc.pieces.length === 1) doc.job[key] = value;
    else if (String(doc.job[key]) !== String(value)) kept.push(key);
  }
  keepJob(doc);
  byId("added").textContent = (row !== null ? "Put back; " : "Added; ") + doc.pieces.length + " in the job." +
    (kept.length ? " The job keeps its own " + kept.join(", ") + "." : "");
}, problem));
preview();
