// The one copy of how the job stands, and what may be done to it. Views listen; nobody else keeps
// state of the job.

import { get, post, Refusal, wordsOf } from "./api.js";
import { slip, speak } from "./dom.js";
import { askedAt, mended, refuse, settleRefusal } from "./refusals.js";

/** @import { FindingsAnswer, State, TaskNews } from "./answers.d.ts" */
/** @import { Render } from "./elements.d.ts" */

/** @typedef {"state" | "picture" | "regions" | "reading" | "task" | "chosen"} News */
/** @typedef {(what: News) => unknown} Listener */
/** @typedef {{ kind: string } & Record<string, unknown>} Change an edit, as the server knows it */
/** @typedef {(field: string, value: unknown) => Promise<boolean>} Setter */
/** @typedef {{ part: string | null, board: string | null, plan: number }} Chosen */

// Views open only once there is a state with a job in it: to them it is always whole.
export const desk = {
  state: /** @type {State} */ (/** @type {unknown} */ (null)),
  findings: /** @type {FindingsAnswer | null} */ (null),
  /** @type {Map<string, TaskNews>} */
  tasks: new Map(),
  isGone: false,
  /** @type {Chosen} */
  chosen: { part: null, board: null, plan: 0 },
};

/** @type {Set<Listener>} */
const listeners = new Set();
/** @param {Listener} listener */
export const listen = (listener) => {
  listeners.add(listener);
  return () => listeners.delete(listener);
};

// Open a view; one that fails while it opens hears nothing any more.
/**
 * @param {(place: HTMLElement) => Render} view
 * @param {HTMLElement} place
 */
export function opened(view, place) {
  const before = new Set(listeners);
  try {
    return view(place);
  } catch (error) {
    for (const one of listeners) if (!before.has(one)) listeners.delete(one);
    throw error;
  }
}

// A view that cannot be drawn keeps no other from being drawn; the shell says what happened.
/** @param {News} what */
function tell(what) {
  let fault = null;
  for (const listener of listeners) {
    try {
      listener(what);
    } catch (error) {
      console.error(error);
      fault ??= error;
    }
  }
  document.dispatchEvent(new CustomEvent("drawn", { detail: { what, fault } }));
}

// An answer that was under way while a task went on tells how the task stood before: a task that
// has ended does not run again, and an older one does not come back.
/** @param {TaskNews} task */
export function hearTask(task) {
  const known = desk.tasks.get(task.kind);
  const isOld =
    known &&
    (known.number > task.number ||
      (known.number === task.number && known.state !== "running" && task.state === "running"));
  if (!isOld) desk.tasks.set(task.kind, task);
}

/** @type {Promise<void> | null} */
let asking = null;
let askAgain = false;

// Many pieces of news in a row ask once; the last one is never missed.
export async function refresh() {
  if (asking) {
    askAgain = true;
    return asking;
  }
  asking = (async () => {
    do {
      askAgain = false;
      try {
        [desk.state, desk.findings] = await Promise.all([get("state"), get("findings")]);
        desk.isGone = false;
        desk.state.tasks.forEach(hearTask);
      } catch (error) {
        desk.isGone = error instanceof Refusal && ["gone", "refused"].includes(error.kind);
        slip(wordsOf(error), "fault");
      }
      tell("state");
    } while (askAgain);
  })();
  try {
    await asking;
  } finally {
    asking = null;
  }
}

// `refused` is called at once when the work was refused, before the job is asked for anew.
/**
 * @template T
 * @param {() => Promise<T>} work
 * @param {string | null} [done]
 * @param {Render} [refused]
 * @returns {Promise<T | null>} null where it was refused, never otherwise
 */
export async function attempt(work, done, refused) {
  const asked = askedAt();
  try {
    const result = await work();
    if (asked) mended(asked);
    if (done) {
      slip(done);
      speak(done);
    }
    return result ?? /** @type {any} */ (true);
  } catch (error) {
    const isAtField = asked && error instanceof Refusal && error.kind === "input";
    if (isAtField) refuse(asked, wordsOf(error));
    else slip(wordsOf(error), "fault");
    refused?.();
    await refresh();
    // Once whoever asked has drawn what follows from it.
    if (isAtField) setTimeout(() => settleRefusal(asked));
    return null;
  }
}

/**
 * @param {Change} change
 * @param {Render} [refused]
 * @returns {Promise<boolean>}
 */
export async function edit(change, refused) {
  const result = await attempt(() => post("edit", change), null, refused);
  if (result?.told) {
    slip(result.told);
    speak(result.told);
  }
  // One that was refused has asked anew already.
  if (result !== null) await refresh();
  return result !== null;
}

// Change one value of the job, or several that only make sense together. `at` is the path to it in
// job.toml: keys, and in a list the name of an entry, its number (with `seen`, the word that the
// state gave for it), or null for a new one; the value null takes it away.
/** @typedef {(string | number | null)[]} At */
/** @typedef {{ at: At, value: unknown, seen?: string | null }} Also */
/**
 * @param {At} at
 * @param {unknown} value
 * @param {string | null} [seen]
 * @param {Also[]} [also]
 */
export const setValue = (at, value, seen = null, also = []) =>
  edit({ kind: "set", at, value, seen, also });

/** @param {"undo" | "redo"} direction */
export async function step(direction) {
  const result = await attempt(() => post(direction));
  if (result?.title) {
    const text = `${direction === "undo" ? "Taken back" : "Done again"}: ${result.title}.`;
    slip(text);
    speak(text);
  }
  await refresh();
}

/**
 * @param {string} kind
 * @param {unknown} content
 */
export const start = (kind, content = {}) => attempt(() => post(`task/${kind}`, content));
/** @param {string} kind */
export const stop = (kind) => attempt(() => post(`task/${kind}/stop`));
/** @param {string} kind */
export const isRunning = (kind) => desk.tasks.get(kind)?.state === "running";

export function hear() {
  const news = new EventSource("/api/1/events");
  // A desk that was started anew counts its tasks from the beginning.
  news.addEventListener("hello", () => {
    desk.tasks.clear();
    refresh();
  });
  news.addEventListener("changed", () => refresh());
  news.addEventListener("picture", () => tell("picture"));
  news.addEventListener("regions", () => tell("regions"));
  news.addEventListener("reading", () => tell("reading"));
  news.addEventListener("task", (event) => {
    const task = JSON.parse(event.data);
    hearTask(task);
    if (task.state === "failed") slip(task.text, "fault");
    tell("task");
  });
  news.onerror = () => {
    desk.isGone = true;
    tell("task");
  };
  news.onopen = () => {
    desk.isGone = false;
    tell("task");
  };
}

/** @param {string | null} name */
export const part = (name) => desk.state?.parts?.find((one) => one.name === name) ?? null;
/** @param {string | null} name */
export const board = (name) => desk.state?.boards?.find((one) => one.name === name) ?? null;

/**
 * @template {keyof Chosen} K
 * @param {K} what
 * @param {Chosen[K]} value
 */
export function choose(what, value) {
  desk.chosen[what] = value;
  tell("chosen");
}
