"use strict";
// The page asks the server what every field means; it works nothing out itself.
const form = document.getElementById("piece");
const byId = (id) => document.getElementById(id);
const SETTLE = 110; // ms after a key until the server is asked
const PAUSE = 900; // ms without a key until a message about the field under the cursor shows
const LATE = 300; // ms until numbers that wait for their answer are marked as old
const AGAIN = 1500; // ms until a lost server is asked once more
let asked = 0;
let newest = null; // what will answer the last question
let timer = 0;
let pause = 0;
let late = 0;
let retry = 0;
let lost = false;
let trouble = ""; // what was refused or lost since the last answer
let last = null; // the last answer, with the fields that it is for and which question it answers
let shown = ""; // what the numbers on the page are for
const typing = { name: "", at: 0 };
const row = new URLSearchParams(location.search).get("row"); // identity of the job's row that this piece was opened from

function element(tag, text, name) {
  const e = document.createElement(tag);
  if (text !== undefined) e.textContent = text;
  if (name) e.className = name;
  return e;
}

function query() {
  const out = new URLSearchParams();
  for (const [name, value] of new FormData(form)) if (String(value).trim() !== "") out.set(name, String(value));
  return String(out);
}

// What was refused or lost stays told until the next answer, whatever is typed or left meanwhile.
function problem(text) {
  trouble = text;
  overall(text);
}

function overall(text) {
  byId("general").textContent = text;
  byId("general").hidden = !text;
}

function say(text, words, act) {
  const pressed = byId("say").contains(document.activeElement);
  byId("say").replaceChildren(text);
  if (pressed) byId("say").focus();
  if (!words) return;
  const b = element("button", words);
  b.type = "button";
  b.addEventListener("click", act);
  byId("say").append(b);
}

// -- messages ---------------------------------------------------------------

function quiet(name) {
  // What is being typed is not wrong yet: nothing is said until a pause, and of a beginning nothing until it is left.
  if (typing.name !== name || document.activeElement !== byId("f-" + name)) return "";
  if (performance.now() - typing.at < PAUSE) return "typing";
  return last.answer.unfinished.includes(name) ? "begun" : "";
}

function messages() {
  if (!last) return;
  const { answer } = last;
  const news = []; // fields that have just turned out wrong
  for (const note of form.querySelectorAll("[data-note]")) {
    const name = note.dataset.note;
    const box = byId("f-" + name);
    const said = answer.errors[name];
    const still = said ? quiet(name) : "";
    const wrong = said && !still;
    if (wrong && !note.dataset.told) news.push(box);
    note.dataset.told = wrong ? "yes" : "";
    note.textContent = wrong ? said : said ? "" : answer.notes[name] || "";
    note.classList.toggle("wrong", Boolean(wrong));
    if (wrong) box.setAttribute("aria-invalid", "true");
    else box.removeAttribute("aria-invalid");
    if (wrong && box.closest("details")) box.closest("details").open = true;
    ways(name, said && still !== "typing" ? answer.remedies[name] || [] : []);
  }
  toSight(news);
  overall(trouble || (typing.name && performance.now() - typing.at < PAUSE ? "" : answer.general));
}

// A message deep in the panel of more fields is scrolled to there, unless someone is at work in it.
function toSight(boxes) {
  const panel = form.querySelector(".panel");
  const box = boxes.find((b) => panel.contains(b));
  if (!box || panel.contains(document.activeElement)) return;
  panel.scrollTop += box.closest(".field").getBoundingClientRect().top - panel.getBoundingClientRect().top - 8;
}

function ways(name, remedies) {
  const place = byId("w-" + name);
  const before = [...place.children].map((b) => b.textContent).join("\n");
  if (before === remedies.map((r) => r.words).join("\n") && !place.querySelector("a")) return;
  place.replaceChildren(...remedies.map((r) => {
    const b = element("button", r.words, "way");
    b.type = "button";
    b.addEventListener("click", () => {
      byId("f-" + r.field).value = r.text;
      typing.name = "";
      remember();
      preview();
      byId("f-" + r.field).focus();
    });
    return b;
  }));
}

function fieldsOf(answer) {
  let filled = 0;
  for (const place of form.querySelectorAll("[data-field]")) {
    const name = place.dataset.field;
    const box = byId("f-" + name);
    const off = answer.absent.includes(name);
    box.disabled = off;
    if (!off && box.value && box.closest("#fields")) filled += 1;
    place.hidden = off || (answer.idle.includes(name) && !box.value && document.activeElement !== box);
  }
  byId("set").textContent = filled ? tr("({filled} filled)", { filled }) : "";
}

// -- the answer -------------------------------------------------------------

function state(name, words) {
  form.dataset.state = name;
  byId("old").hidden = name !== "old" || !shown;
  byId("old").textContent = name === "old" && shown ? tr("Still the drawing and numbers of before: {piece}.", { piece: shown }) + " " + (words || "") : "";
}

function tell(answer, given) {
  // What the goods have no use for is no part of the piece: neither of its address nor of its changes.
  const said = new URLSearchParams(given);
  for (const name of answer.absent) said.delete(name);
  const q = String(said);
  last = { answer, q, asked };
  trouble = "";
  fieldsOf(answer);
  amend(answer.absent, said.get("pattern"));
  messages();
  const more = "?" + q;
  for (const a of form.querySelectorAll("[data-file]")) a.href = "/file/" + a.dataset.file + more;
  byId("take-dxf").hidden = !byId("f-machine").value;
  if (!answer.ok) {
    // The last good result stays until the next one, marked as what it is.
    if (shown) state("old");
    return;
  }
  shown = answer.what;
  // Parts come from our own templates and renderer, which escape every text.
  for (const [name, markup] of Object.entries(answer.parts)) {
    const part = form.querySelector(`[data-part="${name}"]`);
    if (part.innerHTML !== markup) part.innerHTML = markup;
  }
  const strands = byId("f-strands").value || "3";
  byId("to-braid").href = "/braid?strands=" + encodeURIComponent(strands) + "&hand=" + encodeURIComponent(answer.hand || byId("f-hand").value);
  byId("start").hidden = true;
  byId("result").hidden = byId("dock").hidden = false;
  state("new");
  viewChanged();
  save(q, answer);
}

function lostServer(message) {
  lost = true;
  problem(message + " " + tr("What you typed is kept."));
  if (shown) state("old", tr("The server is gone."));
  clearTimeout(retry);
  retry = setTimeout(preview, AGAIN);
}

// Ask the server about the fields as they are; returns its answer, that of a later question where one was asked
// meanwhile, or nothing where the server has none.
function preview() {
  newest = inquire();
  return newest;
}

async function inquire() {
  const mine = ++asked;
  const q = query();
  clearTimeout(timer);
  clearTimeout(retry);
  clearTimeout(late);
  if (shown && !lost) late = setTimeout(() => { if (mine === asked) state("old"); }, LATE);
  let answer = null;
  try {
    answer = await ask("/preview?" + q + viewQuery());
  } catch (e) {
    if (!(e instanceof Lost || e instanceof Refused)) throw e;
    if (mine !== asked) return newest;
    clearTimeout(late);
    if (e instanceof Lost) lostServer(e.message);
    else problem(e.message);
    return null;
  }
  if (mine !== asked) return newest;
  clearTimeout(late);
  if (lost) {
    lost = false;
    problem("");
    say(tr("The server is back; nothing was lost."));
  }
  tell(answer, q);
  return answer;
}

async function goods() {
  const name = new FormData(form).get("pattern");
  const chosen = form.querySelector("input[name=pattern]:checked").closest(".good");
  byId("goods-drawing").innerHTML = chosen.querySelector(".drawing").innerHTML;
  byId("goods-title").textContent = chosen.querySelector(".words").textContent;
  const r = await ask("/pattern/" + encodeURIComponent(name));
  byId("what").textContent = byId("start-what").textContent = r.what;
  byId("how").textContent = r.how;
  byId("how-drawing").innerHTML = r.drawing;
  byId("l-hardware").replaceChildren(...r.hardware.map(([value, text]) => {
    const o = element("option", text);
    o.value = value;
    return o;
  }));
}

function refused(text) {
  if (/lost its server/.test(text)) lostServer(text);
  else problem(text);
}

// Fill the fields from an address; what it does not name is empty.
async function apply(q) {
  const to = new URLSearchParams(q);
  const before = new FormData(form).get("pattern");
  for (const box of form.elements) {
    if (!box.name) continue;
    if (box.type === "radio") box.checked = box.value === (to.get("pattern") || "wristband");
    else {
      box.disabled = false;
      box.value = to.get(box.name) || (box.name === "units" ? "mm" : "");
    }
  }
  typing.name = "";
  if (before !== new FormData(form).get("pattern")) await attempt(goods, refused);
  await preview();
}

// -- what the maker does ----------------------------------------------------

form.addEventListener("input", (e) => {
  if (!e.target.name) return;
  typing.name = e.target.name;
  typing.at = performance.now();
  clearTimeout(timer);
  clearTimeout(pause);
  timer = setTimeout(preview, SETTLE);
  pause = setTimeout(messages, PAUSE + 20);
});
form.addEventListener("focusout", (e) => {
  if (e.target.name && e.target.name === typing.name) {
    typing.name = "";
    messages();
  }
});
form.addEventListener("change", async (e) => {
  if (!e.target.name) return;
  if (e.target.name === "pattern") {
    // Hardware belongs to the goods: other goods, other choices.
    byId("f-hardware").value = "";
    typing.name = "";
    remember();
    await attempt(goods, refused);
  } else remember();
  preview();
});
form.addEventListener("submit", (e) => { e.preventDefault(); commit(); });
form.addEventListener("keydown", (e) => {
  if (e.key === "Enter" && e.target.matches("input[name]:not([type=radio])")) {
    e.preventDefault();
    commit();
  }
});
form.querySelector(".shelf").addEventListener("click", (e) => {
  if (e.target.name === "pattern" && e.detail > 0) byId("goods").open = false;
});
form.querySelector(".shelf").addEventListener("keydown", (e) => {
  if (e.key !== "Enter" && e.key !== "Escape") return;
  e.preventDefault();
  byId("goods").open = false;
  byId("goods").querySelector("summary").focus();
});
document.addEventListener("pointerdown", (e) => { if (!byId("goods").contains(e.target)) byId("goods").open = false; });

function commit() {
  typing.name = "";
  remember();
  return preview();
}

// What is taken is what the fields say at the click.
async function take(link) {
  const kind = link.dataset.file;
  const q = query();
  const answer = await commit();
  if (!answer) return;
  if (!answer.ok) {
    // To the first field of the page that is wrong, whichever was found first.
    const wrong = [...form.querySelectorAll("[data-field]")].map((place) => place.dataset.field).filter((name) => name in answer.errors);
    const name = wrong[0] || (answer.general ? "" : "measure");
    if (name) byId("f-" + name).focus();
    return;
  }
  link.setAttribute("aria-busy", "true");
  try {
    const got = await fetch("/file/" + kind + "?" + q);
    if (!got.ok) {
      problem((await got.json()).error);
      return;
    }
    const a = document.createElement("a");
    a.href = URL.createObjectURL(await got.blob());
    a.download = /filename="([^"]+)"/.exec(got.headers.get("Content-Disposition"))[1];
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 60000);
  } catch (e) {
    if (!(e instanceof TypeError)) throw e;
    lostServer(LOST);
  } finally {
    link.removeAttribute("aria-busy");
  }
}
for (const a of form.querySelectorAll("[data-file]")) a.addEventListener("click", (e) => { e.preventDefault(); take(a); });

byId("to-job").hidden = false;
if (row !== null) byId("to-job").textContent = tr("Put it back into the job");
byId("to-job").addEventListener("click", async () => {
  const answer = await commit();
  if (!answer || !answer.ok) return;
  await attempt(async () => {
    const made = await ask("/job/piece?" + last.q);
    const doc = readJob();
    const there = row === null ? -1 : doc.pieces.findIndex((p) => p[ROW] === row);
    const at = there < 0 ? doc.pieces.length : there;
    // A row that somebody took out, or changed, while it was being edited here.
    const opened = sessionStorage.getItem("row-opened");
    const meanwhile = row === null ? "" : there < 0 ? tr("It had been taken out of the job meanwhile and is its last row now.") + " "
      : opened && JSON.parse(opened)[ROW] === row && opened !== JSON.stringify(doc.pieces[at]) ? tr("It had been changed in the job meanwhile; Undo there brings that back.") + " " : "";
    doc.pieces[at] = { ...made.piece, [ROW]: row === null ? newId() : row };
    if (row !== null) sessionStorage.setItem("row-opened", JSON.stringify(doc.pieces[at]));
    const kept = [];
    for (const [key, value] of Object.entries(made.job)) {
      // A piece opened from the job brings the job's own words back; another piece only fills what is open.
      if (row !== null || doc.job[key] === undefined || doc.pieces.length === 1) doc.job[key] = value;
      else if (String(doc.job[key]) !== String(value)) kept.push(key);
    }
    keepJob(doc);
    byId("added").textContent = meanwhile + (row !== null ? tr("Put back; {pieces} in the job.", { pieces: doc.pieces.length }) : tr("Added; {pieces} in the job.", { pieces: doc.pieces.length })) +
      (kept.length ? " " + tr("The job keeps its own {fields}.", { fields: kept.join(", ") }) : "");
  }, refused);
});
begin();
preview();
watchWidth();
