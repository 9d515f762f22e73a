// SPDX-License-Identifier: BSD-3-Clause
// The lessons without a browser: every claim from the engine's numbers, every sentence short and plain, every language whole.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import test from "node:test";
import { capsim, here, pageModules } from "./built.mjs";

const page = await pageModules(`
  export * from "./lessons/lesson_list.js"; export * from "./lessons/measure.js"; export * from "./words/verdict.js"; export * from "./words/reading.js"; export { dayReadOut } from "./words/pointed.js";
  export { toldOf } from "./state/show.js"; export { quantities } from "./state/quantity.js"; export { curveInWords } from "./stage/curves.js";
  export * from "./words/texts.js"; export { Course } from "./state/course.js"; export { summary } from "./state/eye_settings.js";
  export { populationFor, setWholeBag, wholeBag } from "./state/whole_bag.js";
  export { published, readAddress, writeAddress } from "./state/address.js"; export { directionInWords } from "./state/frame.js";`);
const { Course, find, lessons, languages, lostPercent, readAddress, speak, writeAddress } = page;
const engine = await capsim.loadEngine();
const coarse = (s) => ({ ...s, mesh: { around: 24, radial: 4 }, output_every_days: 14 });
const run = (s) => new Course(engine.simulate(coarse(s)));
const runs = new Map(lessons().map((l) => [l.key, { a: run(l.a), b: l.b ? run(l.b) : undefined }]));
const showOf = ({ a, b }, day) => ({
  courses: b ? { a, b } : { a },
  crowds: {},
  otherLaws: {},
  scenarios: { a: a.history.scenario, b: b?.history.scenario ?? null },
  day,
  duration: 365,
  cautions: [],
});
const area = (course, day) => course.at(day).area;
const wordsIn = (text) => text.split(/\s+/).filter((w) => /[\p{L}\d]/u.test(w)).length;

test("ten_lessons_run_and_each_has_an_answer_that_can_be_given", () => {
  assert.equal(lessons().length, 10);
  for (const lesson of lessons()) {
    const { a, b } = runs.get(lesson.key);
    assert.equal(a.history.status, "completed");
    const found = find(lesson.measure, a, b, lesson.day);
    assert.ok(page.answersTo(lesson.measure).includes(found.answer), lesson.key);
  }
});

test("what_a_lesson_says_is_what_the_areas_and_places_of_the_run_say", () => {
  for (const lesson of lessons()) {
    const { a, b } = runs.get(lesson.key),
      { answer } = find(lesson.measure, a, b, lesson.day);
    if (lesson.measure === "lost") {
      const lost = (c) => 100 * (1 - area(c, lesson.day) / area(c, 0));
      const more = lost(a) - lost(b);
      assert.equal(answer, Math.abs(more) < 2 ? "alike" : more > 0 ? "a" : "b", lesson.key);
    } else if (lesson.measure === "area") {
      const more = area(a, lesson.day) - area(b, lesson.day);
      assert.equal(answer, Math.abs(more) < 0.5 ? "alike" : more > 0 ? "a" : "b", lesson.key);
    } else if (lesson.measure === "direction") {
      // The gap is at 3 to 5 o'clock: to the right of the picture and down.
      const [x, y] = b.at(lesson.day).lens,
        along = x * Math.cos(-Math.PI / 6) + y * Math.sin(-Math.PI / 6);
      assert.equal(answer, Math.abs(along) < 0.05 ? "still" : along < 0 ? "away" : "towards", lesson.key);
    } else if (lesson.measure === "half") {
      const half = find("half", a, undefined, lesson.day).a;
      const total = area(a, 0) - area(a, lesson.day);
      assert.ok(Math.abs((area(a, 0) - area(a, half)) / total - 0.5) < 0.05, `${lesson.key}: day ${half}`);
    } else assert.equal(lesson.measure, "offCentre");
  }
});

// What the sentence of a lesson says beside its answer, as numbers of the same runs. One line for each sentence that is
// said today; a sentence that comes to be said and has no line here fails.
const end = (course) => course.at(course.lastDay);
const seriesEnd = (course, name) => course.history.value(name, course.history.rows - 1);
const leftToPull = (course) => Math.PI * (3 ** 2 - (end(course).diameter / 2) ** 2); // capsule on an optic of 6 mm
const bagWidth = (course) => seriesEnd(course, "equator_diameter_mm");
const claims = {
  "small b": ({ a, b }) => leftToPull(b) > leftToPull(a) && b.start.diameter < a.start.diameter,
  "sector away": ({ b }) => {
    const load = (hours) => hours.reduce((sum, h) => sum + end(b).load[h % 12], 0);
    return load([9, 10, 11]) > 0 && load([3, 4, 5]) < 1e-9; // the fibres across pull, none pulls back
  },
  "polish a": ({ a, b }) => end(b).tissue < end(a).tissue,
  "polish alike": ({ a, b }) => end(b).tissue < end(a).tissue && end(b).tissue > 0.8 * end(a).tissue,
  "look month": ({ a }) => a.loss(a.at(30)) >= 0.5 * a.loss(end(a)),
  "look quarter": ({ a }) => a.loss(a.at(91)) >= 0.5 * a.loss(end(a)) && a.loss(a.at(30)) < 0.5 * a.loss(end(a)),
  "look later": ({ a }) => a.loss(a.at(91)) < 0.5 * a.loss(end(a)) && end(a).tissue > 0,
  "ring a": ({ a, b }) => bagWidth(b) > bagWidth(a) && b.loss(end(b)) > 0,
  "ring alike": ({ a, b }) => bagWidth(b) > bagWidth(a) && b.loss(end(b)) > 0,
  "ringsize alike": ({ a, b }) =>
    seriesEnd(b, "ring_load_mN") > seriesEnd(a, "ring_load_mN") && bagWidth(b) - bagWidth(a) < 0.25 * (14.5 - 12.3),
  "ringsize a": ({ a, b }) => seriesEnd(b, "ring_load_mN") > seriesEnd(a, "ring_load_mN") && bagWidth(b) > bagWidth(a),
  "ringsize b": ({ a, b }) => end(b).loadTotal < end(a).loadTotal,
  "when a": ({ a, b }) => a.at(182).area > b.at(181).area,
  "when b": ({ b }) => b.at(181).area - end(b).area < b.at(182).area - b.at(181).area,
  "when alike": ({ a, b }) =>
    a.at(181).area > b.at(181).area && b.relief(182) > a.relief(30) && Math.abs(end(a).area - end(b).area) < 0.5,
  "number b": ({ a, b }) => b.at(182).smallest > a.at(182).smallest && a.at(182).smallest < a.at(90).smallest,
  "side b": ({ b }) => b.at(182).opening[0] > 0, // cuts at 1 to 4 o'clock: to the right of the picture
  "laws a": ({ a, b }) => Math.abs(a.loss(end(a)) - b.loss(end(b))) > 0.02,
  "laws b": ({ a, b }) => Math.abs(a.loss(end(a)) - b.loss(end(b))) > 0.02,
  "laws alike": ({ a, b }) => Math.abs(a.loss(end(a)) - b.loss(end(b))) < 0.02,
};

test("what_a_lesson_gives_as_its_reason_is_so_in_the_numbers_of_its_runs", (t) => {
  for (const lesson of lessons()) {
    const { a, b } = runs.get(lesson.key),
      said = `${lesson.key} ${find(lesson.measure, a, b, lesson.day).answer}`;
    t.diagnostic(said);
    assert.ok(said in claims, `${said}: its sentence is not checked`);
    assert.ok(claims[said]({ a, b }), `${said}: the runs do not say so`);
  }
});

// Two parts in 100 are where "alike" ends; a lesson is to stand clear of that, and not on one idea of what pulls alone.
const clearly = 4; // parts in 100 of the area: 0.1 mm of an opening of 5 mm, the step of a slit lamp's scale
test("a_lesson_that_names_the_greater_loss_is_clear_of_the_threshold_and_the_other_idea_of_what_pulls_says_so_too", (t) => {
  for (const lesson of lessons()) {
    const { a, b } = runs.get(lesson.key),
      found = find(lesson.measure, a, b, lesson.day);
    if (lesson.measure !== "lost" || found.answer === "alike" || lesson.key === "laws") continue;
    const [p, q] = [lesson.a, lesson.b].map((s) =>
      lostPercent(
        run(engine.underLaw(page.populationFor(engine.populations[0].name, s), coarse(s), "active_lock_in")),
        lesson.day,
      ),
    );
    t.diagnostic(`${lesson.key}: ${(found.a - found.b).toFixed(1)}, if cells pull ${(p - q).toFixed(1)} parts in 100`);
    assert.ok(Math.abs(found.a - found.b) >= clearly, lesson.key);
    assert.ok((p - q) * (found.a - found.b) > 0, `${lesson.key}: the other idea says the opposite`);
  }
});

test("lessons_about_weak_fibres_and_rings_run_with_the_whole_bag_and_all_others_with_the_rim", () => {
  for (const { key, a, b } of lessons())
    for (const scenario of b === null ? [a] : [a, b])
      assert.equal(page.wholeBag(scenario), ["sector", "ring", "ringsize"].includes(key), key);
});

test("what_contracts_is_set_there_and_back_and_has_the_numbers_of_the_population_under_either_law", async () => {
  const file = "../../libcapsim/data/populations/age_related_cataract_whole_bag.json";
  const { laws } = JSON.parse(readFileSync(join(here, file), "utf8"));
  for (const law of [undefined, "fibre_remodelling", "active_lock_in"]) {
    const plain = { format: "capsim-scenario", version: 1, zonule: { strength: 0.2 } };
    const eye = { ...plain, ...(law ? { contraction: { law } } : {}) };
    const whole = structuredClone(eye);
    page.setWholeBag(whole, true);
    assert.ok(page.wholeBag(whole) && !page.wholeBag(eye));
    assert.equal(whole.zonule.strength, 0.2);
    const complete = engine.complete(whole);
    for (const { path, value } of laws[law ?? "fibre_remodelling"].settings) {
      const [section, field] = path.split(".");
      assert.equal(complete[section][field], value, path);
    }
    page.setWholeBag(whole, false);
    assert.deepEqual(whole, eye);
    assert.equal(page.populationFor("silicone_lens", eye), "silicone_lens");
  }
  const whole = structuredClone(lessons().find(({ key }) => key === "ring").a);
  for (const { name } of engine.populations) {
    const drawn = page.populationFor(name, whole);
    assert.ok(engine.populations.some((population) => population.name === drawn) && drawn.endsWith("_whole_bag"));
  }
});

test("a_ring_holds_the_bag_that_contracts_and_the_engine_s_other_law_contracts_it_too", () => {
  const { a, b } = lessons().find(({ key }) => key === "ring");
  for (const law of ["fibre_remodelling", "active_lock_in"]) {
    const [without, withRing] = [a, b].map((s) =>
      run(engine.underLaw("age_related_cataract_whole_bag", coarse(s), law)),
    );
    const narrowed = (c) => 1 - bagWidth(c) / c.history.value("equator_diameter_mm", 0);
    assert.ok(narrowed(without) > 0.1 && narrowed(withRing) < 0.5 * narrowed(without), law);
  }
});

test("a_difference_below_what_is_noticed_is_called_alike", () => {
  const eye = run(lessons()[0].a);
  assert.equal(find("lost", eye, eye, 365).answer, "alike");
  assert.match(page.verdictOf(showOf({ a: eye, b: eye }, 365), lessons()[0]), /both are alike/);
});

test("every_verdict_has_at_most_twenty_words_in_every_language", () => {
  for (const [language] of Object.entries(languages)) {
    speak(language);
    for (const lesson of lessons())
      for (const day of [0, 1, 45, 182, 365])
        for (const about of [lesson, undefined]) {
          const verdict = page.verdictOf(showOf(runs.get(lesson.key), day), about);
          assert.ok(verdict.length > 10 && wordsIn(verdict) <= 20, `${language} ${lesson.key} day ${day}: ${verdict}`);
          assert.doesNotMatch(verdict, /NaN|undefined|-\d/);
        }
  }
  speak("en");
});

test("the_german_verdict_says_what_is_lost_once", () => {
  speak("de");
  const said = page.verdictOf(showOf(runs.get("small"), 365), lessons()[0]);
  assert.match(said, /^Nach 12 Monaten hat B \d+\u00a0% seiner Fläche verloren, A \d+\u00a0%\.$/);
  speak("en");
});

test("there_is_a_reason_for_every_answer_a_lesson_can_have", () => {
  for (const [language, words] of Object.entries(languages)) {
    for (const lesson of lessons())
      for (const answer of page.answersTo(lesson.measure))
        assert.ok(words.lessons[lesson.key].why[answer]?.length > 20, `${language} ${lesson.key} ${answer}`);
  }
});

// Flesch and Kincaid's grade, with syllables counted as groups of vowels; a formula of 1975 for technical manuals.
function grade(text) {
  const sentences = text.split(/[.?!:]+\s/).filter((s) => s.trim() !== "").length;
  const all = text.match(/[A-Za-z]+/g);
  const syllables = all.reduce((sum, word) => {
    const groups = word
      .toLowerCase()
      .replace(/e$/, "")
      .match(/[aeiouy]+/g);
    return sum + Math.max(1, groups?.length ?? 1);
  }, 0);
  return 0.39 * (all.length / sentences) + 11.8 * (syllables / all.length) - 15.59;
}

test("the_lessons_read_at_grade_eight_or_below", (t) => {
  for (const lesson of lessons()) {
    const { question, why, try: trial } = languages.en.lessons[lesson.key];
    const verdict = page.verdictOf(showOf(runs.get(lesson.key), lesson.day), lesson);
    const text = `${[question, ...Object.values(why), trial, verdict].join(" ")} `;
    t.diagnostic(`${lesson.key}: ${grade(text).toFixed(1)}`);
    assert.ok(grade(text) <= 8, `${lesson.key}: grade ${grade(text).toFixed(1)}`);
  }
});

// As a resident reads aloud, words a minute; the year by the clock, twice; half a minute for the trial.
const [wordsAMinute, yearOfClock, trying] = [130, 14, 30];
test("the_first_level_of_what_is_said_of_an_eye_reads_at_grade_eight_or_below", () => {
  for (const lesson of lessons())
    for (const day of [0, 1, 45, 182, 365]) {
      const { first } = page.wholeReading(runs.get(lesson.key).a, day);
      assert.ok(grade(`${first} `) <= 8, `${lesson.key} day ${day}: grade ${grade(`${first} `).toFixed(1)}, ${first}`);
    }
});

test("a_lesson_takes_less_than_two_minutes", (t) => {
  for (const lesson of lessons()) {
    const { title, question, why, try: trial, answers = {} } = languages.en.lessons[lesson.key];
    const verdict = page.verdictOf(showOf(runs.get(lesson.key), lesson.day), lesson);
    const longest = Object.values(why).reduce((p, q) => (p.length > q.length ? p : q));
    const said = [title, question, ...Object.values(answers), longest, verdict, trial].join(" ");
    const seconds = (60 * wordsIn(said)) / wordsAMinute + 2 * yearOfClock + trying;
    t.diagnostic(`${lesson.key}: ${seconds.toFixed(0)} s`);
    assert.ok(seconds < 120, `${lesson.key}: ${seconds} s`);
  }
});

test("the_first_level_of_what_is_said_of_both_eyes_has_at_most_sixty_words_in_every_lesson_and_language", () => {
  for (const language of Object.keys(languages)) {
    speak(language);
    for (const lesson of lessons())
      for (const day of [0, 1, 45, 182, 365]) {
        const { a, b } = runs.get(lesson.key);
        const first = [a, b].filter((course) => course).map((course) => page.wholeReading(course, day).first);
        const words = wordsIn(first.join(" ")) + wordsIn(languages[language].page.inFull) + first.length;
        assert.ok(words > 10 && words <= 60, `${language} ${lesson.key} day ${day}: ${words} words`);
      }
  }
  speak("en");
});

test("no_language_lacks_a_word", () => {
  const keys = (value, at = "") =>
    typeof value === "object" && value !== null && !Array.isArray(value)
      ? Object.entries(value).flatMap(([k, v]) => keys(v, `${at}.${k}`))
      : [`${at}:${typeof value}`];
  const english = keys(languages.en).sort();
  for (const words of Object.values(languages)) assert.deepEqual(keys(words).sort(), english);
});

// Words that German took over, or that English took from Latin.
const shared = ["Film (GIF)", "Film (WebM)", "Name", "Pause", "Plan", "nasal", "normal", "temporal"];
test("no_text_of_the_second_language_is_that_of_the_first", () => {
  const same = (words, others) =>
    Object.entries(words).flatMap(([key, text]) =>
      typeof text === "string"
        ? text === others[key] && /\p{L}{3}/u.test(text)
          ? [text]
          : []
        : typeof text === "object"
          ? same(text, others[key])
          : [],
    );
  for (const [language, words] of Object.entries(languages))
    if (language !== "en") assert.deepEqual([...new Set(same(words, languages.en))].sort(), shared, language);
});

// What is English of the library's own is known to the page by its text or its name: a change there asks for a translation here.
test("cautions_populations_measurements_and_flags_of_the_library_are_known_in_every_language", () => {
  const { researchCaution, relaxingCutCaution } = engine.about;
  const code = ["run/outcomes.cpp", "run/study_visits.cpp"].map((file) =>
    readFileSync(join(here, "../../libcapsim/src", file), "utf8"),
  );
  const flags = [...code[0].matchAll(/flag(?:s\.push_back)?\(\s*\{?"([a-z_]+)"/g)].map(([, name]) => name);
  const measured = [.../measurements\{([^}]*)\}/.exec(code[1])[1].matchAll(/"(\w+)"/g)].map(([, name]) => name);
  assert.ok(flags.length >= 9 && measured.length === 6);
  assert.deepEqual([languages.en.library.research, languages.en.library.cuts], [researchCaution, relaxingCutCaution]);
  for (const [language, { library }] of Object.entries(languages)) {
    assert.deepEqual(Object.keys(library.measurements).sort(), [...measured].sort(), language);
    for (const { name, description } of engine.populations) {
      assert.ok(library.populations[name]?.length > 10, `${language}: ${name}`);
      if (language === "en") assert.equal(`${library.populations[name]}.`, description);
    }
    for (const flag of flags) {
      const said = library.flag(flag, "the library's own words", ["1.25", "3.0"]);
      assert.equal(said === "the library's own words", language === "en", `${language}: ${flag}`);
      if (language === "de") assert.doesNotMatch(said, /undefined|\d\.\d/, flag);
    }
  }
});

test("losses_are_told_from_each_eyes_own_start", () => {
  const { a, b } = runs.get("small");
  const [rowA, rowB] = page.planRows(showOf({ a, b }, 365)).rows;
  assert.equal(rowA[2], `${(100 * (1 - area(a, 365) / area(a, 0))).toFixed(0)} %`);
  assert.equal(rowB[2], `${lostPercent(b, 365).toFixed(0)} %`);
  const law = runs.get("laws");
  assert.equal(page.planRows(showOf(law, 365)).note, "");
});

test("the_table_has_a_row_for_each_of_four_plans_with_both_laws_and_marks_where_these_differ_by_more_than_the_plans", () => {
  const { a, b } = runs.get("small"),
    cells = runs.get("laws").b;
  const fibres = runs.get("laws").a;
  // Under the other law each eye loses 4 parts in 100 more than its own.
  const apart = (law) => ({ law, instead: (course, of) => of(course) + 4 });
  const show = (further) => ({
    ...showOf({ a, b }, 365),
    otherLaws: { a: apart("active_lock_in"), b: apart("active_lock_in") },
    further,
  });
  const kept = [
    { letter: "C", course: cells, otherLaw: apart("fibre_remodelling") },
    { letter: "D", course: fibres },
  ];
  const { rows, own, head, note } = page.planRows(show(kept));
  assert.deepEqual(
    rows.map((row) => row[0][0]),
    ["A", "B", "C", "D"],
  );
  assert.deepEqual(own, [2, 2, 3, 2], "fibres, fibres, cells, fibres");
  const lost = [a, b, cells, fibres].map((c) => lostPercent(c, 365)),
    said = (v) => `${v.toFixed(0).replace("-", "−")} %`;
  rows.forEach((row, i) => assert.equal(row[own[i]], said(lost[i])));
  const marked = Math.max(...lost) - Math.min(...lost) < 4;
  assert.equal(rows[2][2], said(lost[2] + 4) + (marked ? " ≠" : ""));
  assert.equal(rows[3][3], "–", "it has not run under the other law");
  assert.equal(note !== "", marked);
  assert.equal(head.length, rows[0].length);
  const twins = page.planRows({ ...show([]), courses: { a, b: a } });
  assert.match(twins.rows[0][3], / ≠$/, "two plans alike: the laws differ by more");
  assert.match(twins.note, /differ by more/);
  assert.equal(page.planRows({ ...show([]), courses: { a } }).note, "", "one plan differs from none");
});

test("with_nothing_that_holds_the_bag_its_place_and_its_margin_are_withheld_wherever_they_are_told", () => {
  const lesson = lessons().find(({ key }) => key === "side"),
    unheld = { ...lesson.b, zonule: { strength: 0 } };
  const loose = new Course(engine.simulate(coarse(unheld), { runawayMargin: true })),
    held = runs.get("side").a,
    crowd = { at: (key) => (key === "decentration" ? [0.2, 0.3, 0.4] : [10, 11, 12]), eyes: 32, courses: [] };
  assert.equal(loose.history.status, "completed");
  assert.ok(loose.unheld && !held.unheld);
  for (const language of Object.keys(languages)) {
    speak(language);
    const { verdict, reading, words, table } = languages[language],
      show = { ...showOf({ a: held, b: loose }, 182), crowds: { b: crowd } };
    const { rows, note } = page.planRows(show);
    assert.deepEqual([rows[0][5] === table.none, rows[1][5]], [false, table.none]);
    assert.match(note, new RegExp(verdict.unheld.slice(0, -1)));
    // The verdict of a lesson about a place is then about the area; no answer is right or wrong.
    assert.equal(page.verdictOf(show, lesson), page.verdictOf(show, undefined));
    assert.equal(find("offCentre", held, loose, 182), undefined);
    assert.equal(page.crowdVerdict({ ...show, crowds: {} }, lesson), "");
    const { first, rest } = page.wholeReading(loose, 365, crowd, undefined),
      said = [first, ...rest].join(" ");
    const beginning = (text) => text.split(/[\d∅]/)[0].trim();
    assert.doesNotMatch(
      said,
      new RegExp(`${beginning(reading.moved(true, "∅", "", "", ""))}|${reading.central(true)}`),
    );
    assert.equal(page.marginInWords(loose).length, 0);
    assert.ok(page.marginInWords(new Course(engine.simulate(coarse(lesson.b), { runawayMargin: true }))).length > 0);
    assert.doesNotMatch(said, /pupil|Pupille/, "nor is that of the crowd");
    assert.match(said, /8 (of|von) 10/, "but their openings are");
    assert.doesNotMatch(page.pictureInWords(loose, 182), /off centre|neben der Mitte/);
    assert.doesNotMatch(page.differenceOf(held, loose, 182), /decentration|Dezentrierung/);
    assert.match(page.differenceOf(held, held, 182), /decentration|Dezentrierung/);
    const decentration = page.quantities.find(({ key }) => key === "decentration");
    const { courses } = page.toldOf("decentration", show);
    assert.deepEqual(Object.keys(courses), ["a"]);
    assert.deepEqual(Object.keys(page.toldOf("area", show).courses), ["a", "b"]);
    assert.doesNotMatch(page.dayReadOut(show, decentration, 30), /\bB\b/);
    assert.match(page.curveInWords(decentration, {}), new RegExp(words.untold));
  }
  speak("en");
});

test("a_run_of_thirty_days_never_speaks_of_twelve_months", () => {
  const short = run({ ...lessons()[0].a, duration_days: 30 });
  const show = { ...showOf({ a: short }, 30), duration: 30 };
  assert.doesNotMatch(page.verdictOf(show, undefined), /12 months/);
  assert.equal(page.endInWords(30), "day 30");
});

test("an_eye_whose_side_nobody_stated_is_neither_nasal_nor_temporal", () => {
  for (const eye of [undefined, null, "unspecified"]) {
    assert.equal(page.directionInWords([1, 0], eye), "to the right");
    assert.doesNotMatch(page.summary({ eye }), /right eye|left eye/);
  }
  assert.equal(page.directionInWords([1, 0], "right"), "nasally");
  assert.equal(page.directionInWords([1, 0], "left"), "temporally");
});

test("an_oval_opening_is_told_as_an_oval", () => {
  assert.match(page.summary({ opening: { diameters_mm: [5.5, 4.5] } }), /5\.50 by 4\.50 mm/);
});

test("an_address_brings_back_what_it_was_made_of", () => {
  const given = { lesson: "ring", step: 3, day: 182, mode: "present", language: "de" };
  assert.deepEqual(readAddress(writeAddress(given)), given);
  const eyes = { a: { format: "capsim-scenario", version: 1, name: "Größe → 5" }, b: null };
  assert.deepEqual(readAddress(writeAddress({ eyes })).eyes, eyes);
  const kept = { ...eyes, kept: [eyes.a, { ...eyes.a, name: "D" }] };
  assert.deepEqual(readAddress(writeAddress({ eyes: kept })).eyes, kept);
});

test("the_address_of_a_class_is_one_of_the_web_or_none", () => {
  assert.equal(page.published(" https://example.org/a.html?x=1#day=3 "), "https://example.org/a.html?x=1");
  for (const wrong of ["", "example", "file:///a.html", "javascript:alert(1)", "https://"])
    assert.equal(page.published(wrong), undefined, wrong);
});

test("a_hostile_address_gives_nothing_or_says_that_it_is_damaged", () => {
  const link = (value) =>
    `#s=${Buffer.from(typeof value === "string" ? value : JSON.stringify(value)).toString("base64url")}`;
  const damaged = [
    "#s=",
    "#s=%%%",
    "#s=abc",
    link("not json"),
    link("null"),
    link("[]"),
    link({ a: null }),
    link({ a: [] }),
    link({ a: "capsim-scenario" }),
    link({ a: { format: "other" } }),
    link({ a: { format: "capsim-scenario" }, b: [] }),
    link({ a: { format: "capsim-scenario" }, b: "x" }),
    link({ a: { format: "capsim-scenario" }, kept: "x" }),
    link({ a: { format: "capsim-scenario" }, kept: [1] }),
    link({ a: { format: "capsim-scenario" }, kept: Array(3).fill({ format: "capsim-scenario" }) }),
    `#s=${"A".repeat(300_000)}`,
  ];
  for (const hash of damaged) assert.equal(readAddress(hash).eyes, "damaged", hash.slice(0, 60));
  for (const hash of [
    "#day=NaN",
    "#day=-1",
    "#day=1e9",
    "#step=9e9",
    "#step=x",
    "#mode=<script>",
    "#&&&=",
    "#day=99999999",
  ]) {
    const { day, step, mode } = readAddress(hash);
    assert.deepEqual([day, step, mode], [undefined, undefined, undefined], hash);
  }
  assert.equal(readAddress("#step=9").step, 4);
});
