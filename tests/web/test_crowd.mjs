// SPDX-License-Identifier: BSD-3-Clause
// The page's own arithmetic, without a browser: bands of crowds and the sentences made from them.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import test from "node:test";
import { capsim, pageModules } from "./built.mjs";

const { Crowd, Course, bandInWords, crowdDifference, crowdSize, marginInWords, quantile } = await pageModules(
  'export * from "./state/crowd.js"; export * from "./words/reading.js"; export { Course } from "./state/course.js";',
);

const engine = await capsim.loadEngine();
const [population] = engine.populations;
const base = {
  format: "capsim-scenario",
  version: 1,
  mesh: { around: 24, radial: 4 },
  output_every_days: 14,
  duration_days: 60,
  opening: { diameter_mm: 4.5 },
  zonule: { pull_mN: 22, strength: 0.4 },
  contraction: { fibre_modulus_kPa: 300, chronic_signal: 0.1 },
  // What rounding decides in an iteration then leaves less than is compared.
  numerics: { force_tolerance: 1e-9, time_tolerance: 1e-6 },
};
const cut = { ...base, events: [{ day: 30, relaxing_cuts: { hours: [12, 6], length_mm: 0.6 } }] };

function crowdOf(scenario, eyes = crowdSize) {
  const crowd = new Crowd(population);
  for (let i = 0; i < eyes; ++i) crowd.add(i, engine.simulate(engine.drawAround(population.name, scenario, i)));
  return crowd;
}
const plainCrowd = crowdOf(base),
  cutCrowd = crowdOf(cut);

test("a_quantile_lies_on_the_line_between_its_neighbours", () => {
  assert.equal(quantile([7], 0.1), 7);
  assert.equal(quantile([1, 2, 3, 4, 5], 0.5), 3);
  assert.ok(Math.abs(quantile([0, 10], 0.25) - 2.5) < 1e-12);
  assert.ok(Math.abs(quantile([0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 100], 0.9) - 9) < 1e-12);
});

test("a_band_is_that_of_the_native_library", () => {
  const script = `import json, sys, capsim
bands = capsim.population(sys.argv[2]).bands(capsim.Scenario.from_dict(json.loads(sys.argv[1])), ["opening_area_mm2", "zonule_load_total_mN"], 32, about=True)
print(json.dumps({"day": list(bands.day), **{n: [list(s[n]) for s in (bands.low, bands.median, bands.high)] for n in bands.low}}))`;
  const expected = JSON.parse(
    execFileSync(process.env.CAPSIM_PYTHON ?? "python3", ["-c", script, JSON.stringify(base), population.name], {
      encoding: "utf8",
    }),
  );
  assert.deepEqual(Array.from(plainCrowd.day), expected.day);
  // Both sides meet the stated shape to 1e-9 mm, and the tissue to 1e-6 of itself.
  for (const [key, name, relative] of [
    ["area", "opening_area_mm2", 1e-6],
    ["load", "zonule_load_total_mN", 1e-6],
  ]) {
    const band = plainCrowd.band(key);
    [band.low, band.median, band.high].forEach((side, k) =>
      side.forEach((v, i) =>
        assert.ok(
          Math.abs(v - expected[name][k][i]) <= relative * expected[name][k][i],
          `${name} on day ${expected.day[i]}: ${v}, native ${expected[name][k][i]}`,
        ),
      ),
    );
  }
});

test("a_band_steps_on_the_day_of_cuts_and_has_both_sides_of_it", () => {
  const before = cutCrowd.at("area", 30, true),
    after = cutCrowd.at("area", 30);
  for (let i = 0; i < 3; ++i) assert.ok(after[i] > before[i], `${before} to ${after}`);
  assert.deepEqual(
    cutCrowd.at("area", 29.999999999999).map((v) => v.toFixed(6)),
    after.map((v) => v.toFixed(6)),
    "within rounding it is that day",
  );
  const [low, , high] = cutCrowd.at("area", 20);
  assert.ok(high - low < before[2] - before[0], "the band widens as eyes contract");
});

test("two_crowds_are_compared_eye_by_eye", () => {
  const { range, less, eyes } = plainCrowd.difference(cutCrowd, "area", 60);
  assert.equal(eyes, crowdSize);
  assert.equal(less, 0, "cuts leave every eye more than it had without");
  assert.ok(range[0] > 0);
  const spread = plainCrowd.at("area", 60);
  assert.ok(range[2] - range[0] < spread[2] - spread[0], "eyes differ more than what the cuts do for them");
  assert.deepEqual(plainCrowd.difference(plainCrowd, "area", 60).range, [0, 0, 0]);
  assert.match(
    crowdDifference({ a: plainCrowd, b: cutCrowd }, 60),
    /The same 32 eyes under both: area \+\d\.\d to \+\d\.\d mm² in 8 of 10, smaller in B in 0 of 32\./,
  );
  assert.equal(crowdDifference({ a: plainCrowd }, 60), "");
});

test("an_eye_that_failed_is_counted_and_said", () => {
  const crowd = crowdOf(base, 7);
  crowd.miss();
  crowd.add(8, engine.simulate(engine.drawAround(population.name, base, 8), { onProgress: ({ day }) => day < 20 }));
  assert.deepEqual([crowd.eyes, crowd.failed], [9, 2]);
  assert.match(crowd.source, /^9 eyes, .*; 2 of them did not reach the last day$/);
  const [low, , high] = crowd.at("area", 60);
  assert.ok(Number.isFinite(low) && low < high, "the others make the band");
});

test("the_words_say_what_the_band_holds", () => {
  const course = new Course(engine.simulate(base));
  assert.deepEqual(bandInWords(plainCrowd, course, 0), [], "on day 0 all eyes are as measured");
  assert.deepEqual(bandInWords(undefined, course, 60), []);
  const [words] = bandInWords(plainCrowd, course, 60);
  const [low, high] = /between (\d\.\d) and (\d\.\d) mm across/.exec(words).slice(1).map(Number);
  const [expectedLow, , expectedHigh] = plainCrowd.at("diameter", 60);
  assert.deepEqual([low, high], [Number(expectedLow.toFixed(1)), Number(expectedHigh.toFixed(1))]);
});

test("the_words_say_what_a_margin_means_and_how_uncertain_it_is", () => {
  const history = engine.simulate(base);
  assert.deepEqual(marginInWords(new Course(history)), [], "it was not asked for");
  const words = (end, contraction_factor) => {
    history.text.runaway_margin = { end, contraction_factor, area_mm2: 1, equilibria: 9 };
    return marginInWords(new Course(history)).join(" ");
  };
  assert.match(
    words("closes", 11.2),
    /^On day 60 this eye is far from closing: the tissue at its rim would have to pull about 11 times as hard.*lost nine tenths of its area; this does not say whether or when.*differs several-fold\.$/,
  );
  assert.match(
    words("tips", 2.34),
    /some way from closing: .* about 2\.3 times .* before nothing held the opening any more;/,
  );
  assert.match(words("tips", 1.2), /is near closing/);
  assert.match(words("holds", 256), /could pull 256 times as hard .* the opening would still hold/);
  assert.match(words("nothing_pulls", 0), /no tissue pulls/);
  assert.equal(words("not_followed", 3), "", "the library's own flag says so");
});
