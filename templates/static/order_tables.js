// The order page's tables in the browser: the same words and numbers as on paper, with boxes to tick off.
const make = (tag, text, look) => {
  const e = document.createElement(tag);
  if (text !== undefined) e.textContent = text;
  if (look) e.className = look;
  return e;
};

function cells(line, columns, texts, head) {
  texts.forEach((text, k) => {
    const td = make(k === 0 && head ? "th" : "td", text, [columns[k].end ? "o-end" : "", columns[k].strong ? "o-strong" : ""].join(" ").trim());
    if (k === 0 && head) td.scope = "row";
    line.append(td);
  });
}

function tick(row, key, ticked, onTick) {
  const td = make("td", undefined, "o-tick");
  const box = make("input");
  box.type = "checkbox";
  box.checked = ticked.has(key);
  box.setAttribute("aria-label", tr("Done: {row}", { row: row.filter(Boolean).slice(0, 2).join(", ") }));
  box.addEventListener("change", () => onTick(key, box.checked));
  td.append(box);
  return td;
}

function body(table, section, part, ticked, onTick) {
  const out = make("tbody");
  if (section.heading) {
    const line = make("tr", undefined, "o-section");
    const th = make("th", section.heading);
    th.colSpan = table.columns.length + (table.ticks ? 1 : 0);
    th.scope = "rowgroup";
    if (section.remark) th.append(" ", make("span", section.remark, "o-remark"));
    line.append(th);
    out.append(line);
  }
  const seen = {};
  for (const row of section.rows) {
    const line = make("tr");
    if (table.ticks) {
      const key = [part, section.heading, ...row].join("|");
      seen[key] = (seen[key] || 0) + 1;
      line.append(tick(row, key + "|" + seen[key], ticked, onTick));
    }
    cells(line, table.columns, row, true);
    out.append(line);
  }
  if (section.total.length) out.append(total(table, section.total));
  return out;
}

function total(table, texts) {
  const line = make("tr", undefined, "o-total");
  if (table.ticks) line.append(make("td"));
  cells(line, table.columns, texts, true);
  return line;
}

export function drawTables(parent, groups, ticked, onTick) {
  parent.replaceChildren(...groups.flat().map((table) => {
    const out = make("section", undefined, "o-list");
    const h = make("h3", table.heading);
    const scroll = make("div", undefined, "scroll");
    scroll.tabIndex = 0;
    scroll.setAttribute("role", "group");
    scroll.setAttribute("aria-label", table.heading);
    const t = make("table", undefined, "o-table");
    t.append(make("caption", table.heading, "away"));
    if (table.columns.some((c) => c.head)) {
      const thead = make("thead");
      const line = make("tr");
      if (table.ticks) { const th = make("th"); th.append(make("span", tr("done"), "away")); th.scope = "col"; line.append(th); }
      for (const c of table.columns) { const th = make("th", c.head, c.end ? "o-end" : ""); th.scope = "col"; line.append(th); }
      thead.append(line);
      t.append(thead);
    }
    for (const section of table.sections) t.append(body(table, section, table.heading, ticked, onTick));
    if (table.total.length) { const foot = make("tfoot"); foot.append(total(table, table.total)); t.append(foot); }
    scroll.append(t);
    out.append(h, scroll, ...table.notes.map((text) => make("p", text, "note")));
    return out;
  }));
}
