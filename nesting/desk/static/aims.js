// What a click on the plan is for. An aim has a name, a sentence, a hint, and what it does when the
// hand clicks (`click`), holds and moves (`grab`, `drag`, `drop`), presses a key (`pressed`) or
// looks at the pad (`pad`).

import { boundaryAim } from "./boundary.js";
import { bridgeAim } from "./bridges.js";
import { cornersAim } from "./corners.js";
import { h, slip, speak } from "./dom.js";
import * as format from "./format.js";
import { grainAim } from "./grain.js";
import { halfAim } from "./halves.js";
import { choose, desk, setValue } from "./store.js";

export const aimsFor = (sheet) =>
  [
    lookAim,
    measureAim,
    cornersAim,
    pickAim,
    cutoutAim,
    bridgeAim,
    halfAim,
    boundaryAim,
    grainAim,
  ].map((make) => make(sheet));

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
    },
  };
}

function measureAim(sheet) {
  let first = null;
  let second = null;
  const begin = () => {
    first = second = null;
  };
  const again = () => {
    begin();
    sheet.render();
    sheet.viewer.draw();
  };
  return {
    name: "measure",
    text: "say how long something is",
    hint: "Click both ends of a line whose true length is written on the plan.",
    hasGlass: true,
    snaps: true,
    begin,
    click(at) {
      if (first) second = at;
      else {
        first = at;
        speak("First end set. Now the other end.");
      }
      sheet.viewer.draw();
      sheet.render();
      if (second) document.querySelector("[data-key='known-length']")?.focus();
    },
    draw(pen) {
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
          "data-key": "known-form",
          onsubmit: async (event) => {
            event.preventDefault();
            const typed = event.currentTarget.elements.namedItem("length").value.trim();
            const held = second;
            if (
              (await setValue(["plan", sheet.plan.name, "known", null], {
                from: first,
                to: second,
                length: typed,
              })) &&
              second === held
            )
              again();
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

function pickAim(sheet) {
  let at = null;
  let isOpenThere = false;
  return {
    name: "pick",
    text: "pick a part",
    hint: "Click inside a shape. Hover to see its size first.",
    hovers: true,
    begin() {
      at = null;
    },
    click(point) {
      at = point;
      isOpenThere = sheet.areRegionsThere && !sheet.regionAt(point);
      sheet.render();
      document.querySelector("[data-key='part-name']")?.focus();
    },
    draw(pen) {
      if (at) pen.dot(at, "green");
    },
    pad: () =>
      at &&
      partForm(sheet, at, isOpenThere, {
        isOpenAt: (place) => at === place,
        close() {
          at = null;
          sheet.render();
          sheet.viewer.draw();
        },
      }),
  };
}

export const MATERIALS = ["balsa", "birch ply", "light ply", "basswood", "spruce"];

function partForm(sheet, at, isOpenThere, { isOpenAt, close }) {
  const names = new Set(desk.state.parts.map((part) => part.name));
  const lastOf = (field) => desk.state.parts.at(-1)?.[field] ?? null;
  let number = desk.state.parts.length + 1;
  while (names.has(`part ${number}`)) number += 1;
  return h(
    "form",
    {
      class: "slate",
      "data-key": "part-form",
      onsubmit: async (event) => {
        event.preventDefault();
        const fields = event.currentTarget.elements;
        const name = fields.name.value.trim();
        const done = names.has(name)
          ? await setValue(["part", name, "pick", null], at)
          : await setValue(["part", null], {
              name,
              plan: sheet.plan.name,
              pick: [at],
              material: fields.material.value.trim() || null,
              thickness: format.typedLength(fields.thickness.value.trim(), lastOf("thickness_mm")),
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
          value: lastOf("material") ?? "balsa",
        }),
      ),
      h(
        "label",
        {},
        "Thickness",
        h("input", {
          name: "thickness",
          "data-key": "part-thickness",
          value: format.lengthField(lastOf("thickness_mm")) || format.hint("3 mm", "1/8 in"),
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

function cutoutAim(sheet) {
  return {
    name: "cutout",
    text: "cut a hole",
    hint: "Click inside the region that is to be taken out of the chosen part.",
    hovers: true,
    hoverColour: "red",
    click(at) {
      if (!sheet.part) slip("Choose the part first that the hole is in.", "fault");
      else setValue(["part", sheet.part.name, "cutout", null], at);
    },
  };
}
