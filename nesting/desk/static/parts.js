// The parts: what each is cut from, how its grain runs, how many, and how far it has come.

import { h, s, show } from "./dom.js";
import * as format from "./format.js";
import { bounds, pathOf } from "./geometry.js";
import { choose, desk, edit, listen } from "./store.js";

const HANDS = [["either", "either way up"], ["left", "left only"], ["right", "right only"], ["pair", "a pair"]];
const STEPS = ["not traced", "traced", "on a board", "weighed"];

export function partsView(place) {
  const render = () => {
    const parts = desk.state?.parts ?? [];
    show(place, h("div", { class: "page" },
      h("h1", {}, "Parts"),
      parts.length
        ? h("div", { class: "cards" }, parts.map(card))
        : h("div", { class: "empty" }, h("p", {}, "There are no parts yet."), h("p", {}, "Open the plan, choose ‘pick a part’ and click inside a shape."), h("a", { class: "button main", href: "#plan" }, "Go to the plan"))));
  };
  const stopListening = listen((what) => what !== "task" && render());
  render();
  return stopListening;
}

function card(part) {
  const set = (field, value) => edit({ kind: "set-part", part: part.name, field, value });
  const field = (name, label, value, { type = "text", list = null, placeholder = null } = {}) =>
    h("label", {}, label, h("input", { type, value: value ?? "", list, placeholder, "data-key": `${part.name}/${name}`, autocomplete: "off",
      onchange: (event) => set(name, event.target.value.trim() || null) }));
  return h("article", { class: "card", "data-key": `card-${part.name}`, "aria-labelledby": `part-${part.number}` },
    picture(part),
    h("div", { class: "card-body" },
      h("div", { class: "row between" },
        h("h2", { id: `part-${part.number}` }, part.name),
        stamp(part)),
      part.fault ? h("p", { class: "fault" }, part.fault) : null,
      part.size_mm ? h("p", { class: "pencil" }, `${format.size(part.size_mm)} · ${format.area(part.area_mm2)}${part.sigma_edge_mm === undefined ? "" : ` · edge ± ${part.sigma_edge_mm.toFixed(2)} mm`}${part.from ? ` · made from ${part.from}` : ""}${part.is_corrected ? " · corrected by hand" : ""}`) : null,
      part.pieces?.length ? h("p", { class: "hint" }, `Its steps make ${part.pieces.join(", ")}.`) : null,
      part.piece_of ? h("p", { class: "hint" }, `A piece of ${part.piece_of}: what it is made of stands there and in its steps in job.toml.`) : h("div", { class: "fields" },
        field("name", "Name", part.name),
        field("material", "Material", part.material, { list: "materials" }),
        field("thickness", "Thickness", format.lengthField(part.thickness_mm), { placeholder: "3 mm or 1/8 in" }),
        h("label", {}, "How many", h("input", { type: "number", min: 1, max: 999, value: part.count, "data-key": `${part.name}/count`, onchange: (event) => set("count", Number(event.target.value)) })),
        h("label", {}, "Hand", h("select", { value: part.hand, "data-key": `${part.name}/hand`, onchange: (event) => set("hand", event.target.value) },
          HANDS.map(([value, text]) => h("option", { value }, text)))),
        h("label", {}, "From board", h("select", { value: part.board ?? "", "data-key": `${part.name}/board`, onchange: (event) => set("board", event.target.value || null) },
          h("option", { value: "" }, "lightest that fits"), desk.state.boards.map((board) => h("option", { value: board.name }, `${board.name}, ${board.thickness_text}`)))),
        grainField(part, set),
        field("weighed", "Weighs, sawn", format.massField(part.weighed_g), { placeholder: "on the scale" })),
      part.piece_of ? null : h("div", { class: "row" },
        part.from ? null : h("a", { class: "button", href: "#plan", onclick: () => choose("part", part.name) }, "Show on the plan"),
        h("button", { "data-key": `${part.name}/drop`, onclick: () => edit({ kind: "drop-part", part: part.name }) }, "Remove"))),
    h("datalist", { id: "materials" }, ["balsa", "birch ply", "light ply", "basswood", "spruce"].map((name) => h("option", { value: name }))));
}

function stamp(part) {
  const reached = STEPS.indexOf(part.state);
  return h("ol", { class: "stamps", "aria-label": `Stands at: ${part.state}` },
    STEPS.slice(1).map((step, index) => h("li", { class: index < reached ? "on" : "", "aria-hidden": "true" }, step)));
}

function grainField(part, set) {
  const degrees = part.grain_deg ?? 0;
  const isFree = part.grain_tolerance === "free";
  return h("div", { class: "grain" },
    h("label", {}, "Grain", h("input", { value: part.grain_deg === undefined ? "" : `${Math.round(10 * degrees) / 10} deg`, disabled: isFree, "data-key": `${part.name}/grain`,
      onchange: (event) => set("grain", event.target.value.trim() || null) })),
    h("label", { class: "check" }, h("input", { type: "checkbox", checked: isFree, "data-key": `${part.name}/free`,
      onchange: (event) => set("grain_tolerance", event.target.checked ? "free" : null) }), "any way will do"),
    part.is_grain_assumed ? h("p", { class: "hint" }, "Assumed to follow the long side. ",
      h("button", { class: "quiet", "data-key": `${part.name}/accept`, onclick: () => set("grain", `${Math.round(10 * degrees) / 10} deg`) }, "It is so")) : null);
}

function picture(part) {
  if (!part.outline) return h("div", { class: "card-picture none" }, h("span", {}, part.state));
  const [x0, y0, x1, y1] = bounds(part.outline[0]);
  const span = Math.max(x1 - x0, y1 - y0);
  const margin = 0.06 * span;
  const isFree = part.grain_tolerance === "free";
  return s("svg", { class: "card-picture", viewBox: `${x0 - margin} ${-y1 - margin} ${x1 - x0 + 2 * margin} ${y1 - y0 + 2 * margin}`,
    role: "img", "aria-label": `Outline of ${part.name}, ${format.size(part.size_mm)}` },
  s("g", { transform: "scale(1 -1)" },
    s("path", { d: pathOf(part.outline), class: "part-shape", "fill-rule": "evenodd", "vector-effect": "non-scaling-stroke" }),
    part.grain_deg === undefined || isFree ? null : grainArrow([(x0 + x1) / 2, (y0 + y1) / 2], part.grain_deg, 0.26 * span, part.is_grain_assumed)));
}

function grainArrow([x, y], degrees, reach, isAssumed) {
  const turn = (degrees * Math.PI) / 180;
  const [dx, dy] = [reach * Math.cos(turn), reach * Math.sin(turn)];
  const head = (side) => [-1, 1].map((way) => {
    const angle = turn + (side > 0 ? Math.PI : 0) + way * 0.4;
    return `M${x + side * dx} ${y + side * dy}l${0.25 * reach * Math.cos(angle)} ${0.25 * reach * Math.sin(angle)}`;
  }).join("");
  return s("path", { d: `M${x - dx} ${y - dy}L${x + dx} ${y + dy}${head(1)}${head(-1)}`, class: `grain-arrow${isAssumed ? " assumed" : ""}`, "vector-effect": "non-scaling-stroke" });
}
