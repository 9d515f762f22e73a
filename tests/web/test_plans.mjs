// SPDX-License-Identifier: BSD-3-Clause
// Plans of a crowd without a browser: what the tables say is what the library's studies say.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import test from "node:test";
import { capsim, pageModules } from "./built.mjs";

const {
  filmPlan,
  influenceOf,
  influenceRequest,
  languages,
  layoutRows,
  layoutsOf,
  restsOf,
  secondsLeft,
  speak,
  strongest,
  visitRows,
  wordsOf,
} = await pageModules(
  `export * from "./panels/crowd_plans.js"; export * from "./words/texts.js"; export * from "./state/influence.js";
   export { wordsOf } from "./panels/influence_panel.js"; export { filmPlan, restsOf } from "./exports/film.js";`,
);
const engine = await capsim.loadEngine();
const [population] = engine.populations;
const short = {
  format: "capsim-scenario",
  version: 1,
  mesh: { around: 12, radial: 2 },
  duration_days: 30,
  output_every_days: 10,
  opening: { diameter_mm: 4 },
  contraction: { chronic_signal: 0.2 },
};
const but = (values, at, value) => values.map((v, k) => (k === at ? value : v));
const few = { population: population.name, eyes: 1 };

test("the_layouts_of_the_page_are_the_usual_ones_of_the_library", () => {
  const weak = { 3: 0.1, 4: 0.1, 5: 0.1 };
  for (const zonule of [{}, { strength_by_hour: weak }, { strength: 0.5, strength_by_hour: { 10: 0, 11: 0 } }]) {
    const plan = { ...short, duration_days: 91, output_every_days: 91, zonule };
    const stop = { onProgress: () => false }; // which layouts there are is known before any run
    const usual = engine.study({ kind: "cuts", plans: [plan], ...few }, stop);
    const sorted = (layouts) => layouts.map(({ hours, length_mm, day }) => [[...hours].sort(), length_mm, day]);
    assert.deepEqual(sorted(layoutsOf(plan, 90)), sorted(usual.layouts));
  }
});

test("a_study_of_cuts_counts_every_fork_and_its_table_has_a_row_for_every_layout", () => {
  const counted = [];
  const study = engine.study(
    { kind: "cuts", plans: [short], ...few, layouts: layoutsOf(short, 28) },
    { onProgress: (done, total) => void counted.push([done, total]) },
  );
  const forks = 3 * 3 * 2; // layouts, lengths, laws
  assert.deepEqual(counted.at(-1), [forks, forks]);
  assert.ok(new Set(counted.map(([done]) => done)).size > forks / 2, "told on the way");
  for (const language of Object.keys(languages)) {
    speak(language);
    const table = layoutRows(study),
      words = languages[language].crowdPlans;
    assert.match(table.title, /28/);
    assert.equal(table.rows.length, study.layouts.length);
    table.rows.forEach((row, i) => {
      const layout = study.layouts[i];
      assert.equal(row.length, table.head.length);
      assert.ok(row[0].startsWith(words.layouts[layout.name]), row[0]);
      const point = { en: ".", de: "," }[language];
      const medians = study.laws.map((law) => layout.area_back_mm2[law].median.toFixed(1).replace(".", point));
      assert.equal(row[1], medians.join(" / "));
      assert.equal(row.at(-1) === "✓", layout.nothing_beats);
    });
    assert.ok(study.layouts.some((layout) => layout.nothing_beats));
  }
  speak("en");
});

test("a_study_of_visits_tells_for_each_visit_how_many_eyes_it_is_the_first_to_find", () => {
  const limit = 3.9;
  const study = engine.study({ kind: "visits", plans: [short], ...few, eyes: 4, threshold: { limit } });
  const { head, rows, title } = visitRows(study);
  assert.deepEqual(head.slice(1), ["Fibres pull", "Cells pull"]);
  assert.match(title, /3\.9 mm, in 4 eyes/);
  study.laws.forEach((_, law) => {
    const found = study.schedules[law].found.reduce((sum, p) => sum + p.count, 0);
    const first = rows.slice(0, study.schedules[law].days.length).map((row) => Number(row[law + 1].split(" ")[0]));
    assert.equal(
      first.reduce((sum, n) => sum + n, 0),
      found,
    );
    assert.equal(rows.find((row) => row[0].startsWith("Under it"))[law + 1], `${study.crosses[law].count} of 4`);
  });
});

test("influence_of_the_hours_is_that_of_the_native_library_and_is_said_of_the_hour_that_matters_most", () => {
  // Uneven, so that no two hours tie: which one matters most is then told by rounding.
  const eye = {
    ...short,
    mesh: { around: 24, radial: 4 },
    output_every_days: 14,
    zonule: { strength: 0.4, strength_by_hour: { 3: 0.1, 4: 0.25 } },
  };
  const script = `import json, sys, capsim
found = capsim.influence(json.loads(sys.argv[1])) # area, lens off centre, largest load
print(json.dumps([{place: [0.1 * float(by_hour[h % 12]) for h in range(1, 13)] for place, by_hour in one.items()} for one in found.values()]))`;
  const native = JSON.parse(
    execFileSync(process.env.CAPSIM_PYTHON ?? "python3", ["-c", script, JSON.stringify(eye)], { encoding: "utf8" }),
  );
  const request = influenceRequest(eye);
  assert.equal(request.parameters.length, 24);
  const derivatives = engine.sensitivities(request);
  for (const [k, measure] of ["area", "lens", "load"].entries()) {
    const influence = influenceOf(derivatives, measure);
    assert.equal(influence.measure, measure);
    for (const place of ["zonule", "cells"]) {
      const expected = native[k][place],
        few = 1e-3 * Math.max(...expected.map(Math.abs)); // both stop at a residual, not at zero
      influence[place].forEach((v, i) =>
        assert.ok(Math.abs(v - expected[i]) <= few, `${measure}, ${place} ${i + 1}: ${v}`),
      );
    }
  }
  // Said where an hour stands out by more than the mesh makes of it, and could be seen.
  const told = but(Array(12).fill(-0.1), 6, -0.3);
  assert.deepEqual(strongest(told), { hour: 7, change: -0.3 });
  for (const language of Object.keys(languages)) {
    speak(language);
    for (const measure of ["area", "lens", "load"])
      assert.match(wordsOf("b", { measure, zonule: told, cells: told }), / B\..* 7 .*0[.,]30 .* 7 .*0[.,]30 /, measure);
  }
  speak("en");
  const gap = influenceOf(
    engine.sensitivities(influenceRequest({ ...eye, zonule: { strength: 0.4, strength_by_hour: { 3: 0 } } })),
  );
  assert.deepEqual(gap.zonule.map(Number.isNaN), but(Array(12).fill(false), 2, true), "an hour without fibres");
  assert.deepEqual(strongest(but(told, 0, Number.NaN)), { hour: 7, change: -0.3 });
  for (const none of [Array(12).fill(0.3), but(Array(12).fill(0), 3, 0.009), but(Array(12).fill(-0.3), 1, -0.31)])
    assert.equal(strongest(none), undefined);
  const alike = { measure: "area", zonule: Array(12).fill(0.3), cells: Array(12).fill(0) };
  assert.match(wordsOf("a", alike), /No hour.*No hour/);
  // Of the lens the hour is told that brings it back, though another moves it further off by more.
  const off = but(but(Array(12).fill(0), 3, -0.02), 9, 0.05);
  assert.deepEqual(strongest(off, "lens"), { hour: 4, change: -0.02 });
  assert.match(
    wordsOf("a", { measure: "lens", zonule: off, cells: Array(12).fill(0) }),
    /would move back most if the fibres at 4 o'clock were stronger/,
  );
});

test("a_film_rests_on_every_visit_and_event_and_lasts_what_its_pictures_do", () => {
  const events = [{ day: 100, relaxing_cuts: { hours: [12] } }];
  const show = { courses: { a: {} }, scenarios: { a: { ...short, events }, b: null }, duration: 365 };
  const plan = filmPlan(365, restsOf(show));
  assert.deepEqual(
    plan.filter(({ seconds }) => seconds > 0.5).map(({ day }) => day),
    [0, 1, 7, 30, 91, 100, 182, 365],
  );
  for (const [i, { day, seconds }] of plan.entries()) {
    assert.ok(i === 0 || day > plan[i - 1].day, "days go on");
    assert.ok(seconds >= 1 / 20 - 1e-9);
  }
});

test("what_is_left_of_a_study_is_told_once_something_is_done", () => {
  assert.equal(secondsLeft(0, 1, 8), undefined);
  assert.equal(secondsLeft(10, 2, 8), 60);
  assert.equal(secondsLeft(10, 2, 64), undefined, "two of 64 are no measure");
  assert.equal(secondsLeft(10, 8, 8), 0);
});
