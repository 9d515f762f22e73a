// SPDX-License-Identifier: BSD-3-Clause
// Populations, studies and derivatives of the package in node: those of the native library, and refused by name.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import test, { after } from "node:test";
import { capsim } from "./built.mjs";

const engine = await capsim.loadEngine();
const quick = { format: "capsim-scenario", version: 1, mesh: { around: 24, radial: 4 }, duration_days: 60 };
const folder = await mkdtemp(join(tmpdir(), "capsim same studies "));
after(() => rm(folder, { recursive: true }));

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
