// Where a job begins: an empty folder, a scan to drop, or the demo.

import { post } from "./api.js";
import { h, show } from "./dom.js";
import { attempt, desk, refresh } from "./store.js";
import { uploader } from "./pad.js";

/** @param {HTMLElement} place */
export function startView(place) {
  show(
    place,
    h(
      "div",
      { class: "start" },
      h("h1", {}, "An empty board, and a plan in your hand"),
      h(
        "p",
        {},
        `The folder ‘${desk.state?.folder ?? ""}’ holds no job yet. Drop the plan anywhere on ` +
          `this page, all its sheets at once if it has several: a scan, a photo taken with the ` +
          `phone, or a drawing (PNG, JPEG, TIFF, PDF, SVG or DXF).`,
      ),
      h(
        "div",
        { class: "row wrap" },
        uploader("Choose the plan", { isMain: true }),
        h(
          "button",
          {
            class: "quiet",
            "data-key": "demo",
            onclick: async () => {
              await attempt(
                () => post("demo"),
                "The demo is laid out: the plan of the Sedge, a small glider, and a rack of " +
                  "ten boards.",
              );
              await refresh();
            },
          },
          "or look round with a plan of ours",
        ),
      ),
      h(
        "p",
        { class: "hint" },
        "Everything stays on this machine, in this folder. It is saved as you go.",
      ),
    ),
  );
  return () => {};
}
