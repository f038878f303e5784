// Everything that is asked of the server. A refusal becomes an Error whose message is for the
// builder.

/**
 * @import {
 *   CheckAnswer, EditAnswer, FindingsAnswer, FormsAnswer, OffcutAnswer, OffcutSize, PictureAnswer,
 *   ReadingAnswer, RegionsAnswer, SnapAnswer, State, StrokesAnswer, TapAnswer, TurnAnswer,
 * } from "./answers.d.ts"
 */

export class Refusal extends Error {
  /**
   * @param {string} kind
   * @param {string} text
   */
  constructor(kind, text) {
    super(text);
    this.kind = kind;
  }
}

/**
 * @param {Response} response
 * @returns {Promise<any>}
 */
async function answered(response) {
  const isJson = (response.headers.get("content-type") || "").includes("json");
  const content = isJson ? await response.json() : null;
  if (response.ok) return content;
  const error = content?.error ?? {
    kind: "fault",
    text: "The desk did not answer as expected. Reload the page.",
  };
  throw new Refusal(error.kind, error.text);
}

/**
 * @param {string} path
 * @param {RequestInit} options
 * @returns {Promise<any>}
 */
async function asked(path, options) {
  let response;
  try {
    response = await fetch(`/api/1/${path}`, options);
  } catch {
    throw new Refusal("gone", "The desk does not answer. Is `sheetwood desk` still running?");
  }
  return answered(response);
}

/**
 * What each address answers.
 * @typedef {object} Gets
 * @property {State} state
 * @property {FindingsAnswer} findings
 * @property {FormsAnswer} forms
 */
/**
 * @typedef {{
 *   <K extends keyof Gets>(path: K): Promise<Gets[K]>,
 *   (path: `plans/${number}/picture`): Promise<PictureAnswer>,
 *   (path: `plans/${number}/strokes`): Promise<StrokesAnswer>,
 *   (path: `plans/${number}/regions`): Promise<RegionsAnswer>,
 *   (path: `plans/${number}/reading`): Promise<ReadingAnswer>,
 *   (path: `plans/${number}/snap?${string}`): Promise<SnapAnswer>,
 * }} Get
 */
export const get = /** @type {Get} */ ((/** @type {string} */ path) => asked(path, {}));

/**
 * @typedef {{
 *   (path: "edit", content: unknown): Promise<EditAnswer>,
 *   (path: "undo" | "redo", content?: unknown): Promise<TurnAnswer>,
 *   (path: "offcuts/describe", content: unknown): Promise<OffcutSize>,
 *   (path: "offcuts/keep", content: unknown): Promise<{ board: string }>,
 *   (path: string, content?: unknown): Promise<unknown>,
 * }} Post
 */
export const post = /** @type {Post} */ (
  (/** @type {string} */ path, content = {}) =>
    asked(path, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(content),
    })
);

/** @param {File} file */
export const send = (file) =>
  asked(`plans?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file });

/**
 * @param {File} file
 * @param {Record<string, string>} said
 * @returns {Promise<OffcutAnswer>}
 */
export const sendOffcut = (file, said) =>
  asked(`offcuts?${new URLSearchParams({ name: file.name, ...said })}`, {
    method: "POST",
    body: file,
  });

/**
 * @param {File} file
 * @param {Record<string, string>} said
 * @returns {Promise<CheckAnswer>}
 */
export const sendCut = (file, said) =>
  asked(`check?${new URLSearchParams({ name: file.name, ...said })}`, {
    method: "POST",
    body: file,
  });

/** @returns {Promise<ArrayBuffer>} */
export async function getModel() {
  const response = await fetch("/api/1/model/seen.glb");
  return response.ok ? response.arrayBuffer() : answered(response);
}

/**
 * @param {File} file
 * @param {string} board
 * @returns {Promise<TapAnswer>}
 */
export const sendTaps = (file, board) =>
  asked(`tap?${new URLSearchParams({ name: file.name, board })}`, { method: "POST", body: file });

/** @param {string} name */
export const fileAddress = (name) => `/api/1/files/${encodeURIComponent(name)}`;

/**
 * @param {number} plan
 * @param {number} text
 * @param {string} key
 */
export const letteringAddress = (plan, text, key) =>
  `/api/1/plans/${plan}/reading/${text}.png?${key}`;

/**
 * @param {number} plan
 * @param {string} key
 * @param {number} level
 * @param {number} column
 * @param {number} row
 */
export const tileAddress = (plan, key, level, column, row) =>
  `/api/1/plans/${plan}/tiles/${key}/${level}/${column}/${row}.png`;

// What an error says to the builder.
/** @param {unknown} error */
export const wordsOf = (error) => (error instanceof Error ? error.message : String(error));
