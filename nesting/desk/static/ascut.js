// A part as it was cut: its scan is dropped here, and laid on the outline. What is off is drawn,
// listed with what to do, and weighed.

import { fileAddress, sendCut } from "./api.js";
import { h, typedIn } from "./dom.js";
import * as format from "./format.js";
import { attempt, desk, refresh } from "./store.js";

/** @import { CheckAnswer, Part } from "./answers.d.ts" */

const asked = {
  part: "",
  copy: 1,
  file: /** @type {File | null} */ (null),
  found: /** @type {CheckAnswer | null} */ (null),
  shown: 0,
  turn: 0,
  isBusy: false,
};

const again = () => document.dispatchEvent(new CustomEvent("show-again"));

export function asCutSection() {
  const { parts } = desk.state;
  if (!parts.length) return null;
  const part = parts.find((one) => one.name === asked.part) ?? parts[0];
  asked.part = part.name;
  return h(
    "section",
    {
      "data-key": "as-cut-section",
      ondragover: (event) => event.preventDefault(),
      ondrop: (event) => {
        const [file] = event.dataTransfer?.files ?? [];
        if (!file) return;
        event.preventDefault();
        event.stopPropagation();
        document.body.classList.remove("dropping");
        take(file);
      },
    },
    h("h2", {}, "As it was cut"),
    h(
      "p",
      { class: "hint" },
      "Scan the cut part and drop the scan here: where to sand, its area and what it should " +
        "weigh. The scan is not kept. That a part fits says nothing of how strong its wood or " +
        "its joints are.",
    ),
    form(part, parts),
    asked.isBusy ? h("p", { role: "status" }, "Comparing it with its outline …") : null,
    asked.found ? finding(asked.found) : null,
  );
}

/** @param {File | null} file */
function take(file) {
  asked.file = file;
  again();
}

/** @param {HTMLFormElement} place */
async function compare(place) {
  const { file, part, copy } = asked;
  if (!file) return;
  const turn = ++asked.turn;
  asked.isBusy = true;
  again();
  const fields = ["dpi", "known", "at", "tolerance"].map((name) => [name, typedIn(place, name)]);
  const said = Object.fromEntries(fields.filter(([, text]) => text));
  await attempt(async () => {
    const found = await sendCut(file, { ...said, part, copy: String(copy) });
    if (turn === asked.turn) Object.assign(asked, { found, shown: turn });
  });
  if (turn !== asked.turn) return;
  asked.isBusy = false;
  await refresh();
  again();
}

/**
 * @param {Part} part
 * @param {Part[]} parts
 */
function form(part, parts) {
  return h(
    "form",
    {
      class: "asking",
      "data-key": "as-cut",
      onsubmit: (event) => {
        event.preventDefault();
        compare(event.currentTarget);
      },
    },
    h(
      "label",
      {},
      "Part",
      h(
        "select",
        {
          value: part.name,
          "data-key": "as-cut-part",
          onchange: (event) => {
            Object.assign(asked, { part: event.currentTarget.value, copy: 1, found: null });
            again();
          },
        },
        parts.map(({ name }) => h("option", { value: name }, name)),
      ),
    ),
    (part.copies ?? 1) > 1 ? copyField(part.copies ?? 1) : null,
    h(
      "label",
      {},
      "Its scan",
      h("input", {
        type: "file",
        accept: "image/*,.pdf,.tif,.tiff",
        "data-key": "as-cut-file",
        onchange: (event) => take(event.currentTarget.files?.[0] ?? null),
      }),
    ),
    asked.file ? h("p", { class: "hint" }, `Taken: ${asked.file.name}`) : null,
    h(
      "details",
      { "data-key": "as-cut-more" },
      h("summary", { "data-key": "as-cut-more-head" }, "If the scan does not say how fine it is"),
      field("dpi", "Scanned at, dpi", "300"),
      field(
        "known",
        "Two pixels and their distance",
        `100,80,1280,80,${format.hint("100 mm", "4 in")}`,
      ),
      field("at", "A pixel on the part, where several lie there", "640,400"),
      field("tolerance", "Tell what is off by more than", format.hint("0.22 mm", "0.009 in")),
    ),
    h(
      "button",
      { type: "submit", "data-key": "as-cut-go", disabled: asked.isBusy || !asked.file },
      "Lay it on its outline",
    ),
  );
}

/** @param {number} copies */
const copyField = (copies) =>
  h(
    "label",
    {},
    "Which copy",
    h(
      "select",
      {
        value: String(asked.copy),
        "data-key": "as-cut-copy",
        onchange: (event) => {
          asked.copy = Number(event.currentTarget.value);
        },
      },
      Array.from({ length: copies }, (_, k) => h("option", { value: String(k + 1) }, `${k + 1}`)),
    ),
  );

/**
 * @param {string} name
 * @param {string} words
 * @param {string} placeholder
 */
const field = (name, words, placeholder) =>
  h(
    "label",
    {},
    words,
    h("input", { name, placeholder, "data-key": `as-cut-${name}`, autocomplete: "off" }),
  );

/** @param {CheckAnswer} found */
function finding(found) {
  const { drawn_mm2: drawn, as_cut_mm2: cut } = found.area;
  const over = found.fit.flipped ? "turned over, " : "";
  return h(
    "div",
    { "data-key": "as-cut-finding" },
    h(
      "p",
      { class: "big" },
      found.places.length
        ? `${found.part}: ${format.count(found.places.length, "place")} to see to`
        : `${found.part}: nowhere off by more than ${format.length(found.tolerance_mm, 2)}`,
    ),
    h(
      "p",
      {},
      `It lies ${over}turned by ${Math.abs(found.fit.angle_deg).toFixed(1)}° against its ` +
        `outline. Most wood left ${format.length(found.edge.most_mm, 2)}, ` +
        `most cut away ${format.length(Math.max(0, -found.edge.least_mm), 2)}. ` +
        `Area ${format.area(cut)}, drawn ${format.area(drawn)} ` +
        `(${cut < drawn ? "−" : "+"}${Math.abs(100 * (cut / drawn - 1)).toFixed(1)} %).`,
    ),
    found.weight ? h("p", {}, weightWords(found.weight)) : null,
    h("img", {
      class: "page-picture",
      alt: `Map of deviations of ${found.part}; the list below has the same numbers`,
      "data-key": "as-cut-map",
      src: `${fileAddress(found.file)}?${asked.shown}`,
    }),
    h(
      "ul",
      { "aria-label": "Where to sand" },
      found.places.map((place) => h("li", {}, `${place.number}: ${place.text}`)),
    ),
    found.notes.map((note) =>
      h("p", { class: note.state === "open" ? "fault" : "hint" }, note.text),
    ),
    h(
      "a",
      {
        class: "button",
        href: fileAddress(found.file.replace(/svg$/, "pdf")),
        download: found.file.replace(/svg$/, "pdf"),
        "data-key": "as-cut-pdf",
      },
      "Map at true size, PDF",
    ),
  );
}

/** @param {NonNullable<CheckAnswer["weight"]>} weight */
function weightWords(weight) {
  const should =
    `From ${weight.board} it should weigh ` +
    `${format.massDoubt(weight.as_cut_g, weight.sigma_g, 2)}, ` +
    `as drawn ${format.mass(weight.drawn_g, 2)}.`;
  const off = weight.difference_g;
  if (weight.weighed_g === null || off === null) return should;
  return (
    `${should} The scale said ${format.mass(weight.weighed_g, 2)}, ` +
    `${off < 0 ? "−" : "+"}${format.mass(Math.abs(off), 2)} against that.`
  );
}
