// How springy a carved panel is, built one way or another: which way is stiffer and lighter.

import { stale, waiting } from "./choosing.js";
import { h, s } from "./dom.js";
import * as format from "./format.js";
import { apart } from "./labels.js";
import { desk, isRunning, start } from "./store.js";

/** @import { Flexed, FlexOption } from "./answers.d.ts" */

const AS_IT_STANDS = "as it stands";
const MOST = 6;
const [WIDTH, HEIGHT] = [340, 250];
const [LEFT, RIGHT, TOP, FOOT] = [46, 14, 34, 44];
const RADIUS = 8.5;

const wish = { part: "", options: /** @type {Set<string>} */ (new Set()) };

export function flexSection() {
  const { carved } = desk.state;
  if (!carved.length) return null;
  const found = desk.findings?.flex;
  if (!carved.some((one) => one.part === wish.part)) {
    wish.part = carved[0].part;
    wish.options.clear();
  }
  const panel = carved.find((one) => one.part === wish.part) ?? carved[0];
  return h(
    "section",
    { "data-key": "flex-section" },
    h("h2", {}, "How springy a panel is"),
    h(
      "p",
      { class: "hint" },
      "A comparison between boards, never an approval to fly. No flutter speed is told: that " +
        "hangs on the joints, the glue, the play and the air about the finished model, and no " +
        "board knows them.",
    ),
    h(
      "form",
      {
        class: "asking",
        "data-key": "flex",
        onsubmit: (event) => {
          event.preventDefault();
          start("flex", { part: wish.part, options: [...wish.options] });
        },
      },
      carved.length > 1 ? partField(carved.map((one) => one.part)) : null,
      ways(panel.part, panel.options),
      h(
        "button",
        {
          type: "submit",
          "data-key": "flex-go",
          disabled:
            isRunning("flex") ||
            wish.options.size > MOST ||
            (!wish.options.size && !panel.options.length),
        },
        "Weigh them against each other",
      ),
    ),
    isRunning("flex") ? waiting("flex") : null,
    found ? finding(found) : null,
  );
}

const again = () => document.dispatchEvent(new CustomEvent("show-again"));

/** @param {string[]} names */
function partField(names) {
  return h(
    "label",
    {},
    "Panel",
    h(
      "select",
      {
        value: wish.part,
        "data-key": "flex-part",
        onchange: (event) => {
          wish.part = event.currentTarget.value;
          wish.options.clear();
          again();
        },
      },
      names.map((name) => h("option", { value: name }, name)),
    ),
  );
}

/**
 * @param {string} part
 * @param {string[]} options
 */
function ways(part, options) {
  const boards = (desk.state.weights?.weights ?? [])
    .filter((row) => row.part === part || row.part.startsWith(`${part} `))
    .map((row) => row.board);
  const names = [...new Set([AS_IT_STANDS, ...options, ...boards])];
  return h(
    "fieldset",
    { class: "flex-ways" },
    h(
      "legend",
      {},
      options.length
        ? `Ways to build ${part}, up to ${MOST}; without a tick all that the job names`
        : `Ways to build ${part}, up to ${MOST}`,
    ),
    names.map((name) =>
      h(
        "label",
        { class: "check" },
        h("input", {
          type: "checkbox",
          checked: wish.options.has(name),
          "data-key": `flex-way-${name}`,
          onchange: (event) => {
            if (event.currentTarget.checked) wish.options.add(name);
            else wish.options.delete(name);
            again();
          },
        }),
        boards.includes(name) ? `from board ${name}` : name,
      ),
    ),
  );
}

/** @param {Flexed} found */
function finding(found) {
  return h(
    "div",
    { class: "finding", "data-key": "flexed" },
    stale(found),
    h(
      "div",
      { class: "flex-pictures" },
      picture(found, "first_bending", "sigma_share", "first bending"),
      picture(found, "first_twist", "twist_sigma_share", "first twist"),
    ),
    h("p", { class: "hint" }, "Bars are one standard deviation either way."),
    h(
      "div",
      {
        class: "scroll",
        tabindex: "0",
        role: "region",
        "aria-label": `Ways to build ${found.part}`,
      },
      table(found),
    ),
    found.notes
      .filter((note) => note.state === "open")
      .map((note) => h("p", { class: "fault" }, note.text)),
    h("p", { class: "hint" }, found.caution),
  );
}

// Mass against how fast the panel swings, against the first way: what lies in the shaded corner is
// stiffer and lighter than that.
/**
 * @param {Flexed} found
 * @param {"first_bending" | "first_twist"} key
 * @param {"sigma_share" | "twist_sigma_share"} doubt
 * @param {string} title
 */
function picture(found, key, doubt, title) {
  const { options } = found;
  const dots = options.map((one, number) => ({
    name: one.name,
    mass: one.mass_g,
    massDoubt: one.mass_sigma_g,
    ratio: one[key],
    ratioDoubt: one[key] * (number ? one[doubt] : 0),
  }));
  const x = axis(
    dots.flatMap((one) => [one.mass - one.massDoubt, one.mass + one.massDoubt]),
    [LEFT, WIDTH - RIGHT],
  );
  const y = axis(
    dots.flatMap((one) => [one.ratio - one.ratioDoubt, one.ratio + one.ratioDoubt, 1]),
    [HEIGHT - FOOT, TOP],
  );
  const first = { x: x(dots[0].mass), y: y(1) };
  const said = dots.map(
    (one) => `${one.name}: ${format.mass(one.mass)}, × ${one.ratio.toFixed(2)}`,
  );
  const marks = apart(
    dots.map((one) => ({ x: x(one.mass), y: y(one.ratio) })),
    RADIUS,
  );
  return s(
    "svg",
    {
      class: "flex-picture",
      viewBox: `0 0 ${WIDTH} ${HEIGHT}`,
      role: "img",
      "data-key": `flex-${key}`,
      "aria-label": `Mass against ${title}, against ${dots[0].name}. ${said.join("; ")}`,
    },
    s("rect", {
      class: "better",
      x: LEFT,
      y: TOP,
      width: Math.max(0, first.x - LEFT),
      height: Math.max(0, first.y - TOP),
    }),
    s("path", { class: "axes", d: `M${LEFT} ${TOP}V${HEIGHT - FOOT}H${WIDTH - RIGHT}` }),
    s("path", {
      class: "against",
      d: `M${first.x} ${TOP}V${HEIGHT - FOOT}M${LEFT} ${first.y}H${WIDTH - RIGHT}`,
    }),
    s("text", { class: "strong", x: LEFT, y: 14 }, title),
    s("text", { x: LEFT, y: 29 }, "↖ stiffer and lighter"),
    s("text", { x: WIDTH - RIGHT, y: HEIGHT - 8, "text-anchor": "end" }, "heavier →"),
    s("text", { x: LEFT - 6, y: first.y + 4, "text-anchor": "end" }, "× 1"),
    s(
      "text",
      { x: first.x, y: HEIGHT - FOOT + 15, "text-anchor": "middle" },
      format.mass(dots[0].mass),
    ),
    dots
      .map((one, number) => {
        const [cx, cy, mark] = [x(one.mass), y(one.ratio), marks[number]];
        return s(
          "g",
          { class: number ? "way" : "way first" },
          s("path", {
            class: "doubt-bar",
            d:
              `M${x(one.mass - one.massDoubt)} ${cy}H${x(one.mass + one.massDoubt)}` +
              `M${cx} ${y(one.ratio - one.ratioDoubt)}V${y(one.ratio + one.ratioDoubt)}`,
          }),
          s("path", { class: "leader", d: `M${cx} ${cy}L${mark.x} ${mark.y}` }),
          s("circle", { cx: mark.x, cy: mark.y, r: RADIUS }),
          s("text", { x: mark.x, y: mark.y + 4.5, "text-anchor": "middle" }, `${number + 1}`),
          s("title", {}, said[number]),
        );
      })
      .reverse(), // the first way on top
  );
}

// A place along a line for each value, with some room at both ends.
/**
 * @param {number[]} values
 * @param {[number, number]} ends
 */
function axis(values, [from, to]) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = Math.max(0.12 * (high - low), 0.02 * Math.abs(high), 1e-6);
  return (/** @type {number} */ value) =>
    from + ((to - from) * (value - low + room)) / (high - low + 2 * room);
}

/** @param {Flexed} found */
function table(found) {
  const [first] = found.options;
  const heads = [
    "No.",
    "Way to build it",
    "Mass",
    "First bending",
    "First twist",
    "Stiffness",
    `Sag of the tip, alone and with ${format.mass(found.load_g, 0)} more`,
    "Elastic axis, balance line",
  ];
  return h(
    "table",
    { class: "side-by-side" },
    h("caption", {}, `${found.part}: each way against the first, ‘${first.name}’`),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        heads.map((head) => h("th", { scope: "col" }, head)),
      ),
    ),
    h(
      "tbody",
      {},
      found.options.map((one, number) => row(one, number)),
    ),
  );
}

/**
 * @param {FlexOption} one
 * @param {number} number
 */
function row(one, number) {
  /**
   * @param {number} value
   * @param {number} share
   */
  const ratio = (value, share) =>
    h(
      "td",
      { class: "number" },
      `× ${value.toFixed(3)}${number ? ` ± ${(value * share).toFixed(3)}` : ""}`,
    );
  return h(
    "tr",
    { "data-key": `flex-row-${one.name}` },
    h("td", {}, `${number + 1}`),
    h("th", { scope: "row" }, one.name),
    h("td", { class: "number" }, format.massDoubt(one.mass_g, one.mass_sigma_g, 2)),
    ratio(one.first_bending, one.sigma_share),
    ratio(one.first_twist, one.twist_sigma_share),
    ratio(one.stiffness, one.stiffness_sigma_share),
    h(
      "td",
      { class: "number" },
      `${format.length(one.own_sag_mm, 2)}, ${format.length(one.load_sag_mm, 2)}`,
    ),
    h(
      "td",
      { class: "number" },
      `${Math.round(100 * one.elastic_axis_share)} %, ` +
        `${Math.round(100 * one.balance_share)} % of the chord`,
    ),
  );
}
