// The parts: what each is made from and how, how its grain runs, how many, and how far it has come.

import { closeMark, marksOf } from "./buildermarks.js";
import { demandsOf } from "./demands.js";
import { h, s, show, speak } from "./dom.js";
import * as format from "./format.js";
import { bounds, pathOf } from "./geometry.js";
import { closeForm, loadForms, makingOf, planOf } from "./steps.js";
import { choose, desk, listen, setValue } from "./store.js";

/** @import { Part } from "./answers.d.ts" */
/** @import { Attributes, Render } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Setter } from "./store.js" */

const HANDS = [
  ["either", "either way up"],
  ["left", "left only"],
  ["right", "right only"],
  ["pair", "a pair"],
];
const WEIGHED_AS = [
  ["", "sawn or carved, as is likelier"],
  ["sawn", "as sawn"],
  ["carved", "carved, bare"],
  ["finished", "finished"],
];
const STATES = ["not traced", "traced", "on a board", "cut", "weighed"];
const MATERIALS = ["balsa", "birch ply", "light ply", "basswood", "spruce"];
const HALF_TURN_DEG = 180;
/** @type {Record<string, number>} which way an arrow key turns the grain */
const ARROWS = { ArrowLeft: 1, ArrowUp: 1, ArrowRight: -1, ArrowDown: -1 };

/** @type {{ name: string, degrees: number } | null} an arrow that is being turned */
let turning = null;

/** @param {HTMLElement} place */
export function partsView(place) {
  const render = () => {
    const parts = desk.state?.parts ?? [];
    show(
      place,
      h(
        "div",
        { class: "page" },
        h("h1", {}, "Parts"),
        parts.length
          ? [
              h(
                "p",
                { class: "hint" },
                "A part is traced, then on a board (the layout has a place for it), then cut, " +
                  "then weighed. The arrow on a part is its grain: turn it by an end, or with " +
                  "the arrow keys; dashed, it is only assumed.",
              ),
              h(
                "div",
                { class: "cards" },
                parts.map((part) => card(part, render)),
              ),
              h(
                "datalist",
                { id: "materials" },
                MATERIALS.map((name) => h("option", { value: name })),
              ),
            ]
          : h(
              "div",
              { class: "empty" },
              h("p", {}, "There are no parts yet."),
              h("p", {}, "Open the plan, choose ‘pick a part’ and click inside a shape."),
              h("a", { class: "button main", href: "#plan" }, "Go to the plan"),
            ),
      ),
    );
  };
  const stopListening = listen((what) => what !== "task" && render());
  render();
  loadForms().then(render, () => {});
  return () => {
    closeForm();
    closeMark();
    turning = null;
    stopListening();
  };
}

/**
 * @param {Part} part
 * @param {Render} render
 */
function card(part, render) {
  /**
   * @param {string} field
   * @param {unknown} value
   */
  const set = (field, value) => setValue(["part", part.name, field], value);
  return h(
    "article",
    { class: "card", "data-key": `card-${part.name}`, "aria-labelledby": `part-${part.number}` },
    picture(part, set, render),
    h(
      "div",
      { class: "card-body" },
      h("h2", { id: `part-${part.number}` }, part.name),
      stamps(part),
      part.fault ? h("p", { class: "fault" }, part.fault) : null,
      openNotes(part).map((text) => h("p", { class: "fault" }, text)),
      part.size_mm
        ? h(
            "p",
            { class: "pencil" },
            `${format.size(part.size_mm)} · ${format.area(part.area_mm2)}` +
              (part.sigma_edge_mm === undefined
                ? ""
                : ` · edge ± ${format.length(part.sigma_edge_mm, 2)}`),
          )
        : null,
      part.pieces?.length
        ? h("p", { class: "hint" }, `Its steps make ${part.pieces.join(", ")}.`)
        : null,
      part.piece_of
        ? h("p", { class: "hint" }, `A piece of ${part.piece_of}: how it is made stands there.`)
        : [
            fields(part, set),
            demandsOf(part, set),
            makingOf(part, render),
            marksOf(part, planOf(part), render),
            h(
              "div",
              { class: "row wrap" },
              part.from
                ? null
                : h(
                    "a",
                    { class: "button", href: "#plan", onclick: () => choose("part", part.name) },
                    "Show on the plan",
                  ),
              h(
                "button",
                {
                  "data-key": `${part.name}/drop`,
                  onclick: () => setValue(["part", part.name], null),
                },
                "Remove",
              ),
            ),
          ],
    ),
  );
}

// What the trace or a step could not do with this part, once each.
/** @param {Part} part */
function openNotes(part) {
  const said = (desk.state.notes ?? []).filter(
    (note) => note.part === part.name && note.state === "open" && note.text !== part.fault,
  );
  return [...new Set(said.map((note) => note.text))];
}

/**
 * @param {Part} part
 * @param {Setter} set
 */
function fields(part, set) {
  /**
   * @param {string} name
   * @param {string} label
   * @param {string | null} value
   * @param {{ list?: string | null, placeholder?: string | null }} more
   */
  const field = (name, label, value, { list = null, placeholder = null } = {}) =>
    h(
      "label",
      {},
      label,
      h("input", {
        value: value ?? "",
        list,
        placeholder,
        "data-key": `${part.name}/${name}`,
        autocomplete: "off",
        onchange: (event) => set(name, event.currentTarget.value.trim() || null),
      }),
    );
  return h(
    "div",
    { class: "fields" },
    field("name", "Name", part.name),
    field("material", "Material", part.material, { list: "materials" }),
    field("thickness", "Thickness", format.lengthField(part.thickness_mm), {
      placeholder: format.hint("3 mm", "1/8 in"),
    }),
    h(
      "label",
      {},
      "How many",
      h("input", {
        type: "number",
        min: 1,
        max: 999,
        value: part.count,
        "data-key": `${part.name}/count`,
        onchange: (event) => set("count", Number(event.currentTarget.value)),
      }),
    ),
    h(
      "label",
      {},
      "Hand",
      h(
        "select",
        {
          value: part.hand,
          "data-key": `${part.name}/hand`,
          onchange: (event) => set("hand", event.currentTarget.value),
        },
        HANDS.map(([value, text]) => h("option", { value }, text)),
      ),
    ),
    h(
      "label",
      {},
      "From board",
      h(
        "select",
        {
          value: part.board ?? "",
          "data-key": `${part.name}/board`,
          onchange: (event) => set("board", event.currentTarget.value || null),
        },
        h("option", { value: "" }, "lightest that fits"),
        desk.state.boards.map((board) =>
          h("option", { value: board.name }, `${board.name}, ${board.thickness_text}`),
        ),
      ),
    ),
    grainField(part, set),
    h(
      "div",
      {},
      field("weighed", "Weighs", format.massField(part.weighed_g), { placeholder: "on the scale" }),
      part.weighed_g === null
        ? null
        : h(
            "label",
            {},
            "Weighed",
            h(
              "select",
              {
                value: part.weighed_as ?? "",
                "data-key": `${part.name}/weighed-as`,
                onchange: (event) => set("weighed_as", event.currentTarget.value || null),
              },
              WEIGHED_AS.map(([value, text]) => h("option", { value }, text)),
            ),
          ),
      h(
        "label",
        { class: "check" },
        h("input", {
          type: "checkbox",
          checked: part.is_cut || part.weighed_g !== null,
          disabled: part.weighed_g !== null,
          "data-key": `${part.name}/cut`,
          onchange: (event) =>
            setValue(["part", part.name, "cut"], event.currentTarget.checked || null),
        }),
        "it is cut out",
      ),
    ),
  );
}

/** @param {Part} part */
function stamps(part) {
  const reached = STATES.indexOf(part.state);
  return h(
    "ol",
    { class: "stamps", "aria-label": `Stands at: ${part.state}` },
    STATES.slice(1).map((step, index) =>
      h("li", { class: index < reached ? "on" : "", "aria-hidden": "true" }, step),
    ),
  );
}

/** @param {number} degrees */
const rounded = (degrees) => Math.round(10 * degrees) / 10;

/**
 * @param {Part} part
 * @param {Setter} set
 */
function grainField(part, set) {
  const isFree = part.grain_tolerance === "free";
  return h(
    "div",
    { class: "grain" },
    h(
      "label",
      {},
      "Grain",
      h("input", {
        value: part.grain_deg === undefined ? "" : `${rounded(part.grain_deg)} deg`,
        disabled: isFree,
        class: part.is_grain_assumed ? "assumed" : "",
        "data-key": `${part.name}/grain`,
        autocomplete: "off",
        onchange: (event) => set("grain", event.currentTarget.value.trim() || null),
      }),
    ),
    isFree
      ? null
      : h(
          "label",
          {},
          "May be off by",
          h("input", {
            value: `${part.grain_tolerance} deg`,
            "data-key": `${part.name}/tolerance`,
            autocomplete: "off",
            onchange: (event) => set("grain_tolerance", event.currentTarget.value.trim() || null),
          }),
        ),
    h(
      "label",
      { class: "check" },
      h("input", {
        type: "checkbox",
        checked: isFree,
        "data-key": `${part.name}/free`,
        onchange: (event) => set("grain_tolerance", event.currentTarget.checked ? "free" : null),
      }),
      "any way will do",
    ),
    part.is_grain_assumed && !isFree
      ? h(
          "p",
          { class: "hint" },
          "Assumed to follow the long side. ",
          h(
            "button",
            {
              class: "quiet",
              "data-key": `${part.name}/accept`,
              onclick: () => set("grain", `${rounded(part.grain_deg ?? 0)} deg`),
            },
            "It is so",
          ),
        )
      : null,
  );
}

// What a part looks like: its own outline, or those of its pieces where they lie on the plan.
/** @param {Part} part */
const shapesOf = (part) =>
  (part.outline ? [part] : desk.state.parts.filter((one) => one.piece_of === part.name)).flatMap(
    (one) => (one.outline ? [one.outline] : []),
  );

/**
 * @param {Part} part
 * @param {Setter} set
 * @param {Render} render
 */
function picture(part, set, render) {
  const shapes = shapesOf(part);
  if (!shapes.length) return h("div", { class: "card-picture none" }, h("span", {}, part.state));
  const [x0, y0, x1, y1] = bounds(shapes.flat(2));
  const span = Math.max(x1 - x0, y1 - y0);
  const margin = 0.06 * span;
  const { grain_deg: degrees } = part;
  const hasArrow = part.grain_tolerance !== "free" && !part.is_grain_free;
  return h(
    "div",
    { class: "card-picture" },
    s(
      "svg",
      {
        viewBox: `${x0 - margin} ${-y1 - margin} ${x1 - x0 + 2 * margin} ${y1 - y0 + 2 * margin}`,
        role: "group",
        "aria-label": `Outline of ${part.name}, ${format.size([x1 - x0, y1 - y0])}`,
      },
      s(
        "g",
        { transform: "scale(1 -1)" },
        shapes.map((rings) =>
          s("path", {
            d: pathOf(rings),
            class: "part-shape",
            "fill-rule": "evenodd",
            "vector-effect": "non-scaling-stroke",
          }),
        ),
        hasArrow && degrees !== undefined
          ? grainArrow(
              { ...part, grain_deg: degrees },
              [(x0 + x1) / 2, (y0 + y1) / 2],
              0.3 * Math.max(0.5 * span, Math.min(x1 - x0, y1 - y0)),
              set,
              render,
            )
          : null,
      ),
    ),
  );
}

/** @param {number} degrees */
const within = (degrees) => rounded(((degrees % HALF_TURN_DEG) + HALF_TURN_DEG) % HALF_TURN_DEG);

// The arrow is a slider of half a turn: pulled by an end, or by keys; Enter or leaving it keeps,
// Escape puts it back.
/**
 * @param {Part & { grain_deg: number }} part
 * @param {Point} middle
 * @param {number} reach
 * @param {Setter} set
 * @param {Render} render
 */
function grainArrow(part, middle, reach, set, render) {
  const isTurning = turning?.name === part.name;
  const degrees = turning && isTurning ? turning.degrees : part.grain_deg;
  const isAssumed = part.is_grain_assumed && !isTurning;
  /** @param {number} to */
  const turn = (to) => {
    turning = { name: part.name, degrees: within(to) };
    render();
  };
  const leave = () => {
    turning = null;
    render();
  };
  const keep = async () => {
    if (turning?.name !== part.name) return;
    const held = turning;
    if (held.degrees !== rounded(part.grain_deg)) await set("grain", `${held.degrees} deg`);
    if (turning === held) leave();
  };
  /** @param {PointerEvent & { currentTarget: SVGGElement }} event */
  const pulled = (event) => {
    const frame = /** @type {SVGGElement} */ (event.currentTarget.parentNode);
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(
      frame.getScreenCTM()?.inverse(),
    );
    turn(rounded(Math.round((Math.atan2(at.y - middle[1], at.x - middle[0]) * 180) / Math.PI)));
  };
  /** @type {Attributes<SVGGElement>} */
  const handlers = part.piece_of
    ? {}
    : {
        tabindex: "0",
        role: "slider",
        "aria-label": `Grain of ${part.name}${isAssumed ? ", assumed" : ""}`,
        "aria-valuemin": "0",
        "aria-valuemax": "180",
        "aria-valuenow": String(rounded(degrees)),
        "aria-valuetext": `${rounded(degrees)} degrees from the right`,
        "data-key": `${part.name}/arrow`,
        onpointerdown: (event) => {
          event.currentTarget.setPointerCapture(event.pointerId);
          event.currentTarget.focus({ preventScroll: true });
        },
        onpointermove: (event) => {
          if (event.currentTarget.hasPointerCapture(event.pointerId)) pulled(event);
        },
        onpointerup: keep,
        onpointercancel: leave,
        onblur: keep,
        onkeydown: (event) => {
          const by = ARROWS[event.key];
          if (by) turn(degrees + by * (event.shiftKey ? 15 : 1));
          else if (event.key === "Enter") keep();
          else if (event.key === "Escape" && isTurning) leave();
          else return;
          event.preventDefault();
          if (by) speak(`${turning?.degrees} degrees`);
        },
      };
  const d = arrowPath(middle, degrees, reach);
  return s(
    "g",
    { class: `grain-turn${part.piece_of ? " fixed" : ""}`, ...handlers },
    s("path", { d, class: "grain-reach", "vector-effect": "non-scaling-stroke" }),
    s("path", {
      d,
      class: `grain-arrow${isAssumed ? " assumed" : ""}`,
      "vector-effect": "non-scaling-stroke",
    }),
  );
}

/**
 * @param {Point} middle
 * @param {number} degrees
 * @param {number} reach
 */
function arrowPath([x, y], degrees, reach) {
  const turn = (degrees * Math.PI) / 180;
  const [dx, dy] = [reach * Math.cos(turn), reach * Math.sin(turn)];
  /** @param {1 | -1} side */
  const head = (side) =>
    [-1, 1]
      .map((way) => {
        const angle = turn + (side > 0 ? Math.PI : 0) + way * 0.4;
        return (
          `M${x + side * dx} ${y + side * dy}l${0.25 * reach * Math.cos(angle)} ` +
          `${0.25 * reach * Math.sin(angle)}`
        );
      })
      .join("");
  return `M${x - dx} ${y - dy}L${x + dx} ${y + dy}${head(1)}${head(-1)}`;
}
