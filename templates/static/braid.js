"use strict";
// The braid at the bench: where each learner is, kept through reload and a locked screen.
const Bench = (() => {
  const KEPT = "braid";
  const TURN_TAKES = 1100, PASS_TAKES = 2800;
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const read = () => JSON.parse(localStorage.getItem(KEPT) || "{}");
  const keep = (change) => localStorage.setItem(KEPT, JSON.stringify({ ...read(), ...change }));
  const address = new URLSearchParams(location.search);
  const sets = document.getElementById("sets");
  const choose = document.querySelector(".choose");
  const whole = (text, least, most) => (/^[0-9]{1,3}$/.test(text) ? Math.min(Math.max(Number(text), least), most) : least);
  const asked = (a) => new URLSearchParams(["strands", "hand", "weave", "learners"].map((name) => [name, a.get(name) || ""]).filter(([, v]) => v));

  // A page opened without a choice goes on with the braid that was in hand last.
  if (!location.search && read().last) {
    location.replace("/braid?" + read().last);
    return { learners: [] };
  }
  if (location.search) keep({ last: asked(address).toString() });
  sets.value = sets.dataset.given || read().sets || sets.value;
  const most = () => whole(sets.value, 1, 99);

  class Learner {
    constructor(section) {
      this.section = section;
      this.data = JSON.parse(section.querySelector(".data").textContent);
      this.steps = this.data.frames.length;
      this.first = Boolean(section.dataset.first);
      this.key = this.data.strands + " " + this.data.hand + " " + this.data.weave;
      const was = (read().places || {})[this.key] || {};
      this.set = Math.min(was.set || 1, most());
      this.at = Math.min((this.first && address.get("step") ? Number(section.dataset.at) : was.at) || 1, this.steps);
      this.stop = () => {};
      for (const [name, work] of [["again", () => this.film()], ["here", () => askWhere(this)]]) {
        section.querySelector("." + name).addEventListener("click", work);
      }
      section.querySelector(".here").hidden = false;
      section.querySelector(".turns").addEventListener("submit", (e) => {
        e.preventDefault();
        this.move(e.submitter.classList.contains("next") ? 1 : -1);
      });
      const mine = () => { Bench.active = this; mark(); };
      section.addEventListener("pointerdown", mine);
      section.addEventListener("focusin", mine);
      this.show();
    }

    find(name) { return this.section.querySelector(name); }
    get frame() { return this.data.frames[this.at - 1]; }
    get last() { return this.at === this.steps && this.set >= most(); }

    move(by) {
      if (by > 0 && this.at === this.steps) {
        if (this.last) return;
        this.go(1, this.set + 1, true);
      } else if (by < 0 && this.at === 1) {
        if (this.set > 1) this.go(this.steps, this.set - 1, false);
      } else this.go(this.at + by, this.set, by > 0);
    }

    // Go to a step of a set; past the last set is the end of the last.
    go(at, set, film) {
      if (set > most()) [at, set] = [this.steps, most()];
      this.at = Math.min(Math.max(at, 1), this.steps);
      this.set = Math.max(set, 1);
      keep({ places: { ...(read().places || {}), [this.key]: { at: this.at, set: this.set } } });
      if (this.first) {
        address.set("step", String(this.at));
        history.replaceState(null, "", "/braid?" + address);
      }
      this.show();
      if (film) this.film();
    }

    show() {
      this.stop();
      this.find(".moving").hidden = true;
      for (const el of this.section.querySelectorAll("[data-step]")) el.hidden = Number(el.dataset.step) !== this.at;
      const turns = this.data.turns.length, frame = this.frame;
      this.find("[id^=where]").textContent = tr("Step {at} of {steps}", { at: this.at, steps: this.steps });
      this.find(".count").textContent = frame.pass
        ? tr("Set {set} of {most}, after turn {turn} of {turns}", { set: this.set, most: most(), turn: frame.turn, turns })
        : tr("Set {set} of {most}, turn {turn} of {turns}", { set: this.set, most: most(), turn: frame.turn, turns });
      const next = this.find(".next");
      this.find(".back").disabled = this.at === 1 && this.set === 1;
      next.disabled = this.last;
      next.textContent = this.last ? tr("Last step") : this.at === this.steps ? tr("Next set") : tr("Next");
      this.find(".again").hidden = still.matches;
      this.find(".under").hidden = false;
      Film.below(this.find(".hang"), this.data.strands, frame.below, "work");
    }

    film() {
      this.stop();
      if (still.matches) return;
      const over = this.find(".moving"), frame = this.frame;
      const draw = Film.of(this.find(".film"), this.data, frame);
      over.hidden = false;
      this.stop = Film.play(draw, frame.pass ? PASS_TAKES : TURN_TAKES, () => { over.hidden = true; });
    }
  }

  // -- "I am here" -----------------------------------------------------------
  const where = document.getElementById("here-dialog");
  function askWhere(learner) {
    const set = document.getElementById("here-set");
    set.textContent = learner.set;
    where.stepped = (by) => { set.textContent = Math.min(Math.max(Number(set.textContent) + by, 1), most()); };
    document.getElementById("here-steps").replaceChildren(...learner.data.frames.map((frame, k) => {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = frame.pass ? tr("Pass after turn {turn}", { turn: frame.turn }) : tr("Turn {turn}", { turn: frame.turn });
      if (k + 1 === learner.at) b.setAttribute("aria-current", "step");
      b.addEventListener("click", () => { where.close(); learner.go(k + 1, Number(set.textContent), false); });
      return b;
    }));
    where.showModal();
  }
  if (where) for (const b of where.querySelectorAll("[data-by]")) b.addEventListener("click", () => where.stepped(Number(b.dataset.by)));
  for (const b of document.querySelectorAll("dialog .close")) b.addEventListener("click", () => b.closest("dialog").close());

  // -- keys and foot pedals --------------------------------------------------
  const FORWARD = ["ArrowRight", "PageDown", " "], BACKWARD = ["ArrowLeft", "PageUp"];
  function way(e) {
    if (e.key === " " && e.shiftKey) return -1;
    return FORWARD.includes(e.key) ? 1 : BACKWARD.includes(e.key) ? -1 : 0;
  }
  let tapped = false;
  document.addEventListener("pointerdown", () => { tapped = true; });
  document.addEventListener("keydown", (e) => { if (e.key === "Tab") tapped = false; });
  document.addEventListener("keyup", (e) => { if (e.key === " " && tapped && e.target.closest(".player button, .mend button")) e.preventDefault(); });
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.altKey || e.metaKey || e.target.closest("select, input, textarea")) return;
    // Space presses the button that the keyboard has gone to; after a finger's tap it is the pedal's and goes on.
    if (e.key === " " && !tapped && e.target.closest("button, a, summary")) return;
    const open = document.querySelector("dialog[open]"), by = way(e), learner = Bench.active;
    if (open) {
      if (by && open.moved && open.moved(by)) e.preventDefault();
      return;
    }
    if (!learner) return;
    if (by) learner.move(by);
    else if (e.key === "Home") learner.go(1, learner.set, false);
    else if (e.key === "End") learner.go(learner.steps, learner.set, false);
    else return;
    e.preventDefault();
  });

  // -- the screen: awake, full -----------------------------------------------
  const awake = document.getElementById("awake");
  let lock = null;
  async function stayAwake() {
    if (!awake.checked || document.visibilityState !== "visible" || (lock && !lock.released)) return;
    try { lock = await navigator.wakeLock.request("screen"); } catch (e) {
      // A browser refuses to save a weak battery, among other reasons; the braid goes on without it.
      if (!(e instanceof DOMException)) throw e;
    }
  }
  if ("wakeLock" in navigator) {
    document.getElementById("awake-field").hidden = false;
    awake.checked = read().awake !== false;
    awake.addEventListener("change", () => {
      keep({ awake: awake.checked });
      if (awake.checked) stayAwake(); else if (lock) lock.release();
    });
    document.addEventListener("visibilitychange", stayAwake);
    document.addEventListener("pointerdown", stayAwake);
    stayAwake();
  }
  const full = document.getElementById("full"), bench = document.querySelector(".bench");
  if (document.fullscreenEnabled) {
    full.hidden = false;
    full.addEventListener("click", () => (document.fullscreenElement ? document.exitFullscreen() : bench.requestFullscreen()));
    document.addEventListener("fullscreenchange", () => { full.textContent = document.fullscreenElement ? tr("Leave full screen") : tr("Full screen"); });
  }

  // The player takes what the head of the page leaves of the screen, however high that is.
  const player = document.querySelector(".player");
  const fit = () => {
    const top = player.getBoundingClientRect().top + (document.fullscreenElement ? bench.scrollTop : scrollY);
    bench.style.setProperty("--top", Math.ceil(top) + (document.fullscreenElement ? 8 : 4) + "px");
  };
  if (player) {
    fit();
    addEventListener("resize", fit);
    document.addEventListener("fullscreenchange", fit);
  }

  // -- what is braided -------------------------------------------------------
  choose.querySelector(".show").hidden = true;
  // With arrow keys a choice is gone through value by value: then the button comes back, and nothing happens before it.
  let byKeys = false;
  for (const s of choose.querySelectorAll("select")) {
    s.addEventListener("keydown", (e) => { byKeys = e.key !== "Tab"; });
    s.addEventListener("pointerdown", () => { byKeys = false; });
    s.addEventListener("change", () => {
      if (!byKeys) choose.requestSubmit();
      else choose.querySelector(".show").hidden = false;
    });
  }
  choose.addEventListener("submit", () => keep({ sets: most() }));
  const learners = [...document.querySelectorAll(".player")].map((s) => new Learner(s));
  sets.addEventListener("change", () => {
    sets.value = most();
    keep({ sets: most() });
    for (const l of learners) l.go(l.at, Math.min(l.set, most()), false);
  });
  still.addEventListener("change", () => learners.forEach((l) => l.show()));
  const mark = () => learners.forEach((l) => l.section.classList.toggle("active", learners.length > 1 && l === Bench.active));
  return { learners, active: learners.find((l) => l.first) || null, most, keep, read };
})();
