// What every layout must keep to: the tool, how far parts lie apart, how far from the board's ends and edges.

import { h } from "./dom.js";
import * as format from "./format.js";
import { desk, edit } from "./store.js";

const TOOLS = [["saw", "a scroll saw"], ["knife", "a knife"], ["laser", "a laser"], ["router", "a router"]];
const LENGTHS = [["kerf", "Width of its cut"], ["clearance", "Left beside the cut"], ["ends", "Kept from the ends"], ["edges", "Kept from the edges"], ["entry_hole", "Hole for the saw blade"]];

export function rulesForm() {
  const rules = desk.state.nest;
  const set = (field, value) => edit({ kind: "set-nest", field, value });
  return h("details", { "data-key": "rules-box" }, h("summary", { "data-key": "rules" }, "How parts may lie"),
    h("p", { class: "hint" }, `Between two parts ${format.length(desk.state.gap_mm)} are left. An empty field is what is usual for the tool.`),
    h("div", { class: "grid" },
      h("label", {}, "Cut with", h("select", { value: rules.tool, "data-key": "rule-tool", onchange: (event) => set("tool", event.target.value) },
        TOOLS.map(([value, text]) => h("option", { value }, text)))),
      LENGTHS.map(([field, text]) => h("label", {}, text, h("input", { value: format.lengthField(rules[field]), "data-key": `rule-${field}`, autocomplete: "off",
        onchange: (event) => set(field, event.target.value.trim() || null) })))),
    h("label", { class: "check" }, h("input", { type: "checkbox", checked: rules.cutouts, "data-key": "rule-cutouts", onchange: (event) => set("cutouts", event.target.checked) }),
      "small parts may lie in the cut-outs of others"));
}
