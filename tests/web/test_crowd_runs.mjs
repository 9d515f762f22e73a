// SPDX-License-Identifier: BSD-3-Clause
// How the runs beside those of the eyes on screen are spread over workers, without a browser: these workers belong to
// the test, and answer when told.
import assert from "node:assert/strict";
import test from "node:test";
import { pageModules } from "./built.mjs";

const { CapsimError, CrowdRuns, crowdSize, helpersWanted } = await pageModules(
  `export * from "./state/crowd_runs.js"; export { crowdSize } from "./state/crowd.js";
  export { CapsimError } from "capsim";`,
);
const about = { format: "capsim-scenario", version: 1, name: "middle" };
/** Until all that is waiting has had its turn. */
const turns = () => new Promise((go) => setImmediate(go));

/** A worker that holds its runs until `answer`; what it has run, by name. */
function worker() {
  const held = [],
    ran = [];
  return {
    ran,
    closed: 0,
    get holds() {
      return held.length;
    },
    simulate(scenario, { signal }) {
      ran.push(scenario.name);
      return new Promise((resolve, reject) => {
        held.push(() => resolve({ name: scenario.name }));
        const cancelled = new CapsimError({ status: "cancelled", message: "", violations: [] });
        signal.addEventListener("abort", () => reject(cancelled));
      });
    },
    answer() {
      held.shift()();
      return turns();
    },
    close() {
      ++this.closed;
      held.length = 0;
    },
  };
}

/** What the page hears, in order. */
function listener({ none = false } = {}) {
  const heard = [];
  return {
    heard,
    crowd: (side, index, history) => heard.push(`${side}${index} ${history?.name}`),
    variant: (side, scenario, index) => (none ? undefined : { ...scenario, name: `eye ${index} of ${side}` }),
    otherLaw: (side, scenario) => ({ ...scenario, name: `law of ${side}` }),
    underOtherLaw: (side, own, other) => heard.push(`${own.name} beside ${other.name}`),
    crowdCleared: (side) => heard.push(`${side} cleared`),
  };
}

test("eyes_come_in_by_their_number_whichever_worker_is_quicker", async () => {
  const [slow, quick] = [worker(), worker()],
    page = listener(),
    runs = new CrowdRuns(slow, [quick], page);
  runs.begin("a", about, { name: "its quick answer" });
  const all = runs.run();
  await turns();
  for (let i = 0; i < 5; ++i) await quick.answer();
  assert.deepEqual([slow.ran.length, quick.ran.length], [1, 6], "nobody waits for the slow one");
  assert.deepEqual(page.heard, ["a cleared"], "eye 0 is not in");
  await slow.answer();
  assert.deepEqual(
    page.heard.slice(1, 7),
    Array.from({ length: 6 }, (_, i) => `a${i} eye ${i} of a`),
  );
  while (slow.holds + quick.holds > 0) await (quick.holds > 0 ? quick : slow).answer();
  await all;
  const crowd = page.heard.filter((words) => words.startsWith("a") && words !== "a cleared");
  assert.deepEqual(
    crowd,
    Array.from({ length: crowdSize }, (_, i) => `a${i} eye ${i} of a`),
  );
  assert.ok(page.heard.includes("its quick answer beside law of a"));
  assert.equal(runs.isDone, true);
  assert.equal(new Set([...slow.ran, ...quick.ran]).size, crowdSize + 1, "none is run twice");
});

test("two_plans_grow_in_turns", async () => {
  const [one, two] = [worker(), worker()],
    runs = new CrowdRuns(one, [two], listener());
  runs.begin("a", about);
  runs.begin("b", about);
  void runs.run();
  await turns();
  await one.answer();
  await two.answer();
  assert.deepEqual([...one.ran, ...two.ran].sort(), ["eye 0 of a", "eye 0 of b", "eye 1 of a", "eye 1 of b"]);
});

test("what_is_ended_is_run_again_and_what_is_in_is_kept", async () => {
  const [one, two] = [worker(), worker()],
    page = listener(),
    runs = new CrowdRuns(one, [two], page);
  runs.begin("a", about);
  const ended = runs.run();
  await turns();
  await one.answer();
  assert.deepEqual([one.ran, two.ran], [["eye 0 of a", "eye 2 of a"], ["eye 1 of a"]]);
  runs.abort();
  await ended;
  assert.equal(two.closed, 1, "helpers give their memory back");
  assert.equal(runs.isDone, false);
  void runs.run();
  await turns();
  assert.deepEqual([one.ran.at(-1), two.ran.at(-1)], ["eye 1 of a", "eye 2 of a"]);
  assert.deepEqual(page.heard, ["a cleared", "a0 eye 0 of a"]);
});

test("eyes_of_a_scenario_that_is_gone_are_not_heard_of", async () => {
  const one = worker(),
    page = listener(),
    runs = new CrowdRuns(one, [], page);
  runs.begin("a", about);
  const all = runs.run();
  await turns();
  runs.begin("a", undefined);
  await one.answer();
  await all;
  assert.deepEqual(page.heard, ["a cleared", "a cleared"]);
  assert.equal(runs.isDone, true, "there is nothing to do");
});

test("where_no_crowd_is_to_be_had_the_other_law_still_is_with_the_eye_itself_run_beside_it", async () => {
  const one = worker(),
    page = listener({ none: true }),
    runs = new CrowdRuns(one, [], page);
  runs.begin("a", about);
  const all = runs.run();
  await turns();
  await one.answer();
  await one.answer();
  await all;
  assert.deepEqual(one.ran, ["middle", "law of a"]);
  assert.deepEqual(page.heard, ["a cleared", "middle beside law of a"]);
});

test("helpers_are_as_many_as_the_cores_leave_and_at_most_three", () => {
  assert.deepEqual([1, 2, 4, 16].map(helpersWanted), [0, 1, 3, 3]);
});
