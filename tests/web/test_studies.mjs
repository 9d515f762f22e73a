// SPDX-License-Identifier: BSD-3-Clause
// What is asked of many eyes, and which hours matter.
import assert from "node:assert/strict";
import test, { after, before } from "node:test";
import { eye, follow, hashOf, pixels, slide, startWithPage, stopWithPage, text } from "./browser.mjs";

let page;
before(async () => {
  ({ page } = await startWithPage());
});
after(() => stopWithPage(page));

test("which_hours_matter_is_told_of_the_eye_that_is_changed_when_its_fold_is_open", async () => {
  const plan = { ...eye(), duration_days: 30, opening: { diameter_mm: 4 }, zonule: { strength_by_hour: { 3: 0.2 } } };
  await follow(page, hashOf({ a: plan, b: null }));
  assert.equal(await text(page, "influence-words"), "");
  await page.click("#influence-fold summary");
  const said = (words) =>
    page.waitForFunction((at) => new RegExp(at).test(document.getElementById("influence-words").textContent), words);
  await said("^Eye A\\. .*(matter|stands out)");
  const rose = await pixels(page, "influence-zonule");
  assert.match(await page.getAttribute("#influence-zonule", "aria-label"), /A tenth more fibres.*(matter|stands out)/);
  await page.selectOption("#influence-of", "lens"); // from the same run
  await said("The lens would move back most if the fibres at .* were stronger|further off|No hour of the fibres");
  await page.selectOption("#influence-of", "area");
  await slide(page, "opening-diameter", 5);
  await page.waitForFunction(
    (was) =>
      /^Eye A/.test(document.getElementById("influence-words").textContent) &&
      document.getElementById("influence-zonule").toDataURL() !== was,
    rose,
  );
  await slide(page, "cells-all", 0); // nothing pulls: there is nothing to differentiate by
  await said("no such numbers|cells stands out");
});

test("when_to_look_is_asked_of_a_crowd_and_told_as_a_table_under_both_ideas", async () => {
  const plan = { ...eye(), duration_days: 40, opening: { diameter_mm: 4 }, contraction: { chronic_signal: 0.2 } };
  await follow(page, hashOf({ a: plan, b: null, spread: "age_related_cataract" }));
  await page.fill("#study-limit", "9");
  await page.click("#study-visits");
  await page.waitForFunction(() => /cannot be asked/.test(document.getElementById("study-status").textContent));
  assert.match(await text(page, "study-status"), /3\.|4\.|9/, "and why");
  await page.fill("#study-limit", "3.9");
  await page.click("#study-visits");
  await page.waitForFunction(() => /Running: \d+ of 32/.test(document.getElementById("study-status").textContent));
  await page.waitForSelector("#study-result table");
  const rows = await page.$$eval("#study-result tr", (all) =>
    all.map((row) => [...row.cells].map((cell) => cell.textContent)),
  );
  assert.deepEqual(rows[0].slice(1), ["Fibres pull", "Cells pull"]);
  for (const cell of rows.find((row) => row[0].startsWith("Under it"))?.slice(1) ?? ["none"])
    assert.match(cell, /^\d+ of 16$/);
  assert.match(await text(page, "study-result"), /not for treating a patient/);
  assert.match(await page.getAttribute("#dots", "aria-label"), /eyes, each a dot|Not one eye/);
});

test("where_to_cut_tells_how_far_it_is_comes_to_an_end_and_can_be_stopped", async () => {
  const mesh = { around: 12, radial: 2 }; // the study has its own
  const plan = { ...eye(), duration_days: 30, mesh, opening: { diameter_mm: 4 }, contraction: { chronic_signal: 0.2 } };
  await follow(page, hashOf({ a: plan, b: null, spread: "age_related_cataract" }));
  const says = (words) =>
    page.waitForFunction((at) => new RegExp(at).test(document.getElementById("study-status").textContent), words);
  await page.click("#study-cuts"); // on day 90 there is no eye any more
  await says("cannot be asked.*90");
  await page.fill("#study-day", "29");
  assert.equal(await page.inputValue("#study-eyes"), "2", "few, unless asked for more");
  await page.click("#study-cuts");
  await says("Running: [1-9]\\d* of \\d+ … .* left");
  assert.ok(await page.evaluate(() => document.getElementById("study-progress").value > 0));
  await page.click("#study-stop");
  await says("Stopped");
  assert.equal(await page.isVisible("#study-progress"), false);
  await page.click("#study-cuts");
  await page.waitForSelector("#study-result table");
  await says("Done in");
  const rows = await page.$$eval("#study-result tbody tr", (all) => all.map((row) => row.cells[0].textContent));
  assert.deepEqual(rows, ["2 evenly (12, 6)", "3 evenly (12, 4, 8)", "4 evenly (12, 3, 6, 9)"]);
  assert.match(await text(page, "study-result"), /macular oedema.*equator|equator.*macular oedema/s, "the cautions");
  assert.equal(await page.isVisible("#study-old"), false);
  await slide(page, "opening-diameter", 4.4);
  await page.waitForSelector("#study-old", { state: "visible" });
});
