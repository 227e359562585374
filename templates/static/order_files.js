// Jobs saved by name: the files in the maker's folder, opened, renamed, taken out and put back.  Every change can be undone.
import { attempt, get, post, problemAt } from "./order_server.js";
const byId = (id) => document.getElementById(id);
const tell = problemAt("lists");
let told = { open: () => {}, renamed: () => {} };

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
  await fill();
  return name;
}

const putBack = (called) => attempt(async () => {
  const { name } = await post(at(called, "put-back"), {});
  await fill();
  say("Put back: " + name + ".");
}, tell);

const takeOut = (j) => attempt(async () => {
  const { called } = await post(at(j.name, "take-out"), { mark: j.mark });
  told.renamed(j.name, "");
  await fill();
  say("Taken out: " + j.name + ".", "Put it back", () => putBack(called));
}, tell);

// The line of a job becomes a field with its name.
function askName(j, li) {
  const box = document.createElement("input");
  const form = document.createElement("form");
  box.value = j.name;
  box.maxLength = 60;
  box.autocomplete = "off";
  box.setAttribute("aria-label", "New name of " + j.name);
  form.append(box);
  for (const [words, type] of [["Rename", "submit"], ["Leave it", "button"]]) {
    const b = document.createElement("button");
    b.type = type;
    b.textContent = words;
    form.append(b);
  }
  const leave = () => { li.replaceWith(row(j)); byId("file-list").querySelector(`[aria-label^="Rename ${CSS.escape(j.name)}"]`)?.focus(); };
  form.lastChild.addEventListener("click", leave);
  form.addEventListener("keydown", (e) => { if (e.key === "Escape") leave(); });
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const to = box.value.trim();
    if (to === j.name) { leave(); return; }
    attempt(async () => {
      const name = await rename(j.name, to, j.mark);
      say("Renamed: " + name + ".", "Undo", () => attempt(async () => { say("Called " + (await rename(name, j.name, j.mark)) + " again."); }, tell));
    }, tell);
  });
  li.replaceChildren(form);
  box.focus();
  box.select();
}

function row(j) {
  const text = j.damaged ? j.name + ": " + j.damaged : j.name + ", " + j.rows + (j.rows === 1 ? " row" : " rows") + ", " + j.changed;
  const li = line(text, [
    ...(j.damaged ? [] : [["Open", () => told.open(j.name)]]),
    ...(j.mark ? [["Rename", () => askName(j, li)], ["Take out", () => takeOut(j)]] : []),
  ]);
  return li;
}

async function fill() {
  const answer = await get("/jobs");
  const resort = document.querySelector("#jobs summary");
  byId("job-folder").textContent = answer.jobs.length ? "In " + answer.folder + "." : "None yet; 'Save by name' puts one into " + answer.folder + ".";
  refill(byId("file-list"), () => byId("file-list").replaceChildren(...answer.jobs.map(row)), resort);
  byId("out").hidden = !answer.out.length;
  byId("out-list").replaceChildren(...answer.out.map((called) => line(called.replace(/~\d+$/, ""), [["Put it back", () => putBack(called)]])));
}

export function listFiles(words) {
  told = words;
  return attempt(fill, tell);
}
