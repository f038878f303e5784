// Elements from plain values. Text always goes in as text, so nothing that a file holds can become
// markup.

const SVG = "http://www.w3.org/2000/svg";

function filled(element, attributes, children) {
  element.handlers = [];
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) {
      element[name] = value;
      element.handlers.push(name);
    } else if (name === "value") element.value = value;
    else if (name === "checked" || name === "selected" || name === "disabled")
      element[name] = Boolean(value);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false) continue;
    element.append(child instanceof Node ? child : document.createTextNode(String(child)));
  }
  // A select takes its value only once its options are there.
  if (element instanceof HTMLSelectElement && attributes?.value !== undefined)
    element.value = attributes.value ?? "";
  element.shown = element.value;
  element.shownChecked = element.checked;
  return element;
}

export const h = (name, attributes, ...children) =>
  filled(document.createElement(name), attributes, children);
export const s = (name, attributes, ...children) =>
  filled(document.createElementNS(SVG, name), attributes, children);

// Bring the content of `place` to what is given. Elements that are there already are kept and
// changed, so that the keyboard, a half-typed word, a press that has begun and the place of a
// scroll bar stay where they are. Handlers therefore speak of `event.currentTarget`, never of the
// element that they were made with.
export function show(place, ...children) {
  const wanted = document.createDocumentFragment();
  wanted.append(...children.flat(Infinity).filter((child) => child instanceof Node));
  matchChildren(place, wanted);
}

const keyOf = (node) => node.dataset?.key ?? node.id ?? "";
const isAlike = (one, other) =>
  one.nodeName === other.nodeName && (keyOf(one) || "") === (keyOf(other) || "");

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

function match(old, wanted) {
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.data !== wanted.data) old.data = wanted.data;
    return;
  }
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
  ({ target }) => {
    target.isSent = Boolean(target.onchange) && !STEPPED.includes(target.type);
  },
  { capture: true },
);
document.addEventListener(
  "input",
  ({ target }) => {
    target.isSent = false;
  },
  { capture: true },
);

// What a form holds when it is sent. The answer may come late: what was typed or ticked meanwhile
// is the next entry's.
export function sent(form) {
  const fields = [...form.elements]
    .filter((field) => field.matches("input, select, textarea"))
    .map((field) => ({ field, value: field.value, checked: field.checked }));
  const isAsSent = ({ field, value, checked }) =>
    field.value === value && field.checked === checked;
  return {
    isAsSent: () => fields.every(isAsSent),
    empty: () => fields.filter(isAsSent).forEach(({ field }) => emptied(field)),
  };
}

function emptied(field) {
  if (field.nodeName === "SELECT")
    field.selectedIndex = Math.max(
      0,
      [...field.options].findIndex((one) => one.defaultSelected),
    );
  else if (field.type === "checkbox") field.checked = field.defaultChecked;
  else field.value = field.defaultValue;
}

export function speak(text) {
  document.getElementById("spoken").textContent = text;
}

// On a small page messages lie over the work: the field that the keyboard is in comes out from
// under them.
function uncover(place) {
  const active = document.activeElement;
  if (!active?.matches("#work :is(input, select, textarea, button)")) return;
  if (active.getBoundingClientRect().bottom > place.getBoundingClientRect().top)
    active.scrollIntoView({ block: "nearest" });
}

export function slip(text, kind = "note") {
  const place = document.getElementById("slips");
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
  while (place.children.length > 4) place.firstChild.remove();
  uncover(place);
  if (kind !== "fault") setTimeout(() => one.remove(), 7000);
}
