// Where everything sits: the datum, each part, equipment, ballast. By station, or by a point picked
// on the drawing.

import { chordForm } from "./chord.js";
import { h, sent, typedIn } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { pickPoint } from "./picker.js";
import { desk, setValue } from "./store.js";

/**
 * @import {
 *   AlternativeItem, Balance, BallastPlace, Item, Part, Plan, Seat,
 * } from "./answers.d.ts"
 */
/** @import { Point } from "./geometry.js" */
/** @import { Also } from "./store.js" */

/**
 * Equipment, or a place for ballast.
 * @typedef {Partial<Item & BallastPlace> & (Item | BallastPlace)} Thing
 */
/** @typedef {[name: string, label: string, isNeeded: boolean, hint: string | string[]]} Asked */

const WAYS = [
  ["", "not said yet"],
  ["in place", "drawn in its place"],
  ["station", "by its station"],
  ["brought", "brought to a point"],
];
/** @type {Map<string, string>} how a part is to come to its station, until it is said */
const ways = new Map();
/** @type {Map<string, Point | null>} a point that was picked, until its twin is too */
const picked = new Map();

/** @param {Point | null} at */
const point = (at) => (at ? `${Number(at[0].toFixed(1))}, ${Number(at[1].toFixed(1))}` : "");
/**
 * @param {string} text
 * @returns {Point | null}
 */
const typed = (text) => {
  const [x, y, ...more] = text
    .trim()
    .split(/[\s,;]+/)
    .map(Number);
  return Number.isFinite(x) && Number.isFinite(y) && !more.length ? [x, y] : null;
};
const sideView = () =>
  desk.state.plans.find((plan) => plan.name === desk.state.balance.plan) ??
  desk.state.plans[0] ??
  null;

export function placesSection() {
  const { balance } = desk.state;
  return h(
    "details",
    { "data-key": "stations-box" },
    h(
      "summary",
      { "data-key": "stations" },
      "Where everything sits: datum, parts, equipment, ballast, range",
    ),
    datum(balance),
    range(balance),
    chordForm(balance),
    seats(balance),
    things(balance, "item", "Equipment"),
    things(balance, "ballast", "Places for ballast"),
    alternatives(balance),
  );
}

// A point of a plan as two numbers that can be typed, with a button to pick it on the drawing.
/**
 * @param {string} label
 * @param {string} key
 * @param {Point | null} at
 * @param {Plan | null} plan
 * @param {(at: Point | null) => unknown} keep
 */
function pointField(label, key, at, plan, keep) {
  return h(
    "div",
    { class: "point" },
    h(
      "label",
      {},
      label,
      h("input", {
        value: point(at),
        placeholder: "pixel 412, 1880",
        "data-key": key,
        autocomplete: "off",
        onchange: (event) => {
          const found = typed(event.currentTarget.value);
          keep(found ?? (event.currentTarget.value.trim() ? at : null));
        },
      }),
    ),
    h(
      "button",
      {
        type: "button",
        "data-key": `${key}-pick`,
        "aria-label": `Pick on the drawing: ${label}`,
        disabled: !plan,
        onclick: (event) => plan && pickPoint(plan, label, at, keep, event.currentTarget),
      },
      icon("aim"),
      "Pick",
    ),
  );
}

/** @param {Balance} balance */
function datum(balance) {
  const aft = typeof balance.aft === "string" ? null : balance.aft;
  /**
   * @param {string} field
   * @param {unknown} value
   */
  const set = (field, value) => setValue(["balance", field], value);
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "Datum: where stations are counted from"),
    h(
      "div",
      { class: "seat" },
      desk.state.plans.length > 1
        ? h(
            "label",
            {},
            "Side view on",
            h(
              "select",
              {
                value: sideView()?.name ?? "",
                "data-key": "side-view",
                onchange: (event) => set("plan", event.currentTarget.value),
              },
              desk.state.plans.map((plan) => h("option", { value: plan.name }, plan.name)),
            ),
          )
        : null,
      pointField("The datum", "datum", balance.datum, sideView(), (at) => set("datum", at)),
      h(
        "label",
        {},
        "Aft is",
        h(
          "select",
          {
            value: aft ? "point" : balance.aft,
            "data-key": "aft",
            onchange: (event) =>
              event.currentTarget.value !== "point" && set("aft", event.currentTarget.value),
          },
          h("option", { value: "right" }, "to the right"),
          h("option", { value: "left" }, "to the left"),
          aft ? h("option", { value: "point" }, "towards a point") : null,
        ),
      ),
      pointField("A point farther aft", "aft-point", aft, sideView(), (at) =>
        set("aft", at ?? "right"),
      ),
    ),
  );
}

/** @param {Balance} balance */
function range(balance) {
  const [low, high] = balance.range ?? ["", ""];
  /** @param {string} end */
  const shown = (end) => (end.endsWith(" mm") ? format.lengthField(Number.parseFloat(end)) : end);
  const [left, right] = balance.lateral_mm ?? [null, null];
  /**
   * @param {HTMLFormElement} form
   * @param {string[]} names
   */
  const ends = (form, names) => names.map((name) => typedIn(form, name));
  return h(
    "div",
    { class: "grid-two" },
    h(
      "form",
      {
        class: "grid balance-box",
        "data-key": "range",
        onsubmit: (event) => {
          event.preventDefault();
          const found = ends(event.currentTarget, ["low", "high"]).map((text, i) =>
            text === shown([low, high][i]) ? [low, high][i] : text,
          );
          setValue(["balance", "range"], found.every(Boolean) ? found : null);
        },
      },
      h(
        "label",
        {},
        "It must balance from",
        h("input", {
          name: "low",
          value: shown(low),
          placeholder: `${format.hint("110 mm", "4 1/4 in")} or 25 %`,
          "data-key": "range-low",
          autocomplete: "off",
        }),
      ),
      h(
        "label",
        {},
        "to",
        h("input", {
          name: "high",
          value: shown(high),
          placeholder: `${format.hint("122 mm", "4 3/4 in")} or 30 %`,
          "data-key": "range-high",
          autocomplete: "off",
        }),
      ),
      h("button", { type: "submit", "data-key": "range-keep" }, "Set the range"),
    ),
    h(
      "form",
      {
        class: "grid balance-box",
        "data-key": "lateral",
        onsubmit: (event) => {
          event.preventDefault();
          const found = ends(event.currentTarget, ["left", "right"]).map((text, i) =>
            format.typedLength(text, [left, right][i]),
          );
          setValue(["balance", "lateral"], found.every(Boolean) ? found : null);
        },
      },
      h(
        "label",
        {},
        "Sideways, to the right, from",
        h("input", {
          name: "left",
          value: format.lengthField(left),
          placeholder: "any",
          "data-key": "lateral-low",
          autocomplete: "off",
        }),
      ),
      h(
        "label",
        {},
        "to",
        h("input", {
          name: "right",
          value: format.lengthField(right),
          placeholder: "any",
          "data-key": "lateral-high",
          autocomplete: "off",
        }),
      ),
      h("button", { type: "submit", "data-key": "lateral-keep" }, "Set it"),
    ),
  );
}

// ---- parts -------------------------------------------------------------------------------------

/**
 * @param {Balance} balance
 * @param {string} name
 */
function wayOf(balance, name) {
  if (balance.in_place.includes(name)) return "in place";
  const seat = balance.seats[name];
  if (!seat) return ways.get(name) ?? "";
  return seat.station_mm === null ? "brought" : "station";
}

/** @param {Balance} balance */
function seats(balance) {
  const parts = desk.state.parts.filter((part) => !part.piece_of);
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "Where each part’s centre of mass comes to"),
    h(
      "ul",
      { class: "plain seats" },
      parts.map((part) => seat(balance, part)),
    ),
  );
}

/**
 * @param {Balance} balance
 * @param {Part} part
 */
function seat(balance, part) {
  const way = wayOf(balance, part.name);
  const said = balance.seats[part.name] ?? null;
  return h(
    "li",
    { class: "seat", "data-key": `seat-row-${part.name}` },
    h(
      "label",
      {},
      part.name,
      h(
        "select",
        {
          value: way,
          "data-key": `way-${part.name}`,
          onchange: (event) => change(balance, part.name, event.currentTarget.value),
        },
        WAYS.map(([value, text]) => h("option", { value }, text)),
      ),
    ),
    way === "station" ? byStation(part.name, said) : null,
    way === "brought" ? brought(part, said) : null,
    said ? sideways(part.name, said) : null,
  );
}

/**
 * @param {Balance} balance
 * @param {string} name
 * @param {string} way
 */
async function change(balance, name, way) {
  if (way === "station" || way === "brought") ways.set(name, way);
  else ways.delete(name);
  const noSeat = ["balance", "seat", name];
  if (way === "in place")
    await setValue(
      ["balance", "in_place", null],
      name,
      null,
      balance.seats[name] ? [{ at: noSeat, value: null }] : [],
    );
  else if (balance.in_place.includes(name)) await setValue(["balance", "in_place", name], null);
  else if (balance.seats[name]) await setValue(noSeat, null);
  if (way === "station" || way === "brought") document.dispatchEvent(new CustomEvent("show-again"));
}

// Give a part its place, instead of the one that it has; without a station and a point it has none.
/**
 * @param {string} name
 * @param {Record<string, unknown>} seat
 */
function keepSeat(name, seat) {
  const { balance } = desk.state;
  const isPlaced = seat.station || seat.anchor;
  const row = balance.seats[name] ? name : null;
  if (!isPlaced && !row) return false;
  const also = balance.in_place.includes(name)
    ? [{ at: ["balance", "in_place", name], value: null }]
    : [];
  return setValue(["balance", "seat", row], isPlaced ? { part: name, ...seat } : null, null, also);
}

/** @param {Seat | null} said */
const kept = (said) => ({
  lateral: said?.lateral_mm ? format.exactLength(said.lateral_mm) : null,
  from_above: said?.from_above || null,
  angle: said?.angle_deg ? `${said.angle_deg} deg` : null,
});

/**
 * @param {string} name
 * @param {Seat | null} said
 */
function byStation(name, said) {
  return h(
    "label",
    {},
    "Station",
    h("input", {
      value: format.lengthField(said?.station_mm),
      placeholder: format.hint("120 mm", "4 3/4 in"),
      "data-key": `seat-${name}`,
      autocomplete: "off",
      onchange: (event) =>
        keepSeat(name, { station: event.currentTarget.value.trim() || null, ...kept(said) }),
    }),
  );
}

/**
 * @param {Part} part
 * @param {Seat | null} said
 */
function brought(part, said) {
  const plan = desk.state.plans.find((one) => one.name === part.plan) ?? sideView();
  const now = {
    anchor: said?.anchor ?? picked.get(`${part.name} anchor`) ?? null,
    at: said?.at ?? picked.get(`${part.name} at`) ?? null,
  };
  /** @param {"anchor" | "at"} field */
  const keep = (field) => (/** @type {Point | null} */ at) => {
    now[field] = at;
    picked.set(`${part.name} ${field}`, at);
    if (now.anchor && now.at)
      keepSeat(part.name, {
        anchor: now.anchor,
        at: now.at,
        ...kept(said),
      });
    else document.dispatchEvent(new CustomEvent("show-again"));
  };
  return [
    pointField("A point of the part", `anchor-${part.name}`, now.anchor, plan, keep("anchor")),
    pointField("comes to, on the side view", `at-${part.name}`, now.at, sideView(), keep("at")),
    said
      ? h(
          "label",
          {},
          "turned by",
          h("input", {
            value: `${said.angle_deg} deg`,
            "data-key": `angle-${part.name}`,
            autocomplete: "off",
            onchange: (event) =>
              keepSeat(part.name, {
                anchor: said.anchor,
                at: said.at,
                ...kept(said),
                angle: event.currentTarget.value.trim() || null,
              }),
          }),
        )
      : null,
  ];
}

/**
 * @param {string} name
 * @param {Seat} said
 */
function sideways(name, said) {
  /** @param {Record<string, unknown>} more */
  const send = (more) =>
    keepSeat(name, {
      station: format.exactLength(said.station_mm),
      anchor: said.anchor,
      at: said.at,
      ...kept(said),
      ...more,
    });
  return [
    h(
      "label",
      {},
      "to the right by",
      h("input", {
        value: format.lengthField(said.lateral_mm),
        "data-key": `lateral-${name}`,
        autocomplete: "off",
        onchange: (event) => send({ lateral: event.currentTarget.value.trim() || null }),
      }),
    ),
    said.station_mm === null
      ? h(
          "label",
          { class: "check" },
          h("input", {
            type: "checkbox",
            checked: said.from_above,
            "data-key": `above-${name}`,
            onchange: (event) => send({ from_above: event.currentTarget.checked }),
          }),
          "a wing or tail half, drawn from above",
        )
      : null,
  ];
}

// ---- equipment, ballast, alternatives ----------------------------------------------------------

/**
 * @param {Balance} balance
 * @param {"item" | "ballast"} table
 * @param {string} title
 */
function things(balance, table, title) {
  const isItem = table === "item";
  /** @type {Thing[]} */
  const rows = isItem ? balance.items : balance.ballast;
  /** @param {Thing} row */
  const mass = (row) => (isItem ? row.mass_g : row.most_g);
  /**
   * @param {Thing} row
   * @param {string} key
   * @param {unknown} value
   * @param {Also[]} [also]
   */
  const put = (row, key, value, also) =>
    setValue(["balance", table, row.name, key], value, null, also);
  // A place on the drawing would contradict a station, and the reverse.
  /**
   * @param {Thing} row
   * @param {string} key
   */
  const without = (row, key) => [{ at: ["balance", table, row.name, key], value: null }];
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, title),
    h(
      "ul",
      { class: "plain seats" },
      rows.map((row) =>
        h(
          "li",
          { class: "seat", "data-key": `${table}-row-${row.name}` },
          h(
            "strong",
            { class: "seat-name" },
            row.name,
            row.fuel ? h("span", { class: "pencil" }, " (fuel)") : null,
          ),
          h(
            "label",
            {},
            isItem ? "Mass" : "At most",
            h("input", {
              value: format.massField(mass(row)),
              "data-key": `${table}-mass-${row.name}`,
              placeholder: isItem ? format.hint("18 g", "5/8 oz") : "any",
              autocomplete: "off",
              onchange: (event) =>
                put(row, isItem ? "mass" : "most", event.currentTarget.value.trim() || null),
            }),
          ),
          h(
            "label",
            {},
            "Station",
            h("input", {
              value: format.lengthField(row.station_mm),
              placeholder: row.at ? "on the drawing" : format.hint("35 mm", "1 3/8 in"),
              "data-key": `${table}-station-${row.name}`,
              autocomplete: "off",
              onchange: (event) =>
                event.currentTarget.value.trim() &&
                put(row, "station", event.currentTarget.value.trim(), without(row, "at")),
            }),
          ),
          pointField(
            "or on the drawing",
            `${table}-at-${row.name}`,
            row.at,
            sideView(),
            (at) => at && put(row, "at", at, without(row, "station")),
          ),
          h(
            "label",
            {},
            "to the right by",
            h("input", {
              value: format.lengthField(row.lateral_mm),
              "data-key": `${table}-lateral-${row.name}`,
              autocomplete: "off",
              onchange: (event) => put(row, "lateral", event.currentTarget.value.trim() || null),
            }),
          ),
          isItem
            ? null
            : h(
                "label",
                {},
                "wood there",
                h("input", {
                  value: format.lengthField(row.depth_mm),
                  placeholder: format.hint("10 mm", "3/8 in"),
                  "data-key": `${table}-depth-${row.name}`,
                  autocomplete: "off",
                  onchange: (event) => put(row, "depth", event.currentTarget.value.trim() || null),
                }),
              ),
          h(
            "button",
            {
              class: "quiet",
              "aria-label": `Remove ${row.name}`,
              "data-key": `drop-${table}-${row.name}`,
              onclick: () => setValue(["balance", table, row.name], null),
            },
            icon("bin"),
          ),
        ),
      ),
    ),
    adder(
      `put-${table}`,
      [
        ["name", "Name", true, ""],
        [
          "mass",
          isItem ? "Mass" : "At most",
          isItem,
          isItem ? format.hint("18 g", "5/8 oz") : "any",
        ],
        ["station", "Station", true, format.hint("35 mm", "1 3/8 in")],
      ],
      isItem ? "Add equipment" : "Add a place",
      ({ mass, ...values }) =>
        setValue(["balance", table, null], { ...values, [isItem ? "mass" : "most"]: mass }),
    ),
  );
}

/** @param {Balance} balance */
function alternatives(balance) {
  const names = balance.items.map((item) => item.name);
  if (!names.length) return null;
  const seen = desk.state.seen.balance?.alternative ?? [];
  /** @param {AlternativeItem} one */
  const text = (one) =>
    [
      one.item,
      one.mass_g === null ? null : format.mass(one.mass_g),
      one.station_mm === null ? null : `at ${format.length(one.station_mm, 0)}`,
    ]
      .filter(Boolean)
      .join(", ");
  return h(
    "fieldset",
    { class: "balance-box" },
    h("legend", {}, "Alternatives to look at: equipment elsewhere, or of another mass"),
    h(
      "ul",
      { class: "plain" },
      balance.alternatives.map((one, number) =>
        h(
          "li",
          { class: "row" },
          h("span", {}, h("strong", {}, one.name), `: ${text(one)}`),
          h(
            "button",
            {
              class: "quiet",
              "aria-label": `Remove the alternative ${one.name}`,
              "data-key": `drop-alternative-${one.name}-${one.item}`,
              onclick: () => setValue(["balance", "alternative", number], null, seen[number]),
            },
            icon("bin"),
          ),
        ),
      ),
    ),
    adder(
      "put-alternative",
      [
        ["name", "Called", true, "battery forward"],
        ["item", "Equipment", true, names],
        ["station", "then at", false, "as it is"],
        ["mass", "then weighing", false, "as it is"],
      ],
      "Add an alternative",
      (values) => setValue(["balance", "alternative", null], values),
    ),
  );
}

/**
 * @param {string} key
 * @param {Asked[]} fields
 * @param {string} title
 * @param {(values: Record<string, string | null>) => Promise<boolean>} keep
 */
function adder(key, fields, title, keep) {
  return h(
    "form",
    {
      class: "grid",
      "data-key": key,
      onsubmit: async (event) => {
        event.preventDefault();
        const form = event.currentTarget;
        const values = Object.fromEntries(
          fields.map(([name]) => [name, typedIn(form, name) || null]),
        );
        const was = sent(form);
        if (await keep(values)) was.empty();
      },
    },
    fields.map(([name, label, isNeeded, hint]) =>
      h(
        "label",
        {},
        label,
        Array.isArray(hint)
          ? h(
              "select",
              { name, "data-key": `${key}-${name}` },
              hint.map((value) => h("option", { value }, value)),
            )
          : h("input", {
              name,
              required: isNeeded,
              placeholder: hint,
              "data-key": `${key}-${name}`,
              autocomplete: "off",
            }),
      ),
    ),
    h("button", { type: "submit", "data-key": `${key}-keep` }, title),
  );
}
