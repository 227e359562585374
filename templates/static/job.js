"use strict";
const byId = (id) => document.getElementById(id);
const token = document.querySelector("meta[name=strapwork-token]").content;
// The job document as a job file has it; what has no field stays in it.
let doc = readJob();
let task = "";

function problem(text) {
  byId("problem").textContent = text;
  byId("problem").hidden = !text;
}

function post(address, body, plain) {
  return ask(address, {
    method: "POST",
    headers: { "X-Strapwork-Token": token, "Content-Type": plain ? "text/plain" : "application/json" },
    body: plain ? body : JSON.stringify(body),
  });
}

function work(what) {
  problem("");
  return attempt(what, (text) => { problem(text); byId("problem").scrollIntoView({ block: "nearest" }); });
}

function nameOf(p) { return p.label || p.pattern; }

function measureOf(p) {
  return p.sizes ? Object.entries(p.sizes).map(([name, size]) => name + " " + size).join(", ") : p.measure || "";
}

function leatherOf(p) {
  return typeof p.leather === "object" ? p.leather.thickness : p.leather || "as the pattern says";
}

function cell(row, content) {
  const td = document.createElement("td");
  td.append(content);
  row.append(td);
}

function fields() {
  for (const box of byId("whole").elements) if (box.name) box.value = doc.job[box.name] === undefined ? "" : String(doc.job[box.name]);
  if (!byId("f-units").value) byId("f-units").value = "mm";
}

function draw() {
  keepJob(doc);
  byId("empty").hidden = doc.pieces.length > 0;
  byId("pieces").replaceChildren(...doc.pieces.map((p, k) => {
    const tr = document.createElement("tr");
    for (const text of [nameOf(p), p.pattern, measureOf(p), leatherOf(p), p.hand || ""]) cell(tr, text || "");
    const box = document.createElement("input");
    box.type = "number"; box.min = "1"; box.max = "999"; box.value = p.count || "1";
    box.setAttribute("aria-label", "How many of " + nameOf(p));
    box.addEventListener("change", () => { p.count = Number(box.value); draw(); });
    cell(tr, box);
    const edit = document.createElement("button");
    edit.type = "button"; edit.textContent = "Open";
    edit.setAttribute("aria-label", "Open " + nameOf(p));
    edit.addEventListener("click", () => work(async () => {
      const got = await post("/job/fields", { job: doc.job, piece: p });
      location.assign("/?" + new URLSearchParams({ ...got.fields, row: String(k) }));
    }));
    const out = document.createElement("button");
    out.type = "button"; out.textContent = "Take out";
    out.setAttribute("aria-label", "Take out " + nameOf(p));
    out.addEventListener("click", () => { doc.pieces.splice(k, 1); draw(); });
    const both = document.createElement("span");
    both.append(edit, " ", out);
    cell(tr, both);
    return tr;
  }));
}

function keep(content, name, type) {
  const a = document.createElement("a");
  a.href = URL.createObjectURL(new Blob([content], { type }));
  a.download = name;
  a.click();
  URL.revokeObjectURL(a.href);
}

byId("add-table").addEventListener("click", () => work(async () => {
  const base = doc.pieces.length ? doc.pieces[doc.pieces.length - 1] : {};
  const answer = await post("/job/table", { text: byId("table").value, piece: base });
  await post("/job/check", { job: doc.job, pieces: [...doc.pieces, ...answer.pieces] });
  doc.pieces.push(...answer.pieces);
  byId("table").value = "";
  draw();
}));

byId("save").addEventListener("click", () => work(async () => {
  const answer = await post("/job/text", doc);
  keep(answer.toml, "job.toml", "application/toml");
}));

byId("open").addEventListener("change", () => work(async () => {
  const file = byId("open").files[0];
  if (!file) return;
  if (file.size > 1000000) throw new Refused("That is too large; the limit is 1 MB.");
  const answer = await post("/job/read", await file.text(), true);
  doc = { job: answer.job, pieces: answer.pieces };
  byId("kept").textContent = answer.kept;
  byId("kept").hidden = !answer.kept;
  byId("open").value = "";
  fields();
  draw();
}));

byId("clear").addEventListener("click", () => { doc = { job: {}, pieces: [] }; byId("kept").hidden = true; fields(); draw(); });
byId("whole").addEventListener("change", (e) => {
  if (e.target.value.trim() === "") delete doc.job[e.target.name];
  else doc.job[e.target.name] = e.target.value.trim();
  if (e.target.name === "hand") delete doc.job.left_handed;
  draw();
});
byId("whole").addEventListener("submit", (e) => e.preventDefault());

for (const b of document.querySelectorAll("[data-make]")) b.addEventListener("click", () => work(async () => {
  const kind = b.dataset.make;
  const answer = await post("/job/make", { ...doc, kind });
  task = answer.task;
  byId("working").hidden = false;
  byId("state").textContent = "";
  for (;;) {
    await new Promise((go) => setTimeout(go, 150));
    const now = await ask("/job/task/" + task);
    byId("progress").max = now.total || 1;
    byId("progress").value = now.done || 0;
    if (now.state === "working") continue;
    byId("working").hidden = true;
    if (now.state === "done") {
      byId("state").textContent = "Done.";
      location.assign("/job/task/" + task + "/" + kind);
    } else if (now.state === "cancelled") byId("state").textContent = "Cancelled.";
    else throw new Refused(now.error || "That did not work.");
    return;
  }
}));

byId("cancel").addEventListener("click", () => work(() => post("/job/task/" + task + "/cancel", {})));
fields();
draw();
