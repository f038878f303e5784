// What the plan says: lengths and parts that were read off it, each with what it was read from, to
// take, to correct or to leave out. Nothing of it is in the job before it is taken.

import { MATERIALS } from "./aims.js";
import { get } from "./api.js";
import { focusOn, h, speak } from "./dom.js";
import * as format from "./format.js";
import { area, contains } from "./geometry.js";
import { icon } from "./icons.js";
import { isSure, lengthsIn, row, saidIn, SCALE, scaleBox } from "./saysrows.js";
import { desk, edit, setValue, start, stop } from "./store.js";

/** @import { PlanSays, ReadingAnswer, ReadLength, ReadPart } from "./answers.d.ts" */
/** @import { Child } from "./elements.d.ts" */
/** @import { Point } from "./geometry.js" */
/** @import { Pen } from "./marks.js" */
/** @import { Sheet } from "./sheet.js" */
/** @import { Also } from "./store.js" */

export class Says {
  /** @param {Sheet} sheet */
  constructor(sheet) {
    this.sheet = sheet;
    /** @type {ReadingAnswer | null} */
    this.answer = null;
    this.asked = 0;
    /** @type {string | null} the part that is pointed at beside the sheet */
    this.lit = null;
    for (const way of ["focusin", "pointerover"])
      sheet.pad.addEventListener(way, (event) => this.light(rowOf(event.target)));
    sheet.pad.addEventListener("pointerleave", () => this.light(rowOf(document.activeElement)));
    sheet.pad.addEventListener("focusout", () => this.light(null));
  }

  forget() {
    this.asked += 1;
    this.answer = this.lit = null;
  }

  // Only the newest question is answered: one that was asked of another plan, or before a change,
  // is too late.
  async load() {
    const { plan } = this.sheet;
    if (!plan || plan.is_drawing) return this.forget();
    const asked = (this.asked += 1);
    const found = await get(`plans/${plan.number}/reading`);
    if (asked !== this.asked) return;
    this.answer = found;
    this.sheet.render();
    this.sheet.viewer.draw();
  }

  // ---- what is still to be looked at -----------------------------------------------------------

  get left() {
    return new Set(this.answer?.left_out);
  }
  get says() {
    return this.answer?.says ?? null;
  }

  // The part that was read at a place: the smallest, where one is drawn within another.
  /**
   * @param {ReadPart[]} parts
   * @param {Point} at
   * @returns {ReadPart | undefined}
   */
  partAt(parts, at) {
    return parts
      .filter((part) => contains(part.outline_px, at))
      .sort((one, other) => area(one.outline_px) - area(other.outline_px))[0];
  }

  // A part is taken while the job has one that is picked in it.
  /** @returns {ReadPart[]} */
  get open() {
    const { left, sheet } = this;
    const parts = this.says?.parts ?? [];
    const picks = desk.state.parts.filter((one) => sheet.isHere(one)).flatMap((one) => one.pick);
    const taken = new Set(picks.map((at) => this.partAt(parts, at)));
    return parts.filter((part) => !left.has(part.number) && !taken.has(part));
  }

  get isScaleOpen() {
    const { says, left, sheet } = this;
    return Boolean(says?.lengths.length && !left.has(SCALE) && !sheet.plan.known.length);
  }

  get isDone() {
    const { says } = this;
    const isEmpty = !says?.lengths.length && !says?.parts.length;
    return !isEmpty && !this.isScaleOpen && !this.open.length;
  }

  get isBegun() {
    const { sheet } = this;
    return sheet.plan.known.length > 0 || desk.state.parts.some((part) => sheet.isHere(part));
  }

  // ---- taking ----------------------------------------------------------------------------------

  /** @returns {Also[]} */
  unitsOf() {
    const { says } = this;
    const isBegun = desk.state.parts.length || desk.state.plans.some((one) => one.known.length);
    return !says || isBegun || says.units === desk.state.job.units
      ? []
      : [{ at: ["job", "units"], value: says.units }];
  }

  /**
   * @param {ReadLength[]} lengths
   * @returns {Also[]}
   */
  knownOf(lengths) {
    return lengths.map(({ from, to, length }) => ({
      at: ["plan", this.sheet.plan.name, "known", null],
      value: { from, to, length },
    }));
  }

  /**
   * @param {ReadPart} part
   * @param {Record<string, unknown>} said what a person corrected
   * @param {Set<string>} taken names that are given already
   * @returns {Also}
   */
  partOf({ table }, said = {}, taken = namesTaken()) {
    const { name, ...rest } = { ...table, ...said };
    const own = freeName(String(name), taken);
    taken.add(own.toLowerCase());
    return { at: ["part", null], value: { name: own, plan: this.sheet.plan.name, ...rest } };
  }

  /**
   * @param {Also[]} changes
   * @param {string} told
   */
  async take(changes, told) {
    const [first, ...also] = [...changes, ...this.unitsOf()];
    if (first && (await setValue(first.at, first.value, null, also))) speak(told);
  }

  takeAllSure() {
    const { says } = this;
    if (!says) return;
    const taken = namesTaken();
    const scale = this.isScaleOpen && says.is_scale_sure ? formOf("says-scale") : null;
    const lengths = scale ? this.knownOf(lengthsIn(scale, says)) : [];
    const parts = this.open.filter(isSure).map((part) => {
      const form = formOf(`says-form-${part.number}`);
      return this.partOf(part, form ? saidIn(part, form) : {}, taken);
    });
    this.take([...lengths, ...parts], "All that is sure is taken.");
    this.sheet.canvas.focus({ preventScroll: true });
  }

  /**
   * @param {string[]} items
   * @param {string} called
   * @param {boolean} isLeft
   */
  leave(items, called, isLeft = true) {
    const { answer } = this;
    if (!answer) return;
    edit({ kind: "leave-out", key: answer.key, items, called, is_left: isLeft });
  }

  // ---- over the sheet --------------------------------------------------------------------------

  /** @param {Pen} pen */
  draw(pen) {
    const { says } = this;
    if (!says) return;
    if (this.isScaleOpen) for (const one of says.lengths) pen.known(one, !says.is_scale_sure);
    for (const part of this.open) {
      const isLit = this.lit === part.number;
      const sure = isSure(part);
      pen.shape([part.outline_px], sure ? "green" : "red", {
        fill: isLit ? 0.26 : 0.1,
        width: isLit ? 3.4 : 1.8,
        dash: sure ? [] : [7, 4],
      });
      if (isLit) pen.name([part.outline_px], String(part.table.name));
    }
  }

  /** @param {string | null} number */
  light(number) {
    if (this.lit === number) return;
    this.lit = number;
    this.sheet.viewer.draw();
  }

  // A click into a part that was read brings its row; whether there is one.
  /** @param {Point} at */
  pointed(at) {
    const found = this.partAt(this.open, at);
    if (!found) return false;
    focusOn(`[data-key='says-take-${found.number}']`);
    speak(`${found.table.name}, read off the plan`);
    return true;
  }

  // ---- beside the sheet ------------------------------------------------------------------------

  // A sheet that was begun by hand is not asked about; what is done with takes one line.
  /** @returns {Child} */
  pad() {
    const { answer, sheet } = this;
    if (!answer || sheet.plan.is_drawing) return null;
    if (answer.state === "none" && this.isBegun) return null;
    if (answer.says && this.isDone)
      return h(
        "details",
        { class: "says", "data-key": "says-done" },
        h("summary", { "data-key": "says-all-done" }, "What the plan says: all taken or left out"),
        this.remainder(answer.says),
      );
    return h(
      "section",
      { class: "says", "data-key": "says", "aria-label": "What the plan says" },
      h("h2", {}, "What the plan says"),
      answer.says ? this.found(answer.says) : this.waiting(answer),
    );
  }

  // For the foot of the pad, where a sheet was begun by hand.
  /** @returns {Child} */
  offer() {
    const { answer } = this;
    return answer?.state === "none" && this.isBegun && !this.sheet.plan.is_drawing
      ? this.readButton("Read what the plan says")
      : null;
  }

  /** @param {ReadingAnswer} answer */
  waiting({ state, text }) {
    if (state === "running") return this.progress();
    const told = {
      none:
        "Lengths, names, wood and counts can be read off the lettering, so that you tick " +
        "instead of type.",
      stopped: "Reading was stopped; nothing of it was kept.",
    };
    return [
      state === "none" || state === "stopped"
        ? h("p", { class: "hint" }, told[state])
        : h("p", { class: "fault" }, text),
      this.readButton(state === "none" ? "Read the plan" : "Read it again"),
    ];
  }

  progress() {
    const task = desk.tasks.get("read");
    const share = task?.state === "running" ? task.share : null;
    return [
      h(
        "p",
        { role: "status" },
        "The plan is being read",
        task?.state === "running" && task.text ? `: ${task.text}` : "",
        ". You can go on meanwhile.",
      ),
      h(
        "div",
        { class: "row" },
        h("progress", {
          value: share === null ? null : Math.round(100 * share),
          max: 100,
          "aria-label": "How much of the plan is read",
        }),
        h(
          "button",
          { type: "button", "data-key": "says-stop", onclick: () => stop("read") },
          "Stop",
        ),
      ),
    ];
  }

  /** @param {string} text */
  readButton(text) {
    return h(
      "button",
      {
        type: "button",
        "data-key": "says-read",
        onclick: async () => {
          await start("read", { plan: this.sheet.plan.number });
          this.load();
        },
      },
      text,
    );
  }

  /** @param {PlanSays} says */
  found(says) {
    if (!says.lengths.length && !says.parts.length)
      return [
        h(
          "p",
          { "data-key": "says-nothing" },
          "Nothing was read that names a part or a length. Say how long something is, and pick " +
            "the parts by hand: both are below.",
        ),
        this.readButton("Read it again"),
      ];
    const { open } = this;
    return [
      says.drawn_size
        ? h(
            "p",
            { class: "fault" },
            `The plan says ‘${says.drawn_size}’. Are the lengths on it those of the model? If ` +
              "they are those of the paper, correct them before you take them.",
          )
        : null,
      this.summary(says, open),
      this.isScaleOpen ? scaleBox(this, says) : null,
      h(
        "ul",
        { class: "plain" },
        open.map((part) => row(this, says, part)),
      ),
      this.remainder(says),
    ];
  }

  /**
   * @param {PlanSays} says
   * @param {ReadPart[]} open
   */
  summary(says, open) {
    const sure = open.filter(isSure).length;
    const isScaleSure = this.isScaleOpen && says.is_scale_sure;
    const words = [
      isScaleSure ? "the scale" : null,
      sure ? format.count(sure, "part") : null,
    ].filter(Boolean);
    return [
      h(
        "p",
        { class: "hint" },
        "Green was read surely, red wants a look. Nothing is in the job before you take it, and " +
          "undo gives it back.",
      ),
      words.length
        ? h(
            "button",
            {
              type: "button",
              class: "main wide",
              "data-key": "says-take-all",
              onclick: () => this.takeAllSure(),
            },
            `Take all that are sure: ${words.join(" and ")}`,
          )
        : null,
    ];
  }

  /** @param {PlanSays} says */
  remainder(says) {
    const { open, left } = this;
    const lost = [...left];
    return [
      h(
        "datalist",
        { id: "says-woods" },
        MATERIALS.map((name) => h("option", { value: name })),
      ),
      says.notes.map((note) => h("p", { class: "hint" }, sentence(note.text))),
      says.unlettered.length
        ? h(
            "p",
            { class: "hint" },
            `${format.count(says.unlettered.length, "more shape")} may be parts; nothing is ` +
              "lettered on them. Choose ‘pick a part’ and click into those that are.",
          )
        : null,
      open.length > 1
        ? h(
            "button",
            {
              type: "button",
              class: "quiet",
              "data-key": "says-leave-rest",
              onclick: () =>
                this.leave(
                  [...(this.isScaleOpen ? [SCALE] : []), ...open.map((part) => part.number)],
                  "the rest of what the plan says",
                ),
            },
            "Leave all the rest out",
          )
        : null,
      lost.length
        ? h(
            "button",
            {
              type: "button",
              class: "quiet",
              "data-key": "says-bring-back",
              onclick: () => this.leave(lost, "what was left out", false),
            },
            icon("undo"),
            `Bring back what was left out (${lost.length})`,
          )
        : null,
    ];
  }
}

/** @param {string} key */
const formOf = (key) =>
  /** @type {HTMLFormElement | null} */ (document.querySelector(`form[data-key=${key}]`));

/** @param {EventTarget | null} target */
const rowOf = (target) =>
  target instanceof Element
    ? (/** @type {HTMLElement | null} */ (target.closest("[data-part]"))?.dataset.part ?? null)
    : null;

const namesTaken = () => new Set(desk.state.parts.map((one) => one.name.toLowerCase()));

// A name that no part has yet: another sheet may letter the same one.
/**
 * @param {string} name
 * @param {Set<string>} taken
 */
function freeName(name, taken) {
  let own = name;
  for (let number = 2; taken.has(own.toLowerCase()); number += 1) own = `${name} (${number})`;
  return own;
}

/** @param {string} text */
const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1);
