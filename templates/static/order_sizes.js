// A run of sizes for the list: worked out from bodies, or of one's own.
const byId = (id) => document.getElementById(id);

function own(text) {
  const out = {};
  for (const line of text.split(/[\n;]/).map((x) => x.trim()).filter(Boolean)) {
    const found = /^(\S+)\s+(.+)$/.exec(line);
    if (!found) throw new Refused(tr("'{line}' is no size; write its name and its measure, such as S 15.5 cm.", { line }));
    out[found[1]] = found[2];
  }
  return out;
}

function whole(id, what, least, most) {
  const text = byId(id).value.trim();
  if (!/^\d{1,4}$/.test(text) || Number(text) < least || Number(text) > most) {
    byId(id).focus();
    throw new Refused(tr("{what}: '{text}' cannot be used; give a whole number from {least} to {most}.", { what, text, least, most }));
  }
  return Number(text);
}

function row() {
  const out = { pattern: byId("s-pattern").value };
  if (byId("s-label").value.trim()) out.label = byId("s-label").value.trim();
  if (byId("s-leather").value.trim()) out.leather = byId("s-leather").value.trim();
  out.count = whole("s-count", tr("How many"), 1, 999);
  const mine = own(byId("s-own").value);
  if (Object.keys(mine).length) return { ...out, sizes: mine };
  out.sizes = { of: whole("s-of", tr("Sizes"), 1, 50), bodies: "adults" };
  if (byId("s-women").value.trim()) out.sizes.women = whole("s-women", tr("Women in a hundred"), 0, 100) / 100;
  return out;
}

export function followSizes({ add, tell }) {
  byId("add-sizes").addEventListener("click", () => {
    tell("");
    try { add(row(), null); byId("s-own").value = ""; } catch (e) {
      if (!(e instanceof Refused)) throw e;
      tell(e.message);
    }
  });
}
