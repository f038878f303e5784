// Correcting a part's edge on the plan: its points moved, added, taken away, a stretch made
// straight or round, the part cut in two. Every change is kept at once, like any other edit, and
// can be undone like any other.

import { h, slip, speak, typedIn } from "./dom.js";
import * as format from "./format.js";
import { spaced } from "./geometry.js";
import { choose, desk, edit } from "./store.js";
import * as shape from "./shape.js";

/** @import { Aim } from "./aims.js" */
/** @import { Point } from "./geometry.js" */
/** @import { CurveRing, NearestPoint } from "./shape.js" */
/** @import { Sheet } from "./sheet.js" */
/** @import { Change } from "./store.js" */

/**
 * @typedef {object} Correction
 * @property {CurveRing[] | null} rings the edge as it is shown
 * @property {string | null} of the part that it is of
 * @property {number} ring
 * @property {number[]} points up to two chosen ones
 * @property {{ number: number, i: number, from: CurveRing[] } | null} held the point in the hand
 * @property {NearestPoint | null} grabbed
 * @property {boolean} isLongWay
 * @property {number} saving how many changes are on their way
 * @property {boolean} lands whether points land on drawn lines
 * @property {Point | null} crossing
 */

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
export function boundaryAim(sheet) {
  /** @type {Correction} */
  const ui = {
    rings: null,
    of: null,
    ring: 0,
    points: [],
    held: null,
    grabbed: null,
    isLongWay: false,
    saving: 0,
    lands: true,
    crossing: null,
  };
  // The chosen part, where its edge can be corrected: the curves that the job holds.
  const part = () => (sheet.part?.shape && sheet.plan?.scale ? sheet.part : null);
  const curves = () => {
    const outline = part()?.shape;
    return outline ? shape.fromJson(outline) : null;
  };
  const refreshed = () => {
    sheet.render();
    sheet.viewer.draw();
  };
  /** @param {Point[]} points */
  const px = (points) => {
    const { lens, page_mm: page } = sheet.scale;
    return (lens ? spaced(points, Math.max(...page) / 100) : points).map((point) =>
      sheet.fromMm(point),
    );
  };
  /** @param {number} reach */
  const near = (reach) => reach * sheet.mmPerPx;

  // What the job holds, unless a change is on its way or in the hand.
  function read() {
    const isOther = ui.of !== part()?.name;
    if (!isOther && (ui.held || ui.saving || !desk.state.is_followed)) return;
    if (isOther) {
      ui.points = [];
      ui.held = null;
    }
    ui.of = part()?.name ?? null;
    ui.rings = curves();
    ui.points = ui.rings?.[ui.ring] ? ui.points.filter((i) => i < ring().length) : [];
    ui.crossing = null;
  }

  /**
   * @param {CurveRing[] | null} rings
   * @param {Change} change
   * @param {CurveRing[] | null} before
   */
  async function keep(rings, change = { kind: "set-outline" }, before = ui.rings) {
    if (!rings) {
      speak("That cannot be done here.");
      return false;
    }
    const { of } = ui;
    ui.rings = rings;
    ui.saving += 1;
    refreshed();
    const done = await edit({ part: of, outline: shape.toJson(rings), ...change }, () => {
      // Refused: the edge is what it was, before the hand goes on.
      ui.crossing = null;
      if (!ui.held && ui.of === of) ui.rings = before;
      refreshed();
    });
    ui.saving -= 1;
    ui.crossing = null;
    if (!done && !ui.held) ui.rings = curves();
    refreshed();
    return done;
  }

  // The edge that is shown, for all that is only done where one is.
  const rings = () => ui.rings ?? [];
  const ring = () => rings()[ui.ring];
  const last = () => ui.points.at(-1);

  // The chosen stretch: from the point chosen before to the one chosen last, the shorter way unless
  // turned round.
  /** @returns {[number, number] | null} */
  function ends() {
    if (ui.points.length < 2) return null;
    const [one, other] = ui.points;
    /**
     * @param {number} from
     * @param {number} to
     */
    const size = (from, to) =>
      shape
        .stretch(ring(), from, to)
        .slice(0, -1)
        .reduce((total, i) => total + shape.lengthOf(ring(), i), 0);
    const isForward = size(one, other) <= size(other, one);
    return isForward !== ui.isLongWay ? [one, other] : [other, one];
  }

  /**
   * @param {number} number
   * @param {number} i
   */
  function take(number, i) {
    if (number !== ui.ring) ui.points = [];
    ui.ring = number;
    ui.points = [...ui.points.filter((one) => one !== i), i].slice(-2);
    ui.isLongWay = false;
    speak(`Point ${i + 1} of ${ring().length}.`);
    refreshed();
  }

  /** @param {number} by */
  function step(by) {
    if (!ui.rings) return;
    const i = ((last() ?? -by) + by + ring().length) % ring().length;
    take(ui.ring, i);
    sheet.pointTo(sheet.fromMm(ring()[i].at));
  }

  /**
   * @param {number} number
   * @param {number} i
   */
  function hold(number, i) {
    take(number, i);
    ui.held = { number, i, from: rings() };
  }

  /** @param {Point | null} at */
  async function letGo(at) {
    const { held } = ui;
    if (!held) return;
    const { number, i, from } = held;
    const landed = at && ui.lands ? ((await sheet.snapped(at)) ?? at) : at;
    // Another part may have been chosen meanwhile: its edge is not this one.
    if (ui.held !== held) return;
    ui.held = null;
    if (!landed) {
      ui.rings = from;
      ui.crossing = null;
      refreshed();
      return;
    }
    await keep(shape.withMoved(from, number, i, sheet.toMm(landed)), undefined, from);
  }

  /** @param {Point} at */
  function move(at) {
    if (!ui.held) return;
    ui.rings = shape.withMoved(ui.held.from, ui.held.number, ui.held.i, sheet.toMm(at));
    ui.crossing = shape.crossing(ui.rings);
    sheet.render();
  }

  const remove = () => {
    const i = last();
    if (i === undefined) return;
    const left = shape.withoutPoint(rings(), ui.ring, i);
    if (!left && !ui.ring) {
      slip("Three points are the fewest that an edge can have; move one instead.");
      return;
    }
    ui.points = [];
    if (left) keep(left);
    // A hole that has no point to spare goes as a whole.
    else {
      const others = rings().filter((_, number) => number !== ui.ring);
      ui.ring = 0;
      keep(others);
    }
  };
  const straighten = () => change((from, to) => shape.straightened(rings(), ui.ring, from, to));
  const round = () =>
    change((from, to) =>
      shape.rounded(rings(), ui.ring, from, to, shape.middleOf(ring(), from, to)),
    );
  /** @param {(from: number, to: number) => CurveRing[] | null} make */
  function change(make) {
    const chosen = ends();
    const changed = chosen && make(...chosen);
    if (!changed) {
      speak("This stretch is straight: give it a radius.");
      return;
    }
    ui.points = [];
    keep(changed);
  }

  /** @param {string} name */
  const cut = async (name) => {
    const points = ends();
    ui.points = [];
    if (await keep(ui.rings, { kind: "cut-part", name, ends: points })) choose("part", name);
  };

  return {
    name: "boundary",
    text: "correct an edge",
    snaps: true,
    clicksRaw: true,
    get hasGlass() {
      return Boolean(ui.held);
    },
    hint:
      "Of the chosen part: drag a point, or click the edge to put a new one there. Click " +
      "two points to choose the stretch between them.",
    begin() {
      ui.of = null;
      ui.ring = 0;
      read();
    },
    told() {
      read();
    },
    hides: (one) => Boolean(ui.rings) && one.name === ui.of,
    click(at) {
      read();
      if (ui.held) {
        letGo(at);
        return;
      }
      const under = !ui.rings ? null : sheet.partAt(at);
      const place = ui.rings && shape.nearestPoint(rings(), sheet.toMm(at));
      const edge = ui.rings && shape.nearest(ui.rings, sheet.toMm(at));
      if (place && place.away < near(12 / sheet.viewer.zoom)) take(place.ring, place.i);
      else if (edge && edge.away < near(9 / sheet.viewer.zoom)) {
        ui.ring = edge.ring;
        ui.points = [edge.i + 1];
        keep(shape.withPoint(rings(), edge.ring, edge.i, edge.share));
      } else if (under?.name !== ui.of || !ui.rings)
        choose("part", (under ?? sheet.partAt(at))?.name ?? desk.chosen.part);
      else {
        ui.points = [];
        refreshed();
      }
    },
    grab(at, reach) {
      read();
      if (!ui.rings) return false;
      const place = shape.nearestPoint(rings(), sheet.toMm(at));
      if (!(place.away < near(1.4 * reach))) return false;
      ui.grabbed = place;
      return true;
    },
    drag(at, { isByKeys = false } = {}) {
      if (!isByKeys && !ui.held && ui.grabbed) hold(ui.grabbed.ring, ui.grabbed.i);
      if (ui.held) move(at);
    },
    drop(at) {
      if (ui.held) letGo(at);
    },
    pressed(event) {
      if (!ui.rings) return false;
      const chosen = last();
      if (event.key === "." || event.key === ",") step(event.key === "." ? 1 : -1);
      else if (event.key === "Delete" || event.key === "Backspace") remove();
      else if (event.key === "Escape" && ui.held) letGo(null);
      else if (event.key === "Enter" && !ui.held && chosen !== undefined && isAt(chosen)) {
        hold(ui.ring, chosen);
        speak(
          "The point is in the hand: arrow keys move it, Enter puts it down, Escape puts it back.",
        );
      } else return false;
      return true;
    },
    draw(pen) {
      if (!ui.rings) return;
      const edges = ui.rings.map((one) => px([...shape.flat(one), one[0].at]));
      pen.shape(edges, ui.crossing ? "red" : "blue", { fill: 0.12, width: 2 });
      const chosen = ends();
      if (chosen) pen.line(px(along(ring(), ...chosen)), "green", { width: 5 });
      ui.rings.forEach((one, number) =>
        one.forEach(({ at }, i) => {
          const isChosen = number === ui.ring && ui.points.includes(i);
          pen.dot(sheet.fromMm(at), isChosen ? "green" : "blue", {
            radius: isChosen ? 6 : 3.6,
            isHollow: !isChosen,
          });
        }),
      );
      if (ui.crossing) pen.ring(sheet.fromMm(ui.crossing), 14, "red", { width: 3 });
    },
    pad: () => pad(),
  };

  /** @param {number} i */
  function isAt(i) {
    const at = sheet.viewer.toScreen(sheet.fromMm(ring()[i].at));
    return (
      sheet.pointer !== null && Math.hypot(at[0] - sheet.pointer[0], at[1] - sheet.pointer[1]) < 8
    );
  }

  function pad() {
    if (!ui.rings) return h("p", { class: "hint" }, "Choose a part that is traced on this sheet.");
    const pair = ends();
    const i = last();
    const isOne = pair !== null && shape.stretch(ring(), ...pair).length === 2;
    /**
     * @param {string} key
     * @param {string} text
     * @param {() => unknown} onclick
     * @param {boolean} isOff
     */
    const button = (key, text, onclick, isOff = false) =>
      h(
        "button",
        { type: "button", "data-key": key, disabled: isOff || ui.saving > 0, onclick },
        text,
      );
    return h(
      "section",
      { class: "slate", "data-key": "boundary-box" },
      ui.crossing
        ? h(
            "p",
            { class: "fault", role: "alert" },
            "Here the edge crosses itself; it cannot be kept so.",
          )
        : null,
      h(
        "p",
        {},
        i === undefined
          ? `${ui.rings.reduce((total, one) => total + one.length, 0)} points on the edge.`
          : `Point ${i + 1} of ${ring().length}.`,
      ),
      h(
        "div",
        { class: "row wrap" },
        button("point-before", "One back", () => step(-1)),
        button("point-next", "One on", () => step(1)),
        button(
          "point-add",
          "New point after it",
          () => i !== undefined && keep(shape.withPoint(rings(), ui.ring, i, 0.5)),
          i === undefined,
        ),
        button("point-drop", "Take it away", remove, i === undefined),
      ),
      i === undefined ? null : placeFields(i),
      pair
        ? h(
            "div",
            { class: "row wrap" },
            h(
              "p",
              { class: "hint" },
              `The green stretch from point ${pair[0] + 1} to point ${pair[1] + 1}:`,
            ),
            button("stretch-straight", "Straighten it", straighten),
            button("stretch-round", "Make it round", round, isOne),
            button("stretch-turn", "The other way round", () => {
              ui.isLongWay = !ui.isLongWay;
              refreshed();
            }),
          )
        : null,
      pair && isOne ? radiusField(pair[0]) : null,
      pair && ui.ring === 0 && !isOne ? cutForm() : null,
      h(
        "label",
        { class: "check" },
        h("input", {
          type: "checkbox",
          checked: ui.lands,
          "data-key": "point-lands",
          onchange: (event) => {
            ui.lands = event.currentTarget.checked;
            sheet.render();
          },
        }),
        "points land on drawn lines",
      ),
      part()?.is_corrected
        ? h(
            "button",
            {
              type: "button",
              "data-key": "take-back",
              onclick: () => {
                ui.points = [];
                edit({ kind: "set-outline", part: part()?.name, outline: null });
              },
            },
            "Take the correction back",
          )
        : null,
      h(
        "p",
        { class: "hint" },
        "By keyboard: full stop and comma go from point to point, Enter takes one in the " +
          "hand, arrows move it, Enter puts it down, Delete takes it away.",
      ),
    );
  }

  // Where a point lies, in millimetres from the lower left of the sheet; typed as any length.
  /** @param {number} i */
  function placeFields(i) {
    const [x, y] = ring()[i].at;
    /** @param {0 | 1} axis */
    const set = (axis) => (/** @type {{ currentTarget: HTMLInputElement }} */ event) => {
      const value = format.parsedLength(event.currentTarget.value);
      if (value === null) {
        speak(`Type a length, such as ${format.hint("12.5 mm", "1/2 in")}.`);
        sheet.render();
        return;
      }
      keep(shape.withMoved(rings(), ui.ring, i, axis ? [x, value] : [value, y]));
    };
    return h(
      "div",
      { class: "row" },
      h(
        "label",
        {},
        "From the left",
        h("input", {
          value: format.lengthField(x),
          "data-key": "point-x",
          autocomplete: "off",
          onchange: set(0),
        }),
      ),
      h(
        "label",
        {},
        "From below",
        h("input", {
          value: format.lengthField(y),
          "data-key": "point-y",
          autocomplete: "off",
          onchange: set(1),
        }),
      ),
    );
  }

  /** @param {number} i */
  function radiusField(i) {
    return h(
      "label",
      {},
      "Radius of this piece",
      h("input", {
        value: format.lengthField(shape.radiusOf(ring(), i)),
        placeholder: `straight, or ${format.hint("40 mm", "1 1/2 in")}`,
        "data-key": "stretch-radius",
        autocomplete: "off",
        onchange: (event) => {
          const radius = format.parsedLength(event.currentTarget.value);
          const round = radius === null ? null : shape.withRadius(rings(), ui.ring, i, radius);
          if (round) keep(round);
          else {
            speak("The radius must be at least half the distance between the two points.");
            sheet.render();
          }
        },
      }),
    );
  }

  function cutForm() {
    return h(
      "form",
      {
        "data-key": "cut-form",
        onsubmit: (event) => {
          event.preventDefault();
          cut(typedIn(event.currentTarget, "name"));
        },
      },
      h(
        "label",
        {},
        "Cut the part from one point to the other; the green side is to be called",
        h("input", {
          name: "name",
          required: true,
          value: `${part()?.name ?? "part"} 2`,
          "data-key": "cut-name",
          autocomplete: "off",
        }),
      ),
      h(
        "button",
        { type: "submit", "data-key": "cut-keep", disabled: ui.saving > 0 },
        "Cut it in two",
      ),
    );
  }
}

/**
 * @param {CurveRing} ring
 * @param {number} from
 * @param {number} to
 */
function along(ring, from, to) {
  const inside = new Set(shape.stretch(ring, from, to).slice(0, -1));
  const spots = shape.walked(ring);
  const start = spots.findIndex((spot) => spot.i === from);
  const turned = [...spots.slice(start), ...spots.slice(0, start)];
  return [...turned.filter((spot) => inside.has(spot.i)).map(({ at }) => at), ring[to].at];
}
