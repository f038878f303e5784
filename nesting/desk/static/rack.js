// The rack: boards at one scale, with the parts lying on them; find better fits, drag, turn and pin.

import { rulesForm } from "./rules.js";
import { boardDrawing, pieceDrawing } from "./boards.js";
import { h, s, show, slip, speak } from "./dom.js";
import * as format from "./format.js";
import { bounds, doRingsOverlap, isWithin, placed } from "./geometry.js";
import { icon } from "./icons.js";
import { attempt, board, choose, desk, edit, isRunning, listen, part, start, stop } from "./store.js";

const FIELDS = [["name", "Name"], ["material", "Material"], ["thickness", "Thickness"], ["measured thickness", "Measured thickness"], ["length", "Length"], ["width", "Width"], ["mass", "Mass on the scale"]];
const CUTS = ["", "tangential", "mixed", "quarter"];

export function rackView(place) {
  const ui = { held: null, clash: null, chosen: null, isAdding: false, isMarking: false };
  let drag = null;

  const layout = () => (desk.state?.layout?.is_current ? desk.state.layout : null);
  const placementsOn = (name) => layout()?.boards.find((one) => one.name === name)?.placements ?? [];

  function scale() {
    const longest = Math.max(...desk.state.boards.map((one) => one.length_mm), 300);
    const room = Math.max(320, place.clientWidth - (window.innerWidth > 980 ? 400 : 70));
    return room / longest;
  }

  function render() {
    if (drag) return;
    const { boards, rack_fault: fault } = desk.state ?? {};
    if (!boards) return;
    show(place, h("div", { class: "page with-pad" },
      h("div", { class: "wall", "data-scroll": "wall" },
        h("div", { class: "row wrap between" }, h("h1", {}, "Rack"), tools()),
        fault && boards.length === 0 ? h("p", { class: "fault" }, fault) : null,
        ui.clash ? clash() : null,
        standing(),
        boards.length ? shelves(boards) : empty(),
        rulesForm()),
      h("aside", { class: "pad", "aria-label": "The chosen board", "data-scroll": "pad" }, ui.isAdding ? addForm() : boardForm())));
    if (ui.held) showHeld(ui.held);
  }

  function tools() {
    const running = isRunning("nest");
    return h("div", { class: "row wrap" },
      running
        ? h("button", { class: "main", "data-key": "enough", onclick: () => stop("nest") }, "Good enough, cut")
        : h("button", { class: "main", "data-key": "fit", disabled: !desk.state.boards.length || !desk.state.parts.some((one) => one.outline), onclick: () => start("nest") }, layout() ? "Look for a better fit" : "Lay the parts out"),
      h("button", { "data-key": "add-boards", "aria-expanded": String(ui.isAdding), onclick: () => { ui.isAdding = !ui.isAdding; render(); } }, ui.isAdding ? "Back to the board" : "Add boards"));
  }

  function standing() {
    const found = desk.state.layout;
    const task = desk.tasks.get("nest");
    const lines = [];
    if (task?.state === "running") lines.push(h("p", { class: "pencil busy", role: "status" }, `${task.text || task.title} …`));
    if (found && !found.is_current) lines.push(h("p", { class: "hint" }, "The parts, the rack or the rules changed since the last layout; lay the parts out again."));
    if (layout()) {
      lines.push(h("p", { class: found.proved ? "proved" : "fault" }, found.proved
        ? `Proved: nothing overlaps, and every gap of ${format.length(desk.state.gap_mm)}, margin and grain angle is kept.`
        : `Not proved: ${found.faults.join(" ")}`));
      for (const left of found.unplaced) lines.push(h("p", { class: "fault" }, left.reason));
    }
    return lines;
  }

  function shelves(boards) {
    const by = new Map();
    for (const one of boards) {
      const key = `${one.material}, ${one.thickness_text}`;
      by.set(key, [...(by.get(key) ?? []), one]);
    }
    return [...by].map(([title, group]) => h("section", { class: "shelf" }, h("h2", {}, title), group.map(boardRow)));
  }

  function boardRow(one) {
    const found = placementsOn(one.name);
    const used = layout()?.boards.find((each) => each.name === one.name);
    const isChosen = desk.chosen.board === one.name;
    return h("div", { class: `board${isChosen ? " chosen" : ""}` },
      h("button", { class: "board-label", "aria-pressed": String(isChosen), "data-key": `board-${one.name}`, onclick: () => { ui.isAdding = false; choose("board", isChosen ? null : one.name); } },
        h("strong", {}, one.name), " ",
        h("span", { class: "pencil" }, one.density_kg_m3 === null ? "cannot be weighed" : `${one.density_text}${one.mass_g === null ? ", a guess" : ""}`),
        one.notes ? h("span", { class: "pencil" }, ` · ${one.notes}`) : null,
        used ? h("span", { class: "pencil" }, ` · ${Math.round(100 * used.used_fraction)} % used`) : null),
      h("div", { class: "board-place" }, boardDrawing(one, found, desk.state.parts, { onPart: true, chosen: ui.chosen, scale: scale() })));
  }

  function empty() {
    return h("div", { class: "empty" }, h("p", {}, "The rack is empty."),
      h("p", {}, "Measure and weigh the boards at hand: length, width, thickness and what the kitchen scale says. The difference between a light and a heavy board is the difference between two models."),
      h("button", { class: "main", onclick: () => { ui.isAdding = true; render(); } }, "Add boards"));
  }

  // ---- the pad ------------------------------------------------------------------------------------

  function addForm() {
    return h("form", { "data-key": "new-board", onsubmit: async (event) => {
      event.preventDefault();
      const fields = event.currentTarget.elements;
      const pasted = fields.table.value.trim();
      const row = FIELDS.map(([name]) => fields.namedItem(name).value.trim());
      const cells = row.map((cell) => `"${cell.replaceAll('"', '""')}"`).join(",");
      const table = pasted || `${FIELDS.map(([name]) => name).join(",")}\n${cells}`;
      if (await edit({ kind: "add-boards", table })) { ui.isAdding = false; render(); }
    } },
    h("h2", {}, "Add boards"),
    h("p", { class: "hint" }, "Write units as you would on the board: 1000 mm, 36 in, 3/32 in, 49.5 g."),
    FIELDS.map(([name, label]) => h("label", {}, label, h("input", { name, "data-key": `new-${name}`, autocomplete: "off", value: name === "material" ? "balsa" : "" }))),
    h("label", {}, "Or paste rows from a spreadsheet, with or without their headings", h("textarea", { name: "table", rows: 4, "data-key": "new-table", spellcheck: "false", placeholder: FIELDS.map(([name]) => name).join("\t") })),
    h("button", { class: "main", type: "submit", "data-key": "new-keep" }, "Put them in the rack"));
  }

  function boardForm() {
    const one = board(desk.chosen.board);
    if (!one) return [h("h2", {}, "No board is chosen"), h("p", { class: "hint" }, "Choose a board by its name to weigh it, rename it or mark a blemish. Parts can be dragged along and between boards; the arrow keys move the one that has the keyboard."), keysHelp()];
    const set = (field, value) => edit({ kind: "set-board", board: one.name, field, value });
    const shown = { name: one.name, material: one.material, thickness: format.lengthField(one.thickness_mm), "measured thickness": format.lengthField(one.measured_thickness_mm), length: format.lengthField(one.length_mm), width: format.lengthField(one.width_mm), mass: format.massField(one.mass_g) };
    return [h("h2", {}, `Board ${one.name}`),
      h("p", {}, one.density_kg_m3 === null ? one.fault : `${one.density_text}, sure to ± ${one.sigma_kg_m3.toFixed(0)} kg/m³${one.mass_g === null ? ". Nobody has weighed it; this is the usual density of the material." : "."}`),
      FIELDS.map(([name, label]) => h("label", {}, label, h("input", { value: shown[name], "data-key": `b-${name}`, autocomplete: "off",
        onchange: async (event) => { const value = event.target.value.trim(); if (await set(name, value) && name === "name") choose("board", value); } }))),
      h("label", {}, "Cut", h("select", { value: CUTS.includes(one.cut) ? one.cut : "", "data-key": "b-cut", onchange: (event) => set("cut", event.target.value) },
        CUTS.map((cut) => h("option", { value: cut }, cut || "not known")))),
      h("label", {}, "Note", h("input", { value: one.notes, "data-key": "b-notes", onchange: (event) => set("notes", event.target.value) })),
      blemishes(one),
      h("button", { "data-key": "drop-board", onclick: () => { edit({ kind: "drop-board", board: one.name }); choose("board", null); } }, "Take it out of the rack"),
      keysHelp()];
  }

  function blemishes(one) {
    const form = h("form", { class: "slate", onsubmit: (event) => {
      event.preventDefault();
      const [x, y, w, t] = ["x", "y", "w", "t"].map((name) => Number(event.currentTarget.elements[name].value));
      edit({ kind: "add-blemish", board: one.name, corner: [x, y], opposite: [x + w, y + t] });
    } },
    h("p", { class: "hint" }, "In millimetres from the lower left of the board:"),
    h("div", { class: "four" }, [["x", "from the left"], ["y", "from below"], ["w", "long"], ["t", "wide"]].map(([name, label]) => h("label", {}, label, h("input", { name, type: "number", step: "any", required: true, "data-key": `flaw-${name}` })))),
    h("button", { type: "submit", "data-key": "flaw-keep" }, "Mark it"));
    return h("details", { "data-key": "flaws-box", open: ui.isMarking || null, ontoggle: (event) => { ui.isMarking = event.target.open; } },
      h("summary", { "data-key": "flaws" }, `Blemishes (${one.blemishes.length})`),
      h("p", { class: "hint" }, "With this open, drag over the flaw on the board, or type where it is."),
      h("ul", { class: "plain" }, one.blemishes.map((flaw, number) => h("li", { class: "row" }, format.size([bounds(flaw.outline)[2] - bounds(flaw.outline)[0], bounds(flaw.outline)[3] - bounds(flaw.outline)[1]], 0),
        h("button", { class: "quiet", "aria-label": "Remove this blemish", "data-key": `flaw-${number}`, onclick: () => edit({ kind: "drop-blemish", board: one.name, number }) }, icon("bin"))))),
      form);
  }

  function keysHelp() {
    return h("details", { "data-key": "keys-box" }, h("summary", { "data-key": "keys" }, "By keyboard"),
      h("dl", { class: "keys" },
        [["arrows", "move the part 1 mm, with Shift 10 mm"], [", and .", "turn it a degree either way, with Shift half round"], ["o", "turn it over, where that is allowed"], ["Enter", "leave it there and pin it"], ["h", "hold it where it is, or let go"], ["Escape", "put it back"]]
          .map(([key, text]) => [h("dt", {}, key), h("dd", {}, text)])));
  }

  // ---- holding a part -------------------------------------------------------------------------------

  const found = (element) => {
    const group = element.closest?.("[data-part]");
    const drawing = element.closest?.("[data-board]");
    if (!group || !drawing) return null;
    const copy = Number(group.dataset.copy);
    const placement = placementsOn(drawing.dataset.board).find((one) => one.part === group.dataset.part && one.copy === copy);
    return placement ? { ...placement, board: drawing.dataset.board, group } : null;
  };

  function toBoard(drawing, event) {
    const frame = drawing.querySelector(".board-frame");
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(frame.getScreenCTM().inverse());
    return [point.x, point.y];
  }

  const under = (event) => document.elementsFromPoint(event.clientX, event.clientY).map((one) => one.closest?.("[data-board]")).find(Boolean) ?? null;

  place.addEventListener("pointerdown", (event) => {
    const held = found(event.target);
    const drawing = event.target.closest?.("[data-board]");
    if (held && !isRunning("nest")) {
      event.preventDefault();
      held.group.focus();
      drag = { held, moved: { ...held }, at: toBoard(drawing, event), hasMoved: false };
      ui.chosen = { part: held.part, copy: held.copy };
    } else if (drawing && ui.isMarking && drawing.dataset.board === desk.chosen.board) {
      drag = { marking: drawing, from: toBoard(drawing, event), rect: s("rect", { class: "blemish" }) };
      drawing.querySelector(".board-frame").append(drag.rect);
    }
    if (drag) place.setPointerCapture(event.pointerId);
  });

  place.addEventListener("pointermove", (event) => {
    if (!drag) return;
    if (drag.marking) { stretch(event); return; }
    const drawing = under(event) ?? place.querySelector(`[data-board="${CSS.escape(drag.moved.board)}"]`);
    const at = toBoard(drawing, event);
    drag.hasMoved = true;
    drag.moved.board = drawing.dataset.board;
    drag.moved.x_mm = drag.held.x_mm + at[0] - drag.at[0];
    drag.moved.y_mm = drag.held.y_mm + at[1] - drag.at[1];
    showHeld(drag.moved);
  });

  function stretch(event) {
    const [[x0, y0], [x1, y1]] = [drag.from, toBoard(drag.marking, event)];
    drag.to = [x1, y1];
    for (const [name, value] of Object.entries({ x: Math.min(x0, x1), y: Math.min(y0, y1), width: Math.abs(x1 - x0), height: Math.abs(y1 - y0) })) drag.rect.setAttribute(name, value);
  }

  place.addEventListener("pointerup", () => {
    const done = drag;
    drag = null;
    if (done?.marking) {
      if (done.to) edit({ kind: "add-blemish", board: done.marking.dataset.board, corner: done.from, opposite: done.to });
      else done.rect.remove();
    } else if (done?.hasMoved) keep(done.moved);
  });
  place.addEventListener("pointercancel", () => { drag = null; render(); });

  // Draw the held part where it is now, with what it runs into in red; return whether it could stay there.
  function showHeld(moved) {
    const drawing = place.querySelector(`[data-board="${CSS.escape(moved.board)}"]`);
    place.querySelector(".piece.held")?.remove();
    for (const group of place.querySelectorAll(`[data-part="${CSS.escape(moved.part)}"][data-copy="${moved.copy}"]`)) group.classList.add("away");
    const ring = placed(part(moved.part).outline[0], moved);
    const hits = placementsOn(moved.board).filter((one) => !(one.part === moved.part && one.copy === moved.copy) && doRingsOverlap(ring, placed(part(one.part).outline[0], one)));
    const isOff = !isWithin(ring, board(moved.board).outline[0]);
    const group = pieceDrawing(moved, desk.state.parts, { onPart: false, chosen: null, scale: scale() });
    group.classList.add("held", hits.length || isOff ? "clash" : "free");
    for (const one of place.querySelectorAll(".piece.hit")) one.classList.remove("hit");
    for (const hit of hits) drawing.querySelector(`[data-part="${CSS.escape(hit.part)}"][data-copy="${hit.copy}"]`)?.classList.add("hit");
    drawing.querySelector(".on-board").append(group);
    return { hits, isOff };
  }

  function clash() {
    const names = [...new Set(ui.clash)].join(" and ");
    const { part: name, copy, board: on, x_mm, y_mm, angle_deg, flipped } = ui.held;
    const hold = { kind: "place", part: name, copy_number: copy, board: on, x_mm, y_mm, angle_deg, flipped };
    return h("div", { class: "slate row wrap", role: "alert", "data-key": "clash" },
      h("p", { class: "fault" }, `${name} lies on ${names} there, so it cannot be kept like that.`),
      h("button", { class: "main", "data-key": "hold", onclick: () => { letGo(); start("nest", { hold }); } }, "Hold it there, fit the rest around it"),
      h("button", { "data-key": "put-back", onclick: () => { letGo(); render(); } }, "Put it back"));
  }

  function letGo() {
    ui.held = ui.clash = null;
  }

  async function keep(moved) {
    const { hits, isOff } = showHeld(moved);
    if (isOff) { slip(`${moved.part} reaches past the edge of board ${moved.board}; it was put back.`, "fault"); letGo(); render(); return; }
    if (hits.length) { ui.held = moved; ui.clash = hits.map((one) => one.part); render(); document.querySelector("[data-key=hold]")?.focus(); return; }
    const { part: name, copy, board: on, x_mm, y_mm, angle_deg, flipped } = moved;
    const kept = await edit({ kind: "place", part: name, copy_number: copy, board: on, x_mm, y_mm, angle_deg, flipped });
    if (kept) speak(`${name} lies on board ${on} and is pinned.`);
    ui.held = null;
    render();
  }

  place.addEventListener("focusin", (event) => {
    const held = found(event.target);
    if (held) ui.chosen = { part: held.part, copy: held.copy };
  });

  place.addEventListener("keydown", (event) => {
    const held = found(event.target);
    if (!held || event.ctrlKey || event.metaKey || event.altKey) return;
    const moved = ui.held && ui.held.part === held.part && ui.held.copy === held.copy ? ui.held : { ...held };
    const by = event.shiftKey ? 10 : 1;
    const moves = { ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, by], ArrowDown: [0, -by] };
    const turns = { ",": 1, ".": -1, "<": 180, ">": -180, ";": 180, ":": -180 };
    if (moves[event.key]) { moved.x_mm += moves[event.key][0]; moved.y_mm += moves[event.key][1]; }
    else if (turns[event.key]) turn(moved, turns[event.key]);
    else if (event.key === "o") {
      if (part(held.part).hand !== "either") { speak(`${held.part} is cut as drawn; it may not be turned over.`); event.preventDefault(); return; }
      turnOver(moved);
    }
    else if (event.key === "Enter" && ui.held) { keep(moved); event.preventDefault(); return; }
    else if (event.key === "Escape") { letGo(); render(); event.preventDefault(); return; }
    else if (event.key === "h") { attempt(() => edit({ kind: "pin", part: held.part, copy_number: held.copy, is_pinned: !held.pinned })); event.preventDefault(); return; }
    else return;
    event.preventDefault();
    ui.held = moved;
    const { hits, isOff } = showHeld(moved);
    speak(isOff ? "past the edge" : hits.length ? `on ${hits[0].part}` : `${moved.x_mm.toFixed(0)}, ${moved.y_mm.toFixed(0)} mm, free`);
  });

  // Turn about the middle of the part, so that it stays under the hand.
  function turn(moved, degrees) {
    const ring = part(moved.part).outline[0];
    const middle = (one) => { const [x0, y0, x1, y1] = bounds(placed(ring, one)); return [(x0 + x1) / 2, (y0 + y1) / 2]; };
    const before = middle(moved);
    moved.angle_deg = (moved.angle_deg + degrees + 360) % 360;
    const after = middle(moved);
    moved.x_mm += before[0] - after[0];
    moved.y_mm += before[1] - after[1];
  }

  // Turn a part over about its middle, its grain lying as it did.
  function turnOver(moved) {
    const way = moved.flipped ? -1 : 1;
    const middle = (one) => { const [x0, y0, x1, y1] = bounds(placed(part(moved.part).outline[0], one)); return [(x0 + x1) / 2, (y0 + y1) / 2]; };
    const before = middle(moved);
    moved.angle_deg = (((moved.angle_deg + way * 2 * part(moved.part).grain_deg) % 360) + 360) % 360;
    moved.flipped = !moved.flipped;
    const after = middle(moved);
    moved.x_mm += before[0] - after[0];
    moved.y_mm += before[1] - after[1];
  }

  const resize = () => render();
  window.addEventListener("resize", resize);
  const stopListening = listen((what) => { if (what !== "picture" && what !== "regions") render(); });
  render();
  return () => { stopListening(); window.removeEventListener("resize", resize); };
}
