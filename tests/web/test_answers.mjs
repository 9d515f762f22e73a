// SPDX-License-Identifier: BSD-3-Clause
// What is computed for the eyes on screen: quick and fine answers, bands, the other law, runs that are ended.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import test, { after, before } from "node:test";
import { built, capsim } from "./built.mjs";
import {
  address,
  answered,
  crowded,
  dataset,
  drawn,
  eye,
  follow,
  hashOf,
  open,
  openAll,
  otherLaws,
  pairIn,
  pixels,
  settled,
  settles,
  slide,
  startWithPage,
  stopWithPage,
  text,
} from "./browser.mjs";

let context, page;
before(async () => {
  ({ context, page } = await startWithPage());
});
after(() => stopWithPage(page));

test("the_first_picture_is_a_quick_answer_that_the_finer_one_replaces", async () => {
  const page = await context.newPage();
  await page.addInitScript(() => {
    window.levels = [];
    new MutationObserver(() => {
      const { levelA } = document.body?.dataset ?? {};
      if (levelA !== undefined && window.levels.at(-1) !== levelA) window.levels.push(levelA);
    }).observe(document, { attributes: true, subtree: true, attributeFilter: ["data-level-a"] });
  });
  await page.goto(address + answered);
  await settled(page);
  assert.deepEqual(await page.evaluate(() => window.levels), ["coarse", "standard"]);
  assert.equal(await page.textContent(".eye[data-side=a] .level"), "");
  assert.equal(await page.isVisible(".eye[data-side=a] progress"), false);
  await page.close();
});

test("the_margin_to_runaway_is_told_at_rest_and_not_while_a_control_moves", async () => {
  const margin =
    /At 12 months this eye is (far|some way) from closing: the tissue at its rim would have to pull about \d+(\.\d)? times as hard as it does.*does not say whether or when it will.*several-fold\./;
  await follow(page, hashOf({ a: eye({ opening: { diameter_mm: 4.5 } }), b: null }));
  assert.match(await text(page, "reading"), margin);
  assert.match(await text(page, "caution"), /not for treating a patient/);
  const quick = await page.evaluate(async () => {
    const slider = document.getElementById("opening-diameter"),
      before = document.body.dataset.answers;
    for (let i = 0; document.body.dataset.answers === before || document.body.dataset.levelA !== "coarse"; ++i) {
      slider.value = String(4 + 0.05 * (i % 20));
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      await new Promise((go) => setTimeout(go, 12));
    }
    return document.getElementById("reading").textContent;
  });
  assert.match(quick, /the opening is \d/);
  assert.doesNotMatch(quick, /times as hard/);
  await page.waitForFunction(
    () =>
      document.body.dataset.levelA === "standard" &&
      /times as hard/.test(document.getElementById("reading").textContent),
  );
  await settles(page, () => slide(page, "cells-all", 0)); // no cells: nothing pulls
  assert.match(await text(page, "reading"), /no tissue pulls at the rim/);
  assert.doesNotMatch(await text(page, "reading"), /times as hard/);
});

test("a_moving_control_gets_quick_answers_and_its_last_position_is_the_one_that_is_shown", async () => {
  await follow(page, hashOf({ a: eye(), b: null }));
  const levels = await page.evaluate(async () => {
    const slider = document.getElementById("opening-diameter"),
      levels = [];
    let before = document.body.dataset.answers;
    for (let i = 0; levels.length < 3; ++i) {
      // moves until it has been answered three times
      slider.value = String(4 + 0.05 * (i % 29));
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      await new Promise((go) => setTimeout(go, 12));
      if (document.body.dataset.answers !== before) {
        levels.push(document.body.dataset.levelA);
        before = document.body.dataset.answers;
      }
    }
    return levels;
  });
  assert.deepEqual(levels, ["coarse", "coarse", "coarse"]);
  await settles(page, () => slide(page, "opening-diameter", 4.1));
  assert.equal((await dataset(page)).levelA, "standard");
  const dragged = await pixels(page);
  const fresh = await open({ hash: hashOf({ a: eye({ opening: { diameter_mm: 4.1 } }), b: null }) });
  assert.equal(await pixels(fresh), dragged);
  await fresh.close();
});

test("answers_to_positions_that_are_gone_are_dropped", async () => {
  // Every shown answer is written down with the diameter it was computed for: they must come in the order of the positions.
  await follow(page, hashOf({ a: eye(), b: null }));
  const shown = await page.evaluate(async () => {
    const slider = document.getElementById("opening-diameter"),
      shown = [];
    new MutationObserver(() => shown.push(Number(document.body.dataset.openingA))).observe(document.body, {
      attributes: true,
      attributeFilter: ["data-answers"],
    });
    for (let i = 0; i < 25; ++i) {
      slider.value = String(4 + 0.05 * i);
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      await new Promise((go) => setTimeout(go, 7));
    }
    return new Promise((done) => {
      const wait = () => (shown.filter((v) => v === 5.2).length === 2 ? done(shown) : setTimeout(wait, 20));
      wait();
    });
  });
  assert.deepEqual(
    shown,
    [...shown].sort((p, q) => p - q),
  );
  assert.ok(shown.length < 26, `${shown.length} answers for 25 positions: none was passed over`);
});

test("two_hundred_drags_leave_memory_as_it_was", async (t) => {
  const page = await context.newPage();
  // Each worker counts by how many pages of 64 KiB its engine has grown.
  await page.addInitScript(() => {
    const count = `const { grow } = WebAssembly.Memory.prototype;
      self.grown = 0;
      WebAssembly.Memory.prototype.grow = function (pages) { self.grown += pages; return grow.call(this, pages); };\n`;
    const { createObjectURL } = URL;
    URL.createObjectURL = (blob) => createObjectURL(new Blob([count, blob], { type: blob.type }));
  });
  await page.goto(address + hashOf({ a: eye(), b: null }));
  await settled(page);
  const drag = async (moves) => {
    await page.evaluate(async (count) => {
      const slider = document.getElementById("opening-diameter");
      for (let i = 0; i < count; ++i) {
        slider.value = String(4 + 0.05 * (i % 29));
        slider.dispatchEvent(new Event("input", { bubbles: true }));
        await new Promise((go) => setTimeout(go, 8));
      }
    }, moves);
    await settles(page, () => slide(page, "opening-diameter", 4.1));
    await otherLaws(page, "A");
  };
  const devtools = await context.newCDPSession(page);
  const held = async () => {
    await devtools.send("HeapProfiler.collectGarbage");
    const { usedSize, backingStorageSize } = await devtools.send("Runtime.getHeapUsage");
    // A worker whose run was given up is gone, and may still be listed for a moment.
    const engines = await Promise.all(
      page.workers().map((one) => one.evaluate(() => self.grown).catch(() => undefined)),
    );
    return { bytes: usedSize + backingStorageSize, engines: engines.filter((grown) => grown !== undefined) };
  };
  await drag(60); // what is made once is there
  const before = await held();
  assert.equal(before.engines.length, 2);
  await drag(200);
  const after = await held(),
    more = after.bytes - before.bytes;
  t.diagnostic(`${(before.bytes / 1e6).toFixed(1)} MB and ${(more / 1e3).toFixed(0)} kB more`);
  assert.ok(more < 0.1 * before.bytes, `${more} bytes more than ${before.bytes}`);
  assert.deepEqual(after.engines, before.engines, "as many engines, and none has grown");
  await page.close();
});

test("a_band_of_32_eyes_comes_when_the_controls_rest_and_goes_when_one_moves", async () => {
  const brief = (size) => eye({ duration_days: 60, opening: { diameter_mm: size } });
  await follow(page, hashOf({ a: brief(5.5), b: brief(4), spread: undefined }));
  assert.equal(await page.inputValue("#spread"), "age_related_cataract", "unless another is asked for");
  await crowded(page);
  assert.match(await text(page, "crowd-status"), /A 32 of 32, B 32 of 32/);
  assert.match(
    await text(page, "reading"),
    /In 8 of 10 eyes like this one the opening is then between \d\.\d and \d\.\d mm across/,
  );
  assert.match(await text(page, "crowd-difference"), /The same 32 eyes under both: area .* smaller in B in 32 of 32/);
  assert.match(await page.getAttribute("#curve-area", "aria-label"), /8 of 10 such eyes end between/);
  const banded = await pixels(page, "curve-area");
  await settles(page, () => slide(page, "opening-diameter", 5.45)); // A alone: B keeps its crowd
  assert.equal((await dataset(page)).crowdB, "32");
  assert.notEqual(await pixels(page, "curve-area"), banded);
  await crowded(page);
  await page.selectOption("#spread", "");
  assert.equal(await text(page, "crowd-difference"), "");
  assert.doesNotMatch(await text(page, "reading"), /8 of 10/);
  assert.match(await text(page, "uncertain-list"), /without the spread of real eyes/);
  assert.deepEqual([(await dataset(page)).crowdA, (await dataset(page)).crowdB], [undefined, undefined]);
  await page.click("#undo"); // the choice is part of what is undone, and of the link
  await crowded(page);
  await page.selectOption("#spread", "pseudoexfoliation");
  await crowded(page);
  assert.match(await text(page, "uncertain-list"), /pseudoexfoliation, edition/);
  assert.equal(pairIn(await page.inputValue("#link")).spread, "pseudoexfoliation");
});

test("where_the_whole_bag_contracts_eyes_are_drawn_from_the_population_of_that_kind_that_was_fitted_to_it", async () => {
  await follow(
    page,
    hashOf({ a: eye({ duration_days: 60 }), b: eye({ duration_days: 60 }), spread: "age_related_cataract" }),
  );
  await crowded(page);
  await page.evaluate(() => (document.getElementById("section-healing").open = true));
  await page.check("#contracts input[value=bag]"); // of A alone
  await crowded(page);
  assert.match(await text(page, "uncertain-list"), /population age_related_cataract_whole_bag, edition/);
  assert.match(await text(page, "uncertain-list"), /Here the whole bag contracts/);
  assert.equal(await page.inputValue("#spread"), "age_related_cataract", "the kind of eyes is as it was");
  assert.equal(pairIn(await page.inputValue("#link")).spread, "age_related_cataract");
  const { a, b } = pairIn(await page.inputValue("#link"));
  assert.ok(a.bag_tissue.fibre_modulus_kPa > 0 && b.bag_tissue === undefined);
  await page.click("#undo");
  await crowded(page);
  assert.doesNotMatch(await text(page, "uncertain-list"), /whole_bag/);
});

test("a_control_that_moves_ends_the_crowd_under_way", async () => {
  await follow(page, hashOf({ a: eye(), b: null, spread: "silicone_lens" }));
  await page.waitForFunction(() => document.body.dataset.crowdA !== undefined);
  const left = await page.evaluate(() => {
    const slider = document.getElementById("opening-diameter");
    slider.value = "4.7";
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    return document.body.dataset.crowdA ?? "none";
  });
  assert.equal(left, "none", "no eye of the old crowd is left");
  await crowded(page, "A");
  assert.equal(await page.inputValue("#opening-diameter-box"), "4.70");
  assert.equal((await dataset(page)).levelA, "standard", "the crowd stands about the standard answer");
});

test("where_motion_is_to_be_avoided_the_band_comes_once_and_whole", async () => {
  const page = await context.newPage();
  await page.emulateMedia({ reducedMotion: "reduce" });
  await page.goto(address + hashOf({ a: eye(), b: null, spread: "age_related_cataract" }));
  await settled(page);
  const partial = await page.evaluate(
    () =>
      new Promise((done) => {
        let pictures = new Set([document.getElementById("curve-area").toDataURL()]);
        new MutationObserver(() => {
          pictures.add(document.getElementById("curve-area").toDataURL());
          if (document.body.dataset.crowdA === "32") done(pictures.size);
        }).observe(document.getElementById("crowd-status"), { childList: true });
      }),
  );
  assert.ok(partial <= 2, `${partial} different pictures`);
  await page.close();
});

test("what_the_answer_would_be_under_the_other_contraction_law_is_told_drawn_and_gone_when_a_control_moves", async (t) => {
  const engine = await capsim.loadEngine(),
    [population] = engine.populations;
  const mine = eye({ opening: { diameter_mm: 4 }, zonule: { strength: 0.3 }, contraction: { chronic_signal: 0.3 } });
  await follow(page, hashOf({ a: mine, b: null }));
  await otherLaws(page, "A");
  assert.equal((await dataset(page)).lawA, "active_lock_in");
  assert.equal(await text(page, "law-status"), "");
  // What it differs by is that of coarse with coarse, as the engine has them.
  const coarse = { ...mine, mesh: { around: 24, radial: 4 }, output_every_days: 14 };
  const [own, other] = [coarse, engine.underLaw(population.name, coarse, "active_lock_in")].map((s) => {
    const h = engine.simulate(s);
    return h.value("opening_diameter_mm", h.rows - 1);
  });
  t.diagnostic(`${other.toFixed(3)} mm instead of ${own.toFixed(3)} mm`);
  const told = async () =>
    /Under the other hypothesis of what pulls \(([^)]*)\) the opening at 12 months would be (\d\.\d+) mm across instead of (\d\.\d+) mm \(the difference is that of the quick, coarse answer\)\./
      .exec(await text(page, "reading"))
      ?.slice(1);
  await page.click("#visit-row >> text='12 months'");
  const [what, otherMm, ownMm] = await told();
  assert.match(what, /^cells/);
  assert.ok(Math.abs(otherMm - ownMm - (other - own)) < 0.101, `${otherMm} instead of ${ownMm}`); // either is rounded to a digit
  assert.match(
    await text(page, "reading"),
    new RegExp(`At 12 months the opening is ${Number(ownMm).toFixed(1)} mm across`),
  );
  for (const id of ["curve-area", "curve-diameter"]) {
    const label = await page.getAttribute(`#${id}`, "aria-label");
    assert.match(
      label,
      /the thin line, under the other hypothesis of what pulls, ends at \d+\.\d+ instead of \d+\.\d+/,
    );
    assert.ok((await text(page, "words-text")).includes(label), "in words too");
  }
  assert.doesNotMatch(await page.getAttribute("#curve-load", "aria-label"), /thin line/);
  assert.match(await text(page, "uncertain-list"), /Two hypotheses of what pulls/);
  const gone = await page.evaluate(() => {
    const slider = document.getElementById("opening-diameter");
    slider.value = "4.2";
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    return document.body.dataset.lawA ?? "gone";
  });
  assert.equal(gone, "gone", "it stands about an eye that is no longer on screen");
  await otherLaws(page, "A");
  await openAll(page);
  await settles(page, () => page.check("#law input[value=active_lock_in]"));
  await otherLaws(page, "A");
  assert.equal((await dataset(page)).lawA, "fibre_remodelling");
  assert.match(await text(page, "reading"), /Under the other hypothesis of what pulls \(fibres, laid down stretched\)/);
});

test("a_run_that_is_aborted_ends_before_its_last_day_and_the_next_one_is_whole", async () => {
  const page = await context.newPage();
  const source = await readFile(join(built, "package/capsim.js"), "utf8");
  const result = await page.evaluate(async (text) => {
    const { Solver, CapsimError } = await import(URL.createObjectURL(new Blob([text], { type: "text/javascript" })));
    const solver = new Solver();
    const scenario = { format: "capsim-scenario", version: 1 };
    const days = [];
    const whole = await solver.simulate(
      { ...scenario, mesh: { around: 48, radial: 6 } },
      { onProgress: (p) => days.push(p.day) },
    );
    const stop = new AbortController();
    let reached = 0;
    // Stopped on the first news after day 0 of a long run: a fine mesh with a row for each day. Of so large an eye there is
    // news while it is made, too.
    const long = solver.simulate(
      { ...scenario, mesh: { around: 96, radial: 12 }, output_every_days: 1 },
      {
        signal: stop.signal,
        onProgress: (p) => {
          reached = p.day;
          if (p.day > 0) stop.abort();
        },
      },
    );
    const problem = await long.then(
      () => null,
      (error) => error,
    );
    const after = await solver.simulate({ ...scenario, duration_days: 30, mesh: { around: 24, radial: 4 } });
    const wrong = await solver.simulate({ ...scenario, opening: { diameter_mm: -1 } }).then(
      () => null,
      (error) => error,
    );
    solver.close();
    return {
      whole: whole.status,
      days,
      reached,
      problem: problem instanceof CapsimError && problem.status,
      after: after.status,
      lastDay: after.day.at(-1),
      wrong: wrong.status,
      violations: wrong.violations.length,
    };
  }, source);
  assert.equal(result.whole, "completed");
  assert.deepEqual(
    result.days,
    [...result.days].sort((p, q) => p - q),
  );
  assert.equal(result.problem, "cancelled");
  assert.ok(result.reached > 0 && result.reached < 365, `no news came after day ${result.reached}`);
  assert.deepEqual([result.after, result.lastDay], ["completed", 30]);
  assert.deepEqual([result.wrong, result.violations], ["wrong_input", 1]);
  await page.close();
});

test("a_browser_that_cannot_unpack_by_itself_still_has_an_engine_and_one_that_cannot_run_it_says_so", async () => {
  /** A page whose browser lacks something, in its workers as well: `statement` is run before anything else. */
  const lacking = async (statement) => {
    const page = await context.newPage();
    await page.addInitScript({ content: statement });
    await page.addInitScript((said) => {
      window.Blob = class extends Blob {
        constructor(parts, options) {
          super(options?.type === "text/javascript" ? [said, ...parts] : parts, options);
        }
      };
    }, statement);
    return page;
  };
  const page = await lacking("delete globalThis.DecompressionStream;");
  await page.goto(address + hashOf({ a: { ...eye(), duration_days: 10 }, b: null }));
  await drawn(page);
  assert.equal(await page.evaluate(() => typeof DecompressionStream), "undefined");
  const old = await lacking('WebAssembly.compile = () => Promise.reject(new Error("no such thing"));');
  await old.goto(`${address}#lang=en`);
  await old.waitForFunction(() => /cannot run the engine/.test(document.getElementById("trouble").textContent));
  assert.doesNotMatch(await text(old, "trouble"), /no such thing|stopped/, "in one sentence");
  await page.close();
  await old.close();
});
