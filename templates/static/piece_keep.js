"use strict";
// Nothing is lost: every change can be undone in this tab, every piece is kept in the browser under a key of its own.
const OWN = "strapwork-piece-";
const MOST_UNNAMED = 40;
const MOST_CHANGES = 200;
const past = JSON.parse(sessionStorage.getItem("changes") || '{"list":[],"at":-1}');
let mine = sessionStorage.getItem("piece") || ""; // key of the piece in this tab
let seen = sessionStorage.getItem("piece-seen") || ""; // its query when this tab last wrote or read it

// -- undo and redo ----------------------------------------------------------

function keepPast() {
  sessionStorage.setItem("changes", JSON.stringify(past));
  document.getElementById("undo").disabled = past.at < 1;
  document.getElementById("redo").disabled = past.at >= past.list.length - 1;
}

function address(q) { return "/?" + q + (row === null ? "" : "&row=" + encodeURIComponent(row)); }

function note(q) {
  if (past.list[past.at] === q) return;
  past.list.splice(past.at + 1);
  past.list.push(q);
  if (past.list.length > MOST_CHANGES) past.list.shift();
  past.at = past.list.length - 1;
  keepPast();
}

// A change is made: it can be undone, and the address holds it.
function remember() {
  const q = query();
  note(q);
  if (address(q) !== location.pathname + location.search) history.pushState(null, "", address(q));
}

// The last change turned out to say less than was thought: its goods have no use for some of it.
function amend(absent, pattern) {
  const now = new URLSearchParams(past.list[past.at]);
  if (now.get("pattern") !== pattern || !absent.some((name) => now.has(name))) return;
  for (const name of absent) now.delete(name);
  past.list[past.at] = String(now);
  keepPast();
  history.replaceState(null, "", address(String(now)));
}

async function step(by) {
  const to = past.at + by;
  if (to < 0 || to >= past.list.length) return;
  past.at = to;
  keepPast();
  history.replaceState(null, "", address(past.list[to]));
  await apply(past.list[to]);
}

function undo() {
  remember(); // what is typed and not left yet is a change as well
  return step(-1);
}

document.getElementById("undo").addEventListener("click", undo);
document.getElementById("redo").addEventListener("click", () => step(1));
document.addEventListener("keydown", (e) => {
  const inText = e.target.matches("textarea, input:not([type=radio]):not([type=range])");
  if (!(e.ctrlKey || e.metaKey) || inText) return;
  const key = e.key.toLowerCase();
  if (key === "z" && !e.shiftKey) undo();
  else if (key === "y" || (key === "z" && e.shiftKey)) step(1);
  else return;
  e.preventDefault();
});
window.addEventListener("popstate", () => {
  const q = new URLSearchParams(location.search);
  q.delete("row");
  if (String(q) === query()) return; // only the place on the page has changed
  note(String(q));
  apply(String(q));
});

// -- kept pieces ------------------------------------------------------------

function read(key) { return JSON.parse(localStorage.getItem(key) || "null"); }
function write(key, piece) { localStorage.setItem(key, JSON.stringify(piece)); }
function fresh() { return OWN + Date.now().toString(36) + Math.random().toString(36).slice(2, 7); }

function every() {
  return Object.keys(localStorage).filter((k) => k.startsWith(OWN)).map((key) => ({ key, ...read(key) }))
    .sort((a, b) => b.at - a.at);
}

function hold(key, q) {
  mine = key;
  seen = q;
  sessionStorage.setItem("piece", mine);
  sessionStorage.setItem("piece-seen", seen);
}

function goodsOf(q) { return new URLSearchParams(q).get("pattern") || ""; }

// Keep the piece of this tab as it now is; a piece that another tab has changed meanwhile stays as that tab left it.
function save(q, answer) {
  const kept = mine ? read(mine) : null;
  if (kept && kept.query === q) {
    hold(mine, q);
    if (!kept.name && kept.title !== answer.what) write(mine, { ...kept, title: answer.what });
  } else if (kept && kept.query !== seen) {
    const key = fresh();
    write(key, { name: kept.name ? tr("{name}, from this tab", { name: kept.name }) : "", title: answer.what, query: q, at: Date.now() });
    hold(key, q);
    say(tr("This piece was changed in another tab as well; yours is kept beside it."));
  } else if (kept && (kept.name || goodsOf(kept.query) === goodsOf(q))) {
    write(mine, { ...kept, title: answer.what, query: q, at: Date.now() });
    hold(mine, q);
  } else {
    const same = every().find((p) => p.query === q);
    const key = same ? same.key : fresh();
    if (!same) write(key, { name: "", title: answer.what, query: q, at: Date.now() });
    hold(key, q);
  }
  for (const old of every().filter((p) => !p.name && p.key !== mine).slice(MOST_UNNAMED)) localStorage.removeItem(old.key);
  list();
}

function nameOf(p) { return p.name || p.title; }

function list() {
  const all = every();
  document.getElementById("none-kept").hidden = all.length > 0;
  const box = document.getElementById("piece-name");
  const own = all.find((p) => p.key === mine);
  if (document.activeElement !== box) box.value = own ? own.name : "";
  const kept = document.getElementById("kept-pieces");
  refill(kept, () => kept.replaceChildren(...all.map((p) => {
    const li = element("li");
    if (p.key === mine) li.setAttribute("aria-current", "true");
    const a = element("a", nameOf(p) + (p.name ? " (" + p.title + ")" : ""));
    a.href = "/?" + p.query;
    a.addEventListener("click", () => hold(p.key, p.query));
    const out = element("button", tr("Take out"));
    out.type = "button";
    out.setAttribute("aria-label", tr("Take out {name}", { name: nameOf(p) }));
    out.addEventListener("click", () => {
      const before = read(p.key);
      localStorage.removeItem(p.key);
      if (p.key === mine) hold("", "");
      list();
      say(tr("Taken out: {name}.", { name: nameOf(p) }), tr("Put it back"), () => { write(p.key, before); list(); say(tr("Put back: {name}.", { name: nameOf(p) })); });
    });
    li.append(a, element("span", new Date(p.at).toLocaleString([], { dateStyle: "short", timeStyle: "short" }), "when"), out);
    return li;
  })), document.querySelector("#pieces summary"));
}

document.getElementById("keep").addEventListener("click", async () => {
  const name = document.getElementById("piece-name").value.trim();
  const answer = await commit();
  if (!answer || !answer.ok) return say(tr("A piece is kept once it has a measure that can be used."));
  write(mine, { ...read(mine), name, at: Date.now() });
  list();
  say(name ? tr("Kept as {name}.", { name }) : tr("Kept without a name."));
});
document.getElementById("duplicate").addEventListener("click", async () => {
  const answer = await commit();
  if (!answer || !answer.ok) return say(tr("There is no piece yet to duplicate."));
  const before = read(mine);
  const key = fresh();
  write(key, { ...before, name: nameOf(before) + ", copy", at: Date.now() });
  hold(key, before.query);
  list();
  say(tr("This is the copy now; the other stays as it was."));
});
document.getElementById("fresh").addEventListener("click", () => hold("", ""));
window.addEventListener("storage", (e) => {
  if (e.key !== null && !e.key.startsWith(OWN)) return;
  list();
  if (e.key === mine && e.newValue && JSON.parse(e.newValue).query !== seen) {
    const theirs = JSON.parse(e.newValue).query;
    say(tr("Another tab has changed this piece. A change here is kept as a piece of its own."), tr("Show theirs"), () => {
      hold(mine, theirs);
      note(theirs);
      history.pushState(null, "", address(theirs));
      apply(theirs);
      say("");
    });
  }
});

// What was there before: the changes of this tab, and the last piece for an address that names none.
function begin() {
  for (const id of ["tools", "pieces"]) document.getElementById(id).hidden = false;
  const q = query();
  if (mine && seen !== q) {
    const kept = read(mine);
    if (!kept || goodsOf(kept.query) !== goodsOf(q) || !new URLSearchParams(location.search).get("measure")) hold("", "");
  }
  note(q);
  keepPast();
  list();
  const [newest] = every();
  if (newest && !new URLSearchParams(location.search).get("measure")) {
    const a = element("a", nameOf(newest));
    a.href = "/?" + newest.query;
    a.addEventListener("click", () => hold(newest.key, newest.query));
    const [before, after] = tr("Or go on with {piece}.").split("{piece}");
    document.getElementById("go-on").replaceChildren(before, a, after);
    document.getElementById("go-on").hidden = false;
  }
}
