// SPDX-License-Identifier: BSD-3-Clause
// The package in node: same numbers as the native library, errors as data, memory given back.
import assert from "node:assert/strict";
import { mkdir, mkdtemp, readFile, rm, symlink, writeFile } from "node:fs/promises";
import { execFileSync } from "node:child_process";
import { tmpdir } from "node:os";
import { join } from "node:path";
import test, { after } from "node:test";
import { built, capsim, here, nativeResults, scenario } from "./built.mjs";

const engine = await capsim.loadEngine();
const quick = { format: "capsim-scenario", version: 1, mesh: { around: 24, radial: 4 }, duration_days: 60 };

// The engine is the same source, but sine, exponential and power come from another C library, whose last digit may
// differ. Rounding then decides now and again whether an iteration stops a round earlier, and the answers differ by
// what is left to its tolerance. The scenarios here ask for the sharpest tolerance there is, so that nothing is left;
// in time the firm eye and the weak sector do, in which rounding decides whether the tissue takes an inner step more.
const relative = 1e-9;
// With the tolerances that everybody uses: the stated opening is met to 1e-6 mm, of an opening some millimetres wide. In
// two eyes the two take a different number of inner steps (firm: 494 and 506 rates in the same 25 steps; weak sector: 622
// and 610 in the same 35); each side is then within the tolerance of these, a tenth of the usual 1e-4, and what was seen is
// 1.1e-5 and 1.9e-5.
const oneRound = 2e-6;
const innerStep = { firm_zonule: 4e-5, weak_sector: 4e-5 };
// Not numbers of the eye: the unbalanced force is what rounding leaves behind, and the clock hour of an
// extreme is a toss between places that tie (all meridians of a round opening).
const noise = (name) => name === "residual_mN" || (name.endsWith("_hour") && name !== "fibrous_tissue_by_hour");

const files = ["firm_zonule", "weak_sector", "cuts_twice"];
const folder = await mkdtemp(join(tmpdir(), "capsim same numbers "));
after(() => rm(folder, { recursive: true }));
const everyday = {};
for (const file of files) {
  const { numerics, ...usual } = await scenario(file);
  assert.equal(numerics.force_tolerance, 1e-11);
  everyday[file] = join(folder, `${file}.json`);
  await writeFile(everyday[file], JSON.stringify(usual));
}
const sharp = Object.fromEntries(files.map((f) => [f, join(here, "scenarios", `${f}.json`)]));
const native = nativeResults([...Object.values(sharp), ...Object.values(everyday)]);

/** Largest difference over the largest value of each series. */
async function difference(path) {
  const expected = native[path];
  const history = engine.simulate(await readFile(path, "utf8"));
  assert.equal(history.status, expected.status);
  assert.deepEqual(
    history.text.series.map((s) => s.name),
    Object.keys(expected.series),
  );
  let worst = 0,
    where = "";
  for (const [name, values] of Object.entries(expected.series)) {
    const got = history.values(name);
    assert.equal(got.length, values.length, name);
    if (noise(name)) continue;
    // At least a hundredth of the unit: a quantity that is zero by symmetry (the turn of the lens) has no
    // digits of its own.
    const scale = values.reduce((most, v) => Math.max(most, Math.abs(v)), 0.01);
    values.forEach((v, i) => {
      const off = Math.abs(got[i] - v) / scale;
      if (!(off <= worst)) {
        worst = off;
        where = `${name}[${i}]`;
      }
    });
  }
  return { worst, where };
}

for (const file of files) {
  test(`${file}_has_the_numbers_of_the_native_library_to_1e-9`, async (t) => {
    const { worst, where } = await difference(sharp[file]);
    t.diagnostic(`largest difference ${worst.toExponential(1)} of the series' largest value, in ${where}`);
    assert.ok(worst <= relative, `${where} differs by ${worst} of its largest value`);
  });
  test(`${file}_with_the_usual_tolerance_differs_by_no_more_than_that`, async (t) => {
    const { worst, where } = await difference(everyday[file]);
    t.diagnostic(`largest difference ${worst.toExponential(1)} of the series' largest value, in ${where}`);
    assert.ok(worst <= (innerStep[file] ?? oneRound), `${where} differs by ${worst} of its largest value`);
  });
}

test("eyes_of_a_population_are_those_of_the_native_library", async () => {
  const base = { ...quick, lens: { optic_diameter_mm: 5.5 } };
  const path = join(folder, "base.json");
  await writeFile(path, JSON.stringify(base));
  const script = `import json, sys, capsim
base = capsim.Scenario.from_json(sys.argv[1])
def eyes(p):
    # About an eye without tissue outside the optic, a population of whole bags draws none.
    about = p.typical(base) if p.name.endswith("_whole_bag") else base
    return [about.to_dict(), *([p.draw(base, i).to_dict(), p.around(about, i).to_dict()] for i in (0, 1, 31))]
print(json.dumps({n: eyes(capsim.population(n)) for n in capsim.population_names()}))`;
  const expected = JSON.parse(
    execFileSync(process.env.CAPSIM_PYTHON ?? "python3", ["-c", script, path], { encoding: "utf8" }),
  );
  assert.deepEqual(engine.populationNames(), Object.keys(expected));
  assert.ok(
    engine.populations.every(
      (p) => p.edition.length > 0 && p.description.length > 0 && p.laws.includes("fibre_remodelling"),
    ),
  );
  const close = (got, wanted, at) => {
    if (typeof wanted !== "number") {
      if (wanted === null || typeof wanted !== "object") return assert.equal(got, wanted, at);
      assert.deepEqual(Object.keys(got), Object.keys(wanted), at);
      return Object.keys(wanted).forEach((key) => close(got[key], wanted[key], `${at}.${key}`));
    }
    assert.ok(Math.abs(got - wanted) <= 1e-14 * Math.abs(wanted), `${at}: ${got} instead of ${wanted}`); // last digit of exp
  };
  for (const [name, [about, ...eyes]] of Object.entries(expected))
    [0, 1, 31].forEach((index, k) => {
      close(engine.drawFromPopulation(name, base, index), eyes[k][0], `${name} ${index}`);
      close(engine.drawAround(name, about, index), eyes[k][1], `about ${name} ${index}`);
    });
});

test("an_eye_under_the_other_law_is_that_of_the_native_library", async () => {
  const path = join(folder, "lens.json");
  await writeFile(path, JSON.stringify({ ...quick, lens: { optic_diameter_mm: 5.5 }, zonule: { strength: 0.5 } }));
  const script = `import json, sys, capsim
base = capsim.Scenario.from_json(sys.argv[1])
eyes = lambda p: [p.typical(base), p.draw(base, 0), p.draw(base, 5)]
print(json.dumps({n: [[e.to_dict(), p.under(e, "active_lock_in").to_dict()] for e in eyes(p)]
  for n in capsim.population_names() for p in [capsim.population(n)]}))`;
  const expected = JSON.parse(
    execFileSync(process.env.CAPSIM_PYTHON ?? "python3", ["-c", script, path], { encoding: "utf8" }),
  );
  assert.deepEqual(
    Object.keys(expected),
    engine.populations.map((p) => p.name),
  );
  const flat = (value, at = "") =>
    value !== null && typeof value === "object"
      ? Object.entries(value).flatMap(([k, v]) => flat(v, `${at}.${k}`))
      : [[at, value]];
  const lastDigits = 1e-13; // of exponential and power
  for (const [name, eyes] of Object.entries(expected))
    for (const [from, to] of eyes) {
      const got = flat(engine.underLaw(name, from, "active_lock_in")),
        wanted = flat(to);
      assert.deepEqual(
        got.map(([at]) => at),
        wanted.map(([at]) => at),
      );
      got.forEach(([at, v], i) =>
        typeof v === "number"
          ? assert.ok(
              Math.abs(v - wanted[i][1]) <= lastDigits * Math.abs(v),
              `${name}${at}: ${v} instead of ${wanted[i][1]}`,
            )
          : assert.equal(v, wanted[i][1], at),
      );
      assert.deepEqual(
        engine.underLaw(name, from, "fibre_remodelling"),
        engine.complete(from),
        "under its own law it is itself",
      );
    }
});

test("plans_of_a_crowd_are_those_of_the_native_library", () => {
  const plan = {
    ...quick,
    mesh: { around: 12, radial: 2 },
    duration_days: 30,
    opening: { diameter_mm: 4 },
    zonule: { strength: 0.3 },
    contraction: { chronic_signal: 0.2 },
  };
  const wider = { ...plan, name: "wider", opening: { diameter_mm: 4.5 } };
  const layouts = [{ name: "two", hours: [12, 6], length_mm: 0.6, day: 10 }];
  const [population, eyes] = ["age_related_cataract", 1];
  const script = `import json, sys, capsim
plan, wider, layouts = json.loads(sys.argv[1])
few = dict(eyes=1)
print(json.dumps([json.loads(s.to_json()) for s in (
  capsim.compare([plan, wider], "age_related_cataract", **few),
  capsim.visits(plan, "age_related_cataract", below={"clear_circle_diameter_mm": 3.95}, **few),
  capsim.cuts(plan, "age_related_cataract", layouts, **few))]))`;
  const expected = JSON.parse(
    execFileSync(process.env.CAPSIM_PYTHON ?? "python3", ["-c", script, JSON.stringify([plan, wider, layouts])], {
      encoding: "utf8",
    }),
  );
  const counted = [];
  const given = [
    engine.study({ kind: "compare", plans: [plan, wider], population, eyes }),
    engine.study(
      { kind: "visits", plans: [plan], population, eyes, threshold: { limit: 3.95 } },
      { onProgress: (done, total) => void counted.push([done, total]) },
    ),
    engine.study({ kind: "cuts", plans: [plan], population, eyes, layouts }),
  ];
  assert.deepEqual(counted.at(-1), [2, 2], "an eye under two laws");
  assert.ok(given[1].crosses.some((p) => p.count > 0) && given[2].layouts[0].name === "two");
  const flat = (value, at = "") =>
    value !== null && typeof value === "object"
      ? Object.entries(value).flatMap(([k, v]) => flat(v, `${at}.${k}`))
      : [[at, value]];
  // Both meet the stated shape to 1e-6 mm; a day of crossing lies where a slow course, some µm a day, meets a line.
  const few = 1e-3,
    fewDays = 0.02;
  const allowed = (at, v) => (/day/.test(at) ? fewDays : few * Math.max(1, Math.abs(v)));
  // Which of two plans is better in an eye, and what a quantity that does not vary owes to what, may hang on a last digit:
  // both are counted from the values, and these are compared.
  const told = ([at]) => !/^\.(pairs|agreements?)\b|\.shares\./.test(at);
  given.forEach((study, i) => {
    const [got, wanted] = [flat(study).filter(told), flat(expected[i]).filter(told)];
    assert.deepEqual(
      got.map(([at]) => at),
      wanted.map(([at]) => at),
    );
    got.forEach(([at, v], k) =>
      typeof v === "number"
        ? assert.ok(Math.abs(v - wanted[k][1]) <= allowed(at, v), `${at}: ${v}, ${wanted[k][1]}`)
        : assert.equal(v, wanted[k][1], at),
    );
  });
});

test("derivatives_by_clock_hour_are_those_of_the_native_library_and_of_two_runs", () => {
  const eye = { ...quick, duration_days: 40, opening: { diameter_mm: 4 }, zonule: { strength: 0.4 } };
  const parameters = ["zonule.strength_by_hour.3", "contraction.cells_left_by_hour.9", "opening.diameter_mm"];
  const found = engine.sensitivities({ scenario: eye, parameters });
  assert.equal(found.message, "");
  assert.deepEqual(
    found.parameters.map((p) => p.path),
    parameters,
  );
  const script = `import json, sys, capsim
eye, paths = json.loads(sys.argv[1])
print(json.dumps([float(v) for v in capsim.sensitivities(eye, paths)["opening_area_mm2"]]))`;
  const native = JSON.parse(
    execFileSync(process.env.CAPSIM_PYTHON ?? "python3", ["-c", script, JSON.stringify([eye, parameters])], {
      encoding: "utf8",
    }),
  );
  const area = found.of("opening_area_mm2");
  const few = 1e-3; // of the largest: both stop at a residual, not at zero
  area.forEach((v, i) =>
    assert.ok(Math.abs(v - native[i]) <= few * Math.max(...native.map(Math.abs)), `${v}, ${native[i]}`),
  );
  const at = (diameter_mm) =>
    engine.simulate({ ...eye, opening: { diameter_mm } }).outcomes.values.find((o) => o.name === "opening_area_mm2")
      .value;
  const step = 0.02,
    slope = (at(4 + step) - at(4 - step)) / (2 * step);
  assert.ok(Math.abs(area[2] - slope) < 0.02 * Math.abs(slope), `${area[2]}, by two runs ${slope}`);
  assert.equal(found.of("wish"), undefined);
  assert.throws(() => engine.sensitivities({ scenario: eye, parameters: ["mesh.around"] }), {
    status: "wrong_input",
    message: /mesh/,
  });
});

test("a_study_that_nobody_knows_or_that_is_stopped_says_so", () => {
  const [{ name }] = engine.populations;
  const ask = (rest) => engine.study({ kind: "visits", plans: [quick], population: name, eyes: 2, ...rest });
  assert.throws(() => ask({ kind: "wish" }), { status: "wrong_input", message: /compare, visits or cuts/ });
  assert.throws(() => ask({ population: "nobody" }), { status: "wrong_input", message: /nobody/ });
  assert.throws(() => ask({ plans: [] }), { status: "wrong_input" });
  assert.throws(() => ask({ eyes: "many" }), { status: "wrong_input" });
  assert.throws(
    () => ask({ threshold: { limit: 99 } }),
    (error) => error.status === "wrong_input" && error.violations.length === 1,
  );
  const request = {
    kind: "compare",
    plans: [quick, { ...quick, name: "small", opening: { diameter_mm: 4 } }],
    population: name,
    eyes: 2,
  };
  assert.equal(engine.study(request, { onProgress: () => false }).cancelled, true);
});

test("a_law_that_a_population_was_not_fitted_for_is_refused_by_name", () => {
  const [{ name }] = engine.populations;
  assert.throws(() => engine.underLaw(name, quick, "wishful_thinking"), {
    status: "wrong_input",
    message: /wishful_thinking/,
  });
  assert.throws(() => engine.underLaw("pseudo", quick, "fibre_remodelling"), {
    status: "wrong_input",
    message: new RegExp(name),
  });
  assert.throws(
    () => engine.underLaw(name, { ...quick, opening: { diameter_mm: -1 } }, "fibre_remodelling"),
    /diameter_mm/,
  );
});

test("an_unknown_population_is_refused_with_the_names_there_are", () => {
  assert.throws(
    () => engine.drawFromPopulation("pseudo", quick, 0),
    (error) => {
      assert.ok(error instanceof capsim.CapsimError);
      assert.equal(error.status, "wrong_input");
      for (const name of engine.populationNames()) assert.match(error.message, new RegExp(name));
      return true;
    },
  );
  assert.throws(
    () => engine.drawAround("pseudoexfoliation", { ...quick, opening: { diameter_mm: -1 } }, 0),
    /diameter_mm/,
  );
  assert.throws(() => engine.drawAround("pseudoexfoliation", quick, -1), RangeError);
  assert.equal(engine.simulate(engine.drawAround("pseudoexfoliation", quick, 5)).status, "completed");
});

test("the_margin_to_runaway_is_that_of_the_native_library_to_1e-9_and_absent_unless_asked_for", async (t) => {
  const path = sharp.weak_sector,
    text = await readFile(path, "utf8");
  const script = `import json, sys, capsim
_, found = capsim.outcomes_with_margin(capsim.Scenario.from_json(sys.argv[1]))
print(json.dumps([found["runaway_margin"], found.descriptions["runaway_margin"]]))`;
  const [expected, meaning] = JSON.parse(
    execFileSync(process.env.CAPSIM_PYTHON ?? "python3", ["-c", script, path], { encoding: "utf8" }),
  );
  const asked = engine.simulate(text, { runawayMargin: true }),
    plain = engine.simulate(text);
  const off = Math.abs(asked.outcome("runaway_margin") - expected) / expected;
  t.diagnostic(
    `margin ${expected.toFixed(4)}, off by ${off.toExponential(1)} of it; ${asked.runawayMargin.equilibria} equilibria`,
  );
  assert.ok(off <= relative, `${asked.outcome("runaway_margin")} instead of ${expected}`);
  assert.equal(asked.outcomes.values.find((o) => o.name === "runaway_margin").description, meaning);
  assert.equal(asked.runawayMargin.contraction_factor, asked.outcome("runaway_margin"));
  assert.deepEqual(asked.numbers, plain.numbers, "the run itself is the same");
  assert.deepEqual([plain.outcome("runaway_margin"), plain.runawayMargin], [undefined, undefined]);
});

test("a_margin_is_only_of_a_last_day_that_was_reached", () => {
  const ask = (scenario, options = {}) =>
    engine.simulate({ ...quick, ...scenario }, { ...options, runawayMargin: true });
  assert.equal(ask({}).runawayMargin.end, "closes");
  assert.equal(ask({}, { onProgress: ({ day }) => day < 20 }).runawayMargin, undefined);
  assert.equal(ask({ numerics: { max_steps: 2 } }).runawayMargin, undefined);
  const still = ask({ contraction: { cells_left: 0 } });
  assert.equal(still.runawayMargin.end, "nothing_pulls");
  assert.equal(still.outcome("runaway_margin"), undefined);
  assert.throws(() => ask({ opening: { diameter_mm: -1 } }), { status: "wrong_input" });
});

test("a_repeated_run_gives_the_same_bits", async () => {
  const one = engine.simulate(await scenario("weak_sector"));
  const two = (await capsim.loadEngine()).simulate(await scenario("weak_sector"));
  assert.deepEqual(one.numbers, two.numbers);
});

test("wrong_input_is_refused_with_every_violation", () => {
  const wrong = { ...quick, opening: { diameter_mm: -1 }, zonule: { strength: 7 }, lense: {} };
  assert.throws(
    () => engine.simulate(wrong),
    (error) => {
      assert.ok(error instanceof capsim.CapsimError);
      assert.equal(error.status, "wrong_input");
      const paths = error.violations.map((v) => v.path).join(" ");
      for (const path of ["opening.diameter_mm", "zonule.strength", "lense"]) assert.match(paths, new RegExp(path));
      assert.ok(
        error.violations.some((v) => v.hint.includes("lens")),
        "a misspelt key gets a suggestion",
      );
      return true;
    },
  );
  assert.throws(() => engine.simulate("{not json"), { status: "wrong_input" });
  assert.equal(engine.simulate(quick).status, "completed", "the engine works on after a refusal");
});

test("a_numerical_outcome_is_a_status_not_an_error", () => {
  const history = engine.simulate({ ...quick, numerics: { max_steps: 2 } });
  assert.equal(history.status, "too_many_steps");
  assert.match(history.message, /time steps/);
  assert.ok(history.rows > 0 && history.day.at(-1) < 60);
});

test("progress_runs_forward_to_the_last_day", () => {
  const days = [];
  const history = engine.simulate(quick, {
    onProgress: (p) => {
      days.push(p.day);
      assert.equal(p.durationDays, 60);
    },
  });
  assert.equal(history.status, "completed");
  assert.ok(days.length > 3);
  assert.deepEqual(
    days,
    [...days].sort((a, b) => a - b),
  );
  assert.equal(days.at(-1), 60);
});

test("a_cancelled_run_keeps_the_days_it_reached", () => {
  const history = engine.simulate(quick, { onProgress: ({ day }) => day < 20 });
  assert.equal(history.status, "cancelled");
  const last = history.day.at(-1);
  assert.ok(last >= 20 && last < 60, `stopped on day ${last}`);
});

test("a_flag_in_shared_memory_cancels", () => {
  const cancelFlag = new Int32Array(new SharedArrayBuffer(4));
  assert.equal(engine.simulate(quick, { cancelFlag }).status, "completed");
  Atomics.store(cancelFlag, 0, 1);
  assert.equal(engine.simulate(quick, { cancelFlag }).status, "cancelled");
});

test("what_a_progress_callback_throws_reaches_the_caller", () => {
  const own = new Error("mine");
  assert.throws(
    () =>
      engine.simulate(quick, {
        onProgress: () => {
          throw own;
        },
      }),
    (error) => error === own,
  );
  assert.equal(engine.simulate(quick).status, "completed");
});

test("a_history_owns_its_numbers", () => {
  const history = engine.simulate(quick);
  const copy = history.numbers.slice();
  engine.simulate({ ...quick, opening: { diameter_mm: 4 } });
  assert.deepEqual(history.numbers, copy);
  assert.equal(history.numbers.buffer.byteLength, history.numbers.byteLength, "not a view of the engine's memory");
});

test("runs_give_their_memory_back", () => {
  const brief = { ...quick, mesh: { around: 12, radial: 2 }, duration_days: 10, output_every_days: 1 };
  for (let i = 0; i < 3; ++i) engine.simulate(brief);
  const before = engine.memoryBytes;
  for (let i = 0; i < 40; ++i) engine.simulate(brief);
  for (let i = 0; i < 40; ++i)
    try {
      engine.simulate({ ...brief, lense: 1 });
    } catch {
      /* refused, as it should be */
    }
  assert.equal(engine.memoryBytes, before, "80 more answers did not need more memory");
});

test("the_mirror_twin_of_the_mirror_twin_is_the_scenario", async () => {
  const start = engine.complete(await scenario("weak_sector"));
  const twin = engine.mirrored(start);
  assert.equal(twin.eye, "right");
  assert.deepEqual(Object.keys(twin.zonule.strength_by_hour).sort(), ["7", "8", "9"]);
  assert.deepEqual(engine.mirrored(twin), start);
});

test("completing_a_scenario_fills_in_defaults_and_changes_nothing_else", () => {
  const full = engine.complete(quick);
  assert.equal(full.duration_days, 60);
  assert.equal(full.mesh.around, 24);
  assert.equal(full.lens.optic_diameter_mm, 6);
  assert.deepEqual(engine.complete(full), full);
});

test("series_are_reached_by_contract_name", () => {
  const history = engine.simulate(quick);
  assert.equal(history.layout("zonule_load_mN").columns, 12);
  assert.equal(history.layout("opening_area_mm2").unit, "mm2");
  assert.ok(history.value("opening_area_mm2", 0) > 10);
  assert.throws(() => history.values("opening_area"), RangeError);
  assert.throws(() => history.value("day", history.rows), RangeError);
  assert.ok(history.points("rim_outline_mm", 0).length >= 24);
});

test("cautions_come_with_the_engine_and_with_every_result", async () => {
  assert.match(engine.about.researchCaution, /not for treating a patient/);
  assert.match(engine.about.relaxingCutCaution, /retinal detachment/);
  const cut = engine.simulate(await scenario("cuts_twice"));
  assert.deepEqual(cut.outcomes.cautions, [engine.about.researchCaution, engine.about.relaxingCutCaution]);
});

test("another_project_imports_the_package_by_name_with_its_types", async (t) => {
  const project = await mkdtemp(join(tmpdir(), "capsim web project "));
  t.after(() => rm(project, { recursive: true }));
  await mkdir(join(project, "node_modules"));
  await symlink(join(built, "package"), join(project, "node_modules/capsim"));
  await writeFile(join(project, "package.json"), '{"type": "module"}');
  const file = join(project, "use.ts");
  await writeFile(
    file,
    `import { loadEngine, type Scenario } from "capsim";
    declare const console: { log(...a: unknown[]): void };
    const scenario: Scenario = { format: "capsim-scenario", version: 1, duration_days: 30, opening: { diameter_mm: 5 } };
    // @ts-expect-error a misspelt field is a type error
    export const wrong: Scenario = { format: "capsim-scenario", version: 1, opening: { diameter: 5 } };
    const history = (await loadEngine()).simulate(scenario);
    const area: number = history.value("opening_area_mm2", history.rows - 1);
    console.log(history.status, area > 0);\n`,
  );
  execFileSync(join(built, "node_modules/.bin/tsc"), ["--strict", "--target", "es2022", "--module", "nodenext", file], {
    cwd: project,
    encoding: "utf8",
  });
  assert.equal(execFileSync(process.execPath, ["use.js"], { cwd: project, encoding: "utf8" }), "completed true\n");
});
