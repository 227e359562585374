// The page of a whole job: its list, its order and its files.  The job is a job document; what has no field stays in it.
import * as store from "./order_store.js";
import { Grid } from "./order_grid.js";
import { drawTables } from "./order_tables.js";
import { attempt, download, get, keepFile, onServer, post, postBytes, problemAt } from "./order_server.js";
import { followSizes } from "./order_sizes.js";
import { line, listFiles } from "./order_files.js";

const byId = (id) => document.getElementById(id);
const AT_A_TIME = 10;
const MOST_FILE = 1000000;
const clone = (x) => JSON.parse(JSON.stringify(x));
const goods = [...byId("s-pattern").options].map((x) => [x.value, x.text]);

// -- the list ----------------------------------------------------------------

function sizesOf(p) {
  if (p.sizes.of !== undefined) return tr("{count} sizes from {bodies}", { count: p.sizes.of, bodies: p.sizes.bodies || "adults" });
  return Object.entries(p.sizes).map(([name, size]) => name + " " + size).join(", ");
}

function cell(p, key) {
  if (key === "measure" && p.sizes) return { text: sizesOf(p), fixed: true };
  if (key === "leather" && typeof p.leather === "object") return { text: tr("{thickness}, written out", { thickness: p.leather.thickness }), fixed: true };
  if (key === "count") return { text: String(p.count ?? 1), fixed: false };
  return { text: p[key] === undefined ? "" : String(p[key]), fixed: false };
}

// A row typed under the last is of the same goods, leather and hand.
function begun(pieces) {
  const last = pieces[pieces.length - 1];
  if (!last) return { pattern: "wristband" };
  const out = { pattern: last.pattern };
  for (const key of ["leather", "hand"]) if (last[key] !== undefined) out[key] = clone(last[key]);
  return out;
}

function commit(k, key, text) {
  const next = clone(store.doc());
  if (k >= next.pieces.length) {
    if (text === "") return;
    next.pieces.push(begun(next.pieces));
  }
  const p = next.pieces[k];
  if (text === "" || (key === "count" && text === "1")) delete p[key];
  else p[key] = key === "count" && /^\d{1,9}$/.test(text) ? Number(text) : text;
  store.change(next);
}

const pieces = new Grid(byId("pieces"), {
  outLabel: tr("Cut length"),
  rest: "pattern",  // a word about what has no column stands under the goods
  rows: () => store.doc().pieces,
  columns: [
    { key: "label", label: tr("Name"), hint: tr("type a name") },
    { key: "pattern", label: tr("Goods"), kind: "choice", choices: [["", tr("as above")], ...goods] },
    { key: "measure", label: tr("Measure") },
    { key: "leather", label: tr("Leather"), list: "l-leather" },
    { key: "hand", label: tr("Hand"), kind: "choice", choices: [["", tr("as the job")], ["right", tr("right")], ["left", tr("left")]] },
    { key: "count", label: tr("How many"), kind: "count" },
    { key: "person", label: tr("For") },
  ],
  cell,
  commit,
  paste: (text) => addTable(() => post("/job/table", { text, piece: like() }), "rows"),
  actions: (k) => [
    { text: tr("Open"), label: tr("Open {name}", { name: nameOf(k) }), run: () => openRow(k) },
    { text: tr("Take out"), label: tr("Take out {name}", { name: nameOf(k) }), run: () => { const next = clone(store.doc()); next.pieces.splice(k, 1); store.change(next); } },
  ],
});

function nameOf(k) { return store.doc().pieces[k].label || tr("row {row}", { row: k + 1 }); }

function openRow(k) {
  const p = store.doc().pieces[k];
  return attempt(async () => {
    const got = await post("/job/fields", { job: store.doc().job, piece: p });
    store.hold();
    sessionStorage.setItem("row-opened", JSON.stringify(p));  // to see whether someone else changes it meanwhile
    location.assign("/?" + new URLSearchParams({ ...got.fields, row: p[ROW] }));
  }, problemAt("rows"));
}

const strips = new Grid(byId("strips"), {
  rows: () => store.doc().job.strips || [],
  columns: [
    { key: "leather", label: tr("Leather"), list: "l-leather", hint: "harbour-tan" }, { key: "width", label: tr("Width") }, { key: "length", label: tr("Length") },
    { key: "have", label: tr("In hand"), kind: "count" }, { key: "price", label: tr("Price") }, { key: "trim", label: tr("Trimmed off each end") },
  ],
  cell: (s, key) => ({ text: s[key] === undefined ? "" : String(s[key]), fixed: false }),
  commit: (k, key, text) => {
    const next = clone(store.doc());
    const rows = next.job.strips = next.job.strips || [];
    if (k >= rows.length) rows.push({});
    if (text === "") delete rows[k][key];
    else rows[k][key] = key === "have" && /^\d{1,9}$/.test(text) ? Number(text) : text;
    next.job.strips = rows.filter((r) => Object.keys(r).length);
    if (!next.job.strips.length) delete next.job.strips;
    store.change(next);
  },
  actions: (k) => [{ text: tr("Take out"), label: tr("Take out strips, row {row}", { row: k + 1 }), run: () => {
    const next = clone(store.doc());
    next.job.strips.splice(k, 1);
    if (!next.job.strips.length) delete next.job.strips;
    store.change(next);
  } }],
});

// -- what every row comes to ---------------------------------------------------

const answers = new Map();
let round = 0;
let stop = new AbortController();
const keyOf = (p) => JSON.stringify([store.doc().job, plain(p)]);
const saidBy = (doc) => JSON.stringify(bare(doc));

async function workOut() {
  const mine = ++round;
  stop.abort();
  stop = new AbortController();
  const doc = store.doc();  // as it is now: it may change while answers are on their way
  const rows = doc.pieces;
  const keys = rows.map(keyOf);
  show(keys);
  const missing = keys.map((key, k) => k).filter((k) => !answers.has(keys[k]));
  byId("order").classList.toggle("o-old", true);
  for (let at = 0; at < Math.max(missing.length, 1); at += AT_A_TIME) {
    const some = missing.slice(at, at + AT_A_TIME);
    byId("rows-working").hidden = missing.length <= AT_A_TIME;
    byId("rows-progress").max = missing.length || 1;
    byId("rows-progress").value = at;
    const answer = await post("/job/rows", { job: doc.job, pieces: some.map((k) => rows[k]) }, stop.signal);
    if (mine !== round) return;
    some.forEach((k, n) => answers.set(keys[k], answer.rows[n]));
    fieldProblems(answer.job);
    show(keys);
  }
  byId("rows-working").hidden = true;
  if (answers.size > 4000) answers.clear();
  await order(keys, mine, doc);
}

function show(keys) {
  keys.forEach((key, k) => {
    const got = answers.get(key);
    const p = store.doc().pieces[k];
    if (got && p) pieces.tell(k, got.cut, got.problems, [...also(p), ...got.mind], got.labels);
    else pieces.tell(k, "…", {}, []);
  });
  pieces.tell(keys.length, "", {}, []);
}

const SHOWN = [ROW, "label", "person", "pattern", "measure", "sizes", "leather", "hand", "count"];
function also(p) {
  const more = Object.entries(p).filter(([key]) => !SHOWN.includes(key));
  return more.length ? [tr("Also asked: {what}.", { what: more.map(([key, v]) => key.replace("_", " ") + " " + (typeof v === "object" ? JSON.stringify(v) : v)).join(", ") })] : [];
}

function fieldProblems(found) {
  for (const line of byId("whole").querySelectorAll("[data-note]")) {
    const text = found[line.dataset.note] || "";
    line.textContent = text;
    line.classList.toggle("wrong", Boolean(text));
    const box = byId("f-" + line.dataset.note);
    if (text) box.setAttribute("aria-invalid", "true"); else box.removeAttribute("aria-invalid");
    if (text && box.closest("details")) box.closest("details").open = true;
  }
}

async function order(keys, mine, doc) {
  const tell = problemAt("order");
  const state = byId("order-state");
  const wrong = keys.map((key, k) => [k, answers.get(key)]).filter(([, got]) => got && Object.keys(got.problems).length);
  byId("order-buttons").hidden = true;
  tell("");
  if (!keys.length) { byId("order").replaceChildren(); state.textContent = tr("What to cut, lay out and buy stands here as soon as there is a piece."); return; }
  if (wrong.length) {
    const [k, got] = wrong[0];
    const [key, text] = Object.entries(got.problems)[0];
    const column = pieces.o.columns.find((c) => c.key === key), called = column ? column.label : got.labels[key];
    const named = (called ? called + ": " : "") + text;
    state.textContent = wrong.length > 1
      ? tr("The order waits for row {row} and {more} more: {problem}", { row: k + 1, more: wrong.length - 1, problem: named })
      : tr("The order waits for row {row}: {problem}", { row: k + 1, problem: named });
    return;
  }
  state.textContent = tr("Adding up …");
  await attempt(async () => {
    const answer = await post("/job/order", doc, stop.signal);
    if (mine !== round) return;
    const key = "job-ticks:" + store.id();
    const ticked = new Set(JSON.parse(localStorage.getItem(key) || "[]"));
    drawTables(byId("order"), answer.tables, ticked, (what, on) => {
      if (on) ticked.add(what); else ticked.delete(what);
      localStorage.setItem(key, JSON.stringify([...ticked]));
    });
    byId("order").classList.remove("o-old");
    byId("order-buttons").hidden = false;
    state.textContent = tr("As on the order page of the PDF. Tick off as you go.");
  }, (text) => { tell(text); if (text) state.textContent = tr("The lists are not up to date."); });
}

let timer = 0;
function soon() {
  clearTimeout(timer);
  timer = setTimeout(() => attempt(workOut, (text) => { problemAt("rows")(text); if (text) byId("rows-working").hidden = true; }), 120);
}

// -- the whole -------------------------------------------------------------------

function fields() {
  const job = store.doc().job;
  for (const box of byId("whole").elements) {
    if (!box.name || box === document.activeElement) continue;
    const value = job[box.name];
    box.value = value === undefined ? "" : String(value);
  }
  if (!byId("f-units").value) byId("f-units").value = "mm";
}

byId("whole").addEventListener("change", (e) => {
  const next = clone(store.doc());
  const { name, value } = e.target;
  if (value.trim() === "") delete next.job[name];
  else if (name === "broken") next.job[name] = value === "true";
  else if (["spare", "waste"].includes(name) && /^\d*[.,]?\d+$/.test(value.trim())) next.job[name] = Number(value.trim().replace(",", "."));
  else next.job[name] = value.trim();
  if (name === "hand") delete next.job.left_handed;
  store.change(next);
});
byId("whole").addEventListener("submit", (e) => e.preventDefault());

let lost = false;
function where() {
  const file = store.file();
  const kept = file && saidBy(store.doc()) === file.said ? tr("Saved as '{name}'.", { name: file.name }) : file ? tr("Changed since it was saved as '{name}'.", { name: file.name }) : "";
  byId("where").textContent = (lost ? tr("The server is away; start 'strapwork serve' again.") + " " : "") + (kept || tr("Kept in this browser."));
}

function draw() {
  pieces.draw();
  strips.draw();
  fields();
  if (document.activeElement !== byId("job-name")) byId("job-name").value = store.name();
  byId("undo").disabled = !store.canUndo();
  byId("redo").disabled = !store.canRedo();
  const n = store.doc().pieces.length;
  byId("many").textContent = n ? trn("{count} row", "{count} rows", n) : tr("No piece yet.");
  byId("clear").disabled = !n && !Object.keys(store.doc().job).length;
  where();
  address();
  if (byId("jobs").open) lists();
  soon();
}

// The address is that of the job that is open, so that the page comes back with it.
function address() {
  const file = store.file(), here = "/job" + (file ? "?kept=" + encodeURIComponent(file.name) : "");
  if (location.pathname + location.search !== here) history.replaceState(null, "", here);
}

function notice(what) {
  if (what === "busy") return pieces.typing() || strips.typing();
  if (what === "full") problemAt("job")(tr("This browser's storage is full: forget a job you no longer need, or save this one as a file."));
  else if (what === "parted") problemAt("job")(tr("Another tab changed this job meanwhile; what you do here goes on in a copy of its own, under its own name."));
  else if (what === "list") lists();
  else { if (what === "opened") { problemAt("job")(""); answers.clear(); } draw(); }
  return undefined;
}

byId("undo").addEventListener("click", store.undo);
byId("redo").addEventListener("click", store.redo);
document.addEventListener("keydown", (e) => {
  if (!(e.ctrlKey || e.metaKey) || e.altKey || !["z", "y"].includes(e.key.toLowerCase())) return;
  const box = document.activeElement;
  if (box.tagName === "TEXTAREA" || pieces.typing() || strips.typing()) return;  // the field's own undo
  e.preventDefault();
  if (e.key.toLowerCase() === "y" || e.shiftKey) store.redo(); else store.undo();
});
byId("clear").addEventListener("click", () => {
  store.change({ job: {}, pieces: [] });
  pieces.focus(0, 0);
});
byId("job-name").addEventListener("change", () => store.rename(byId("job-name").value.trim()));
window.addEventListener("pagehide", () => { pieces.settle(); strips.settle(); });
document.addEventListener("visibilitychange", () => { if (document.hidden) { pieces.settle(); strips.settle(); } });

// -- tables and files in -----------------------------------------------------------

function like() {
  const rows = store.doc().pieces;
  if (byId("like").value !== "last") return { pattern: byId("like").value };
  return rows.length ? plain(rows[rows.length - 1]) : {};
}

function addTable(ask, place) {
  return attempt(async () => {
    const answer = await ask();
    const next = clone(store.doc());
    next.pieces.push(...answer.pieces);
    if (next.pieces.length > 200) throw new Refused(tr("{rows} rows are too many for the page; keep it to 200, or use 'strapwork make class.csv'.", { rows: next.pieces.length }));
    store.change(next);
    return true;
  }, problemAt(place));
}

byId("add-table").addEventListener("click", async () => {
  if (await addTable(() => post("/job/table", { text: byId("table").value, piece: like() }), "table")) byId("table").value = "";
});

async function chosen(box) {
  const file = box.files[0];
  if (!file) return null;
  if (file.size > MOST_FILE) { box.value = ""; throw new Refused(tr("That is too large; the limit is 1 MB.")); }
  const bytes = await file.arrayBuffer();
  box.value = "";
  return { name: file.name, bytes };
}

byId("table-file").addEventListener("change", () => addTable(async () => {
  const got = await chosen(byId("table-file"));
  return got ? postBytes("/job/table/file?" + new URLSearchParams({ name: got.name, like: JSON.stringify(like()) }), got.bytes) : { pieces: [] };
}, "table"));

byId("save").addEventListener("click", () => attempt(async () => {
  const answer = await post("/job/text", { ...store.doc(), name: store.name() });
  keepFile(new Blob([answer.toml], { type: "application/toml" }), answer.name);
}, problemAt("file")));

byId("open").addEventListener("change", () => attempt(async () => {
  const got = await chosen(byId("open"));
  if (!got) return;
  const answer = await postBytes("/job/read", got.bytes);
  byId("kept").textContent = answer.kept;
  byId("kept").hidden = !answer.kept;
  const next = { job: answer.job, pieces: answer.pieces };
  const title = got.name.replace(/\.toml$/i, "");
  if (store.doc().pieces.length) store.begin(title, next, null);
  else { store.change(next); if (!store.name()) store.rename(title); }
}, problemAt("file")));

followSizes({
  add: (row, at) => {
    const next = clone(store.doc());
    if (at === null) next.pieces.push(row); else next.pieces[at] = { ...next.pieces[at], ...row };
    store.change(next);
  },
  tell: problemAt("sizes"),
});

// -- jobs ----------------------------------------------------------------------------

const words = (r) => trn("{name}, {count} row", "{name}, {count} rows", r.doc.pieces.length, { name: r.name || r.doc.job.title || tr("Without a name") });

function lists() {
  const resort = document.querySelector("#jobs summary");
  refill(byId("job-list"), () => byId("job-list").replaceChildren(...store.list().map((r) => line(r.id === store.id() ? tr("{job}, open here", { job: words(r) }) : words(r), [
    ...(r.id === store.id() ? [] : [[tr("Open"), () => store.open(r.id)]]),
    [tr("Duplicate"), () => store.duplicate(r.id)],
    [tr("Forget"), () => { store.forget(r.id); lists(); }],
  ]))), resort);
  const gone = store.forgotten();
  byId("bring-back").hidden = !gone;
  if (gone) byId("bring-back").textContent = tr("Bring back '{name}'", { name: gone.name || tr("Without a name") });
  listFiles({ open: openFile, renamed, back });
}

// A file was renamed or taken out (then there is no new name); where this job was saved as it, the job knows.
function renamed(from, to, out) {
  const file = store.file();
  if (!file || file.name !== from) return;
  store.keepFileName(to ? { ...file, name: to } : { ...file, out });
  if (to) store.rename(to);
}

// A file was put back; the job that was saved as it is so again.
function back(out, name) {
  const { out: was, ...file } = store.filed() || {};
  if (was === out) store.keepFileName({ ...file, name });
}

function openFile(which) {
  return attempt(async () => {
    const got = await get("/jobs/" + encodeURIComponent(which));
    const next = { job: got.job, pieces: got.pieces };
    const file = { name: got.name, mark: got.mark, said: saidBy(next) };
    // Where this browser holds it just so, one is enough.
    const here = store.list().find((r) => r.name === got.name && saidBy(r.doc) === file.said && JSON.stringify(r.file) === JSON.stringify(file));
    if (here) store.open(here.id); else store.begin(got.name, next, file);
  }, problemAt("job"));
}

byId("keep").addEventListener("click", () => attempt(async () => {
  pieces.settle();
  const called = byId("job-name").value.trim();
  if (!called) { byId("job-name").focus(); throw new Refused(tr("The job has no name yet; type one, such as Class in May.")); }
  const file = store.file();
  const mark = file && file.name === called ? file.mark : "";
  const doc = store.doc();
  const answer = await post("/jobs/" + encodeURIComponent(called), { ...doc, mark });
  store.rename(called);
  store.keepFileName({ name: answer.name, mark: answer.mark, said: saidBy(doc) });
}, problemAt("job")));

byId("jobs").addEventListener("toggle", () => { if (byId("jobs").open) lists(); });
byId("begin").addEventListener("click", () => store.begin("", { job: {}, pieces: [] }, null));
byId("bring-back").addEventListener("click", store.bringBack);
byId("copy-link").addEventListener("click", async () => {
  byId("link").value = await store.link();
  byId("link-line").hidden = false;
  byId("link").select();
});

// -- making it -------------------------------------------------------------------------

let task = "";
async function follow(kind) {
  byId("working").hidden = false;
  byId("state").textContent = "";
  let over = true;
  try {
    for (;;) {
      await new Promise((go) => setTimeout(go, 150));
      const now = await get("/job/task/" + task);
      byId("progress").max = now.total || 1;
      byId("progress").value = now.done || 0;
      if (now.state === "working") continue;
      if (now.state === "cancelled") { byId("state").textContent = tr("Cancelled."); return; }
      if (now.state !== "done") throw new Refused(now.error || tr("That did not work."));
      await download("/job/task/" + task + "/" + kind, kind);
      byId("state").textContent = tr("Done.");
      return;
    }
  } catch (e) {
    over = !(e instanceof Lost);  // this page is being left, or the server is away: the next one asks again
    throw e;
  } finally {
    if (document.activeElement === byId("cancel")) document.querySelector(`[data-make="${kind}"]`).focus();
    byId("working").hidden = true;
    if (over) sessionStorage.removeItem("job-task");
  }
}

for (const b of document.querySelectorAll("[data-make]")) b.addEventListener("click", () => {
  pieces.settle();
  byId("state").textContent = "";
  return attempt(async () => {
    if (b.dataset.make === "dxf" && !store.doc().job.machine) {
      byId("f-machine").closest("details").open = true;
      byId("f-machine").focus();
      throw new Refused(tr("No cutter is chosen yet; choose the one that the files are for in the field 'Cutter'."));
    }
    task = (await post("/job/make", { ...store.doc(), name: store.name(), kind: b.dataset.make })).task;
    sessionStorage.setItem("job-task", JSON.stringify([task, b.dataset.make]));
    await follow(b.dataset.make);
  }, problemAt("make"));
});
byId("cancel").addEventListener("click", () => attempt(() => post("/job/task/" + task + "/cancel", {}), problemAt("make")));
byId("order-csv").addEventListener("click", () => attempt(() => download("/job/order.csv", "order.csv", store.doc()), problemAt("order")));
byId("order-print").addEventListener("click", () => window.print());

// -- beginning -------------------------------------------------------------------------

onServer((state) => {
  lost = state === "lost";
  where();
  if (lost) return;
  for (const p of document.querySelectorAll("[data-problem]")) if (/lost its server/.test(p.textContent)) p.hidden = true;
  soon();
});
store.start(notice);
const asked = location.search;
const called = new URLSearchParams(asked).get("kept");
function prefill(of, women) {
  byId("sizes-part").open = true;
  byId("s-of").value = of;
  byId("s-women").value = women || "";
  byId("sizes-part").scrollIntoView();
}
attempt(async () => {
  if (await store.fromLink()) return;
  const sized = new URLSearchParams(asked).get("sizes");
  if (sized) { history.replaceState(null, "", "/job"); prefill(sized, new URLSearchParams(asked).get("women")); return; }
  if (called && !(store.file() && store.file().name === called)) await openFile(called);
}, problemAt("job"));
// A link that is put into the address of this very page.
window.addEventListener("hashchange", () => { if (location.hash.startsWith("#job=")) attempt(store.fromLink, problemAt("job")); });
draw();
const going = JSON.parse(sessionStorage.getItem("job-task") || "null");
if (going) { task = going[0]; attempt(() => follow(going[1]), (text) => problemAt("make")(text && tr("The files were not fetched in time; make them again."))); }
