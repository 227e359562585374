"use strict";
// The moving pictures: one turn, one pass of the tab, and how the strands lie below.  They are drawn from the plain
// data of the page, in the box of the still pictures, so that a film ends where the still picture stands.
const Film = (() => {
  const SVG = "http://www.w3.org/2000/svg";
  const TOP = 4, CAP = 11, TAB = 53, END = 61, HANG = 15, PASS_HANG = 27, NECK = 6, SPREAD = 3.2, HALF_TURN = 4, BEFORE = 2;
  const letter = (strand) => String.fromCharCode(64 + strand);
  const between = (t, a, b) => Math.min(Math.max((t - a) / (b - a), 0), 1);
  const ease = (t) => (t < 0.5 ? 2 * t * t : 1 - 2 * (1 - t) * (1 - t));

  function add(parent, name, attributes, text) {
    const el = document.createElementNS(SVG, name);
    for (const [k, v] of Object.entries(attributes)) el.setAttribute(k, String(v));
    if (text !== undefined) el.textContent = text;
    parent.append(el);
    return el;
  }
  const join = (points) => points.map(([x, y]) => x.toFixed(2) + "," + y.toFixed(2)).join(" ");

  // Hatches tell strands of one tone apart, as on the card.
  function hatches(svg) {
    const defs = add(svg, "defs", {});
    const made = {};
    hatches.count = (hatches.count || 0) + 1;
    for (const angle of [45, 0, -45, 90]) {
      const id = "hatch-" + hatches.count + "-" + (angle + 90);
      const p = add(defs, "pattern", { id, width: 1.5, height: 1.5, patternUnits: "userSpaceOnUse", patternTransform: "rotate(" + -angle + ")" });
      add(p, "path", { d: "M0 0.75H1.5", class: "hatch" });
      made[angle] = "url(#" + id + ")";
    }
    return (strand) => {
      const k = strand - 1;
      const angle = [null, 45, 0, -45, 90][(k + Math.floor(k / 5)) % 5];
      return k && angle !== null ? made[angle] : null;
    };
  }

  // A drawing is a list of things that change with time; what stands still is drawn once.
  function canvas(svg, wide) {
    svg.replaceChildren();
    svg.setAttribute("viewBox", "0 0 " + (wide + 4) + " 66");
    const hatch = hatches(svg);
    const moving = [];
    const ribbon = (strand, quad, { halo = false, strong = false, still = false } = {}) => {
      const parts = [];
      const rim = halo ? add(svg, "polygon", { class: "halo" }) : null;
      parts.push(add(svg, "polygon", { class: "tone-" + ((strand - 1) % 5) }));
      const lines = hatch(strand);
      if (lines) parts.push(add(svg, "polygon", { fill: lines }));
      const edges = [add(svg, "line", { class: strong ? "strong" : "edge" }), add(svg, "line", { class: strong ? "strong" : "edge" })];
      const draw = (t) => {
        const q = quad(t);
        for (const p of parts) p.setAttribute("points", join(q));
        if (rim) rim.setAttribute("points", join(q.map(([x, y], k) => [x + (k === 0 || k === 3 ? -0.7 : 0.7), y])));
        edges.forEach((e, k) => {
          const [a, b] = k ? [q[1], q[2]] : [q[0], q[3]];
          for (const [name, v] of [["x1", a[0]], ["y1", a[1]], ["x2", b[0]], ["y2", b[1]]]) e.setAttribute(name, v.toFixed(2));
        });
      };
      if (still) draw(1); else moving.push(draw);
    };
    const name = (strand, size, place) => {
      const disc = add(svg, "circle", { class: "paper", r: size * 0.72 });
      const text = add(svg, "text", { class: "letter", "font-size": size }, letter(strand));
      moving.push((t) => {
        const [x, y] = place(t);
        disc.setAttribute("cx", x); disc.setAttribute("cy", y);
        text.setAttribute("x", x); text.setAttribute("y", y + size * 0.36);
      });
    };
    const box = (a, b, top, bottom, words) => {
      add(svg, "rect", { class: "tab", x: a, y: top, width: b - a, height: bottom - top });
      if (words) add(svg, "text", { class: "said", x: (a + b) / 2, y: (top + bottom) / 2 + 1.1 }, words);
    };
    return { ribbon, name, box, moving, draw: (t) => { for (const m of moving) m(t); } };
  }

  function lanes(n, wide, share) {
    const gap = Math.min(10, (wide * share) / n);
    const first = wide / 2 + 2 - (gap * (n - 1)) / 2;
    return { gap, half: gap * 0.41, at: (place) => first + (place - 1) * gap, left: first - gap / 2, right: first + gap * (n - 0.5), letter: Math.min(4.2, gap * 0.5) };
  }

  // One turn: who goes where, who lies over whom.
  function cross(order, crossings) {
    const now = order.slice();
    const over = [];
    for (const c of crossings) {
      const i = Math.abs(c) - 1;
      over.push(c > 0 ? [now[i], now[i + 1]] : [now[i + 1], now[i]]);
      [now[i], now[i + 1]] = [now[i + 1], now[i]];
    }
    return { now, over };
  }

  function lowestFirst(order, over) {
    const left = order.slice();
    const out = [];
    while (left.length) {
      const low = left.find((s) => !over.some(([a, b]) => a === s && left.includes(b))) || left[0];
      out.push(low);
      left.splice(left.indexOf(low), 1);
    }
    return out;
  }

  function orderAfter(data, turns) {
    let order = Array.from({ length: data.strands }, (_, k) => k + 1);
    for (let k = 0; k < turns; k++) order = cross(order, data.turns[k % data.turns.length].crossings).now;
    return order;
  }

  const mover = (order, turn) => (turn.side === "R" ? order[order.length - 1] : turn.side === "L" ? order[0] : 0);
  const slanted = (lane, a, b, top, bottom) => [[lane.at(a) - lane.half, top], [lane.at(a) + lane.half, top], [lane.at(b) + lane.half, bottom], [lane.at(b) - lane.half, bottom]];

  // Finished rows from the height y down; gives where they end.
  function rows(c, lane, data, from, to, y, high) {
    let order = orderAfter(data, from);
    for (let k = from; k < to; k++) {
      const { now, over } = cross(order, data.turns[k].crossings);
      for (const s of lowestFirst(order, over)) {
        const a = order.indexOf(s) + 1, b = now.indexOf(s) + 1;
        c.ribbon(s, () => slanted(lane, a, b, y, y + high), { halo: a !== b, still: true });
      }
      order = now;
      y += high;
    }
    return { y, order };
  }

  const above = (first) => (first ? trn("{count} turn above", "{count} turns above", first) : tr("plain end"));

  function turnFilm(svg, data, frame) {
    const n = data.strands, wide = n < 6 ? 60 : 92;
    const lane = lanes(n, wide, 0.8), c = canvas(svg, wide);
    const first = Math.max(0, frame.turn - 1 - BEFORE), shown = frame.turn - first;
    const high = Math.min(13, (TAB - CAP - HANG) / shown);
    c.box(lane.left, lane.right, TOP, CAP, above(first));
    const { y, order } = rows(c, lane, data, first, frame.turn - 1, CAP, high);
    const turn = data.turns[frame.turn - 1];
    const { now, over } = cross(order, turn.crossings);
    const moved = mover(order, turn), letterAt = (y + high + TAB) / 2;
    for (const s of lowestFirst(order, over)) {
      const a = order.indexOf(s) + 1, b = now.indexOf(s) + 1;
      const place = (t) => a + (b - a) * ease(between(t, 0.12, 0.88));
      const look = { halo: a !== b, strong: s === moved };
      c.ribbon(s, (t) => slanted(lane, a, place(t), y, y + high), look);
      c.ribbon(s, (t) => slanted(lane, place(t), place(t), y + high, TAB), look);
      c.name(s, lane.letter, (t) => [lane.at(place(t)), letterAt]);
    }
    c.box(lane.left, lane.right, TAB, END, "tab");
    return c.draw;
  }

  function passFilm(svg, data, frame) {
    const n = data.strands, wide = n < 6 ? 60 : 92;
    const lane = lanes(n, wide, 0.62), c = canvas(svg, wide);
    const first = Math.max(0, frame.turn - BEFORE), shown = Math.max(1, frame.turn - first);
    const high = Math.min(13, (TAB - CAP - PASS_HANG) / shown);
    const { gap, face } = frame.pass;
    const open = (t) => SPREAD * ease(between(t, 0, 0.12)) * (1 - ease(between(t, 0.9, 1)));
    // The way: out of the tab at the nearer side, up, to the gap, through, and down again.
    const x = (lane.at(gap) + lane.at(gap + 1)) / 2;
    const behind = add(svg, "g", {});
    c.box(lane.left, lane.right, TOP, CAP, above(first));
    const { y, order } = rows(c, lane, data, first, frame.turn, CAP, high);
    const at = y + NECK + 1.5, right = lane.right - x <= x - lane.left;
    const side = right ? lane.right + SPREAD + 6 : lane.left - SPREAD - 6, low = (TAB + END) / 2;
    const way = [[right ? lane.right : lane.left, low], [side, low], [side, at], [x, at], [x, TAB + 1]];
    order.forEach((s, k) => {
      const place = k + 1, shift = (t) => ((place <= gap ? -1 : 1) * open(t)) / lane.gap;
      c.ribbon(s, (t) => slanted(lane, place, place + shift(t), y, y + NECK));
      c.ribbon(s, (t) => slanted(lane, place + shift(t), place + shift(t), y + NECK, TAB));
      c.name(s, lane.letter, (t) => [lane.at(place + shift(t)), (y + NECK + TAB) / 2 + 2]);
    });
    c.box(lane.left - SPREAD, lane.right + SPREAD, TAB, END, "tab");
    const front = add(svg, "g", {});
    const lengths = way.slice(1).map(([a, b], k) => Math.hypot(a - way[k][0], b - way[k][1]));
    const whole = lengths.reduce((a, b) => a + b), through = whole - lengths[3];
    const trail = [add(front, "polyline", { class: face === "front" ? "way" : "way hidden-way" }), add(front, "polyline", { class: face === "front" ? "way hidden-way" : "way" })];
    const tab = add(front, "g", { class: "carried" });
    add(tab, "rect", { x: -6, y: -3.2, width: 12, height: 6.4, rx: 0.8 });
    add(tab, "text", { class: "said", x: 0, y: 1.1 }, "tab");
    const along = (d) => {
      let k = 0;
      while (k < 3 && d > lengths[k]) d -= lengths[k++];
      const part = d / lengths[k];
      return { k, point: [way[k][0] + (way[k + 1][0] - way[k][0]) * part, way[k][1] + (way[k + 1][1] - way[k][1]) * part] };
    };
    c.moving.push((t) => {
      const d = whole * ease(between(t, 0.12, 0.9));
      const { k, point } = along(d);
      const seen = (d < through) === (face === "front");
      // Behind the strands it is hidden by them; its way is dashed.
      (seen ? front : behind).append(tab);
      tab.setAttribute("transform", "translate(" + point.map((v) => v.toFixed(2)).join(" ") + ")");
      const before = d < through ? [...way.slice(0, k + 1), point] : way.slice(0, 4);
      trail[0].setAttribute("points", join(before));
      trail[1].setAttribute("points", d < through ? "" : join([way[3], point]));
    });
    return c.draw;
  }

  function layers(crossings) {
    const out = [], level = {};
    for (const c of crossings) {
      const i = Math.abs(c), at = Math.max(level[i] || 0, level[i + 1] || 0);
      (out[at] = out[at] || []).push(c);
      level[i] = level[i + 1] = at + 1;
    }
    return out;
  }

  // How the strands lie from the work down to the tab.
  function below(svg, strands, seen, words) {
    const wide = strands < 6 ? 60 : 92;
    const lane = lanes(strands, wide, 0.86), c = canvas(svg, wide);
    const all = layers(seen.crossings), most = Math.max(0, ...seen.twisted.map(Math.abs));
    const turned = 2 * most * HALF_TURN, room = TAB - CAP - 6 - turned;
    const fit = all.length * 1.4 <= room ? all.length : Math.floor((room - 5) / 1.4);
    const high = all.length ? Math.min(8, (room - (fit < all.length ? 5 : 0)) / fit) : 0;
    c.box(lane.left, lane.right, TOP, CAP, words);
    let y = CAP, order = seen.order.slice();
    all.forEach((row, k) => {
      const { now, over } = cross(order, row);
      if (k < fit) {
        for (const s of lowestFirst(order, over)) {
          const a = order.indexOf(s) + 1, b = now.indexOf(s) + 1;
          c.ribbon(s, () => slanted(lane, a, b, y, y + high), { halo: a !== b, still: true });
        }
        y += high;
      }
      order = now;
    });
    if (fit < all.length) {
      c.box(lane.left, lane.right, y, y + 5, tr("and {more} more crossings", { more: all.slice(fit).reduce((sum, r) => sum + r.length, 0) }));
      y += 5;
    }
    order.forEach((s, k) => {
      const place = k + 1, f = seen.twisted[s - 1];
      let from = y;
      for (let i = 0; i < 2 * Math.abs(f); i++, from += HALF_TURN) halfTurn(svg, lane, place, s, from, from + HALF_TURN, f);
      c.ribbon(s, () => slanted(lane, place, place, from, TAB), { still: true });
      c.name(s, lane.letter, () => [lane.at(place), TAB - 4]);
    });
    c.box(lane.left, lane.right, TAB, END, "tab");
    c.draw(1);
  }

  function halfTurn(svg, lane, place, strand, top, bottom, sign) {
    const l = lane.at(place) - lane.half, r = lane.at(place) + lane.half, x = lane.at(place), y = (top + bottom) / 2;
    for (const points of [[[l, top], [r, top], [x, y]], [[l, bottom], [r, bottom], [x, y]]]) {
      add(svg, "polygon", { class: "tone-" + ((strand - 1) % 5), points: join(points) });
    }
    const [a, b] = sign > 0 ? [l, r] : [r, l];
    add(svg, "line", { class: "edge", x1: a, y1: top, x2: b, y2: bottom });
    for (const [x0, y0] of [[b, top], [a, bottom]]) add(svg, "line", { class: "edge", x1: x0, y1: y0, x2: x0 + 0.72 * (x - x0), y2: y0 + 0.72 * (y - y0) });
  }

  // Run a film; gives a function that ends it at once.
  function play(draw, milliseconds, ended) {
    let start = null, running = true;
    const step = (now) => {
      if (!running) return;
      start = start === null ? now : start;
      const t = Math.min((now - start) / milliseconds, 1);
      draw(t);
      if (t < 1) { requestAnimationFrame(step); return; }
      running = false;
      ended();
    };
    draw(0);
    requestAnimationFrame(step);
    return () => { running = false; };
  }

  return { letter, orderAfter, below, play, of: (svg, data, frame) => (frame.pass ? passFilm : turnFilm)(svg, data, frame) };
})();
