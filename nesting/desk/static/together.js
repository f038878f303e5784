// The model put together: turned, pulled apart, parts taken away, kept as a solid model or as a
// picture.

import { getModel, wordsOf } from "./api.js";
import { h, show, speak } from "./dom.js";
import { paintedDrawer } from "./drawnsolids.js";
import * as format from "./format.js";
import { readModel } from "./glb.js";
import { firstLook, nearerBy, turnedBy, VIEWS } from "./orbit.js";
import { solidDrawer } from "./solids.js";
import { choose, desk, listen } from "./store.js";

/** @import { Model } from "./glb.js" */
/** @import { Drawer } from "./solids.js" */

const TURN_DEG = 8;
const NEARER = 1.2;
const DRAG_DEG = 0.4;

/** @param {HTMLElement} place */
export function togetherView(place) {
  let look = firstLook();
  /** @type {Model | null} */
  let model = null;
  /** @type {Drawer | null} */
  let drawer = null;
  /** @type {string | null} */
  let fault = null;
  /** @type {string | null} */
  let lit = null;
  let isOpen = true;
  let asked = "";
  /** @type {Set<string>} */
  const away = new Set();
  /** @type {Set<number>} */
  const holding = new Set();

  const canvas = h("canvas", {
    class: "solids",
    tabindex: 0,
    role: "application",
    "data-key": "solids",
    "aria-label":
      "The model put together. Arrow keys turn it, plus and minus bring it nearer or farther.",
    onkeydown,
    onpointerdown: (event) => {
      holding.add(event.pointerId);
      event.currentTarget.setPointerCapture(event.pointerId);
    },
    onpointermove: (event) => {
      if (holding.has(event.pointerId))
        seenFrom(turnedBy(look, DRAG_DEG * event.movementX, DRAG_DEG * event.movementY));
      else point(event);
    },
    onpointerup: (event) => holding.delete(event.pointerId),
    onpointercancel: (event) => holding.delete(event.pointerId),
    onpointerleave: () => light(null),
    ondblclick: () => lit && choose("part", lit),
  });
  canvas.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      seenFrom(nearerBy(look, NEARER ** (-event.deltaY / 100)));
    },
    { passive: false },
  );

  /** @param {KeyboardEvent} event */
  function onkeydown(event) {
    const next = {
      ArrowLeft: () => turnedBy(look, -TURN_DEG, 0),
      ArrowRight: () => turnedBy(look, TURN_DEG, 0),
      ArrowUp: () => turnedBy(look, 0, TURN_DEG),
      ArrowDown: () => turnedBy(look, 0, -TURN_DEG),
      "+": () => nearerBy(look, NEARER),
      "-": () => nearerBy(look, 1 / NEARER),
    }[event.key];
    if (!next || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    seenFrom(next());
  }

  /** @param {MouseEvent} event */
  function point(event) {
    const box = canvas.getBoundingClientRect();
    const [x, y] = [event.clientX - box.left, event.clientY - box.top];
    light(drawer?.partAt(x / box.width, y / box.height) ?? null);
  }

  /** @param {string | null} part */
  function light(part) {
    if (part === lit) return;
    lit = part;
    render();
    draw();
  }

  /** @param {typeof look} next */
  function seenFrom(next) {
    look = next;
    draw();
  }

  function draw() {
    if (!model || !drawer || !canvas.isConnected) return;
    const style = getComputedStyle(document.documentElement);
    /** @param {string} name */
    const colour = (name) => style.getPropertyValue(name).trim();
    drawer.draw({
      bodies: model.bodies.filter((body) => !away.has(body.said.part)),
      look,
      lit,
      colours: { paper: colour("--paper"), ink: colour("--wood-line"), blue: colour("--blue") },
    });
  }

  async function load() {
    const { revision, is_followed: isFollowed } = desk.state;
    if (!isFollowed || asked === revision) return;
    asked = revision;
    try {
      const found = readModel(await getModel());
      if (!isOpen || asked !== revision) return;
      drawer?.close();
      model = found;
      fault = null;
      drawer = solidDrawer(canvas, found.bodies) ?? paintedDrawer(canvas, found.bodies);
    } catch (error) {
      fault = wordsOf(error);
      asked = "";
    }
    if (!isOpen) return;
    render();
    draw();
  }

  function render() {
    show(
      place,
      h(
        "div",
        { class: "page together" },
        h("div", { class: "row wrap between" }, h("h1", {}, "The model put together"), keeping()),
        fault ? h("p", { class: "fault" }, fault) : null,
        model || fault ? null : h("p", { class: "hint", role: "status" }, "Putting it together …"),
        h(
          "div",
          { class: "on-stand" },
          h("div", { class: "stand" }, canvas, controls()),
          model ? list(model) : null,
        ),
      ),
    );
  }

  function keeping() {
    return h(
      "div",
      { class: "row wrap" },
      h(
        "a",
        {
          class: "button",
          href: "/api/1/model.glb",
          download: "model.glb",
          "data-key": "keep-glb",
        },
        "Save as solid model (glTF)",
      ),
      h("button", { "data-key": "keep-picture", onclick: savePicture }, "Save as picture"),
    );
  }

  function savePicture() {
    draw();
    canvas.toBlob((blob) => {
      if (!blob) return;
      const address = URL.createObjectURL(blob);
      h("a", { href: address, download: "model.png" }).click();
      setTimeout(() => URL.revokeObjectURL(address), 1000);
      speak("The picture is saved.");
    }, "image/png");
  }

  function controls() {
    return h(
      "div",
      { class: "row wrap stand-controls" },
      Object.entries(VIEWS).map(([name, way]) =>
        h(
          "button",
          { "data-key": `look-${name}`, onclick: () => seenFrom({ ...look, ...way, near: 1 }) },
          name,
        ),
      ),
      h("button", { "aria-label": "Nearer", onclick: () => seenFrom(nearerBy(look, NEARER)) }, "+"),
      h(
        "button",
        { "aria-label": "Farther", onclick: () => seenFrom(nearerBy(look, 1 / NEARER)) },
        "−",
      ),
      h(
        "label",
        { class: "row apart" },
        "Pull apart",
        h("input", {
          type: "range",
          min: 0,
          max: 100,
          value: Math.round(100 * look.apart),
          "data-key": "apart",
          oninput: (event) => seenFrom({ ...look, apart: Number(event.currentTarget.value) / 100 }),
        }),
      ),
    );
  }

  /** @param {Model} found */
  function list({ bodies, notes }) {
    const names = [...new Set(bodies.map((body) => body.said.part))];
    return h(
      "section",
      { class: "slate", "aria-label": "Parts of the model" },
      h("h2", {}, "Parts"),
      names.length
        ? h(
            "ul",
            { class: "plain" },
            names.map((name) => row(name, bodies)),
          )
        : h("p", { class: "hint" }, "There are no parts yet."),
      notes.map((text) => h("p", { class: "hint" }, text[0].toUpperCase() + text.slice(1))),
    );
  }

  /**
   * @param {string} name
   * @param {Model["bodies"]} bodies
   */
  function row(name, bodies) {
    const own = bodies.filter((body) => body.said.part === name);
    const { board, place: where } = own[0].said;
    const mass = own.reduce((sum, body) => sum + (body.said.mass_g ?? 0), 0);
    const told = [
      board ?? "no board yet",
      mass ? format.mass(mass) : null,
      own.length > 1 ? `${own.length} of them` : null,
      where === "in the model" ? null : "lies beside",
    ];
    return h(
      "li",
      {
        class: lit === name ? "lit" : null,
        "data-key": `body-${name}`,
        onpointerenter: () => light(name),
        onpointerleave: () => light(null),
      },
      h(
        "label",
        { class: "row" },
        h("input", {
          type: "checkbox",
          checked: !away.has(name),
          "data-key": `shown-${name}`,
          onchange: (event) => {
            if (event.currentTarget.checked) away.delete(name);
            else away.add(name);
            draw();
          },
        }),
        h(
          "span",
          {},
          h("strong", {}, name),
          h("span", { class: "pencil" }, told.filter(Boolean).join(", ")),
        ),
      ),
    );
  }

  const scheme = window.matchMedia("(prefers-color-scheme: dark)");
  scheme.addEventListener("change", draw);
  const sized = new ResizeObserver(draw);
  const stopListening = listen((what) => what === "state" && load());
  render();
  sized.observe(canvas);
  load();
  return () => {
    isOpen = false;
    stopListening();
    sized.disconnect();
    scheme.removeEventListener("change", draw);
    drawer?.close();
  };
}
