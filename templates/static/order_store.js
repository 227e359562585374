// Jobs in the browser's storage, each under its own key with the number of its version: a tab that would write over
// what another tab wrote goes on with a copy.  'job' holds the job that 'One piece' adds to.
const HOLD = 30 * 60 * 1000;
const MOST_STEPS = 60;
const MOST_TEXT = 600000;

let tell = () => {};
let record;

const same = (a, b) => JSON.stringify(bare(a)) === JSON.stringify(bare(b));
// A row keeps its identity through every change, also through undo; one that has none yet is given one.
const named = (doc) => ({ ...doc, pieces: doc.pieces.map((p) => (p[ROW] ? p : { ...p, [ROW]: newId() })) });
const read = (key) => { try { return JSON.parse(localStorage.getItem(key)); } catch { return null; } };
const kept = (id) => read("job-kept:" + id);
const empty = () => ({ job: {}, pieces: [] });

function write(key, value) {
  try { localStorage.setItem(key, JSON.stringify(value)); return true; } catch {
    tell("full");
    return false;
  }
}

function steps(id) { return read("job-undo:" + id) || { past: [], future: [] }; }

function keepSteps(id, both) {
  while (both.past.length > MOST_STEPS || (both.past.length > 1 && JSON.stringify(both).length > MOST_TEXT)) both.past.shift();
  write("job-undo:" + id, both);
}

// Make this tab's job the one that 'One piece' adds to, unless a row of another is being edited there.
export function claim() {
  const hold = read("job-hold");
  if (hold && hold.id !== record.id && Date.now() - hold.at < HOLD) return;
  // What is kept, not what this tab holds: that may be behind.
  try { localStorage.setItem("job-open", record.id); keepJob((kept(record.id) || record).doc); } catch { tell("full"); }
}

// A row goes to 'One piece' to be edited and comes back to this job.
export function hold() { write("job-hold", { id: record.id, at: Date.now() }); claim(); }

// What 'One piece' put into the job since a page of the job last looked.
function takeIn() {
  const id = localStorage.getItem("job-open");
  const there = id && kept(id);
  const doc = named(readJob());
  if (!there || same(there.doc, doc)) return;
  const both = steps(id);
  both.past.push(there.doc);
  both.future = [];
  keepSteps(id, both);
  write("job-kept:" + id, { ...there, doc, version: there.version + 1, at: Date.now() });
}

export function start(notice) {
  tell = notice;
  takeIn();
  const asked = sessionStorage.getItem("job-open") || localStorage.getItem("job-open");
  record = (asked && kept(asked)) || { id: asked || newId(), name: "", doc: readJob(), version: 0, at: Date.now(), file: null };
  record = { ...record, doc: named(record.doc) };
  write("job-kept:" + record.id, record);
  sessionStorage.setItem("job-open", record.id);
  const held = read("job-hold");
  if (held && held.id === record.id) localStorage.removeItem("job-hold");
  claim();
  window.addEventListener("storage", (e) => {
    if (e.key === "job") { takeIn(); adopt(); }
    else if (e.key === "job-kept:" + record.id) adopt();
  });
  window.addEventListener("focus", claim);
}

// Go on with what another tab made of this job.
function adopt() {
  const there = kept(record.id);
  if (!there || there.version <= record.version || tell("busy")) return;
  record = there;
  tell("changed");
}

export const doc = () => record.doc;
export const name = () => record.name;
export const id = () => record.id;
// The file that the job was saved as; of one that was taken out only what it was.
export const filed = () => record.file;
export const file = () => (record.file && !record.file.out ? record.file : null);
export const canUndo = () => steps(record.id).past.length > 0;
export const canRedo = () => steps(record.id).future.length > 0;

function put(next) {
  const there = kept(record.id);
  if (there && there.version !== record.version) {
    // Another tab wrote meanwhile: neither is lost.
    const both = steps(record.id);
    record = { ...record, id: newId(), name: tr("{name}, of this tab", { name: record.name || tr("Job") }), file: null };
    keepSteps(record.id, { past: both.past, future: [] });
    sessionStorage.setItem("job-open", record.id);
    tell("parted");
  }
  record = { ...record, ...next, at: Date.now() };
  record.doc = named(record.doc);
  // Where it finds no room, what is kept is still that of before, and no other tab's.
  const written = { ...record, version: record.version + 1 };
  if (write("job-kept:" + record.id, written)) record = written;
  claim();
  tell("changed");
}

export function change(next) {
  if (same(next, record.doc)) return;
  const before = record.doc;
  put({ doc: next });
  const both = steps(record.id);
  both.past.push(before);
  both.future = [];
  keepSteps(record.id, both);
  tell("changed");
}

function step(from, to) {
  const both = steps(record.id);
  if (!both[from].length) return;
  const next = both[from].pop();
  both[to].push(record.doc);
  put({ doc: next });
  keepSteps(record.id, both);
  tell("changed");
}
export const undo = () => step("past", "future");
export const redo = () => step("future", "past");

export function rename(text) { if (text !== record.name) put({ name: text }); }
export function keepFileName(mark) { put({ file: mark }); }

export function list() {
  const out = [];
  for (let k = 0; k < localStorage.length; k++) {
    const key = localStorage.key(k);
    if (key.startsWith("job-kept:")) out.push(read(key));
  }
  return out.filter((r) => r && r.doc).sort((a, b) => b.at - a.at);
}

function show(next) {
  record = next;
  sessionStorage.setItem("job-open", record.id);
  claim();
  tell("opened");
}

export function open(which) { const there = kept(which); if (there) show(there); }

export function begin(text, content, mark) {
  const next = { id: newId(), name: text, doc: named(content || empty()), version: 0, at: Date.now(), file: mark || null };
  if (write("job-kept:" + next.id, next)) show(next);
}

export function duplicate(which) {
  const there = kept(which);
  if (there) begin(tr("{name}, again", { name: there.name || tr("Job") }), there.doc, null);
}

// One forgotten job can be brought back.
export function forget(which) {
  const there = kept(which);
  if (!there) return;
  write("job-bin", there);
  localStorage.removeItem("job-kept:" + which);
  localStorage.removeItem("job-undo:" + which);
  if (which !== record.id) { tell("list"); return; }
  const [next] = list();
  if (next) show(next); else begin("", empty());
}
export const forgotten = () => read("job-bin");
export function bringBack() {
  const there = forgotten();
  if (!there) return;
  localStorage.removeItem("job-bin");
  write("job-kept:" + there.id, there);
  show(there);
}

// A link that holds the job whole.
const pack = (stream, bytes) => new Response(new Blob([bytes]).stream().pipeThrough(stream)).arrayBuffer();
export async function link() {
  const raw = new TextEncoder().encode(JSON.stringify({ name: record.name, ...bare(record.doc) }));
  const bytes = new Uint8Array(await pack(new CompressionStream("deflate-raw"), raw));
  const text = btoa(Array.from(bytes, (b) => String.fromCharCode(b)).join(""));
  return location.origin + "/job#job=" + text.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}
export async function fromLink() {
  const found = /^#job=([\w-]+)$/.exec(location.hash);
  if (!found) return false;
  history.replaceState(null, "", "/job");
  try {
    const raw = Uint8Array.from(atob(found[1].replaceAll("-", "+").replaceAll("_", "/")), (c) => c.charCodeAt(0));
    const got = JSON.parse(new TextDecoder().decode(await pack(new DecompressionStream("deflate-raw"), raw)));
    if (!got.job || !Array.isArray(got.pieces)) throw new SyntaxError("no job");
    begin(String(got.name || tr("From a link")), { job: got.job, pieces: got.pieces }, null);
    return true;
  } catch { throw new Refused(tr("The link is cut short or damaged; ask for it again.")); }
}
