"use strict";
const byId = (id) => document.getElementById(id);
const token = document.querySelector("meta[name=strapwork-token]").content;
let pieces = JSON.parse(sessionStorage.getItem("pieces") || "[]");
let task = "";

function problem(text) {
  byId("problem").textContent = text;
  byId("problem").hidden = !text;
}

async function post(address, body, plain) {
  const reply = await fetch(address, {
    method: "POST",
    headers: { "X-Strapwork-Token": token, "Content-Type": plain ? "text/plain" : "application/json" },
    body: plain ? body : JSON.stringify(body),
  });
  const answer = await reply.json();
  if (!reply.ok) throw new Error(answer.error || "That did not work.");
  return answer;
}

async function attempt(work) {
  problem("");
  try { await work(); } catch (e) { problem(e.message); }
}

function whole() {
  return { title: byId("title").value || "Job", paper: byId("paper").value, machine: byId("machine").value, pieces };
}

function draw() {
  sessionStorage.setItem("pieces", JSON.stringify(pieces));
  sessionStorage.setItem("job-title", byId("title").value);
  byId("empty").hidden = pieces.length > 0;
  byId("pieces").replaceChildren(...pieces.map((p, k) => {
    const tr = document.createElement("tr");
    for (const text of [p.label || p.pattern, p.pattern, p.measure, p.leather || "as the pattern says"]) {
      const td = document.createElement("td");
      td.textContent = text || "";
      tr.append(td);
    }
    const many = document.createElement("td");
    const box = document.createElement("input");
    box.type = "number"; box.min = "1"; box.max = "999"; box.value = p.count || "1";
    box.setAttribute("aria-label", "How many of " + (p.label || p.pattern));
    box.addEventListener("change", () => { p.count = box.value; draw(); });
    many.append(box);
    const change = document.createElement("td");
    const edit = document.createElement("a");
    edit.textContent = "Open"; edit.href = "/?" + new URLSearchParams(p);
    edit.setAttribute("aria-label", "Open " + (p.label || p.pattern));
    const out = document.createElement("button");
    out.type = "button"; out.textContent = "Take out";
    out.setAttribute("aria-label", "Take out " + (p.label || p.pattern));
    out.addEventListener("click", () => { pieces.splice(k, 1); draw(); });
    change.append(edit, " ", out);
    tr.append(many, change);
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

byId("add-table").addEventListener("click", () => attempt(async () => {
  const base = pieces.length ? pieces[pieces.length - 1] : { pattern: "wristband" };
  const answer = await post("/job/table", { text: byId("table").value, piece: base });
  await post("/job/check", { ...whole(), pieces: [...pieces, ...answer.pieces] });
  pieces.push(...answer.pieces);
  byId("table").value = "";
  draw();
}));

byId("save").addEventListener("click", () => attempt(async () => {
  const answer = await post("/job/text", whole());
  keep(answer.toml, "job.toml", "application/toml");
}));

byId("open").addEventListener("change", () => attempt(async () => {
  const file = byId("open").files[0];
  if (!file) return;
  if (file.size > 1000000) throw new Error("That is too large; the limit is 1 MB.");
  const answer = await post("/job/read", await file.text(), true);
  pieces = answer.pieces;
  byId("title").value = answer.title;
  byId("paper").value = answer.paper;
  byId("machine").value = answer.machine;
  byId("open").value = "";
  draw();
}));

byId("clear").addEventListener("click", () => { pieces = []; draw(); });
byId("title").addEventListener("change", draw);

for (const b of document.querySelectorAll("[data-make]")) b.addEventListener("click", () => attempt(async () => {
  const kind = b.dataset.make;
  const answer = await post("/job/make", { ...whole(), kind });
  task = answer.task;
  byId("working").hidden = false;
  byId("state").textContent = "";
  for (;;) {
    await new Promise((go) => setTimeout(go, 150));
    const now = await (await fetch("/job/task/" + task)).json();
    byId("progress").max = now.total || 1;
    byId("progress").value = now.done || 0;
    if (now.state === "working") continue;
    byId("working").hidden = true;
    if (now.state === "done") {
      byId("state").textContent = "Done.";
      location.assign("/job/task/" + task + "/" + kind);
    } else if (now.state === "cancelled") byId("state").textContent = "Cancelled.";
    else throw new Error(now.error || "That did not work.");
    return;
  }
}));

byId("cancel").addEventListener("click", () => attempt(() => post("/job/task/" + task + "/cancel", {})));
byId("title").value = sessionStorage.getItem("job-title") || "";
draw();
