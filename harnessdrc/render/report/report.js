"use strict";
(() => {
  const D = JSON.parse(document.getElementById("data").textContent);
  const $ = (id) => document.getElementById(id);
  const NS = "http://www.w3.org/2000/svg";
  for (const one of document.querySelectorAll(".only-js")) one.hidden = false;
  for (const one of document.querySelectorAll(".state-off")) one.hidden = true;
  let state = 0, view = 0, zoom = 0, picked = null;
  const edgeOfWire = new Map();
  D.edges.forEach((e, at) => { if (e[7] >= 0) edgeOfWire.set(e[7], at); });
  const wiresOn = new Map();
  const make = (tag, attributes, text) => {
    const one = document.createElementNS(NS, tag);
    for (const name in attributes) one.setAttribute(name, attributes[name]);
    if (text !== undefined) one.textContent = text;
    return one;
  };
  const put = (parent, tag, text, to) => {
    const one = document.createElement(tag);
    if (text !== undefined) one.textContent = text;
    if (to) Object.assign(one.dataset, to);
    parent.append(one);
    return one;
  };
  const figure = (value) => {
    const size = Math.abs(value || 0);
    if (size < 0.0005) return "0";
    return size >= 100 ? size.toLocaleString("en", { maximumFractionDigits: 0 }) : String(Number(size.toPrecision(3)));
  };
  const valueText = (e) => (e[10][state] < -5e-4 ? "← " : "") + figure(Math.abs(e[10][state])) + " A" + (e[12].length ? "  " + figure(Math.abs(e[12][state])) + " mV" : "");
  const widthOf = (amps) => Math.min(1.4 + 1.1 * Math.log10(1 + Math.abs(amps) * 4), 4.6).toFixed(2);
  const short = (text, most) => (text.length > most ? text.slice(0, most - 1) + "…" : text);
  const pinned = (name, pin) => (pin ? name + " " + pin : name);
  const edgeLabel = (e) => e[0] + ", " + pinned(D.nodes[e[3]][0], e[5]) + " to " + pinned(D.nodes[e[4]][0], e[6]) + (e[18] ? ", " + e[18] : "");

  // --- the drawing ---------------------------------------------------------------------------------
  const drawing = $("drawing"), sheet = $("sheet"), stage = $("stage");
  let items = [];
  const round = { device: 3, ground: 9, earth: 9 };
  const drawEdge = (number, flat, label) => {
    const e = D.edges[number];
    const dim = e[1] === "case" || e[1] === "given feed" || e[1] === "battery";
    const g = make("g", { class: ["e", e[15].length && "hard", e[13].length && "shared", dim && "dim"].filter(Boolean).join(" "), "data-e": number });
    let path = "";
    for (let at = 0; at < flat.length; at += 2) path += (at ? "L" : "M") + flat[at] + " " + flat[at + 1];
    g.append(make("title", {}, e[0]), make("path", { class: "hit", d: path }), make("path", { class: "l", d: path, "stroke-width": widthOf(e[10][state]) }));
    if (e[13].length) g.append(make("path", { class: "in", d: path }));
    const [x, y, anchor] = label;
    g.append(make("text", { class: "en", x, y: y - 4, "text-anchor": anchor }, e[17]), make("text", { class: "ev", x, y: y + 11, "text-anchor": anchor }, valueText(e)));
    if (e[18]) g.append(make("text", { class: "fl", x, y: y + 29, "text-anchor": anchor }, e[18]));
    return g;
  };
  const drawNode = ([number, x, y, w, h]) => {
    const n = D.nodes[number];
    const g = make("g", { class: "n z-" + n[2] + (n[7].length ? " bad" : ""), "data-n": number });
    g.append(make("title", {}, n[0] + ", " + n[1]), make("rect", { x, y, width: w, height: h, rx: round[n[2]] || 0 }),
      make("text", { x: x + w / 2, y: y + h / 2 + 4.5, "text-anchor": "middle" }, short(n[0], Math.max(4, Math.floor((w - 8) / 7.4)))));
    return g;
  };
  const name = (g) => { // the name is what is written on it, each text with a blank behind it
    for (const text of g.querySelectorAll("text")) if (!text.textContent.endsWith(" ")) text.textContent += " ";
    const n = g.dataset.n;
    g.setAttribute("aria-description", n === undefined ? edgeLabel(D.edges[g.dataset.e]) : D.nodes[n][0] + ", " + D.nodes[n][1]);
  };
  const dress = () => {
    items = [...drawing.children];
    for (const g of items) {
      g.setAttribute("role", "button");
      g.setAttribute("tabindex", "-1");
      g.querySelector("title").remove(); // it would be read twice; what is pointed at gets it back
      name(g);
    }
    if (items.length) items[0].setAttribute("tabindex", "0");
  };
  const strips = () => {
    const [, , width, height] = D.views[view], wide = Math.min(Math.max(height * 1.5, 900), 1700), count = Math.max(1, Math.ceil(width / wide));
    const all = [];
    for (let at = 0; count > 1 && at < count; at++) {
      const strip = document.createElement("div");
      strip.className = "strip";
      put(strip, "p", "Part " + (at + 1) + " of " + count + ", from left to right");
      const svg = make("svg", { viewBox: [at * width / count, 0, width / count, height].join(" ") });
      svg.append(make("use", { href: "#drawing" }));
      strip.append(svg);
      all.push(strip);
    }
    $("strips").replaceChildren(...all);
  };
  const fit = () => {
    const [, , width, height] = D.views[view];
    zoom = Math.max((stage.clientWidth - 2) / width, innerWidth < 700 ? 0.45 : Math.min(0.5, (innerHeight * 0.7) / height, 1));
    scale();
    const post = D.views[view][4].find((one) => D.nodes[one[0]][1] === "battery +") || D.views[view][4][0];
    if (post) stage.scrollTo(0, (post[2] + post[4] / 2) * zoom - stage.clientHeight / 2);
  };
  const scale = () => {
    const [, , width, height] = D.views[view];
    sheet.style.width = width * zoom + "px";
    sheet.style.height = height * zoom + "px";
  };
  const zoomBy = (factor) => {
    const x = (stage.scrollLeft + stage.clientWidth / 2) / zoom, y = (stage.scrollTop + stage.clientHeight / 2) / zoom;
    zoom = Math.min(Math.max(zoom * factor, 0.05), 4);
    scale();
    stage.scrollTo(x * zoom - stage.clientWidth / 2, y * zoom - stage.clientHeight / 2);
  };
  const show = (number) => {
    view = number;
    const [title, , width, height, nodes, edges, labels] = D.views[view];
    drawing.replaceChildren(...edges.map(([e, flat], at) => drawEdge(e, flat, labels[at])), ...nodes.map(drawNode));
    sheet.setAttribute("viewBox", "0 0 " + width + " " + height);
    $("view-title").textContent = title;
    if ($("view")) $("view").value = String(view);
    dress();
    fit();
    strips();
    mark();
  };
  const viewWith = (kind, number) => {
    const at = kind === "n" ? 4 : 5;
    if (D.views[view][at].some((one) => one[0] === number)) return view;
    return D.views.findIndex((one) => one[at].some((other) => other[0] === number));
  };

  // --- picking -------------------------------------------------------------------------------------
  const mark = () => {
    for (const one of document.querySelectorAll(".on")) one.classList.remove("on");
    if (!picked) return;
    for (const g of items) {
      const e = g.dataset.e, n = g.dataset.n;
      if ((e !== undefined && picked.edges.has(Number(e))) || (n !== undefined && picked.nodes.has(Number(n)))) g.classList.add("on");
    }
    for (const at of picked.wires) {
      const row = $("w" + at);
      if (row) row.classList.add("on");
    }
  };
  const facts = (list, rows) => {
    for (const [what, text] of rows) if (text) { put(list, "dt", what); put(list, "dd", text); }
  };
  const figuresTable = (box, lines) => {
    const wrap = put(box, "div"); wrap.className = "scroll"; wrap.tabIndex = 0; wrap.setAttribute("role", "region"); wrap.setAttribute("aria-label", "Figures per state");
    const table = put(wrap, "table"), head = put(put(table, "thead"), "tr"), body = put(table, "tbody");
    for (const text of ["", "State", "Average (A)", "Greatest (A)", "Drop (mV)"]) put(head, text ? "th" : "td", text);
    for (const [name, a, p, d] of lines) D.states.forEach((text, at) => {
      const row = put(body, "tr");
      if (at === state) row.className = "now";
      for (const value of [name, text + (at === state ? " ◂" : ""), a[at], p[at], d[at]]) put(row, "td", value === undefined ? "" : String(value));
    });
  };
  const findingLinks = (box, numbers) => {
    if (!numbers.length) return;
    const list = put(box, "ul");
    for (const at of numbers) {
      const link = put(put(list, "li"), "a", D.findings[at][0] + ": " + D.findings[at][1]);
      link.href = $("f" + at) ? "#f" + at : "#findings";
    }
  };
  const rowLink = (box, at) => {
    const link = put(put(box, "p"), "a", "Row of wire " + D.wires[at][0] + " in the wire table");
    link.href = "#w" + at;
    link.addEventListener("click", () => reveal(at));
  };
  const tellEdge = (box, number) => {
    const e = D.edges[number];
    put(box, "h4", e[0]);
    const w = e[7] >= 0 ? D.wires[e[7]] : null;
    facts(put(box, "dl"), [
      ["Cell", w ? w[9] : e[8]], ["From", pinned(D.nodes[e[3]][0], e[5])], ["To", pinned(D.nodes[e[4]][0], e[6])],
      ["Wire", w ? [w[5], w[6], w[7]].filter(Boolean).join(", ") : ""], ["Resistance", e[9] === null ? "" : e[9] + " mΩ"],
      ["Loop", e[15].map((l) => "LOOP " + (l + 1) + ": " + D.loops[l][1]).join("; ")], ["Shared by", e[13].join(", ")], ["Makes", e[14].join("; ")]]);
    figuresTable(box, [[e[0], e[10], e[11], e[12]]]);
    findingLinks(box, e[16]);
    if (w) rowLink(box, e[7]);
  };
  const tellNode = (box, number) => {
    const n = D.nodes[number];
    put(box, "h4", n[0]);
    facts(put(box, "dl"), [["Kind", n[1]], ["Body", n[3]], ["Note", n[4]], ["Cell", n[5]]]);
    if (n[6].length) figuresTable(box, n[6].map(([name, ohm, a, p, d]) => [name + ", " + ohm + " mΩ", a, p, d]));
    findingLinks(box, n[7]);
  };
  const tell = () => {
    const box = $("picked");
    if (!box || !picked) return;
    box.replaceChildren();
    if (picked.loop !== undefined) {
      const l = D.loops[picked.loop];
      put(box, "h4", "LOOP " + (picked.loop + 1) + ", " + l[0] + ": " + l[1]);
      facts(put(box, "dl"), [["Runs", l[2].map((e) => D.edges[e][0]).join(" – ")], ["Makes", l[4].join("; ")]]);
    } else if (picked.edges.size) tellEdge(box, [...picked.edges][0]);
    else if (picked.nodes.size) tellNode(box, [...picked.nodes][0]);
    else for (const at of picked.wires) {
      const w = D.wires[at];
      put(box, "h4", "wire " + w[0]);
      facts(put(box, "dl"), [["Cell", w[9]], ["From", pinned(w[1], w[2])], ["To", pinned(w[3], w[4])], ["Wire", [w[5], w[6], w[7]].filter(Boolean).join(", ")]]);
      put(box, "p", "It carries no feed or ground and is not drawn.");
      if (w[10]) figuresTable(box, [["wire " + w[0], ...w[10]]]);
      rowLink(box, at);
    }
  };
  const pick = (what, bring) => {
    picked = { edges: new Set(what.edges || []), nodes: new Set(what.nodes || []), wires: new Set(what.wires || []), loop: what.loop };
    for (const e of picked.edges) if (D.edges[e][7] >= 0) picked.wires.add(D.edges[e][7]);
    if (bring && sheet) {
      const wanted = picked.edges.size ? ["e", [...picked.edges][0]] : picked.nodes.size ? ["n", [...picked.nodes][0]] : null;
      if (wanted) {
        const at = viewWith(...wanted);
        if (at >= 0 && at !== view) show(at);
      }
    }
    mark();
    tell();
    if (bring && stage) {
      const g = drawing.querySelector(".on");
      stage.scrollIntoView({ block: "nearest" });
      if (g) {
        const a = g.getBoundingClientRect(), b = stage.getBoundingClientRect();
        stage.scrollBy(a.left + a.width / 2 - b.left - b.width / 2, a.top + a.height / 2 - b.top - b.height / 2);
      }
    }
  };
  const pickWire = (at, bring) => pick(edgeOfWire.has(at) ? { edges: [edgeOfWire.get(at)] } : { wires: [at] }, bring);
  const pickItem = (g) => pick(g.dataset.e !== undefined ? { edges: [Number(g.dataset.e)] } : { nodes: [Number(g.dataset.n)] }, false);
  const reveal = (at) => {
    const part = parts.find((one) => Number(one.dataset.first) <= at && at <= Number(one.dataset.last));
    if (part) { part.open = true; unfold(part); figuresOf(part); mark(); }
  };

  // What is folded stands as text for readers without scripts; it becomes part of the page when it is opened.
  const unfold = (part) => {
    const later = part.querySelector(":scope > noscript");
    if (!later) return;
    const whole = new DOMParser().parseFromString(later.textContent, "text/html");
    later.replaceWith(...whole.body.childNodes);
    mark();
  };
  const folded = [...document.querySelectorAll("details")].filter((part) => part.querySelector(":scope > noscript"));
  for (const part of folded) part.addEventListener("toggle", () => { if (part.open) unfold(part); });

  // --- states --------------------------------------------------------------------------------------
  const told = new WeakMap();
  const figuresOf = (part) => {
    if (part.open) unfold(part);
    if (!part.open || (told.get(part) || 0) === state) return;
    told.set(part, state);
    for (const row of part.querySelectorAll("tbody tr")) {
      const w = D.wires[Number(row.id.slice(1))][10];
      if (!w) continue;
      const cells = row.cells, last = cells.length;
      for (let at = 0; at < 3; at++) cells[last - 3 + at].textContent = String(w[at][state]);
    }
  };
  const parts = [...document.querySelectorAll("details.wires")];
  for (const part of parts) part.addEventListener("toggle", () => figuresOf(part));
  const turn = (to) => {
    state = to;
    for (const g of items) {
      if (g.dataset.e === undefined) continue;
      const e = D.edges[g.dataset.e];
      g.querySelector(".ev").textContent = valueText(e);
      g.querySelector(".l").setAttribute("stroke-width", widthOf(e[10][state]));
      name(g);
    }
    for (const one of document.querySelectorAll(".state-name")) one.textContent = D.states[state];
    parts.forEach(figuresOf);
    tell();
  };

  // --- connectivity --------------------------------------------------------------------------------
  const nets = new Map(D.nets.map((name, at) => [name, at]));
  const joined = (name) => {
    const box = $("joined");
    box.replaceChildren();
    const net = nets.get(name), rows = [];
    D.wires.forEach((w, at) => {
      if (net !== undefined ? w[8].includes(net) : w[1] === name || w[3] === name) rows.push(at);
    });
    if (!rows.length) { if (name) put(box, "p", "No net or connector of this name."); return; }
    put(box, "p", (net !== undefined ? "Net " : "") + name + ": " + rows.length + (rows.length === 1 ? " wire" : " wires"));
    const wrap = put(box, "div"); wrap.className = "scroll"; wrap.tabIndex = 0; wrap.setAttribute("role", "region"); wrap.setAttribute("aria-label", "Connectivity");
    const table = put(wrap, "table"), head = put(put(table, "thead"), "tr"), body = put(table, "tbody");
    for (const text of [net !== undefined ? "From" : "Cavity", "Wire", "Colour", "Size", "Signal", net !== undefined ? "To" : "Far end", "Net"]) put(head, "th", text).scope = "col";
    const lines = rows.map((at) => {
      const w = D.wires[at], here = net !== undefined || w[1] === name;
      return [net !== undefined ? pinned(w[1], w[2]) : here ? w[2] : w[4], at, w[5], w[6], w[7], here ? pinned(w[3], w[4]) : pinned(w[1], w[2]), w[8].map((one) => D.nets[one]).join(", ")];
    });
    if (net === undefined) lines.sort((a, b) => a[0].localeCompare(b[0], "en", { numeric: true }));
    for (const line of lines) {
      const row = put(body, "tr");
      line.forEach((value, at) => {
        if (at !== 1) { put(row, "td", value); return; }
        const link = put(put(row, "td"), "a", D.wires[value][0], { w: value });
        link.href = "#diagram";
      });
    }
  };
  const fill = (list, names) => { for (const name of new Set(names)) if (name) { const one = document.createElement("option"); one.value = name; list.append(one); } };
  const what = $("what");
  let filled = false;
  what.addEventListener("focus", () => {
    if (!filled) { filled = true; fill($("whats"), [...D.wires.flatMap((w) => [w[1], w[3]]), ...D.nets]); }
  });
  what.addEventListener("change", () => joined(what.value.trim()));

  // --- what people do ------------------------------------------------------------------------------
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-w], a[data-e], a[data-l]");
    if (!link) return;
    if (!sheet && link.dataset.w !== undefined) { reveal(Number(link.dataset.w)); link.href = "#w" + link.dataset.w; pickWire(Number(link.dataset.w), false); return; }
    event.preventDefault();
    if (link.dataset.w !== undefined) pickWire(Number(link.dataset.w), true);
    else if (link.dataset.e !== undefined) pick({ edges: [Number(link.dataset.e)] }, true);
    else { const l = Number(link.dataset.l); pick({ edges: D.loops[l][2], nodes: D.loops[l][3], loop: l }, true); }
    const box = $("picked");
    if (box) { box.tabIndex = -1; box.focus({ preventScroll: true }); }
  });
  const opened = () => {
    const at = /^#w(\d+)$/.exec(location.hash), one = location.hash.length > 1 && $(location.hash.slice(1));
    if (at) reveal(Number(at[1]));
    if (one) { for (let up = one.parentElement; up; up = up.parentElement) if (up.tagName === "DETAILS") up.open = true; one.scrollIntoView(); }
  };
  addEventListener("hashchange", opened);
  addEventListener("beforeprint", () => { folded.forEach(unfold); for (const one of document.querySelectorAll("details")) one.open = true; parts.forEach(figuresOf); });
  if (!sheet) { opened(); return; }
  $("states").addEventListener("change", (event) => turn(Number(event.target.value)));
  if ($("view")) $("view").addEventListener("change", (event) => show(Number(event.target.value)));
  $("in").addEventListener("click", () => zoomBy(1.4));
  $("out").addEventListener("click", () => zoomBy(1 / 1.4));
  $("fit").addEventListener("click", () => { zoom = (stage.clientWidth - 2) / D.views[view][2]; scale(); });
  let named = false;
  const find = $("find");
  find.addEventListener("focus", () => { if (!named) { named = true; fill($("names"), [...D.wires.map((w) => w[0]), ...D.nodes.map((n) => n[0])]); } });
  find.addEventListener("change", () => {
    const text = find.value.trim().toLowerCase();
    const wire = D.wires.findIndex((w) => w[0].toLowerCase() === text), node = D.nodes.findIndex((n) => n[0].toLowerCase() === text);
    if (wire >= 0) pickWire(wire, true); else if (node >= 0) pick({ nodes: [node] }, true);
  });
  let drag = null, moved = false;
  stage.addEventListener("pointerdown", (event) => { moved = false; if (event.pointerType === "mouse" && event.button === 0) drag = [event.clientX, event.clientY, stage.scrollLeft, stage.scrollTop]; });
  addEventListener("pointermove", (event) => {
    if (!drag) return;
    const x = event.clientX - drag[0], y = event.clientY - drag[1];
    if (Math.abs(x) + Math.abs(y) > 5) moved = true;
    if (moved) stage.scrollTo(drag[2] - x, drag[3] - y);
  });
  addEventListener("pointerup", () => { drag = null; });
  stage.addEventListener("wheel", (event) => { if (event.ctrlKey) { event.preventDefault(); zoomBy(event.deltaY < 0 ? 1.15 : 1 / 1.15); } }, { passive: false });
  drawing.addEventListener("pointerover", (event) => {
    const g = event.target.closest("g.e, g.n");
    for (const one of drawing.querySelectorAll("title")) one.remove();
    if (g) g.prepend(make("title", {}, g.getAttribute("aria-description")));
  });
  drawing.addEventListener("click", (event) => { const g = event.target.closest("g.e, g.n"); if (g && !moved) pickItem(g); });
  drawing.addEventListener("keydown", (event) => {
    const at = items.indexOf(event.target.closest("g.e, g.n"));
    if (at < 0) return;
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); pickItem(items[at]); return; }
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!step) return;
    event.preventDefault();
    const next = items[(at + step + items.length) % items.length];
    items[at].setAttribute("tabindex", "-1");
    next.setAttribute("tabindex", "0");
    next.focus();
  });
  dress();
  fit();
  opened();
})();
