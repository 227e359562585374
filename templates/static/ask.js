"use strict";
// One way to ask the server.  Only a request that found no server says that the server is lost; a fault in a
// script stays a fault and shows itself.
const LOST = tr("The page has lost its server; start 'strapwork serve' again.");
class Lost extends Error {}
class Refused extends Error {}

async function ask(address, options) {
  let reply;
  try { reply = await fetch(address, options); } catch (e) {
    if (e instanceof TypeError) throw new Lost(LOST);
    throw e;
  }
  const answer = await reply.json();
  if (!reply.ok) throw new Refused(answer.error || tr("That did not work."));
  return answer;
}

// Run work; what the server refused or a lost server is told, anything else is a fault of ours and is not hidden.
async function attempt(work, tell) {
  try { await work(); } catch (e) {
    if (!(e instanceof Lost || e instanceof Refused)) throw e;
    tell(e.message);
  }
}

// Fill a place anew without losing whoever works by keys: the focus goes to what says the same there, else to what now
// stands where it was, else to the last resort.
function refill(place, fill, resort) {
  const said = (e) => e.getAttribute("aria-label") || e.textContent;
  const all = () => [...place.querySelectorAll("a[href], button:not(:disabled)")].filter((e) => e.checkVisibility());
  const had = place.contains(document.activeElement) ? document.activeElement : null;
  const words = had && said(had), at = had && all().indexOf(had);
  fill();
  if (!had || (had.isConnected && !had.disabled && had.checkVisibility())) return;
  const now = all();
  (now.find((e) => said(e) === words) || now[Math.min(at, now.length - 1)] || resort).focus();
}

// Every row of a job has an identity of its own in this browser, under a key that no piece has.  It goes nowhere else: the
// server, files and links get rows without it.
const ROW = "row id";
function plain({ [ROW]: _, ...piece }) { return piece; }
function bare(body) {
  const out = { ...body };
  if (Array.isArray(out.pieces)) out.pieces = out.pieces.map(plain);
  if (out.piece instanceof Object) out.piece = plain(out.piece);  // the workshop names a piece by its number
  return out;
}
function newId() { return Date.now().toString(36) + Math.random().toString(36).slice(2, 8); }

function readJob() {
  const kept = JSON.parse(localStorage.getItem("job") || "{}");
  return { job: kept.job || {}, pieces: kept.pieces || [] };
}

function keepJob(doc) { localStorage.setItem("job", JSON.stringify(doc)); }
