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
        `The folder ‘${desk.state?.folder ?? ""}’ holds no job yet. Drop a scan of the plan ` +
          `anywhere on this page, or choose it: PNG, JPEG or TIFF.`,
      ),
      h(
        "div",
        { class: "row wrap" },
        uploader("Choose a scan"),
        h(
          "button",
          {
            class: "main",
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
          "Lay out the demo",
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
