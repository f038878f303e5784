// The plan: look at the scan, say how large it is, pick parts off it.

import { get } from "./api.js";
import { h, show, slip, speak } from "./dom.js";
import * as format from "./format.js";
import { area, bounds, contains } from "./geometry.js";
import { icon } from "./icons.js";
import { choose, desk, edit, isRunning, listen } from "./store.js";
import { Viewer } from "./viewer.js";

const AIMS = [
  ["look", "Look around", "Drag to move the sheet, turn the wheel to come closer."],
  ["measure", "Say how long something is", "Click both ends of a line whose true length is written on the plan."],
  ["pick", "Pick a part", "Click inside a shape. Hover to see its size first."],
  ["cutout", "Cut a hole", "Click inside the region that is to be taken out of the chosen part."],
  ["grain", "Lay the grain", "Click two points along the grain of the chosen part."],
];
const SNAP_WAIT_MS = 70;

export function sheetView(place) {
  const canvas = h("canvas", { id: "sheet", tabindex: "0", role: "application", "aria-busy": "true",
    "aria-label": "The plan. Arrow keys move the aim, Enter clicks, plus and minus zoom, 0 shows the whole sheet.",
    "aria-describedby": "aim-text" });
  const pad = h("aside", { class: "pad", "aria-label": "What to do on the plan", "data-scroll": "pad" });
  const readout = h("p", { id: "readout", class: "pencil" });
  const waiting = h("p", { class: "waiting", hidden: true });
  show(place, h("div", { class: "sheet-view" },
    h("h1", { class: "unseen" }, "Plan"),
    h("div", { class: "sheet-place" }, canvas, waiting,
      h("div", { class: "sheet-keys", role: "group", "aria-label": "Closeness" },
        h("button", { onclick: () => viewer.zoomBy(1.5), "aria-label": "Closer" }, "+"),
        h("button", { onclick: () => viewer.zoomBy(1 / 1.5), "aria-label": "Farther" }, "−"),
        h("button", { onclick: () => viewer.fit(), "aria-label": "Whole sheet" }, "□")),
      readout),
    pad));

  const ui = { aim: "look", pointer: null, snap: null, first: null, hover: null, regions: [], key: null, isFine: false };
  const viewer = new Viewer(canvas, { onDraw: (context) => drawOver(context) });
  let snapTimer = null;

  const plan = () => desk.state?.plans?.[desk.chosen.plan] ?? null;
  const chosenPart = () => desk.state?.parts?.find((part) => part.name === desk.chosen.part) ?? null;
  const colour = (name) => getComputedStyle(canvas).getPropertyValue(name).trim();

  async function load() {
    if (!plan()) return;
    try {
      const view = await get(`plans/${plan().number}/picture`);
      if (view.picture) {
        viewer.open(plan().number, view.key, view.picture);
        canvas.setAttribute("aria-busy", "false");
        waiting.hidden = true;
        await loadRegions();
      } else {
        waiting.hidden = false;
        waiting.textContent = "The plan is being made ready to look at …";
      }
    } catch (error) {
      waiting.hidden = false;
      waiting.textContent = error.message;
    }
  }

  async function loadRegions() {
    if (!plan()?.scale || isRunning("follow")) return;
    const found = await get(`plans/${plan().number}/regions`);
    ui.regions = (found.regions ?? []).map((region) => ({ ...region, box: bounds(region.outline_px[0]) }));
    ui.areRegionsThere = found.regions !== null;
    viewer.draw();
    renderPad();
  }

  // ---- drawing over the scan --------------------------------------------------------------------

  function trace(context, rings) {
    context.beginPath();
    for (const ring of rings) {
      ring.forEach((point, index) => {
        const [x, y] = viewer.toScreen(point);
        if (index) context.lineTo(x, y); else context.moveTo(x, y);
      });
      context.closePath();
    }
  }

  function drawOver(context) {
    context.lineJoin = "round";
    for (const part of desk.state?.parts ?? []) drawPart(context, part);
    if (ui.hover) drawRegion(context, ui.hover);
    for (const known of plan()?.known ?? []) drawKnown(context, known);
    for (const note of openNotes()) drawFlag(context, note);
    drawAim(context);
  }

  function drawPart(context, part) {
    if (!part.outline_px || (part.plan && part.plan !== plan()?.name)) return;
    const isChosen = part.name === desk.chosen.part;
    trace(context, part.outline_px);
    context.fillStyle = colour("--sheet-blue");
    context.globalAlpha = isChosen ? 0.2 : 0.08;
    context.fill("evenodd");
    context.globalAlpha = 1;
    context.strokeStyle = colour("--sheet-blue");
    context.lineWidth = isChosen ? 2.6 : 1.5;
    context.stroke();
    drawGrain(context, part);
    if (isChosen) drawName(context, part);
  }

  function drawName(context, part) {
    const [x0, y0, x1] = bounds(part.outline_px[0]);
    const [x, y] = viewer.toScreen([(x0 + x1) / 2, y0]);
    context.font = "600 13px system-ui, sans-serif";
    const width = context.measureText(part.name).width;
    context.fillStyle = "rgba(255, 255, 255, 0.86)";
    context.fillRect(x - width / 2 - 4, y - 21, width + 8, 17);
    context.fillStyle = colour("--sheet-blue");
    context.textAlign = "center";
    context.fillText(part.name, x, y - 8);
  }

  function drawGrain(context, part) {
    if (!Array.isArray(part.grain)) return;
    const [from, to] = part.grain.map((point) => viewer.toScreen(point));
    drawArrow(context, from, to, colour("--sheet-blue"));
  }

  function drawArrow(context, from, to, ink) {
    const angle = Math.atan2(to[1] - from[1], to[0] - from[0]);
    context.strokeStyle = ink;
    context.lineWidth = 1.5;
    context.beginPath();
    context.moveTo(...from);
    context.lineTo(...to);
    for (const [end, turn] of [[to, 0], [from, Math.PI]]) {
      for (const side of [-1, 1]) {
        context.moveTo(...end);
        context.lineTo(end[0] - 9 * Math.cos(angle + turn + side * 0.4), end[1] - 9 * Math.sin(angle + turn + side * 0.4));
      }
    }
    context.stroke();
  }

  function drawRegion(context, region) {
    trace(context, region.outline_px);
    context.fillStyle = colour(ui.aim === "cutout" ? "--sheet-red" : "--sheet-green");
    context.globalAlpha = 0.16;
    context.fill("evenodd");
    context.globalAlpha = 1;
    context.strokeStyle = context.fillStyle;
    context.lineWidth = 2;
    context.stroke();
  }

  function drawKnown(context, known, isTentative = false) {
    const [from, to] = [viewer.toScreen(known.from), viewer.toScreen(known.to)];
    const angle = Math.atan2(to[1] - from[1], to[0] - from[0]);
    const across = [-9 * Math.sin(angle), 9 * Math.cos(angle)];
    context.strokeStyle = colour("--sheet-red");
    context.lineWidth = 1.8;
    context.setLineDash(isTentative ? [6, 4] : []);
    context.beginPath();
    context.moveTo(...from);
    context.lineTo(...to);
    for (const end of [from, to]) {
      context.moveTo(end[0] - across[0], end[1] - across[1]);
      context.lineTo(end[0] + across[0], end[1] + across[1]);
    }
    context.stroke();
    context.setLineDash([]);
    if (known.length_mm) drawTag(context, [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2], format.length(known.length_mm), "--sheet-red");
  }

  function drawTag(context, [x, y], text, ink) {
    context.font = "600 13px system-ui, sans-serif";
    const width = context.measureText(text).width;
    context.fillStyle = "rgba(255, 255, 255, 0.9)";
    context.fillRect(x - width / 2 - 5, y - 10, width + 10, 20);
    context.fillStyle = colour(ink);
    context.textAlign = "center";
    context.fillText(text, x, y + 4.5);
  }

  function drawFlag(context, note) {
    const [x, y] = viewer.toScreen(note.at);
    context.strokeStyle = colour("--sheet-red");
    context.fillStyle = colour("--sheet-red");
    context.lineWidth = 2;
    context.beginPath();
    context.moveTo(x, y);
    context.lineTo(x, y - 24);
    context.stroke();
    context.beginPath();
    context.moveTo(x, y - 24);
    context.lineTo(x + 15, y - 18);
    context.lineTo(x, y - 12);
    context.fill();
  }

  function drawAim(context) {
    if (!ui.pointer) return;
    if (ui.first) drawKnown(context, { from: ui.first, to: ui.snap ?? viewer.toPlan(ui.pointer) }, true);
    if (ui.aim !== "measure" && ui.aim !== "grain") {
      if (ui.isFine) drawCross(context, ui.pointer);
      return;
    }
    const at = viewer.toPlan(ui.pointer);
    const isLeft = ui.pointer[0] > viewer.width / 2;
    const isLow = ui.pointer[1] < viewer.height / 2;
    const glass = [ui.pointer[0] + (isLeft ? -120 : 120), ui.pointer[1] + (isLow ? 120 : -120)];
    viewer.drawGlass(at, glass, { mark: ui.snap, colour: colour("--sheet-red") });
    drawCross(context, ui.pointer);
  }

  function drawCross(context, [x, y]) {
    context.strokeStyle = colour("--sheet-red");
    context.lineWidth = 1.5;
    context.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      context.moveTo(x + 5 * dx, y + 5 * dy);
      context.lineTo(x + 16 * dx, y + 16 * dy);
    }
    context.stroke();
  }

  const openNotes = () =>
    (desk.state?.notes ?? []).filter((note) => note.state === "open" && note.at && belongsHere(note));

  function belongsHere(note) {
    const part = desk.state.parts.find((one) => one.name === note.part);
    return !part?.plan || part.plan === plan()?.name;
  }

  // ---- pointer and keyboard ------------------------------------------------------------------------

  function aimAt(screen) {
    ui.pointer = screen;
    const at = viewer.toPlan(screen);
    const aimsAtRegion = ui.aim === "pick" || ui.aim === "cutout" || ui.aim === "look";
    ui.hover = aimsAtRegion ? regionAt(at) : null;
    ui.snap = null;
    clearTimeout(snapTimer);
    if (ui.aim === "measure") snapTimer = setTimeout(() => findSnap(at), SNAP_WAIT_MS);
    showReadout(at);
    viewer.draw();
  }

  async function findSnap(at) {
    try {
      const found = await get(`plans/${plan().number}/snap?x=${at[0].toFixed(2)}&y=${at[1].toFixed(2)}`);
      const now = ui.pointer && viewer.toPlan(ui.pointer);
      if (now && Math.hypot(now[0] - at[0], now[1] - at[1]) < 2) ui.snap = found.at;
      viewer.draw();
    } catch {
      ui.snap = null;
    }
  }

  function regionAt(at) {
    let best = null;
    for (const region of ui.regions) {
      const [x0, y0, x1, y1] = region.box;
      if (at[0] < x0 || at[0] > x1 || at[1] < y0 || at[1] > y1 || !contains(region.outline_px[0], at)) continue;
      if (!best || area(region.outline_px[0]) < area(best.outline_px[0])) best = region;
    }
    return best;
  }

  function partAt(at) {
    const found = (desk.state?.parts ?? []).filter((part) => part.outline_px && contains(part.outline_px[0], at));
    return found.sort((one, other) => one.area_mm2 - other.area_mm2)[0] ?? null;
  }

  function showReadout(at) {
    const place = `pixel ${at[0].toFixed(1)}, ${at[1].toFixed(1)}`;
    const found = ui.hover;
    const part = partAt(at);
    readout.textContent = part
      ? `${part.name}: ${format.size(part.size_mm)}, ${format.area(part.area_mm2)}, edge ${format.length(part.perimeter_mm, 0)} · ${place}`
      : found
      ? `${format.size(found.size_mm)}, ${format.area(found.area_mm2)}, edge ${format.length(found.perimeter_mm, 0)} · ${place}`
      : place;
  }

  async function click(screen) {
    const at = viewer.toPlan(screen);
    if (ui.aim === "measure") return measureAt(await settledPoint(at));
    if (ui.aim === "grain") return grainAt(at);
    if (ui.aim === "pick") return askForPart(at);
    if (ui.aim === "cutout") return cutAt(at);
    const part = partAt(at);
    choose("part", part?.name ?? null);
    if (part) speak(`${part.name}, ${format.size(part.size_mm)}`);
    return undefined;
  }

  async function settledPoint(at) {
    if (ui.snap) return ui.snap;
    try {
      return (await get(`plans/${plan().number}/snap?x=${at[0].toFixed(2)}&y=${at[1].toFixed(2)}`)).at ?? at;
    } catch {
      return at;
    }
  }

  function measureAt(at) {
    if (!ui.first) {
      ui.first = at;
      speak("First end set. Now the other end.");
      viewer.draw();
      renderPad();
      return;
    }
    ui.second = at;
    renderPad();
    document.querySelector("[data-key='known-length']")?.focus();
  }

  function grainAt(at) {
    if (!chosenPart()) { slip("Choose a part first: click it with ‘Look around’, or in the list of parts.", "fault"); return; }
    if (!ui.first) { ui.first = at; viewer.draw(); return; }
    const value = [ui.first, at];
    ui.first = null;
    edit({ kind: "set-part", part: chosenPart().name, field: "grain", value });
  }

  function cutAt(at) {
    if (!chosenPart()) { slip("Choose the part first that the hole is in.", "fault"); return; }
    edit({ kind: "add-pick", part: chosenPart().name, role: "cutout", at });
  }

  function askForPart(at) {
    ui.pickAt = at;
    ui.isOpenThere = ui.areRegionsThere && !regionAt(at);
    renderPad();
    document.querySelector("[data-key='part-name']")?.focus();
  }

  let drag = null;
  const pointers = new Map();
  canvas.addEventListener("pointerdown", (event) => {
    canvas.focus({ preventScroll: true });
    canvas.setPointerCapture(event.pointerId);
    pointers.set(event.pointerId, [event.offsetX, event.offsetY]);
    drag = { from: [event.offsetX, event.offsetY], last: [event.offsetX, event.offsetY], hasMoved: pointers.size > 1 };
  });
  canvas.addEventListener("pointermove", (event) => {
    const at = [event.offsetX, event.offsetY];
    if (pointers.size === 2 && pointers.has(event.pointerId)) { pinch(event.pointerId, at); return; }
    ui.isFine = false;
    if (drag && pointers.has(event.pointerId)) {
      if (Math.hypot(at[0] - drag.from[0], at[1] - drag.from[1]) > 5) drag.hasMoved = true;
      if (drag.hasMoved) viewer.moveBy(at[0] - drag.last[0], at[1] - drag.last[1]);
      drag.last = at;
    }
    aimAt(at);
  });
  const up = (event) => {
    const wasClick = drag && !drag.hasMoved && event.type === "pointerup";
    pointers.delete(event.pointerId);
    if (!pointers.size) drag = null;
    if (wasClick) { aimAt([event.offsetX, event.offsetY]); click([event.offsetX, event.offsetY]); }
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("pointerleave", () => { if (!drag && !ui.isFine) { ui.pointer = null; ui.hover = null; viewer.draw(); } });
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    viewer.zoomBy(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0016)), [event.offsetX, event.offsetY]);
  }, { passive: false });

  function pinch(id, at) {
    const other = [...pointers].find(([one]) => one !== id)[1];
    const before = pointers.get(id);
    const ratio = Math.hypot(at[0] - other[0], at[1] - other[1]) / Math.max(1, Math.hypot(before[0] - other[0], before[1] - other[1]));
    const middle = [(at[0] + other[0]) / 2, (at[1] + other[1]) / 2];
    viewer.zoomBy(ratio, middle);
    viewer.moveBy((at[0] - before[0]) / 2, (at[1] - before[1]) / 2);
    pointers.set(id, at);
  }

  canvas.addEventListener("keydown", (event) => {
    const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (arrows[event.key]) moveAim(arrows[event.key], event.shiftKey ? 40 : 4);
    else if (event.key === "Enter" || event.key === " ") click(ui.pointer ?? [viewer.width / 2, viewer.height / 2]);
    else if (event.key === "+" || event.key === "=") viewer.zoomBy(1.4, ui.pointer ?? undefined);
    else if (event.key === "-") viewer.zoomBy(1 / 1.4, ui.pointer ?? undefined);
    else if (event.key === "0") viewer.fit();
    else if (event.key === "Escape") { ui.first = ui.second = ui.pickAt = null; setAim("look"); }
    else return;
    event.preventDefault();
  });

  function moveAim([dx, dy], by) {
    const from = ui.pointer ?? [viewer.width / 2, viewer.height / 2];
    const to = [from[0] + dx * by, from[1] + dy * by];
    const edge = 30;
    const push = [Math.min(0, to[0] - edge) + Math.max(0, to[0] - viewer.width + edge), Math.min(0, to[1] - edge) + Math.max(0, to[1] - viewer.height + edge)];
    if (push[0] || push[1]) viewer.moveBy(-push[0], -push[1]);
    ui.isFine = true;
    aimAt([to[0] - push[0], to[1] - push[1]]);
    speak(ui.hover ? `${format.size(ui.hover.size_mm)} shape` : `pixel ${viewer.toPlan(ui.pointer).map(Math.round).join(", ")}`);
  }

  // ---- the pad beside the sheet ---------------------------------------------------------------------

  function setAim(aim) {
    ui.aim = aim;
    ui.first = ui.second = ui.pickAt = ui.snap = null;
    canvas.dataset.aim = aim;
    renderPad();
    viewer.draw();
  }

  function renderPad() {
    if (!plan()) { show(pad, h("p", {}, "This job has no plan yet."), uploader()); return; }
    show(pad,
      planChooser(),
      h("fieldset", { class: "aims" }, h("legend", {}, "A click on the plan is to …"),
        AIMS.map(([aim, text]) => h("label", { class: "aim" },
          h("input", { type: "radio", name: "aim", value: aim, checked: ui.aim === aim, "data-key": `aim-${aim}`, onchange: () => setAim(aim) }),
          h("span", {}, text.toLowerCase()))),
        h("p", { id: "aim-text", class: "hint" }, AIMS.find(([aim]) => aim === ui.aim)[2])),
      ui.second ? knownForm() : null,
      ui.pickAt ? partForm() : null,
      scaleBox(),
      chosenBox(),
      notesBox());
  }

  function planChooser() {
    const plans = desk.state.plans;
    return h("div", { class: "row wrap" },
      plans.length > 1
        ? h("label", {}, "Sheet ", h("select", { "data-key": "plan", value: String(desk.chosen.plan),
          onchange: (event) => { choose("plan", Number(event.target.value)); viewer.key = null; canvas.setAttribute("aria-busy", "true"); ui.regions = []; load(); } },
        plans.map((one) => h("option", { value: String(one.number) }, one.name))))
        : h("strong", {}, plan().name),
      uploader());
  }

  function knownForm() {
    return h("form", { class: "slate", "data-key": "known-form", onsubmit: async (event) => {
      event.preventDefault();
      const typed = event.currentTarget.elements.namedItem("length").value.trim();
      const done = await edit({ kind: "add-known", plan: plan().number, start: ui.first, end: ui.second, length: typed });
      if (done) setAim("measure");
    } },
    h("label", {}, "True length between the two points", h("input", { name: "length", "data-key": "known-length", required: true, placeholder: "300 mm or 11 13/16 in", autocomplete: "off" })),
    h("div", { class: "row" },
      h("button", { class: "main", type: "submit", "data-key": "known-keep" }, "Keep this length"),
      h("button", { type: "button", "data-key": "known-drop", onclick: () => setAim("measure") }, "Start over")));
  }

  function partForm() {
    const names = new Set(desk.state.parts.map((part) => part.name));
    let number = desk.state.parts.length + 1;
    while (names.has(`part ${number}`)) number += 1;
    return h("form", { class: "slate", "data-key": "part-form", onsubmit: async (event) => {
      event.preventDefault();
      const fields = event.currentTarget.elements;
      const name = fields.name.value.trim();
      const done = names.has(name)
        ? await edit({ kind: "add-pick", part: name, role: "pick", at: ui.pickAt })
        : await edit({ kind: "add-part", name, plan: plan().number, at: ui.pickAt, material: fields.material.value.trim() || null, thickness: fields.thickness.value.trim() || null });
      if (done) { choose("part", name); ui.pickAt = null; renderPad(); canvas.focus(); }
    } },
    h("label", {}, "Name of the part", h("input", { name: "name", "data-key": "part-name", list: "part-names", required: true, value: `part ${number}`, autocomplete: "off" })),
    h("datalist", { id: "part-names" }, [...names].map((name) => h("option", { value: name }))),
    ui.isOpenThere ? h("p", { class: "fault" }, "No closed shape was found at this place. The outline may have a gap; the trace will say where.") : null,
    h("p", { class: "hint" }, "The name of a part that is there already adds this shape to it."),
    h("div", { class: "row" },
      h("label", {}, "Material", h("input", { name: "material", "data-key": "part-material", list: "materials", value: lastOf("material") ?? "balsa" })),
      h("label", {}, "Thickness", h("input", { name: "thickness", "data-key": "part-thickness", value: format.lengthField(lastOf("thickness_mm")) || "3 mm" }))),
    h("datalist", { id: "materials" }, ["balsa", "birch ply", "light ply", "basswood", "spruce"].map((name) => h("option", { value: name }))),
    h("div", { class: "row" },
      h("button", { class: "main", type: "submit", "data-key": "part-keep" }, "Take it off the plan"),
      h("button", { type: "button", onclick: () => { ui.pickAt = null; renderPad(); } }, "Leave it")));
  }

  const lastOf = (field) => desk.state.parts.at(-1)?.[field] ?? null;

  function scaleBox() {
    const { scale, known, fault } = plan();
    return h("section", {}, h("h2", {}, "How large the plan is"),
      fault ? h("p", { class: "fault" }, fault) : null,
      scale ? h("p", {}, `The page is ${format.size(scale.page_mm)}; `, h("span", { class: "nowrap" }, `${(1 / scale.mm_per_px[0]).toFixed(3)} px per mm`),
        known.length ? `, sure to ${(100 * scale.sigma).toFixed(3)} %.` : ".") : null,
      scale && !scale.is_true_size ? h("p", { class: "fault" }, "Nobody has confirmed this size. Give a known length before anything is cut.") : null,
      known.length ? h("table", { class: "tight" },
        h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Known length"), h("th", { scope: "col" }, "Left over"), h("th", { scope: "col" }, h("span", { class: "unseen" }, "Remove")))),
        h("tbody", {}, known.map((one, number) => h("tr", {},
          h("td", {}, format.length(one.length_mm)),
          h("td", { class: "number" }, one.residual_mm === null ? "–" : `${one.residual_mm >= 0 ? "+" : "−"}${Math.abs(one.residual_mm).toFixed(2)} mm`),
          h("td", {}, h("button", { class: "quiet", "data-key": `drop-known-${number}`, "aria-label": `Remove the known length ${format.length(one.length_mm)}`,
            onclick: () => edit({ kind: "drop-known", plan: plan().number, number }) }, icon("bin")))))))
        : h("p", { class: "hint" }, "No known length yet. Two, one along and one across, also show a scanner that stretches."),
      h("label", { class: "row" }, "The part's edge is the ",
        h("select", { "data-key": "edge", value: plan().edge, onchange: (event) => edit({ kind: "set-plan", plan: plan().number, field: "edge", value: event.target.value }) },
          [["centre", "centre of the line"], ["inside", "inside of the line"], ["outside", "outside of the line"], ["solid", "rim of a solid shape"]].map(([value, text]) => h("option", { value }, text)))));
  }

  function chosenBox() {
    const part = chosenPart();
    if (!part || part.from) return h("section", {}, h("h2", {}, "Parts on this sheet"), partList());
    return h("section", {}, h("h2", {}, part.name),
      part.fault ? h("p", { class: "fault" }, part.fault) : null,
      part.outline_px ? h("p", {}, `${format.size(part.size_mm)}, ${format.area(part.area_mm2)}, edge sure to ${part.sigma_edge_mm.toFixed(2)} mm; pen line ${part.pen_width_mm.toFixed(2)} mm.`) : h("p", { class: "hint" }, isRunning("follow") ? "It is being traced …" : "Not traced."),
      h("ul", { class: "picks" }, ["pick", "cutout"].flatMap((role) => part[role].map((at, number) => h("li", {},
        `${role === "pick" ? "shape" : "hole"} at ${at.map(Math.round).join(", ")} `,
        h("button", { class: "quiet", "data-key": `${role}-${number}`, "aria-label": `Take the ${role === "pick" ? "shape" : "hole"} at ${at.map(Math.round).join(", ")} away`,
          onclick: () => edit({ kind: "drop-pick", part: part.name, role, number }) }, icon("bin")))))),
      h("div", { class: "row wrap" },
        h("button", { "data-key": "show-part", disabled: !part.outline_px, onclick: () => viewer.showBox(bounds(part.outline_px[0])) }, "Show it"),
        h("a", { class: "button", href: "#parts" }, "Its wood and grain"),
        h("button", { "data-key": "drop-part", onclick: () => { edit({ kind: "drop-part", part: part.name }); choose("part", null); } }, "Remove")),
      h("p", {}, h("button", { class: "quiet", "data-key": "all-parts", onclick: () => choose("part", null) }, "All parts")));
  }

  function partList() {
    const here = desk.state.parts.filter((part) => !part.from && (!part.plan || part.plan === plan().name));
    if (!here.length) return h("p", { class: "hint" }, "None yet. Choose ‘pick a part’ above and click inside a shape.");
    return h("ul", { class: "plain" }, here.map((part) => h("li", {},
      h("button", { class: "line", "data-key": `part-${part.name}`, onclick: () => { choose("part", part.name); if (part.outline_px) viewer.showBox(bounds(part.outline_px[0])); } },
        part.name, h("span", { class: "pencil" }, part.fault ? " – see why" : ` – ${part.state}`)))));
  }

  function notesBox() {
    const notes = [...(plan().notes ?? []), ...(desk.state.notes ?? []).filter((note) => note.part && belongsHere(note))]
      .filter((note) => !desk.chosen.part || !note.part || note.part === desk.chosen.part);
    const seen = new Set();
    const single = notes.filter((note) => { const key = `${note.part} ${note.text}`; const isNew = !seen.has(key); seen.add(key); return isNew; });
    if (!single.length) return null;
    return h("section", {}, h("h2", {}, "Notes"), h("ul", { class: "notes" }, single.map((note, number) => h("li", { class: note.state },
      note.part ? h("strong", {}, `${note.part}: `) : null, note.text, " ",
      note.at ? h("button", { class: "quiet", "data-key": `note-${number}`, onclick: () => viewer.showBox([note.at[0] - 90, note.at[1] - 90, note.at[0] + 90, note.at[1] + 90]) }, "show") : null))));
  }

  const stopListening = listen((what) => {
    if (what === "picture" || (what === "state" && !viewer.picture)) load();
    if (what === "regions" || (what === "state" && !ui.areRegionsThere)) loadRegions().catch(() => {});
    if (what !== "task") renderPad();
    if (what === "task") { const cutting = desk.tasks.get("follow"); if (cutting?.state === "running" && !viewer.picture) waiting.textContent = `${cutting.text || cutting.title} ${cutting.share ? `${Math.round(100 * cutting.share)} %` : "…"}`; }
    viewer.draw();
  });
  setAim("look");
  load();
  return () => { stopListening(); viewer.close(); };
}

export function uploader(text = "Add a scan") {
  return h("span", {},
    h("button", { type: "button", "data-key": "add-scan", onclick: (event) => event.currentTarget.nextSibling.click() }, text),
    h("input", { type: "file", class: "unseen", accept: ".png,.jpg,.jpeg,.tif,.tiff,.pdf,.svg,.dxf", "data-key": "upload", tabindex: "-1", "aria-hidden": "true",
      onchange: (event) => {
        const [file] = event.currentTarget.files;
        if (file) document.dispatchEvent(new CustomEvent("scan-dropped", { detail: file }));
        event.currentTarget.value = "";
      } }));
}
