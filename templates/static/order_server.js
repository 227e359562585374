// The server, as the order's pages ask it: its token is fetched afresh when it was started again, and while it is
// away the page says so and looks for it.
let token = document.querySelector("meta[name=strapwork-token]").content;
let away = false;
const watchers = [];

export function onServer(tell) { watchers.push(tell); }

function say(state) { for (const tell of watchers) tell(state); }

async function freshToken() {
  const page = new DOMParser().parseFromString(await (await fetch("/job")).text(), "text/html");
  const found = page.querySelector("meta[name=strapwork-token]");
  if (found) token = found.content;
}

function back() {
  if (!away) return;
  away = false;
  say("back");
}

function lost() {
  if (away) return;
  away = true;
  say("lost");
  const look = async () => {
    if (!away) return;
    try { await freshToken(); } catch { setTimeout(look, 2000); return; }
    back();
  };
  setTimeout(look, 2000);
}

// A request; the answer as the server gives it.  Only 'Lost' and 'Refused' are thrown for what a person can mend.
async function send(address, options, again) {
  let reply;
  try { reply = await fetch(address, { ...options, headers: { ...options.headers, "X-Strapwork-Token": token } }); } catch (e) {
    if (!(e instanceof TypeError)) throw e;
    lost();
    throw new Lost(tr("The page has lost its server; start 'strapwork serve' again. Nothing is lost: all of it is kept in this browser."));
  }
  back();
  if (reply.ok) return reply;
  if (reply.status === 403 && again) { await freshToken(); return send(address, options, false); }
  let answer = {};
  try { answer = await reply.json(); } catch { /* no words came with it */ }
  throw new Refused(answer.error || tr("That did not work."));
}

export async function post(address, body, signal) {
  const options = { method: "POST", body: JSON.stringify(bare(body)), headers: { "Content-Type": "application/json" }, signal };
  return (await send(address, options, true)).json();
}

export async function postBytes(address, bytes) {
  const options = { method: "POST", body: bytes, headers: { "Content-Type": "application/octet-stream" } };
  return (await send(address, options, true)).json();
}

export async function get(address) { return (await send(address, { headers: {} }, false)).json(); }

// A file of the server's, kept by the browser under its own name.
export async function download(address, name, body) {
  const options = body === undefined ? { headers: {} }
    : { method: "POST", body: JSON.stringify(bare(body)), headers: { "Content-Type": "application/json" } };
  const reply = await send(address, options, true);
  const said = /filename="([^"]+)"/.exec(reply.headers.get("Content-Disposition") || "");
  keepFile(await reply.blob(), said ? said[1] : name);
}

export function keepFile(content, name) {
  const a = document.createElement("a");
  a.href = URL.createObjectURL(content);
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(a.href), 10000);
}

// Run work; what a person can mend is told beside where it was asked for, a fault of ours is not hidden.
export async function attempt(work, tell) {
  tell("");
  try { return await work(); } catch (e) {
    if (e.name === "AbortError") return undefined;
    if (!(e instanceof Lost || e instanceof Refused)) throw e;
    tell(e.message);
    return undefined;
  }
}

// The problem line of a section.
export function problemAt(name) {
  const line = document.querySelector(`[data-problem="${name}"]`);
  return (text) => {
    line.textContent = text;
    line.hidden = !text;
    if (text) line.scrollIntoView({ block: "nearest" });
  };
}
