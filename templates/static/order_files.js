// Jobs saved by name: the files in the maker's folder, opened, renamed, taken out and put back.  Every change can be undone.
import { attempt, get, post, problemAt } from "./order_server.js";
const byId = (id) => document.getElementById(id);
const tell = problemAt("lists");
let told = { open: () => {}, renamed: () => {}, back: () => {} };

export function line(text, acts) {
  const li = document.createElement("li");
  const span = document.createElement("span");
  span.textContent = text;
  li.append(span);
  for (const [label, run] of acts) {
    const b = document.createElement("button");
    b.type = "button";
    b.textContent = label;
    b.setAttribute("aria-label", label + " " + text);
    b.addEventListener("click", run);
    li.append(b);
  }
  return li;
}

function say(text, words, act) {
  const place = byId("file-said");
  place.replaceChildren(text + " ");
  if (words) {
    const b = document.createElement("button");
    b.type = "button";
    b.textContent = words;
    b.addEventListener("click", act);
    place.append(b);
  }
  (place.querySelector("button") || place).focus();
}

const at = (name, what) => "/jobs/" + encodeURIComponent(name) + "/" + what;

async function rename(from, to, mark) {
  const { name } = await post(at(from, "rename"), { to, mark });
  told.renamed(from, name);
  await fill(true);
  return name;
}

const putBack = (called) => attempt(async () => {
  const { name } = await post(at(called, "put-back"), {});
  told.back(called, name);
  await fill(true);
  say(tr("Put back: {name}.", { name }));
}, tell);

const takeOut = (j) => attempt(async () => {
  const { called } = await post(at(j.name, "take-out"), { mark: j.mark });
  told.renamed(j.name, "", called);
  await fill(true);
  say(tr("Taken out: {name}.", { name: j.name }), tr("Put it back"), () => putBack(called));
}, tell);

// The line of a job becomes a field with its name.
function askName(j, li) {
  const box = document.createElement("input");
  const form = document.createElement("form");
  box.value = j.name;
  box.maxLength = 60;
  box.autocomplete = "off";
  box.setAttribute("aria-label", tr("New name of {name}", { name: j.name }));
  form.append(box);
  for (const [words, type] of [[tr("Rename"), "submit"], [tr("Leave it"), "button"]]) {
    const b = document.createElement("button");
    b.type = type;
    b.textContent = words;
    form.append(b);
  }
  const leave = () => { li.replaceWith(row(j)); byId("file-list").querySelector(`[aria-label^="${tr("Rename")} ${CSS.escape(j.name)}"]`)?.focus(); };
  form.lastChild.addEventListener("click", leave);
  form.addEventListener("keydown", (e) => { if (e.key === "Escape") leave(); });
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const to = box.value.trim();
    if (to === j.name) { leave(); return; }
    attempt(async () => {
      const name = await rename(j.name, to, j.mark);
      say(tr("Renamed: {name}.", { name }), tr("Undo"), () => attempt(async () => { say(tr("Called {name} again.", { name: await rename(name, j.name, j.mark) })); }, tell));
    }, tell);
  });
  li.replaceChildren(form);
  box.focus();
  box.select();
}

function row(j) {
  const text = j.damaged ? j.name + ": " + j.damaged : trn("{name}, {count} row, {changed}", "{name}, {count} rows, {changed}", j.rows, { name: j.name, changed: j.changed });
  const li = line(text, [
    ...(j.damaged ? [] : [[tr("Open"), () => told.open(j.name)]]),
    ...(j.mark ? [[tr("Rename"), () => askName(j, li)], [tr("Take out"), () => takeOut(j)]] : []),
  ]);
  return li;
}

// Where a name is being typed in the list, only what was done to a job draws it anew.
async function fill(done = false) {
  const answer = await get("/jobs");
  const resort = document.querySelector("#jobs summary");
  byId("job-folder").textContent = answer.jobs.length ? tr("In {folder}.", { folder: answer.folder }) : tr("None yet; 'Save by name' puts one into {folder}.", { folder: answer.folder });
  if (!done && byId("file-list").querySelector("form")) return;
  refill(byId("file-list"), () => byId("file-list").replaceChildren(...answer.jobs.map(row)), resort);
  byId("out").hidden = !answer.out.length;
  byId("out-list").replaceChildren(...answer.out.map((called) => line(called.replace(/~\d+$/, ""), [[tr("Put it back"), () => putBack(called)]])));
}

export function listFiles(words) {
  told = words;
  return attempt(fill, tell);
}
