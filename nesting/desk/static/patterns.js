// Patterns: see the pages, take them away as files, and have them print true.

import { fileAddress } from "./api.js";
import { h, show, typedIn } from "./dom.js";
import * as format from "./format.js";
import { printingForm } from "./printing.js";
import { shopping } from "./shopping.js";
import { desk, edit, isRunning, listen, setValue, start, stop } from "./store.js";

/** @import { ResultFile } from "./answers.d.ts" */

/** @typedef {ResultFile & { ending: string }} Ending */
/** @typedef {{ stem: string, files: Ending[] }} Group the files of one name */

/** @type {Record<string, string>} */
const WORDS = { pdf: "PDF to print", svg: "SVG", dxf: "DXF", png: "picture" };
// Every page carries bars of both lengths; one measures those of the job's units.
const bar = () => format.hint("100 mm", "4 in");
/** @param {number} mmOf100 */
const printed = (mmOf100) =>
  format.hint(`${mmOf100.toFixed(2)} mm`, `${((4 * mmOf100) / 100).toFixed(3)} in`);
const PAPERS = ["A4", "A3", "A2", "A1", "A0", "Letter", "Legal", "Tabloid"];

/** @param {HTMLElement} place */
export function patternsView(place) {
  const render = () => {
    if (!desk.state?.parts) return;
    const groups = grouped(desk.state.files.filter((file) => file.name !== "shopping-card.pdf"));
    show(
      place,
      h(
        "div",
        { class: "page" },
        h("div", { class: "row wrap between" }, h("h1", {}, "Patterns"), tools()),
        printing(),
        printingForm(),
        printer(),
        desk.state.shopping?.wanted.length ? shopping() : null,
        groups.length ? shelves(groups) : empty(),
        desk.state.shopping?.wanted.length ? null : shopping(),
      ),
    );
  };
  const stopListening = listen((what) => what !== "picture" && what !== "regions" && render());
  render();
  return stopListening;
}

/** @param {Group[]} groups */
function shelves(groups) {
  /** @param {Group} one */
  const isCard = (one) =>
    ["balance", "bench-card"].includes(one.stem) ||
    /^(compare|stiffness|flex|check)-/.test(one.stem);
  /** @param {Group} one */
  const isCarving = (one) => one.stem.startsWith("carving-");
  const boards = groups.filter((one) => one.stem.startsWith("board-"));
  const carvings = groups.filter(isCarving);
  const rest = groups.filter(
    (one) => !one.stem.startsWith("board-") && !isCard(one) && !isCarving(one),
  );
  const wall = groups.filter(isCard);
  return [
    wall.length ? section("For the shop wall", wall) : null,
    boards.length
      ? h(
          "section",
          {},
          h("h2", {}, "Boards, as they are laid out"),
          h(
            "p",
            { class: "hint" },
            "Where a board takes more than one page, blue lines show where the pages join; " +
              "what is tinted, both pages carry.",
          ),
          h("div", { class: "cards wide" }, boards.map(card)),
        )
      : null,
    carvings.length ? section("Carving: patterns, templates and flats", carvings) : null,
    rest.length ? section("Parts, one by one", rest) : null,
  ];
}

/**
 * @param {string} title
 * @param {Group[]} groups
 */
const section = (title, groups) =>
  h("section", {}, h("h2", {}, title), h("div", { class: "cards" }, groups.map(card)));

const isReady = () => Boolean(desk.state.layout?.is_current && desk.state.layout.proved);

// Whether there is a file of a name that begins and ends so.
/**
 * @param {string} start
 * @param {string[]} endings
 */
const isThere = (start, ...endings) =>
  desk.state.files.some(
    ({ name }) => name.startsWith(start) && endings.some((ending) => name.endsWith(ending)),
  );

function tools() {
  const paper = desk.state.pattern.paper;
  return h(
    "div",
    { class: "row wrap" },
    h(
      "label",
      { class: "row" },
      "Paper ",
      h(
        "select",
        {
          value: paper,
          "data-key": "paper",
          onchange: (event) => setValue(["pattern", "paper"], event.currentTarget.value),
        },
        [...new Set([paper, ...PAPERS])].map((name) => h("option", { value: name }, name)),
      ),
    ),
    isRunning("patterns")
      ? h("button", { "data-key": "stop-patterns", onclick: () => stop("patterns") }, "Stop")
      : h(
          "button",
          {
            class: desk.state.files.length ? null : "main",
            "data-key": "draw",
            disabled: !isReady(),
            onclick: () => start("patterns"),
          },
          desk.state.files.length ? "Draw them again" : "Draw the patterns",
        ),
    isThere("board-", ".pdf")
      ? h(
          "a",
          {
            class: "button main",
            href: "/api/1/all-patterns.pdf",
            target: "_blank",
            rel: "noopener",
            "data-key": "print-all",
          },
          "Print all",
        )
      : null,
    isThere("", ".svg", ".dxf")
      ? h(
          "a",
          {
            class: "button",
            href: "/api/1/machine-files.zip",
            download: "machine-files.zip",
            "data-key": "machine-files",
          },
          "All files for machines (zip)",
        )
      : null,
  );
}

function printing() {
  return h(
    "div",
    { class: "print-note" },
    h(
      "p",
      {},
      h("strong", {}, "Print at 100 %, ‘actual size’."),
      ` Then measure both ${bar()} bars on a page before you cut: a page that is 3 % small ` +
        `makes every part 3 % small.`,
    ),
    h(
      "p",
      { class: "hint" },
      "Fine sawdust and fumes of contact glue harm the lungs: wear a mask, air the room, and " +
        "keep fingers behind the blade.",
    ),
  );
}

// The builder types what the two bars measure; how that adds to an earlier correction is the
// server's business.
function printer() {
  const [across, up] = desk.state.pattern.printer;
  const seen = desk.state.seen.printer;
  const isCorrected = Math.abs(across - 100) > 0.005 || Math.abs(up - 100) > 0.005;
  return h(
    "details",
    { "data-key": "printer-box" },
    h("summary", { "data-key": "printer" }, "My printer is not true"),
    h(
      "p",
      { class: "hint" },
      isCorrected
        ? `Pages are drawn for a printer on which ${bar()} come out as ${printed(across)} ` +
            `across and ${printed(up)} up. Measure a new print to correct it further.`
        : `Type what the two ${bar()} bars on a page measure; pages are then drawn so that ` +
            `they come out true. More than 5 % off is a scaled print, not a printer's error.`,
    ),
    h(
      "form",
      {
        class: "row wrap",
        "data-key": "bars",
        onsubmit: (event) => {
          event.preventDefault();
          const form = event.currentTarget;
          edit({
            kind: "measured-bars",
            seen,
            bar: bar(),
            across: typedIn(form, "across"),
            up: typedIn(form, "up"),
          });
        },
      },
      h(
        "label",
        {},
        "The bar across measures",
        h("input", {
          name: "across",
          required: true,
          placeholder: format.hint("99.2 mm", "3.97 in"),
          "data-key": "bar-across",
          autocomplete: "off",
        }),
      ),
      h(
        "label",
        {},
        "The bar up measures",
        h("input", {
          name: "up",
          required: true,
          placeholder: bar(),
          "data-key": "bar-up",
          autocomplete: "off",
        }),
      ),
      h("button", { type: "submit", "data-key": "bars-keep" }, "Draw for this printer"),
      isCorrected
        ? h(
            "button",
            {
              type: "button",
              "data-key": "bars-drop",
              onclick: () => setValue(["pattern", "printer"], null),
            },
            "No correction",
          )
        : null,
    ),
  );
}

function empty() {
  return h(
    "div",
    { class: "empty" },
    isReady()
      ? [
          h("p", {}, "The layout is ready."),
          h("p", {}, "Draw the patterns to see every page and take the files away."),
        ]
      : [
          h("p", {}, "Patterns are drawn of a layout."),
          h("p", {}, "Lay the parts out on the boards first."),
          h("a", { class: "button main", href: "#rack" }, "Go to the rack"),
        ],
  );
}

/** @param {ResultFile[]} files */
function grouped(files) {
  /** @type {Map<string, Group>} */
  const groups = new Map();
  for (const file of files) {
    const dot = file.name.lastIndexOf(".");
    const [stem, ending] = [file.name.slice(0, dot), file.name.slice(dot + 1)];
    const group = groups.get(stem) ?? { stem, files: [] };
    group.files.push({ ...file, ending });
    groups.set(stem, group);
  }
  /** @param {{ ending: string }} file */
  const rank = (file) => Object.keys(WORDS).indexOf(file.ending);
  for (const group of groups.values()) group.files.sort((one, other) => rank(one) - rank(other));
  /** @param {Group} one */
  const order = (one) => (one.stem.startsWith("board-") ? 0 : one.stem.startsWith("part-") ? 1 : 2);
  return [...groups.values()].sort(
    (one, other) => order(one) - order(other) || one.stem.localeCompare(other.stem),
  );
}

/** @param {Group} group */
function card({ stem, files }) {
  const picture = files.find((file) => file.ending === "png");
  const title = stem
    .replace(/^board-/, "Board ")
    .replace(/^part-/, "")
    .replaceAll("-", " ");
  /** @param {ResultFile} file */
  const size = (file) =>
    file.bytes > 1e6 ? `${(file.bytes / 1e6).toFixed(1)} MB` : `${Math.ceil(file.bytes / 1000)} kB`;
  return h(
    "article",
    { class: "card", "aria-label": title },
    picture
      ? h("img", {
          class: "page-picture",
          loading: "lazy",
          alt: `Pattern of ${title}`,
          src: `${fileAddress(picture.name)}?${desk.state.revision}`,
        })
      : null,
    h(
      "div",
      { class: "card-body" },
      h("h2", {}, title),
      h(
        "ul",
        { class: "plain row wrap" },
        files.map((file) =>
          h(
            "li",
            {},
            h(
              "a",
              {
                class: `button${file.ending === "pdf" ? " main" : ""}`,
                href: fileAddress(file.name),
                download: file.name,
                "data-key": `file-${file.name}`,
              },
              WORDS[file.ending] ?? file.ending,
              h("span", { class: "unseen" }, ` of ${title}`),
              ` ${size(file)}`,
            ),
          ),
        ),
      ),
    ),
  );
}
