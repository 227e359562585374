"use strict";
// "Something is wrong": ask what was done or how it lies, and show the mend step by step.
(() => {
  const box = document.getElementById("wrong-dialog");
  if (!box) return;
  const by = (id) => document.getElementById(id);
  const KEPT = "braid-mend";
  let learner = null, told = null, answer = null, at = 0;

  const button = (words, work, pressed) => {
    const b = document.createElement("button");
    b.type = "button";
    b.textContent = words;
    if (pressed !== undefined) b.setAttribute("aria-pressed", String(pressed));
    b.addEventListener("click", work);
    return b;
  };
  const note = (words) => Object.assign(document.createElement("p"), { className: "note", textContent: words });
  const tell = (words) => { by("wrong-problem").textContent = words; by("wrong-problem").hidden = !words; };
  const press = (group, chosen) => { for (const b of group.querySelectorAll("button")) b.setAttribute("aria-pressed", String(b === chosen)); };

  // -- what was done ---------------------------------------------------------
  function begin(who) {
    learner = who;
    const frames = who.data.frames.slice(0, who.at);
    told = {
      way: "done", turns: who.frame.turn, after: who.frame.turn, gap: 0, face: "front", turned: new Set(), lie: [], twisted: new Set(),
      passes: frames.filter((f) => f.pass).map((f) => ({ after: f.turn, gap: f.pass.gap, face: f.pass.face })),
    };
    const after = [["", "I don't know"], ...Array.from({ length: who.data.turns.length + 1 }, (_, k) => [String(k), String(k)])];
    for (const [id, rows] of [["wrong-below-after", after], ["wrong-twisted-after", after.slice(1)]]) {
      by(id).replaceChildren(...rows.map(([value, words]) => new Option(words, value)));
      by(id).value = String(who.frame.turn);
    }
    showPart("done");
  }

  function showPart(way) {
    told.way = way;
    for (const part of box.querySelectorAll("[data-part]")) part.hidden = part.dataset.part !== way;
    press(box.querySelector(".tabs"), box.querySelector("[data-way=" + way + "]"));
    by("wrong-ask").hidden = false;
    by("wrong-answer").hidden = true;
    tell("");
    by("wrong-go").hidden = way === "slips";
    if (way === "slips") showSlips(); else fill();
  }

  // -- the common slips, as they look at the end of a set --------------------
  const braid = () => new URLSearchParams([..."strands hand weave".split(" ")].map((name) => [name, learner.data[name]]));
  function showSlips() {
    const list = by("wrong-slips"), who = learner;
    if (list.dataset.key === who.key) return;
    list.dataset.key = "";
    list.replaceChildren(Object.assign(document.createElement("li"), { textContent: tr("Working them out …") }));
    attempt(async () => {
      const found = (await ask("/braid/slips?" + braid())).slips;
      if (learner !== who) return;
      list.dataset.key = who.key;
      list.replaceChildren(...found.map((slip, k) => {
        const row = document.createElement("li"), drawing = document.createElement("div");
        drawing.className = "drawing";
        drawing.append(drawn(slip.svg));
        const choose = button(tr("Mend this: {slip}", { slip: slip.title }), () => answered(new URLSearchParams([...braid(), ["slip", k]])));
        row.append(drawing, choose, note(slip.lies));
        return row;
      }));
    }, (words) => { list.replaceChildren(); tell(lost(words)); });
  }

  const pair = (p) => {
    const order = Film.orderAfter(learner.data, p.after);
    return tr("{a} and {b}", { a: Film.letter(order[p.gap - 1]), b: Film.letter(order[p.gap]) });
  };

  function fill() {
    by("wrong-turns").textContent = told.turns;
    by("wrong-after").textContent = told.after;
    const rows = told.passes.map((p, k) => {
      const row = document.createElement("li");
      const words = document.createElement("span");
      words.textContent = p.face === "front"
        ? tr("After turn {after}, between {pair}, in from the front", { after: p.after, pair: pair(p) })
        : tr("After turn {after}, between {pair}, in from the back", { after: p.after, pair: pair(p) });
      const out = button(tr("Take out"), () => {
        told.passes.splice(k, 1);
        fill();
        (by("wrong-passes").querySelector("button") || by("wrong-turns").nextElementSibling).focus();
      });
      out.setAttribute("aria-label", tr("Take out: {what}", { what: words.textContent }));
      row.append(words, out);
      return row;
    });
    by("wrong-passes").replaceChildren(...(rows.length ? rows : [Object.assign(document.createElement("li"), { textContent: tr("None.") })]));
    by("wrong-gaps").replaceChildren(...Array.from({ length: learner.data.strands - 1 }, (_, k) =>
      button(pair({ after: told.after, gap: k + 1 }), () => { told.gap = k + 1; fill(); }, told.gap === k + 1)));
    by("wrong-add").disabled = !told.gap;
    by("wrong-turned").replaceChildren(...Array.from({ length: told.turns }, (_, k) => button(tr("Turn {turn}", { turn: k + 1 }), () => {
      if (!told.turned.delete(k + 1)) told.turned.add(k + 1);
      fill();
    }, told.turned.has(k + 1))));
    fillLie();
    by("wrong-strands").replaceChildren(...Array.from({ length: learner.data.strands }, (_, k) => button(Film.letter(k + 1), () => {
      if (!told.twisted.delete(k + 1)) told.twisted.add(k + 1);
      fill();
    }, told.twisted.has(k + 1))));
  }

  // Filling anew would lose the focus; it goes back to the button with the same words.
  function keeping(work) {
    return () => {
      const had = document.activeElement, words = had && had.textContent, group = had && had.closest("[id]") && had.closest("[id]").id;
      work();
      if (had && !had.isConnected && group && by(group)) {
        const again = [...by(group).querySelectorAll("button")].find((b) => b.textContent === words);
        (again || by(group).querySelector("button") || box).focus();
      }
    };
  }
  fill = keeping(fill);

  const steppers = {
    "wrong-turns": (step) => {
      told.turns = Math.min(Math.max(told.turns + step, 0), 2 * learner.data.turns.length);
      told.after = told.turns;
      told.passes = told.passes.filter((p) => p.after <= told.turns);
      for (const k of told.turned) if (k > told.turns) told.turned.delete(k);
    },
    "wrong-after": (step) => { told.after = Math.min(Math.max(told.after + step, 0), told.turns); },
  };
  for (const [id, work] of Object.entries(steppers)) {
    for (const b of by(id).parentElement.querySelectorAll("[data-by]")) b.addEventListener("click", () => { work(Number(b.dataset.by)); fill(); });
  }
  by("wrong-faces").addEventListener("click", (e) => {
    if (!e.target.dataset.face) return;
    told.face = e.target.dataset.face;
    press(by("wrong-faces"), e.target);
  });
  by("wrong-add").addEventListener("click", () => {
    // After those made at the same turn: passes are told in the order they were made.
    const later = told.passes.findIndex((p) => p.after > told.after);
    told.passes.splice(later < 0 ? told.passes.length : later, 0, { after: told.after, gap: told.gap, face: told.face });
    told.gap = 0;
    fill();
    by("wrong-gaps").querySelector("button").focus({ preventScroll: true });
    by("wrong-passes").parentElement.scrollTop = 0;
  });

  function doneText() {
    const items = [];
    let count = 0;
    const flush = () => { if (count) items.push(count + " turns"); count = 0; };
    const passes = (k) => { for (const p of told.passes.filter((q) => q.after === k)) { flush(); items.push("pass " + p.gap + " " + p.face); } };
    passes(0);
    for (let k = 1; k <= told.turns; k++) {
      if (told.turned.has(k)) {
        const turn = learner.data.turns[(k - 1) % learner.data.turns.length].text;
        flush();
        items.push(turn[0] + [...turn.slice(1)].map((x) => (x === "o" ? "u" : "o")).join(""));
      } else count++;
      passes(k);
    }
    flush();
    return items.join(", ") || "0 turns";
  }

  // -- how it lies, told from the tab up -------------------------------------
  function orderAbove() {
    const order = Array.from({ length: learner.data.strands }, (_, k) => k + 1);
    for (const c of told.lie) [order[Math.abs(c) - 1], order[Math.abs(c)]] = [order[Math.abs(c)], order[Math.abs(c) - 1]];
    return order;
  }

  function fillLie() {
    const order = orderAbove(), n = learner.data.strands;
    Film.below(by("wrong-lie"), n, { order, crossings: [...told.lie].reverse(), twisted: Array(n).fill(0) }, "work");
    const choices = [];
    for (let k = 0; k < n - 1; k++) {
      const [x, y] = [Film.letter(order[k]), Film.letter(order[k + 1])];
      // Read downwards, the strand that lies on the left below comes from the right.
      choices.push(button(tr("{a} over {b}", { a: y, b: x }), () => { told.lie.push(k + 1); fill(); }), button(tr("{a} over {b}", { a: x, b: y }), () => { told.lie.push(-(k + 1)); fill(); }));
    }
    by("wrong-crossings").replaceChildren(...choices);
    by("wrong-less").disabled = !told.lie.length;
    by("wrong-list").textContent = told.lie.length ? trn("{count} crossing.", "{count} crossings.", told.lie.length) : tr("No crossing yet: the strands hang free.");
  }
  by("wrong-less").addEventListener("click", () => {
    told.lie.pop();
    fill();
    if (by("wrong-less").disabled) by("wrong-crossings").querySelector("button").focus();
  });

  // -- the mend --------------------------------------------------------------
  function query() {
    const { strands, hand, weave } = learner.data;
    const q = new URLSearchParams({ strands, hand, weave });
    if (told.way === "done") q.set("done", doneText());
    else if (told.way === "below") {
      q.set("below", [...told.lie].reverse().join(" ") || "free");
      q.set("after", by("wrong-below-after").value);
    } else {
      q.set("twisted", [...told.twisted].map(Film.letter).join(", ") || "none");
      q.set("after", by("wrong-twisted-after").value);
    }
    return q;
  }

  const lost = (words) => words + (words === LOST ? " " + tr("The steps of the braid go on without it; a mend is worked out there.") : "");
  async function answered(q) {
    tell("");
    await attempt(async () => {
      answer = await ask("/braid/rescue?" + q);
      at = 0;
      showAnswer();
      by("mend-headline").focus({ preventScroll: true });
      box.scrollTop = 0;
    }, (words) => tell(lost(words)));
  }
  by("wrong-go").addEventListener("click", async () => {
    const go = by("wrong-go");
    go.disabled = true;
    go.textContent = tr("Working it out …");
    await answered(query());
    go.disabled = false;
    go.textContent = tr("Show the mend");
    if (!by("wrong-ask").hidden) go.focus();
  });

  const drawn = (svg) => document.importNode(new DOMParser().parseFromString(svg, "image/svg+xml").documentElement, true);

  function picture(svg) {
    by("mend-picture").hidden = !svg;
    by("mend-picture").replaceChildren(...(svg ? [drawn(svg)] : []));
  }

  function showAnswer() {
    const steps = answer.steps, done = at > steps.length;
    by("wrong-ask").hidden = true;
    by("wrong-answer").hidden = false;
    by("mend-headline").textContent = answer.headline;
    by("mend-back").disabled = at === 0;
    const known = answer.state !== "unknown";
    box.querySelector(".mend").hidden = !known;
    by("mend-back").parentElement.hidden = !known;
    by("mend-where").textContent = !known ? "" : at === 0 ? tr("How it lies now") : done ? tr("Put right") : tr("Mend step {at} of {steps}", { at, steps: steps.length });
    by("mend-next").textContent = done || !known ? tr("Go on braiding") : tr("Next");
    if (known && at === 0) {
      picture(answer.now);
      by("mend-title").textContent = answer.at;
      by("mend-text").textContent = answer.lies;
      by("mend-note").textContent = [answer.told, answer.hint, answer.bound].filter(Boolean).join(" ");
    } else if (known && !done) {
      picture(steps[at - 1].svg);
      by("mend-title").textContent = steps[at - 1].title;
      by("mend-text").textContent = steps[at - 1].text;
      by("mend-note").textContent = "";
    } else if (known) {
      picture("");
      by("mend-title").textContent = answer.state === "well" && !steps.length ? tr("All is well") : tr("That is all");
      by("mend-text").textContent = answer.then;
      by("mend-note").textContent = "";
    }
    keepMend();
  }

  // A mend in hand outlives a locked screen; a browser without room for it loses only that.
  function keepMend() {
    try { localStorage.setItem(KEPT, JSON.stringify({ key: learner.key, set: learner.set, answer, at })); } catch (e) {
      if (!(e instanceof DOMException)) throw e;
    }
  }

  function move(step) {
    if (by("wrong-answer").hidden || answer.state === "unknown") return false;
    if (step > 0 && at > answer.steps.length) { goOn(); return true; }
    at = Math.max(0, at + step);
    showAnswer();
    return true;
  }
  function goOn() {
    box.close();
    learner.go(answer.go_on || 1, learner.set + answer.sets, false);
  }
  box.moved = move;
  by("mend-next").addEventListener("click", () => move(1));
  by("mend-back").addEventListener("click", () => move(-1));
  by("mend-ask").addEventListener("click", () => {
    showPart(told.way);
    box.querySelector(".tabs [aria-pressed=true]").focus();
  });
  for (const b of box.querySelectorAll("[data-way]")) b.addEventListener("click", () => showPart(b.dataset.way));
  box.addEventListener("close", () => localStorage.removeItem(KEPT));

  for (const l of Bench.learners) {
    const b = l.section.querySelector(".wrong");
    b.hidden = false;
    b.addEventListener("click", () => { begin(l); box.showModal(); });
  }
  const kept = JSON.parse(localStorage.getItem(KEPT) || "null");
  const whose = kept && Bench.learners.find((l) => l.key === kept.key && l.set === kept.set);
  if (whose) {
    begin(whose);
    [answer, at] = [kept.answer, kept.at];
    box.showModal();
    showAnswer();
  }
})();
