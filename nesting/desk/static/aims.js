// What a click on the plan is for. An aim has a name, a sentence, a hint, and what it does when the
// hand clicks (`click`), holds and moves (`grab`, `drag`, `drop`), presses a key (`pressed`) or
// looks at the pad (`pad`).

import { boundaryAim } from "./boundary.js";
import { bridgeAim } from "./bridges.js";
import { cornersAim } from "./corners.js";
import { focusOn, h, speak, typedIn } from "./dom.js";
import * as format from "./format.js";
import { grainAim } from "./grain.js";
import { halfAim } from "./halves.js";
import { holeAim } from "./holes.js";
import { choose, desk, setValue } from "./store.js";

/** @import { Part } from "./answers.d.ts" */
/** @import { Child, Render } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Pen } from "./marks.js" */
/** @import { Shape, Sheet } from "./sheet.js" */
/** @import { News } from "./store.js" */

/**
 * @typedef {object} Aim
 * @property {string} name
 * @property {string} text what a click is for
 * @property {string} hint
 * @property {boolean} [hovers] whether the closed shape under the hand is shown
 * @property {string} [hoverColour]
 * @property {(at: Point) => Shape | null} [shapeAt] what is shown of it instead
 * @property {boolean} [hasGlass] whether a magnifying glass goes with the hand
 * @property {boolean} [snaps] whether a click means the line or corner that is near it
 * @property {string} [snapsTo]
 * @property {boolean} [clicksRaw] whether `click` lands where it was made although `snaps`
 * @property {Render} [begin]
 * @property {Render} [leave]
 * @property {() => boolean} [close] put away what is asked; whether anything was
 * @property {(what: News) => void} [told]
 * @property {(at: Point) => unknown} click
 * @property {(at: Point, reach: number) => boolean} [grab] whether something is held now
 * @property {(at: Point, how?: { isByKeys?: boolean }) => void} [drag]
 * @property {(at: Point | null) => unknown} [drop] null where the hand lost it
 * @property {(event: KeyboardEvent) => boolean} [pressed] whether the key was this aim's
 * @property {(pen: Pen) => void} [draw]
 * @property {(part: Part) => boolean} [hides]
 * @property {(part: Part) => boolean} [drawsGrainOf]
 * @property {() => Child} [pad]
 */

/**
 * @param {Sheet} sheet
 * @returns {Aim[]}
 */
export const aimsFor = (sheet) =>
  [
    lookAim,
    measureAim,
    cornersAim,
    pickAim,
    holeAim,
    bridgeAim,
    halfAim,
    boundaryAim,
    grainAim,
  ].map((make) => make(sheet));

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
function lookAim(sheet) {
  return {
    name: "look",
    text: "look around",
    hint: "Drag to move the sheet, turn the wheel or spread two fingers to come closer.",
    hovers: true,
    click(at) {
      const part = sheet.partAt(at);
      choose("part", part?.name ?? null);
      if (part) speak(`${part.name}, ${format.size(part.size_mm)}`);
      else sheet.says.pointed(at);
    },
  };
}

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
function measureAim(sheet) {
  /** @type {Point | null} */
  let first = null;
  /** @type {Point | null} */
  let second = null;
  /** @type {{ from: Point, to: Point }[]} lengths on their way into the job */
  let sent = [];
  // What stood in the field of a length that was refused.
  let typed = "";
  // Counts the questions, so that no answer is taken for that of another.
  let question = 0;
  const begin = () => {
    first = second = null;
    typed = "";
  };
  const shown = () => {
    sheet.render();
    sheet.viewer.draw();
  };
  const again = () => {
    begin();
    shown();
  };

  // The question is answered: the next click begins another one, whenever the job takes this one.
  /** @param {string} length */
  async function keep(length) {
    const [from, to] = [first, second];
    if (!from || !to) return;
    const [one, asked] = [{ from, to }, question];
    sent = [...sent, one];
    question += 1;
    again();
    sheet.canvas.focus({ preventScroll: true });
    const isKept = await setValue(["plan", sheet.plan.name, "known", null], { from, to, length });
    sent = sent.filter((other) => other !== one);
    if (!isKept && !first) {
      [first, second, typed, question] = [from, to, length, asked];
      shown();
      focusOn("[data-key=known-length]");
    }
    shown();
  }
  return {
    name: "measure",
    text: "say how long something is",
    hint: "Click both ends of a line whose true length is written on the plan.",
    hasGlass: true,
    snaps: true,
    begin,
    close() {
      const wasOpen = first !== null;
      again();
      return wasOpen;
    },
    click(at) {
      if (first) second = at;
      else {
        first = at;
        speak("First end set. Now the other end.");
      }
      sheet.viewer.draw();
      sheet.render();
      if (second) focusOn("[data-key=known-length]");
    },
    draw(pen) {
      for (const one of sent) pen.known(one, true);
      if (first)
        pen.known(
          {
            from: first,
            to:
              second ?? sheet.snap ?? (sheet.pointer ? sheet.viewer.toPlan(sheet.pointer) : first),
          },
          true,
        );
    },
    pad: () =>
      second &&
      h(
        "form",
        {
          class: "slate",
          "data-key": `known-form-${question}`,
          onsubmit: (event) => {
            event.preventDefault();
            keep(typedIn(event.currentTarget, "length"));
          },
        },
        h(
          "label",
          {},
          "True length between the two points",
          h("input", {
            name: "length",
            "data-key": "known-length",
            required: true,
            value: typed,
            placeholder: format.hint("300 mm", "11 13/16 in"),
            autocomplete: "off",
          }),
        ),
        h(
          "div",
          { class: "row" },
          h(
            "button",
            { class: "main", type: "submit", "data-key": "known-keep" },
            "Keep this length",
          ),
          h("button", { type: "button", "data-key": "known-drop", onclick: again }, "Start over"),
        ),
      ),
  };
}

/**
 * @param {Sheet} sheet
 * @returns {Aim}
 */
function pickAim(sheet) {
  /** @type {Point | null} */
  let at = null;
  let isOpenThere = false;
  function close() {
    at = null;
    sheet.render();
    sheet.viewer.draw();
  }
  return {
    name: "pick",
    text: "pick a part",
    hint: "Click inside a shape. Hover to see its size first.",
    hovers: true,
    begin() {
      at = null;
    },
    close() {
      const wasOpen = at !== null;
      close();
      return wasOpen;
    },
    click(point) {
      at = point;
      isOpenThere = sheet.areRegionsThere && !sheet.regionAt(point);
      sheet.render();
      focusOn("[data-key=part-name]");
    },
    draw(pen) {
      if (at) pen.dot(at, "green");
    },
    pad: () =>
      at &&
      partForm(sheet, at, isOpenThere, {
        isOpenAt: (place) => at === place,
        close,
      }),
  };
}

export const MATERIALS = ["balsa", "birch ply", "light ply", "basswood", "spruce"];

/**
 * @param {Sheet} sheet
 * @param {Point} at
 * @param {boolean} isOpenThere
 * @param {{ isOpenAt: (place: Point) => boolean, close: Render }} asked
 */
function partForm(sheet, at, isOpenThere, { isOpenAt, close }) {
  const names = new Set(desk.state.parts.map((part) => part.name));
  const last = desk.state.parts.at(-1);
  let number = desk.state.parts.length + 1;
  while (names.has(`part ${number}`)) number += 1;
  return h(
    "form",
    {
      class: "slate",
      "data-key": "part-form",
      onsubmit: async (event) => {
        event.preventDefault();
        const form = event.currentTarget;
        const name = typedIn(form, "name");
        const done = names.has(name)
          ? await setValue(["part", name, "pick", null], at)
          : await setValue(["part", null], {
              name,
              plan: sheet.plan.name,
              pick: [at],
              material: typedIn(form, "material") || null,
              thickness: format.typedLength(typedIn(form, "thickness"), last?.thickness_mm),
            });
        if (done && isOpenAt(at)) {
          choose("part", name);
          close();
          sheet.canvas.focus();
        }
      },
    },
    h(
      "label",
      {},
      "Name of the part",
      h("input", {
        name: "name",
        "data-key": "part-name",
        list: "part-names",
        required: true,
        value: `part ${number}`,
        autocomplete: "off",
      }),
    ),
    h(
      "datalist",
      { id: "part-names" },
      [...names].map((name) => h("option", { value: name })),
    ),
    isOpenThere
      ? h(
          "p",
          { class: "fault" },
          "No closed shape was found at this place. The outline may have a gap; the trace " +
            "will say where.",
        )
      : null,
    h("p", { class: "hint" }, "The name of a part that is there already adds this shape to it."),
    h(
      "div",
      { class: "row" },
      h(
        "label",
        {},
        "Material",
        h("input", {
          name: "material",
          "data-key": "part-material",
          list: "materials",
          value: last?.material ?? "balsa",
        }),
      ),
      h(
        "label",
        {},
        "Thickness",
        h("input", {
          name: "thickness",
          "data-key": "part-thickness",
          value: format.lengthField(last?.thickness_mm) || format.hint("3 mm", "1/8 in"),
        }),
      ),
    ),
    h(
      "datalist",
      { id: "materials" },
      MATERIALS.map((name) => h("option", { value: name })),
    ),
    h(
      "div",
      { class: "row" },
      h(
        "button",
        { class: "main", type: "submit", "data-key": "part-keep" },
        "Take it off the plan",
      ),
      h("button", { type: "button", onclick: close }, "Leave it"),
    ),
  );
}
