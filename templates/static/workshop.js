// The workshop's pages: a finished piece for the shelf, readings of a printer, a price file.
import { attempt, get, post, postBytes, problemAt } from "./order_server.js";
const byId = (id) => document.getElementById(id);

// What was said last stands again after the page has been drawn anew with what is so now.
function after(place, text) {
  sessionStorage.setItem("said", JSON.stringify([place, text]));
  location.reload();
}
const said = JSON.parse(sessionStorage.getItem("said") || "null");
sessionStorage.removeItem("said");
if (said && byId(said[0])) {
  byId(said[0]).textContent = said[1];
  byId(said[0]).focus();  // a page drawn anew begins at its top; who works by keys goes on here
}

// What is tried anew has not been done yet, whatever was done before.
function tried(id, work) {
  byId(id + "-said").textContent = "";
  return attempt(work, problemAt(id));
}

function form(id, work) {
  if (!byId(id)) return;
  byId(id).addEventListener("submit", (e) => {
    e.preventDefault();
    tried(id, work);
  });
}

// -- a finished piece
let numbers = null;
if (byId("made")) byId("m-file").addEventListener("change", () => tried("made", async () => {
  const file = byId("m-file").files[0];
  const box = byId("m-name");
  numbers = null;
  box.disabled = true;
  box.replaceChildren(new Option(tr("give the file first"), ""));
  if (!file) return;
  if (file.size > 1000000) throw new Refused(tr("That is too large here; 'strapwork made' reads it in a terminal."));
  const answer = await postBytes("/leathers/numbers?" + new URLSearchParams({ name: file.name }), await file.arrayBuffer());
  numbers = answer.numbers;
  box.replaceChildren(...answer.pieces.map((p) => new Option(tr("{piece}, meant {length}", { piece: p.label, length: p.finished }), String(p.number))));
  box.disabled = false;
  byId("m-leather").placeholder = answer.leathers.join(", ") || tr("give it a name");
}));
form("made", async () => {
  if (numbers === null) { byId("m-file").focus(); throw new Refused(tr("No file is chosen yet; give the PDF or the numbers.json that the sheets came with.")); }
  const answer = await post("/leathers/made", {
    numbers, piece: byId("m-name").value, measured: byId("m-measured").value, leather: byId("m-leather").value,
    date: byId("m-date").value, another: byId("m-another").value,
  });
  after("made-said", answer.said);
});
for (const b of document.querySelectorAll("[data-undo]")) b.addEventListener("click", () => tried("made", async () => {
  after("made-said", (await post("/leathers/undo", { leather: b.dataset.undo })).said);
}));

// -- a printer
form("scale", async () => {
  const readings = [...document.querySelectorAll("[data-reading]")].map((box) => box.value.trim());
  after("scale-said", (await post("/printers", { printer: byId("p-printer").value, paper: byId("p-paper").value, readings })).said);
});

const PART = 900000; // bytes in one request; none may be larger than a megabyte
form("picture", async () => {
  const file = byId("c-file").files[0];
  const largest = Number(byId("picture").dataset.largest);
  if (!file) { byId("c-file").focus(); throw new Refused(tr("No picture is chosen yet; give a scan or a photograph of the printed sheet.")); }
  if (file.size > largest) throw new Refused(tr("The picture has {size} MB; keep it to {largest} MB.", { size: (file.size / 1e6).toFixed(1), largest: largest / 1e6 }));
  const button = document.querySelector("#picture button.main"), bar = byId("c-progress");
  if (button.getAttribute("aria-busy")) return;
  const words = button.textContent;
  button.setAttribute("aria-busy", "true");
  button.textContent = tr("Measuring …");
  bar.hidden = false;
  try {
    const { key } = await post("/printers/picture", { size: file.size });
    for (let at = 0; at < file.size; at += PART) {
      await postBytes("/printers/picture/" + key, await file.slice(at, at + PART).arrayBuffer());
      bar.value = Math.min(1, (at + PART) / file.size);
    }
    const answer = await post("/printers/picture/" + key + "/read", {
      file: file.name, printer: byId("c-printer").value, paper: byId("c-paper").value, dpi: byId("c-dpi").value,
      across: byId("c-across").value, along: byId("c-along").value,
    });
    if (answer.kept) { after("picture-said", answer.said); return; }
    byId("picture-said").textContent = answer.said;
    byId("picture-said").focus();
  } finally {
    button.removeAttribute("aria-busy");
    button.textContent = words;
    bar.hidden = true;
  }
});

// -- prices
form("prices", async () => {
  const answer = await post("/prices", { name: byId("q-name").value, text: byId("q-text").value, mark: byId("q-mark").value });
  after("prices-said", answer.said);
});
for (const b of document.querySelectorAll("[data-edit]")) b.addEventListener("click", () => tried("prices", async () => {
  const got = await get("/prices/" + encodeURIComponent(b.dataset.edit));
  byId("q-name").value = b.dataset.edit;
  byId("q-text").value = got.text;
  byId("q-mark").value = got.mark;
  byId("q-text").focus();
}));
