// A table that is typed in as in a spreadsheet: arrow keys, Enter and Tab go from cell to cell, and a row adds itself
// under the last.  It shows rows and hands on what is typed; it keeps nothing.
export class Grid {
  // columns: {key, label, kind: "text"|"choice"|"count", choices: [[value, words]], list: id of a datalist, hint}
  // o: {columns, rows(), commit(row, key, text), actions(row) -> [{text, label, run}], cell(row, key) -> {text, fixed}, paste(text), rest: column for the rest}
  constructor(body, o) {
    this.body = body;
    this.o = o;
    body.addEventListener("keydown", (e) => this.key(e));
    body.addEventListener("change", (e) => this.take(e.target));
    body.addEventListener("paste", (e) => {
      const text = e.clipboardData.getData("text/plain");
      if (this.o.paste && /[\t\n]/.test(text.trim())) { e.preventDefault(); this.o.paste(text); }
    });
  }

  draw() {
    const many = this.o.rows().length + 1;
    while (this.body.rows.length > many) this.body.rows[this.body.rows.length - 1].remove();
    while (this.body.rows.length < many) this.body.append(this.row(this.body.rows.length));
    for (let k = 0; k < many; k++) this.fill(k);
  }

  row(k) {
    const line = document.createElement("tr");
    const head = document.createElement("th");
    head.scope = "row";
    head.className = "o-number";
    head.textContent = String(k + 1);
    line.append(head);
    for (const c of this.o.columns) {
      const td = document.createElement("td");
      td.dataset.label = c.label;
      td.className = "o-" + c.key;
      const box = document.createElement(c.kind === "choice" ? "select" : "input");
      if (c.kind === "choice") {
        for (const [value, words] of c.choices) box.append(new Option(words, value));
      } else {
        box.autocomplete = "off";
        box.spellcheck = false;
        box.maxLength = 200;
        if (c.kind === "count") box.inputMode = "numeric";
        if (c.list) box.setAttribute("list", c.list);
      }
      box.dataset.key = c.key;
      td.append(box);
      line.append(td);
    }
    const out = document.createElement("td");
    out.className = "o-out";
    out.dataset.label = this.o.outLabel || "";
    const acts = document.createElement("td");
    acts.className = "o-acts";
    line.append(out, acts);
    return line;
  }

  fill(k) {
    const line = this.body.rows[k];
    const rows = this.o.rows();
    const fresh = k >= rows.length;
    line.classList.toggle("o-fresh", fresh);
    for (const c of this.o.columns) {
      const box = this.box(k, c.key);
      const { text, fixed } = fresh ? { text: "", fixed: false } : this.o.cell(rows[k], c.key);
      if (box !== document.activeElement || box.dataset.was === box.value) {
        if (c.kind === "choice" && text && ![...box.options].some((x) => x.value === text)) box.append(new Option(text, text));
        box.value = text;
      }
      box.dataset.was = text;
      if (c.kind !== "choice") { box.readOnly = fixed; box.placeholder = fresh ? c.hint || "" : ""; }
      box.setAttribute("aria-label", fresh ? tr("{column}, new row", { column: c.label }) : tr("{column}, row {row}", { column: c.label, row: k + 1 }));
    }
    const acts = line.lastElementChild;
    const wanted = fresh ? [] : this.o.actions(k);
    if (acts.childElementCount !== wanted.length) {
      acts.replaceChildren(...wanted.map((a, n) => {
        const b = document.createElement("button");
        b.type = "button";
        b.addEventListener("click", () => this.o.actions([...this.body.rows].indexOf(line))[n].run());
        return b;
      }));
    }
    wanted.forEach((a, n) => { acts.children[n].textContent = a.text; acts.children[n].setAttribute("aria-label", a.label); });
  }

  // What is so of a row: its result, and what is wrong, by column; other words stand under the row's cells, a key that
  // has no column under one of them, with its name.
  tell(k, out, problems, mind, labels = {}) {
    const line = this.body.rows[k];
    if (!line) return;
    line.querySelector(".o-out").textContent = out;
    const keys = this.o.columns.map((c) => c.key);
    const rest = this.o.rest;
    for (const td of line.cells) for (const old of td.querySelectorAll(".o-say")) old.remove();
    for (const key of keys) for (const name of ["aria-invalid", "aria-describedby"]) this.box(k, key).removeAttribute(name);
    for (const [key, text] of Object.entries(problems)) {
      const here = keys.includes(key) ? key : rest;
      const box = this.box(k, here);
      const quiet = key === "measure" && box.value === "";
      this.say(line, box, here !== key && labels[key] ? labels[key] + ": " + text : text, quiet ? "note" : "note wrong");
      if (!quiet) box.setAttribute("aria-invalid", "true");
    }
    for (const text of mind) this.say(line, this.box(k, rest), text, "note");
  }

  say(line, box, text, look) {
    const p = document.createElement("p");
    p.className = "o-say " + look;
    p.textContent = text;
    box.closest("td").append(p);
    p.id = [this.body.id, this.at(box).join("-"), box.closest("td").childElementCount].join("-");
    box.setAttribute("aria-describedby", [box.getAttribute("aria-describedby"), p.id].filter(Boolean).join(" "));
  }

  box(k, key) { return this.body.rows[k].querySelector(`[data-key="${key}"]`); }

  at(box) { return [[...this.body.rows].indexOf(box.closest("tr")), this.o.columns.findIndex((c) => c.key === box.dataset.key)]; }

  take(box) {
    if (!box.dataset.key || box.value.trim() === box.dataset.was) return;
    const [k] = this.at(box);
    box.dataset.was = box.value;
    this.o.commit(k, box.dataset.key, box.value.trim());
  }

  // What is being typed counts as typed.
  settle() { if (this.body.contains(document.activeElement)) this.take(document.activeElement); }

  typing() {
    const box = document.activeElement;
    return this.body.contains(box) && box.dataset.key && box.value.trim() !== box.dataset.was;
  }

  focus(k, n) {
    if (k < 0 || k >= this.body.rows.length || n < 0 || n >= this.o.columns.length) return;
    const box = this.box(k, this.o.columns[n].key);
    box.focus();
    if (box.select) box.select();
  }

  key(e) {
    const box = e.target;
    if (!box.dataset.key || e.altKey || e.ctrlKey || e.metaKey || e.isComposing) return;
    const [k, n] = this.at(box);
    const text = box.tagName === "INPUT";
    const atStart = !text || (box.selectionStart === 0 && (box.selectionEnd === 0 || box.selectionEnd === box.value.length));
    const atEnd = !text || box.selectionEnd === box.value.length;
    const go = { Enter: [e.shiftKey ? -1 : 1, 0], ArrowDown: [1, 0], ArrowUp: [-1, 0],
      ArrowLeft: atStart ? [0, -1] : null, ArrowRight: atEnd ? [0, 1] : null }[e.key];
    if (e.key === "Escape" && text) { box.value = box.dataset.was; return; }
    if (!go) return;
    e.preventDefault();
    this.take(box);
    this.focus(k + go[0], n + go[1]);
  }
}
