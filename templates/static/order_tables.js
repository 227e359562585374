// The order page's tables in the browser: the same words and numbers as on paper, with boxes to tick off.
const make = (tag, text, look) => {
  const e = document.createElement(tag);
  if (text !== undefined) e.textContent = text;
  if (look) e.className = look;
  return e;
};

function cells(tr, columns, texts, head) {
  texts.forEach((text, k) => {
    const td = make(k === 0 && head ? "th" : "td", text, [columns[k].end ? "o-end" : "", columns[k].strong ? "o-strong" : ""].join(" ").trim());
    if (k === 0 && head) td.scope = "row";
    tr.append(td);
  });
}

function tick(row, key, ticked, onTick) {
  const td = make("td", undefined, "o-tick");
  const box = make("input");
  box.type = "checkbox";
  box.checked = ticked.has(key);
  box.setAttribute("aria-label", "Done: " + row.filter(Boolean).slice(0, 2).join(", "));
  box.addEventListener("change", () => onTick(key, box.checked));
  td.append(box);
  return td;
}

function body(table, section, part, ticked, onTick) {
  const out = make("tbody");
  if (section.heading) {
    const tr = make("tr", undefined, "o-section");
    const th = make("th", section.heading);
    th.colSpan = table.columns.length + (table.ticks ? 1 : 0);
    th.scope = "rowgroup";
    if (section.remark) th.append(" ", make("span", section.remark, "o-remark"));
    tr.append(th);
    out.append(tr);
  }
  const seen = {};
  for (const row of section.rows) {
    const tr = make("tr");
    if (table.ticks) {
      const key = [part, section.heading, ...row].join("|");
      seen[key] = (seen[key] || 0) + 1;
      tr.append(tick(row, key + "|" + seen[key], ticked, onTick));
    }
    cells(tr, table.columns, row, true);
    out.append(tr);
  }
  if (section.total.length) out.append(total(table, section.total));
  return out;
}

function total(table, texts) {
  const tr = make("tr", undefined, "o-total");
  if (table.ticks) tr.append(make("td"));
  cells(tr, table.columns, texts, true);
  return tr;
}

export function drawTables(parent, groups, ticked, onTick) {
  parent.replaceChildren(...groups.flat().map((table) => {
    const out = make("section", undefined, "o-list");
    const h = make("h3", table.heading);
    if (table.remark) h.append(" ", make("span", table.remark, "o-remark"));
    const scroll = make("div", undefined, "scroll");
    scroll.tabIndex = 0;
    scroll.setAttribute("role", "group");
    scroll.setAttribute("aria-label", table.heading);
    const t = make("table", undefined, "o-table");
    t.append(make("caption", table.heading, "away"));
    if (table.columns.some((c) => c.head)) {
      const thead = make("thead");
      const tr = make("tr");
      if (table.ticks) { const th = make("th"); th.append(make("span", "done", "away")); th.scope = "col"; tr.append(th); }
      for (const c of table.columns) { const th = make("th", c.head, c.end ? "o-end" : ""); th.scope = "col"; tr.append(th); }
      thead.append(tr);
      t.append(thead);
    }
    for (const section of table.sections) t.append(body(table, section, table.heading, ticked, onTick));
    if (table.total.length) { const foot = make("tfoot"); foot.append(total(table, table.total)); t.append(foot); }
    scroll.append(t);
    out.append(h, scroll, ...table.notes.map((text) => make("p", text, "note")));
    return out;
  }));
}
