// What a tool of two clicks says after the first: which it was, and the way to begin again.

import { h } from "./dom.js";

/**
 * @param {string} tool
 * @param {string} words
 * @param {() => void} again
 */
export const firstIsSet = (tool, words, again) =>
  h(
    "div",
    { class: "row wrap" },
    h("span", {}, words),
    h("button", { type: "button", "data-key": `${tool}-again`, onclick: again }, "Start over"),
  );
