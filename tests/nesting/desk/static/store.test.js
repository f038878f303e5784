import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import { answers, asked } from "./stand_in.js";

const store = await import("../../../../nesting/desk/static/store.js");
const { desk } = store;

const state = (more = {}) => ({ tasks: [], parts: [], boards: [], ...more });
beforeEach(() => {
  asked.length = 0;
  Object.assign(answers, { state: state(), findings: {}, edit: { revision: "2", told: null } });
});

test("news are told to those who listen, until they stop", async () => {
  /** @type {string[]} */
  const heard = [];
  const stop = store.listen((what) => heard.push(what));
  await store.refresh();
  store.choose("part", "fin");
  stop();
  store.choose("part", null);
  assert.deepEqual(heard, ["state", "chosen"]);
});

test("many news in a row ask twice at most, and the last one is never missed", async () => {
  let number = 0;
  Object.defineProperty(answers, "state", {
    configurable: true,
    get: () => state({ revision: String((number += 1)) }),
  });
  await Promise.all([store.refresh(), store.refresh(), store.refresh(), store.refresh()]);
  Object.defineProperty(answers, "state", { value: state(), writable: true, configurable: true });
  assert.equal(number, 2);
  assert.equal(desk.state.revision, "2");
});

test("the task of a kind is the last that was told", async () => {
  answers.state = state({ tasks: [{ kind: "nest", number: 1, state: "running" }] });
  await store.refresh();
  assert.ok(store.isRunning("nest"));
  answers.state = state({ tasks: [{ kind: "nest", number: 1, state: "done" }] });
  await store.refresh();
  assert.ok(!store.isRunning("nest"));
  assert.ok(!store.isRunning("assign"));
});

test("an answer from before its end does not set a task running again", async () => {
  const task = (/** @type {number} */ number, /** @type {string} */ how) =>
    /** @type {any} */ ({ kind: "follow", number, state: how });
  for (const how of ["done", "failed", "stopped"]) {
    desk.tasks.clear();
    store.hearTask(task(2, "running"));
    store.hearTask(task(2, how));
    answers.state = state({ tasks: [task(2, "running")] });
    await store.refresh();
    answers.state = state({ tasks: [task(1, "running")] });
    await store.refresh();
    assert.equal(desk.tasks.get("follow")?.state, how);
    store.hearTask(task(3, "running"));
    assert.ok(store.isRunning("follow"));
  }
});

test("an edit is sent as it is, and the job is asked for anew", async () => {
  assert.equal(await store.edit({ kind: "set-job", field: "name", value: "Sedge" }), true);
  assert.deepEqual(
    asked.map(({ path }) => path),
    ["edit", "state", "findings"],
  );
  assert.deepEqual(asked[0].body, { kind: "set-job", field: "name", value: "Sedge" });
});

test("parts and boards are found by name", async () => {
  answers.state = state({ parts: [{ name: "fin" }], boards: [{ name: "B1" }] });
  await store.refresh();
  assert.equal(store.part("fin")?.name, "fin");
  assert.equal(store.part("rudder"), null);
  assert.equal(store.board("B1")?.name, "B1");
  assert.equal(store.board(null), null);
});

test("a view that fails while it opens hears nothing any more", () => {
  let calls = 0;
  const fails = () => {
    store.listen(() => (calls += 1));
    throw new Error("no such sheet");
  };
  assert.throws(() => store.opened(fails, /** @type {any} */ (null)), /no such sheet/);
  store.choose("board", null);
  assert.equal(calls, 0);
});
