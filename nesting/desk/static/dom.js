// Elements from plain values. Text always goes in as text, so nothing that a file holds can become
// markup.

/** @import { Attributes, Child, Field, Kept } from "./elements.d.ts" */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @template {Element} E
 * @param {E} made
 * @param {Attributes<E> | null} attributes
 * @param {Child[]} children
 * @returns {E}
 */
function filled(made, attributes, children) {
  const element = /** @type {Kept} */ (/** @type {unknown} */ (made));
  /** @type {string[]} */
  const handlers = (element.handlers = []);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) {
      element[name] = value;
      handlers.push(name);
    } else if (name === "value") element.value = /** @type {string} */ (value);
    else if (name === "checked" || name === "selected" || name === "disabled")
      element[name] = Boolean(value);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of flat(children)) {
    if (child === null || child === undefined || child === false) continue;
    element.append(child instanceof Node ? child : document.createTextNode(String(child)));
  }
  // A select takes its value only once its options are there.
  if (element instanceof HTMLSelectElement && attributes?.value !== undefined)
    element.value = /** @type {string} */ (attributes.value ?? "");
  element.shown = element.value;
  element.shownChecked = element.checked;
  return made;
}

/**
 * @param {Child[]} children
 * @returns {(Node | string | number | boolean | null | undefined)[]}
 */
const flat = (children) => /** @type {any[]} */ (children).flat(Infinity);

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} name
 * @param {Attributes<HTMLElementTagNameMap[K]> | null} attributes
 * @param {...Child} children
 */
export const h = (name, attributes, ...children) =>
  filled(document.createElement(name), attributes, children);
/**
 * @template {keyof SVGElementTagNameMap} K
 * @param {K} name
 * @param {Attributes<SVGElementTagNameMap[K]> | null} attributes
 * @param {...Child} children
 */
export const s = (name, attributes, ...children) =>
  filled(document.createElementNS(SVG, name), attributes, children);

// Bring the content of `place` to what is given. Elements that are there already are kept and
// changed, so that the keyboard, a half-typed word, a press that has begun and the place of a
// scroll bar stay where they are. Handlers therefore speak of `event.currentTarget`, never of the
// element that they were made with.
/**
 * @param {Element} place
 * @param {...Child} children
 */
export function show(place, ...children) {
  for (const { before } of notOfViews) before();
  bring(place, children);
  for (const { after } of notOfViews) after();
}

/** @type {Set<{ before: () => void, after: () => void }>} */
const notOfViews = new Set();
// What stands among the elements of a view without being of it is taken away before the view is
// drawn and put back afterwards: elements are told apart by where they stand, and a field that is
// taken for another loses the keyboard and what was typed.
/**
 * @param {() => void} before
 * @param {() => void} after
 */
export const aroundShowing = (before, after) => notOfViews.add({ before, after });

/**
 * @param {Element} place
 * @param {Child[]} children
 */
function bring(place, children) {
  const wanted = document.createDocumentFragment();
  wanted.append(...flat(children).filter((child) => child instanceof Node));
  const refocus = focusKeeper(place);
  matchChildren(place, wanted);
  refocus();
}

const FOCUSABLE =
  "a[href], button:not(:disabled), input:not(:disabled):not([type=file]), select:not(:disabled), " +
  "textarea:not(:disabled), summary, [tabindex='0']";

// What the keyboard was in may be gone once a form has been answered: then it goes to what stands
// there now, and not to the top of the page.
/**
 * @param {Element} place
 * @returns {() => void}
 */
function focusKeeper(place) {
  const active = document.activeElement;
  if (!active || !place.contains(active)) return () => {};
  /** @type {{ holder: Element, before: Element | null }[]} */
  const spots = [];
  for (let node = active; node !== place && node.parentElement; node = node.parentElement)
    spots.push({ holder: node.parentElement, before: node.previousElementSibling });
  return () => {
    if (active.isConnected) return;
    for (const { holder, before } of spots) {
      const there = [...holder.querySelectorAll(FOCUSABLE)];
      if (!holder.isConnected || !there.length) continue;
      const next = before?.isConnected
        ? there.find(
            (one) => before.compareDocumentPosition(one) === Node.DOCUMENT_POSITION_FOLLOWING,
          )
        : there[0];
      /** @type {HTMLElement | undefined} */ (next ?? there.at(-1))?.focus({ preventScroll: true });
      return;
    }
  };
}

/** @param {Node} node */
const keyOf = (node) =>
  node instanceof HTMLElement || node instanceof SVGElement ? (node.dataset.key ?? node.id) : "";
/**
 * @param {Node} one
 * @param {Node} other
 */
const isAlike = (one, other) => one.nodeName === other.nodeName && keyOf(one) === keyOf(other);

/**
 * @param {Node} old
 * @param {Node} wanted
 */
function matchChildren(old, wanted) {
  const keyed = new Map(
    [...old.childNodes].filter(keyOf).map((node) => [`${node.nodeName} ${keyOf(node)}`, node]),
  );
  let at = old.firstChild;
  for (const child of [...wanted.childNodes]) {
    const twin = keyOf(child)
      ? keyed.get(`${child.nodeName} ${keyOf(child)}`)
      : at && isAlike(at, child)
        ? at
        : null;
    if (!twin) {
      old.insertBefore(child, at);
      continue;
    }
    if (twin === at) at = at.nextSibling;
    else old.insertBefore(twin, at);
    match(twin, child);
  }
  while (at) {
    const next = at.nextSibling;
    at.remove();
    at = next;
  }
}

/**
 * @param {Node} there
 * @param {Node} made
 */
function match(there, made) {
  if (!(there instanceof Element && made instanceof Element)) {
    if (there.nodeValue !== made.nodeValue) there.nodeValue = made.nodeValue;
    return;
  }
  const old = /** @type {Kept} */ (there);
  const wanted = /** @type {Kept} */ (made);
  for (const { name } of [...old.attributes]) {
    const isTheirs = name === "open" && old.nodeName === "DETAILS";
    if (!wanted.hasAttribute(name) && !isTheirs) old.removeAttribute(name);
  }
  for (const { name, value } of wanted.attributes)
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  for (const name of old.handlers ?? []) old[name] = null;
  for (const name of wanted.handlers ?? []) old[name] = wanted[name];
  old.handlers = wanted.handlers;
  matchChildren(old, wanted);
  matchState(old, wanted);
}

// A field that is being typed in keeps what was typed, and a box what was ticked in a form that is
// not sent yet; one whose change was refused shows again what holds.
/**
 * @param {Kept} old
 * @param {Kept} wanted
 */
function matchState(old, wanted) {
  if (!("value" in old) || old.nodeName === "BUTTON" || old.nodeName === "LI") return;
  const isTicked = old.type === "checkbox" || old.type === "radio";
  if (isTicked && (old.shownChecked !== wanted.checked || wanted.onchange))
    old.checked = wanted.checked;
  old.shownChecked = wanted.checked;
  old.disabled = wanted.disabled;
  const isAnswered = old.isSent && old.shown !== wanted.shown;
  const isTyping =
    old === document.activeElement &&
    old.value !== old.shown &&
    old.nodeName !== "SELECT" &&
    !isAnswered;
  const isKeptAtOnce = Boolean(wanted.onchange);
  if (
    !isTyping &&
    old.type !== "file" &&
    (old.shown !== wanted.shown || isKeptAtOnce) &&
    old.value !== wanted.value
  )
    old.value = wanted.value;
  old.shown = wanted.shown;
}

// A field that is kept at once has been typed to its end when it tells of its change: what then
// holds anew is shown in it, though it still has the keyboard. A number that is stepped by arrows
// may be on its way to the next one.
const STEPPED = ["number", "range"];
document.addEventListener(
  "change",
  (event) => {
    const field = /** @type {Kept} */ (event.target);
    field.isSent = Boolean(field.onchange) && !STEPPED.includes(field.type);
  },
  { capture: true },
);
document.addEventListener(
  "input",
  (event) => {
    /** @type {Kept} */ (event.target).isSent = false;
  },
  { capture: true },
);

// Whether a field holds something that was typed and is not kept yet.
/** @param {EventTarget | null} target */
export const isHalfTyped = (target) =>
  target instanceof Element &&
  target.matches("input:not([type=radio]):not([type=checkbox]), textarea") &&
  /** @type {Kept} */ (target).value !== /** @type {Kept} */ (target).shown;

// What stands in a field of a form, without the blanks round it.
/**
 * @param {HTMLFormElement} form
 * @param {string} name
 */
export const typedIn = (form, name) =>
  /** @type {Field} */ (form.elements.namedItem(name)).value.trim();

/** @param {string} selector */
export const focusOn = (selector) =>
  /** @type {HTMLElement | null} */ (document.querySelector(selector))?.focus();

// The values of the boxes of a name that are ticked.
/**
 * @param {HTMLFormElement} form
 * @param {string} name
 */
export const tickedIn = (form, name) =>
  [...form.querySelectorAll(`[name=${name}]:checked`)].map(
    (box) => /** @type {HTMLInputElement} */ (box).value,
  );

// What a form holds when it is sent. The answer may come late: what was typed or ticked meanwhile
// is the next entry's.
/** @param {HTMLFormElement} form */
export function sent(form) {
  const fields = [...form.elements]
    .filter((field) => field.matches("input, select, textarea"))
    .map((element) => {
      const field = /** @type {HTMLInputElement} */ (element);
      return { field, value: field.value, checked: field.checked };
    });
  /** @param {{ field: HTMLInputElement, value: string, checked: boolean }} then */
  const isAsSent = ({ field, value, checked }) =>
    field.value === value && field.checked === checked;
  return {
    isAsSent: () => fields.every(isAsSent),
    empty: () => fields.filter(isAsSent).forEach(({ field }) => emptied(field)),
  };
}

/** @param {Field} field */
function emptied(field) {
  if (field instanceof HTMLSelectElement)
    field.selectedIndex = Math.max(
      0,
      [...field.options].findIndex((one) => one.defaultSelected),
    );
  else if (field instanceof HTMLInputElement && field.type === "checkbox")
    field.checked = field.defaultChecked;
  else field.value = field.defaultValue;
}

// A part of the page that its HTML holds from the beginning.
/** @param {string} id */
export const placeOf = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

/** @param {string | null} text */
export function speak(text) {
  placeOf("spoken").textContent = text;
}

// On a small page messages lie over the work: the field that the keyboard is in comes out from
// under them.
/** @param {Element} place */
function uncover(place) {
  const active = document.activeElement;
  if (!active?.matches("#work :is(input, select, textarea, button)")) return;
  if (active.getBoundingClientRect().bottom > place.getBoundingClientRect().top)
    active.scrollIntoView({ block: "nearest" });
}

/**
 * @param {string} text
 * @param {"note" | "fault"} kind
 */
export function slip(text, kind = "note") {
  const place = placeOf("slips");
  /** @type {HTMLElement} */
  const one = h(
    "div",
    { class: `slip ${kind}` },
    h("p", {}, text),
    h(
      "button",
      { class: "quiet", "aria-label": "Put this message away", onclick: () => one.remove() },
      "×",
    ),
  );
  place.append(one);
  while (place.children.length > 4) place.firstElementChild?.remove();
  uncover(place);
  if (kind !== "fault") setTimeout(() => one.remove(), 7000);
}
