// What was refused stands at the field that it was asked in, until that is mended.

import { aroundShowing, h, slip, speak } from "./dom.js";

/** @import { Field } from "./elements.d.ts" */

/** @typedef {Field | HTMLFormElement} Asking */

/** @type {Map<string, string>} what is told, by the key of the field or form */
const refused = new Map();
/** @type {Asking | null} the field or form whose event is being answered */
let asking = null;
let timer = 0;

for (const kind of ["change", "submit"])
  document.addEventListener(
    kind,
    (event) => {
      asking = /** @type {Asking} */ (event.target);
      clearTimeout(timer);
      timer = window.setTimeout(() => {
        asking = null;
      });
    },
    { capture: true },
  );

// The key of the field or form that asks, while its event is being answered.
export const askedAt = () => asking?.dataset.key ?? null;

/** @param {string} key */
const placeOfKey = (key) =>
  /** @type {Asking | null} */ (
    document.querySelector(
      `#work [data-key="${CSS.escape(key)}"]:is(input, select, textarea, form)`,
    )
  );

/**
 * @param {string} key
 * @param {string} text
 */
export function refuse(key, text) {
  refused.set(key, text);
  if (placeOfKey(key)) speak(text);
  write();
  // Both are to be seen: what was asked, and below it why not.
  const note = document.getElementById(idOf(key));
  note?.scrollIntoView({ block: "nearest" });
  note?.previousElementSibling?.scrollIntoView({ block: "nearest" });
}

/** @param {string} key */
const idOf = (key) => `refused-${CSS.escape(key)}`;

// Whether what was refused stands somewhere; if its form is gone meanwhile it is told as anything
// else.
/** @param {string} key */
export function settleRefusal(key) {
  const text = refused.get(key);
  if (text === undefined || placeOfKey(key)) return;
  refused.delete(key);
  slip(text, "fault");
}

/** @param {string} key */
export function mended(key) {
  if (refused.delete(key)) write();
}

export function forgetRefusals() {
  const had = refused.size > 0;
  refused.clear();
  write();
  return had;
}

// The field of a form that the words speak of: the one whose content they quote.
/**
 * @param {HTMLFormElement} form
 * @param {string} text
 */
const spokenOf = (form, text) =>
  [...form.querySelectorAll("input:not([type=checkbox]):not([type=radio]), textarea")].find(
    (one) => {
      const { value } = /** @type {HTMLInputElement} */ (one);
      return (
        value.trim() && [`'${value.trim()}'`, `"${value.trim()}"`].some((it) => text.includes(it))
      );
    },
  );

function clear() {
  document.querySelectorAll("#work .refusal").forEach((one) => one.remove());
  document.querySelectorAll("#work [aria-describedby^='refused-']").forEach((one) => {
    one.removeAttribute("aria-invalid");
    one.removeAttribute("aria-describedby");
  });
}

function write() {
  clear();
  for (const [key, text] of refused) {
    const place = placeOfKey(key);
    if (!place) continue;
    const id = idOf(key);
    const note = h("p", { class: "refusal fault", id }, text);
    const field = place instanceof HTMLFormElement ? spokenOf(place, text) : place;
    if (field) {
      (field.closest("label") ?? field).after(note);
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", id);
    } else place.append(note);
  }
}

aroundShowing(clear, write);
