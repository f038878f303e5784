// The shell: which view is open, undo and redo, what is running, and files dropped on the page.

import { send, wordsOf } from "./api.js";
import { leftInShort } from "./budget.js";
import { h, isHalfTyped, placeOf, show, slip } from "./dom.js";
import * as format from "./format.js";
import { icon } from "./icons.js";
import { partsView } from "./parts.js";
import { patternsView } from "./patterns.js";
import { rackView } from "./rack.js";
import { sheetView } from "./sheet.js";
import { startView } from "./start.js";
import { togetherView } from "./together.js";
import { forgetRefusals } from "./refusals.js";
import {
  attempt,
  choose,
  desk,
  hear,
  listen,
  opened,
  refresh,
  setValue,
  step,
  stop,
} from "./store.js";
import { weightView } from "./weight.js";

/** @import { State } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */
/** @import { Drawing } from "./icons.js" */
/** @import { News } from "./store.js" */

/**
 * Name, title, drawing, the view, and how far the job has come there.
 * @type {[string, string, Drawing, (place: HTMLElement) => Render, (state: State) => string][]}
 */
const STAGES = [
  ["plan", "Plan", "sheet", sheetView, planState],
  ["parts", "Parts", "parts", partsView, partsState],
  ["rack", "Rack", "rack", rackView, rackState],
  ["weight", "Weight", "weight", weightView, weightState],
  ["model", "Model", "model", togetherView, modelState],
  ["patterns", "Patterns", "patterns", patternsView, patternsState],
];

/** @param {State} state */
function planState({ plans }) {
  if (!plans?.length) return "no plan yet";
  const lengths = plans.reduce((sum, plan) => sum + plan.known.length, 0);
  if (plans.some((plan) => plan.fault)) return "needs a look";
  if (!lengths && plans.some((plan) => plan.sheet)) return "flattened photo";
  if (!lengths && plans.every((plan) => plan.scale?.is_true_size)) return "at true size";
  return lengths ? format.count(lengths, "known length") : "size not known yet";
}

/** @param {State} state */
function partsState({ parts }) {
  const faults = parts.filter((part) => part.fault).length;
  if (faults) return `${faults} to look at`;
  return parts.length ? format.count(parts.length, "part") : "none yet";
}

/** @param {State} state */
function rackState({ boards, is_followed: isFollowed }) {
  if (!boards.length) return isFollowed ? "empty" : "…";
  return format.count(boards.length, "board");
}

/** @param {State} state */
function weightState({ weights, balance }) {
  const left = leftInShort(balance?.report?.budget);
  return left ?? (weights?.weights?.length ? format.mass(weights.total_g) : "–");
}

/** @param {State} state */
function modelState({ parts }) {
  return parts.length ? "put together" : "–";
}

/** @param {State} state */
function patternsState({ files, layout }) {
  if (files.length) return format.count(files.length, "file");
  return layout?.is_current ? "ready to draw" : "after the layout";
}

/** @typedef {{ name: string | null, close: Render, hasOpened: boolean }} Open */
/** @type {Open} */
let open = { name: null, close: () => {}, hasOpened: false };

function route() {
  // Before the first answer nobody knows which view belongs here; a plan shown meanwhile would take
  // clicks and be gone.
  if (!desk.state) return;
  const isEmpty = desk.state?.is_empty;
  const wanted = isEmpty
    ? "start"
    : STAGES.some(([name]) => name === location.hash.slice(1))
      ? location.hash.slice(1)
      : "plan";
  if (open.name === wanted) return;
  open.close();
  forgetRefusals();
  const host = h("div", { class: "view" });
  const work = placeOf("work");
  work.replaceChildren(host);
  const hadFocus = open.name !== null;
  const stage = STAGES.find(([name]) => name === wanted);
  open = { name: wanted, close: () => {}, hasOpened: false };
  try {
    open.close = opened(stage ? stage[3] : startView, host);
    open.hasOpened = true;
  } catch (error) {
    console.error(error);
    undrawn(error);
  }
  document.title = `${stage ? `${stage[1]} – ` : ""}${desk.state?.job?.name ?? "Sheetwood"}`;
  // What was scrolled to in one view is no place in the next, whether the page scrolls or the view
  // in it.
  window.scrollTo(0, 0);
  work.scrollTo(0, 0);
  if (hadFocus && stage) work.focus({ preventScroll: true });
}

/** @param {unknown} error */
function undrawn(error) {
  const work = placeOf("work");
  work.querySelector("[data-key=undrawn]")?.remove();
  work.prepend(
    h(
      "p",
      { class: "fault", role: "alert", "data-key": "undrawn" },
      `This view could not be drawn: ${wordsOf(error)}; reload the page.`,
    ),
  );
}

document.addEventListener("drawn", (event) => {
  const { detail } = /** @type {CustomEvent<{ what: News, fault: unknown }>} */ (event);
  if (detail.fault) undrawn(detail.fault);
  else if (open.hasOpened && detail.what === "state")
    document.querySelector("[data-key=undrawn]")?.remove();
});

function shell() {
  const { state } = desk;
  if (!state) return;
  const job = state.job;
  show(
    placeOf("bar"),
    h(
      "div",
      { class: "row" },
      h("img", { src: "/static/mark.svg", alt: "", width: 30, height: 30 }),
      job
        ? h("input", {
            class: "job-name",
            value: job.name,
            "aria-label": "Name of the job",
            "data-key": "job-name",
            onchange: (event) =>
              setValue(["job", "name"], event.currentTarget.value.trim() || "unnamed"),
          })
        : h("strong", {}, "Sheetwood"),
    ),
    nextStep(state),
    h(
      "div",
      { class: "row" },
      running(),
      job
        ? h(
            "label",
            { class: "row units" },
            h("span", { class: "unseen" }, "Units"),
            h(
              "select",
              {
                value: job.units,
                "data-key": "units",
                onchange: (event) => setValue(["job", "units"], event.currentTarget.value),
              },
              h("option", { value: "mm" }, "mm, g"),
              h("option", { value: "in" }, "in, oz"),
            ),
          )
        : null,
      h(
        "button",
        {
          "data-key": "undo",
          disabled: !state.undo,
          title: state.undo ? `Undo: ${state.undo}` : "Nothing to undo",
          "aria-label": state.undo ? `Undo: ${state.undo}` : "Undo",
          onclick: () => step("undo"),
        },
        icon("undo"),
      ),
      h(
        "button",
        {
          "data-key": "redo",
          disabled: !state.redo,
          title: state.redo ? `Redo: ${state.redo}` : "Nothing to redo",
          "aria-label": state.redo ? `Redo: ${state.redo}` : "Redo",
          onclick: () => step("redo"),
        },
        icon("redo"),
      ),
    ),
  );
  const isEmpty = state.is_empty || state.fault;
  placeOf("stages").hidden = Boolean(isEmpty);
  if (!isEmpty) {
    show(
      placeOf("stages"),
      STAGES.map(([name, title, drawing, , told]) =>
        h(
          "a",
          {
            class: "stage",
            href: `#${name}`,
            "aria-current": open.name === name ? "page" : null,
            "data-key": `stage-${name}`,
          },
          icon(drawing),
          h("span", {}, h("strong", {}, title), h("span", { class: "pencil" }, told(state))),
        ),
      ),
    );
  }
  fault(state.fault);
}

// What comes next on the way from the scan to the cut wood, with a way to where it is done.
/** @param {State} state */
function nextStep({ is_empty: isEmpty, fault, next }) {
  if (isEmpty || fault || !next) return h("p", { class: "next" });
  return h(
    "p",
    { class: "next", "data-key": "next" },
    h(
      "span",
      { class: "next-words", title: next.text },
      h("span", { class: "pencil" }, "Next: "),
      open.name === next.view
        ? h("span", { "data-key": "next-text" }, next.text)
        : h("a", { href: `#${next.view}`, "data-key": "next-link" }, next.text),
    ),
  );
}

function running() {
  if (desk.isGone)
    return h("p", { class: "fault gone", role: "alert" }, "The desk does not answer.");
  const task = [...desk.tasks.values()].find((one) => one.state === "running");
  if (!task) return null;
  const share = task.share === null ? null : Math.round(100 * task.share);
  return h(
    "div",
    { class: "running", role: "status" },
    h("span", { class: "running-text" }, task.text || task.title),
    share === null
      ? h("span", { class: "spin", "aria-hidden": "true" })
      : h("progress", { value: share, max: 100, "aria-label": task.title }),
    h(
      "button",
      {
        class: "quiet",
        "aria-label": `Stop: ${task.title}`,
        "data-key": "stop",
        onclick: () => stop(task.kind),
      },
      "×",
    ),
  );
}

/** @param {string | null} text */
function fault(text) {
  const place = placeOf("work");
  if (!text) return;
  open.close();
  open = { name: null, close: () => {}, hasOpened: false };
  show(
    place,
    h(
      "div",
      { class: "start" },
      h("h1", {}, "The job cannot be read"),
      h("p", { class: "fault" }, text),
      h("p", {}, "Mend job.toml in a text editor; this page looks again by itself."),
    ),
  );
}

listen((what) => {
  if (!desk.state?.fault) route();
  if (!["picture", "regions", "reading"].includes(what)) shell();
});
window.addEventListener("hashchange", () => {
  route();
  shell();
});

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  if (isHalfTyped(event.target)) return;
  event.preventDefault();
  step(event.shiftKey ? "redo" : "undo");
});

// The first Escape puts messages of faults away; only the next one means what is being done.
document.addEventListener(
  "keydown",
  (event) => {
    if (event.key !== "Escape" || document.querySelector("dialog[open]")) return;
    const faults = document.querySelectorAll("#slips .fault");
    faults.forEach((one) => one.remove());
    if (!forgetRefusals() && !faults.length) return;
    event.stopPropagation();
    event.preventDefault();
  },
  { capture: true },
);

// One after the other, each a sheet of its own; the first new one is shown.
/** @param {File[]} files */
async function take(files) {
  const before = desk.state?.plans?.length ?? 0;
  for (const file of files) {
    slip(`Reading ${file.name} …`);
    await attempt(() => send(file), `${file.name} is on the board.`);
    await refresh();
    if ((desk.state?.plans?.length ?? 0) === before + 1) choose("plan", before);
    location.hash = "#plan";
  }
}

document.addEventListener("scans-dropped", (event) =>
  take(/** @type {CustomEvent<File[]>} */ (event).detail),
);
document.addEventListener("dragover", (event) => {
  event.preventDefault();
  document.body.classList.add("dropping");
});
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) document.body.classList.remove("dropping");
});
document.addEventListener("drop", (event) => {
  event.preventDefault();
  document.body.classList.remove("dropping");
  const files = [...(event.dataTransfer?.files ?? [])];
  if (files.length) take(files);
});

hear();
