// The rack: boards at one scale, with the parts lying on them; find better fits, drag, turn and
// pin.

import { addForm, boardForm } from "./boardpad.js";
import { boardDrawing, pieceDrawing } from "./boards.js";
import { focusOn, h, s, show, slip, speak } from "./dom.js";
import * as format from "./format.js";
import { doRingsOverlap, isWithin, placed } from "./geometry.js";
import { offcutForm } from "./offcut.js";
import { leavePhoto } from "./offcutfinding.js";
import { photoSection } from "./offcutphoto.js";
import { canTurnOver, outlineOf, pieceBar, turned, turnedOver } from "./piece.js";
import { accuracyForm, rulesForm } from "./rules.js";
import { board, choose, desk, edit, isRunning, listen, part, start, stop } from "./store.js";
import { trialSection } from "./trial.js";

/** @import { Board } from "./answers.d.ts" */
/** @import { Child } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Photo } from "./offcutfinding.js" */
/** @import { Acts, Held } from "./piece.js" */

/**
 * @typedef {object} RackUi
 * @property {Held | null} held the copy in the hand
 * @property {string[] | null} clash the parts that it lies on
 * @property {{ part: string, copy: number } | null} chosen
 * @property {boolean} isAdding
 * @property {boolean} isPhoto
 * @property {boolean} isMarking whether a drag over a board marks a blemish
 * @property {Photo | null} photo
 */
/** @typedef {{ held: Held, moved: Held, at: Point, hasMoved: boolean }} Carrying a copy dragged */
/** @typedef {{ board: SVGElement, from: Point, to: Point | null, rect: SVGRectElement }} Marking */

/** @param {HTMLElement} place */
export function rackView(place) {
  /** @type {RackUi} */
  const ui = {
    held: null,
    clash: null,
    chosen: null,
    isAdding: false,
    isPhoto: false,
    isMarking: false,
    photo: null,
  };
  /** @type {Carrying | null} */
  let carrying = null;
  /** @type {Marking | null} */
  let marking = null;
  const isDragging = () => carrying !== null || marking !== null;

  const layout = () => (desk.state?.layout?.is_current ? desk.state.layout : null);
  // Parts stay where they lay when something is changed, until they are laid out anew.
  /** @param {string} name */
  const placementsOn = (name) =>
    desk.state?.layout?.boards.find((one) => one.name === name)?.placements ?? [];

  function scale(inset = 0) {
    const longest = Math.max(...desk.state.boards.map((one) => one.length_mm), 300);
    const room = Math.max(320, place.clientWidth - (window.innerWidth > 980 ? 400 : 70));
    return (room - inset) / longest;
  }

  function render() {
    if (isDragging()) return;
    const { boards, rack_fault: fault } = desk.state ?? {};
    if (!boards) return;
    show(
      place,
      h(
        "div",
        { class: "page with-pad" },
        h(
          "div",
          { class: "wall", "data-scroll": "wall" },
          h("div", { class: "row wrap between" }, h("h1", {}, "Rack"), tools()),
          ui.isPhoto && ui.photo?.size ? photoSection(ui.photo, ui.photo.size, render) : null,
          fault && boards.length === 0 ? h("p", { class: "fault" }, fault) : null,
          ui.held && ui.clash ? clash(ui.held, ui.clash) : null,
          standing(),
          boards.length ? shelves(boards) : empty(),
          boards.length ? trialSection(scale(44), render) : null,
          rulesForm(),
          accuracyForm(),
          bar(),
        ),
        h(
          "aside",
          { class: "pad", "aria-label": "The chosen board", "data-scroll": "pad" },
          ui.isPhoto
            ? offcutForm(ui, render)
            : ui.isAdding
              ? addForm(ui, render)
              : boardForm(ui, render),
        ),
      ),
    );
    if (ui.held) showHeld(ui.held);
  }

  function tools() {
    const running = isRunning("nest");
    return h(
      "div",
      { class: "row wrap" },
      running
        ? h(
            "button",
            { class: "main", "data-key": "enough", onclick: () => stop("nest") },
            "Good enough: keep this layout",
          )
        : h(
            "button",
            {
              class: "main",
              "data-key": "fit",
              disabled: !desk.state.boards.length || !desk.state.parts.some((one) => one.outline),
              onclick: () => start("nest"),
            },
            layout() ? "Look for a better fit" : "Lay the parts out",
          ),
      h(
        "button",
        {
          "data-key": "add-boards",
          "aria-expanded": String(ui.isAdding),
          onclick: () => {
            ui.isAdding = !ui.isAdding;
            ui.isPhoto = false;
            render();
          },
        },
        ui.isAdding ? "Back to the board" : "Add boards",
      ),
      h(
        "button",
        {
          "data-key": "by-photo",
          "aria-expanded": String(ui.isPhoto),
          onclick: () => {
            ui.isPhoto = !ui.isPhoto;
            ui.isAdding = false;
            render();
          },
        },
        ui.isPhoto ? "Back to the board" : "Offcut by photo",
      ),
    );
  }

  const greyed = () =>
    desk.state.layout?.boards.flatMap((one) => one.placements).filter((one) => !one.holds).length ??
    0;

  function standing() {
    const found = desk.state.layout;
    const task = desk.tasks.get("nest");
    /** @type {Child[]} */
    const lines = [];
    if (task?.state === "running")
      lines.push(h("p", { class: "pencil busy", role: "status" }, `${task.text || task.title} …`));
    if (found && !found.is_current)
      lines.push(
        h(
          "p",
          { class: "hint" },
          "The parts, the rack or the rules changed since the last layout. " +
            (greyed()
              ? `${format.count(greyed(), "part")} drawn grey no longer ` +
                `${greyed() === 1 ? "fits" : "fit"} where ` +
                `${greyed() === 1 ? "it lies" : "they lie"}; lay the parts out again.`
              : "What lies here still fits; lay the parts out again to prove it whole."),
        ),
      );
    if (found && layout()) {
      lines.push(
        h(
          "p",
          { class: found.proved ? "proved" : "fault" },
          found.proved
            ? `Proved: nothing overlaps, and every gap of ` +
                `${format.length(desk.state.gap_mm)}, margin and grain angle is kept.`
            : `Not proved: ${found.faults.join(" ")}`,
        ),
      );
      for (const left of found.unplaced) lines.push(h("p", { class: "fault" }, left.reason));
    }
    return lines;
  }

  /** @param {Board[]} boards */
  function shelves(boards) {
    /** @type {Map<string, Board[]>} */
    const by = new Map();
    for (const one of boards) {
      const key = `${one.material}, ${one.thickness_text}`;
      by.set(key, [...(by.get(key) ?? []), one]);
    }
    return [...by].map(([title, group]) =>
      h("section", { class: "shelf" }, h("h2", {}, title), group.map(boardRow)),
    );
  }

  /** @param {Board} one */
  function boardRow(one) {
    const found = placementsOn(one.name);
    const used = layout()?.boards.find((each) => each.name === one.name);
    const isChosen = desk.chosen.board === one.name;
    return h(
      "div",
      { class: `board${isChosen ? " chosen" : ""}` },
      h(
        "button",
        {
          class: "board-label",
          "aria-pressed": String(isChosen),
          "data-key": `board-${one.name}`,
          onclick: () => {
            ui.isAdding = false;
            choose("board", isChosen ? null : one.name);
          },
        },
        h("strong", {}, one.name),
        " ",
        h(
          "span",
          { class: "pencil" },
          one.density_kg_m3 === null
            ? "cannot be weighed"
            : `${one.density_text}${one.mass_g === null ? ", a guess" : ""}`,
        ),
        one.notes ? h("span", { class: "pencil" }, ` · ${one.notes}`) : null,
        used
          ? h("span", { class: "pencil" }, ` · ${Math.round(100 * used.used_fraction)} % used`)
          : null,
      ),
      h(
        "div",
        { class: "board-place" },
        boardDrawing(one, found, desk.state.parts, {
          onPart: true,
          chosen: ui.chosen,
          scale: scale(),
        }),
      ),
    );
  }

  function empty() {
    if (!desk.state.is_followed)
      return h("p", { class: "empty hint", role: "status" }, "The rack is being read …");
    return h(
      "div",
      { class: "empty" },
      h("p", {}, "The rack is empty."),
      h(
        "p",
        {},
        "Measure and weigh the boards at hand: length, width, thickness and what the kitchen " +
          "scale says. The difference between a light and a heavy board is the difference " +
          "between two models.",
      ),
      h(
        "button",
        {
          class: "main",
          onclick: () => {
            ui.isAdding = true;
            render();
          },
        },
        "Add boards",
      ),
    );
  }

  // ---- holding a part --------------------------------------------------------------------------

  // The drawing of a board that something is within.
  /** @param {EventTarget | null} target */
  const boardOf = (target) =>
    target instanceof Element
      ? /** @type {SVGElement | null} */ (target.closest("[data-board]"))
      : null;
  /** @param {string} name */
  const drawingOf = (name) =>
    /** @type {SVGElement | null} */ (place.querySelector(`[data-board="${CSS.escape(name)}"]`));

  // The copy that something is within, as it lies, and its drawing.
  /** @param {EventTarget | null} target */
  const found = (target) => {
    if (!(target instanceof Element)) return null;
    const group = /** @type {SVGElement | null} */ (target.closest("[data-part]"));
    const name = boardOf(target)?.dataset.board;
    if (!group || name === undefined) return null;
    const copy = Number(group.dataset.copy);
    const placement = placementsOn(name).find(
      (one) => one.part === group.dataset.part && one.copy === copy,
    );
    return placement ? { held: { ...placement, board: name }, group } : null;
  };

  /** @param {Element} drawing */
  const frameOf = (drawing) => /** @type {SVGGElement} */ (drawing.querySelector(".board-frame"));

  /**
   * @param {Element} drawing
   * @param {MouseEvent} event
   * @returns {Point}
   */
  function toBoard(drawing, event) {
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(
      frameOf(drawing).getScreenCTM()?.inverse(),
    );
    return [x, y];
  }

  /** @param {MouseEvent} event */
  const under = (event) =>
    document.elementsFromPoint(event.clientX, event.clientY).map(boardOf).find(Boolean) ?? null;

  place.addEventListener("pointerdown", (event) => {
    const taken = found(event.target);
    const drawing = boardOf(event.target);
    if (taken && drawing && !isRunning("nest")) {
      const { held, group } = taken;
      event.preventDefault();
      carrying = { held, moved: { ...held }, at: toBoard(drawing, event), hasMoved: false };
      group.focus();
      ui.chosen = { part: held.part, copy: held.copy };
    } else if (drawing && ui.isMarking && drawing.dataset.board === desk.chosen.board) {
      const from = toBoard(drawing, event);
      marking = { board: drawing, from, to: null, rect: s("rect", { class: "blemish" }) };
      frameOf(drawing).append(marking.rect);
    }
    if (isDragging()) place.setPointerCapture(event.pointerId);
  });

  place.addEventListener("pointermove", (event) => {
    if (marking) stretch(marking, event);
    const drawing = carrying && (under(event) ?? drawingOf(carrying.moved.board));
    if (!carrying || !drawing) return;
    const { held, moved, at } = carrying;
    const now = toBoard(drawing, event);
    carrying.hasMoved = true;
    moved.board = drawing.dataset.board ?? moved.board;
    moved.x_mm = held.x_mm + now[0] - at[0];
    moved.y_mm = held.y_mm + now[1] - at[1];
    showHeld(moved);
  });

  /**
   * @param {Marking} mark
   * @param {MouseEvent} event
   */
  function stretch(mark, event) {
    const [[x0, y0], [x1, y1]] = [mark.from, toBoard(mark.board, event)];
    mark.to = [x1, y1];
    for (const [name, value] of Object.entries({
      x: Math.min(x0, x1),
      y: Math.min(y0, y1),
      width: Math.abs(x1 - x0),
      height: Math.abs(y1 - y0),
    }))
      mark.rect.setAttribute(name, String(value));
  }

  place.addEventListener("pointerup", () => {
    const [carried, marked] = [carrying, marking];
    carrying = marking = null;
    if (marked?.to)
      edit({
        kind: "add-blemish",
        board: marked.board.dataset.board,
        corner: marked.from,
        opposite: marked.to,
      });
    else if (marked) marked.rect.remove();
    else if (carried?.hasMoved) keep(carried.moved);
    else if (carried) render();
  });
  place.addEventListener("pointercancel", () => {
    carrying = marking = null;
    render();
  });

  // Draw the held part where it is now, with what it runs into in red; return whether it could stay
  // there. A board or a part that is gone meanwhile leaves nothing to lie on.
  /** @param {Held} moved */
  function showHeld(moved) {
    const drawing = drawingOf(moved.board);
    const on = board(moved.board);
    place.querySelector(".piece.held")?.remove();
    for (const group of place.querySelectorAll(
      `[data-part="${CSS.escape(moved.part)}"][data-copy="${moved.copy}"]`,
    ))
      group.classList.add("away");
    const group = pieceDrawing(moved, desk.state.parts, {
      onPart: false,
      chosen: null,
      scale: scale(),
      isShown: true,
    });
    if (!drawing || !on || !group) return { hits: [], isOff: true };
    const ring = placed(outlineOf(moved.part), moved);
    const hits = placementsOn(moved.board).filter(
      (one) =>
        !(one.part === moved.part && one.copy === moved.copy) &&
        doRingsOverlap(ring, placed(outlineOf(one.part), one)),
    );
    const isOff = !isWithin(ring, on.outline[0]);
    group.classList.add("held", hits.length || isOff ? "clash" : "free");
    for (const one of place.querySelectorAll(".piece.hit")) one.classList.remove("hit");
    for (const hit of hits)
      drawing
        .querySelector(`[data-part="${CSS.escape(hit.part)}"][data-copy="${hit.copy}"]`)
        ?.classList.add("hit");
    drawing.querySelector(".on-board")?.append(group);
    return { hits, isOff };
  }

  /**
   * @param {Held} held
   * @param {string[]} under
   */
  function clash(held, under) {
    const names = [...new Set(under)].join(" and ");
    const { part: name, copy, board: on, x_mm, y_mm, angle_deg, flipped } = held;
    const hold = {
      kind: "place",
      part: name,
      copy_number: copy,
      board: on,
      x_mm,
      y_mm,
      angle_deg,
      flipped,
    };
    return h(
      "div",
      { class: "slate row wrap", role: "alert", "data-key": "clash" },
      h("p", { class: "fault" }, `${name} lies on ${names} there, so it cannot be kept like that.`),
      h(
        "button",
        {
          class: "main",
          "data-key": "hold",
          onclick: () => {
            letGo();
            start("nest", { hold });
          },
        },
        "Hold it there, fit the rest around it",
      ),
      h(
        "button",
        {
          "data-key": "put-back",
          onclick: () => {
            letGo();
            render();
          },
        },
        "Put it back",
      ),
    );
  }

  function letGo() {
    ui.held = ui.clash = null;
  }

  /** @param {Held} moved */
  async function keep(moved) {
    const { hits, isOff } = showHeld(moved);
    if (isOff) {
      slip(
        `${moved.part} reaches past the edge of board ${moved.board}; it was put back.`,
        "fault",
      );
      letGo();
      render();
      return;
    }
    if (hits.length) {
      ui.held = moved;
      ui.clash = hits.map((one) => one.part);
      render();
      focusOn("[data-key=hold]");
      return;
    }
    const { part: name, copy, board: on, x_mm, y_mm, angle_deg, flipped } = moved;
    const before = ui.held;
    const kept = await edit({
      kind: "place",
      part: name,
      copy_number: copy,
      board: on,
      x_mm,
      y_mm,
      angle_deg,
      flipped,
    });
    if (kept) speak(`${name} lies on board ${on} and is pinned.`);
    if (ui.held === before) ui.held = null;
    render();
  }

  place.addEventListener("focusin", (event) => {
    const held = found(event.target)?.held;
    if (!held) return;
    ui.chosen = { part: held.part, copy: held.copy };
    render();
  });

  // Where the chosen copy is now: in the hand if it is held, else where it lies.
  function chosenNow() {
    if (!ui.chosen) return null;
    const { part: name, copy } = ui.chosen;
    for (const on of desk.state.layout?.boards ?? []) {
      const lies = on.placements.find((one) => one.part === name && one.copy === copy);
      if (lies && part(name)?.outline)
        return ui.held?.part === name && ui.held.copy === copy
          ? ui.held
          : { ...lies, board: on.name };
    }
    return null;
  }

  // Take a copy in the hand at a new place, show what it runs into, and say so.
  /** @param {Held} moved */
  function hold(moved) {
    ui.held = moved;
    ui.clash = null;
    render();
    const { hits, isOff } = showHeld(moved);
    speak(
      isOff
        ? "past the edge"
        : hits.length
          ? `on ${hits[0].part}`
          : `${format.length(moved.x_mm, 0)}, ${format.length(moved.y_mm, 0)}, free`,
    );
  }

  /** @type {Acts} */
  const acts = {
    turn: (now, degrees) => hold(turned(now, degrees)),
    over: (now) =>
      canTurnOver(now)
        ? hold(turnedOver(now))
        : speak(`${now.part} is cut as drawn; it may not be turned over.`),
    move: (now, across, up) => hold({ ...now, x_mm: now.x_mm + across, y_mm: now.y_mm + up }),
    keep: (now) => ui.held && keep(now),
    pin: (now) =>
      edit({ kind: "pin", part: now.part, copy_number: now.copy, is_pinned: !now.pinned }),
    putBack() {
      letGo();
      render();
    },
    leave() {
      letGo();
      ui.chosen = null;
      render();
    },
  };

  function bar() {
    const now = chosenNow();
    return now && !isRunning("nest") ? pieceBar(now, Boolean(ui.held), acts) : null;
  }

  place.addEventListener("keydown", (event) => {
    const at = found(event.target)?.held;
    if (!at || event.ctrlKey || event.metaKey || event.altKey || isRunning("nest")) return;
    ui.chosen = { part: at.part, copy: at.copy };
    const now = chosenNow();
    if (!now) return;
    const by = format.arrowStep(event.shiftKey);
    /** @type {Record<string, Point>} */
    const moves = {
      ArrowLeft: [-by, 0],
      ArrowRight: [by, 0],
      ArrowUp: [0, by],
      ArrowDown: [0, -by],
    };
    /** @type {Record<string, number>} */
    const turns = { ",": 1, ".": -1, "<": 180, ">": -180, ";": 180, ":": -180 };
    if (moves[event.key]) acts.move(now, ...moves[event.key]);
    else if (turns[event.key]) acts.turn(now, turns[event.key]);
    else if (event.key === "o") acts.over(now);
    else if (event.key === "Enter" && ui.held) acts.keep(now);
    else if (event.key === "Escape") acts.putBack();
    else if (event.key === "h") acts.pin(now);
    else return;
    event.preventDefault();
  });

  const resize = () => render();
  window.addEventListener("resize", resize);
  const stopListening = listen((what) => {
    if (what !== "picture" && what !== "regions") render();
  });
  render();
  return () => {
    leavePhoto(ui);
    stopListening();
    window.removeEventListener("resize", resize);
  };
}
