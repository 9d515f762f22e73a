// SPDX-License-Identifier: BSD-3-Clause
// The second language is whole: every panel, picture, read-out, sheet and message in German, with nothing left in English.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import test, { after, before } from "node:test";
import {
  close,
  download,
  drawn,
  eye,
  open,
  openAll,
  otherLaws,
  slide,
  startBrowser,
  stopBrowser,
  text,
} from "./browser.mjs";

before(async () => {
  const context = await startBrowser();
  // What a canvas is given to write is text of the page too.
  await context.addInitScript(() => {
    window.written = new Set();
    const { fillText } = CanvasRenderingContext2D.prototype;
    CanvasRenderingContext2D.prototype.fillText = function (words, ...rest) {
      window.written.add(words);
      return fillText.call(this, words, ...rest);
    };
  });
});
after(stopBrowser);

/** All that can be read or heard on the page as it is: but what is marked as English, what the reader typed, and addresses. */
const everyWord = (page) =>
  page.evaluate(() => {
    const words = new Set(window.written);
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_TEXT);
    for (let node = walker.currentNode; node; node = walker.nextNode()) {
      if ((node.parentElement ?? node).closest("script, style, [lang=en], #language")) continue;
      if (node.nodeType === Node.TEXT_NODE) words.add(node.data.trim());
      else
        for (const name of ["aria-label", "aria-valuetext", "title", "placeholder"])
          if (node.hasAttribute(name) && !node.closest(".eye figcaption, #language"))
            words.add(node.getAttribute(name));
    }
    words.delete("");
    return [...words];
  });

const short = { duration_days: 12, mesh: { around: 24, radial: 4 } };
const link = (pair) => `#s=${Buffer.from(JSON.stringify(pair)).toString("base64url")}&day=10&lang=de`;
/** Much to say of the eyes, and no crowd about them. */
const rich = {
  a: eye({
    ...short,
    name: "Anna",
    opening: { diameters_mm: [5, 4.2], axis_hour: 2 },
    zonule: { strength: 0.8, strength_by_hour: { 3: 0, 4: 0.3 } },
    contraction: { chronic_signal: 0.25, cells_left_by_hour: { 6: 0.2 } },
    events: [{ day: 8, relaxing_cuts: { hours: [12, 6], length_mm: 0.6 } }],
  }),
  b: eye({ ...short, name: "Berta", opening: { diameter_mm: 4 }, tension_ring: { free_diameter_mm: 13 } }),
  spread: "",
};
/** Little to say, and a crowd. */
const plain = {
  a: eye({ ...short, name: "Anna" }),
  b: eye({ ...short, name: "Berta", opening: { diameter_mm: 4 }, lens: null }),
  spread: "age_related_cataract",
};

/** Everything of the page brought to speak. */
async function ofRichEyes() {
  const page = await open({ hash: link(rich) });
  await openAll(page);
  await otherLaws(page);
  await page.hover("#eye-a");
  await page.focus("#curve-load");
  await page.waitForFunction(() => /\.$/.test(document.getElementById("influence-words").textContent));
  await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
  await page.check("#in-millinewton");
  const csv = await readFile((await download(page, "save-csv")).path, "utf8");
  await slide(page, "opening-diameter", 7);
  await slide(page, "cut-length-0", 2); // runs on to the equator
  await page.waitForSelector("#trouble", { state: "visible" });
  const words = [...(await everyWord(page)), ...csv.split("\n").filter((line) => /^# (?!scenario)/.test(line))];
  await close(page);
  return words;
}
async function ofACrowd() {
  const page = await open({ hash: link(plain) });
  await openAll(page);
  await page.waitForFunction(() => Math.min(document.body.dataset.crowdA, document.body.dataset.crowdB) >= 8);
  await page.fill("#study-limit", "4.1");
  await page.click("#study-visits");
  await page.waitForSelector("#study-result table");
  const words = await everyWord(page);
  await close(page);
  return words;
}

// Words of English grammar and of this page that German does not have.
const english =
  /\b(the|of|and|is|are|with|from|to|not|day|days|eye|eyes|opening|area|at|on|for|by|no|lost|hour|hours|o'clock|you|your|which|this|that|there|cut|cuts|zonule|across|after|under|each|load|weak|times|spread|seen|picture)\b/i;
/** What is neither language: names of fields and populations, addresses, the version. */
const plainOf = (words) => words.replaceAll(/libcapsim [\d.]+|\w+_\w+|https?:\S*|file:\S*|#s=\S*/g, "");

test("in_german_no_word_of_english_and_no_decimal_point_is_left_anywhere_on_the_page", async (t) => {
  const german = [...new Set([...(await ofRichEyes()), ...(await ofACrowd())])].map(plainOf);
  t.diagnostic(`${german.length} pieces of text`);
  assert.ok(german.length > 250, "the page has said all");
  assert.deepEqual(
    german.filter((words) => english.test(words)),
    [],
  );
  assert.deepEqual(
    german.filter((words) => /\d\.\d/.test(words)),
    [],
  );
});

test("a_german_lesson_speaks_german_from_question_to_trial_and_says_why_a_link_is_refused", async () => {
  const lesson = await open({ hash: "#lesson=when&step=1&day=365&lang=de", settle: "drawn" });
  for (const step of [1, 2, 3, 4]) {
    await lesson.evaluate((to) => (location.hash = to), `#lesson=when&step=${step}&day=365&lang=de&again`);
    await lesson.waitForFunction((to) => document.body.dataset.step === String(to), step);
    await drawn(lesson);
    assert.deepEqual(
      (await everyWord(lesson)).filter((words) => english.test(plainOf(words))),
      [],
      `step ${step}`,
    );
  }
  await close(lesson);
  const page = await open({
    hash: `#s=${Buffer.from(JSON.stringify({ a: eye({ opening: { diameter_mm: 99 } }), b: null })).toString("base64url")}&lang=de`,
    settle: "drawn",
  });
  assert.match(
    await text(page, "trouble"),
    /Verweises.*Öffnung \(Kapsulorhexis\): opening\.diameter_mm ist 99; erlaubt ist/,
  );
  await close(page);
});

test("whose_browser_is_german_may_read_english_and_a_link_followed_on_the_open_page_brings_its_language_and_mode", async () => {
  const page = await open({ hash: "#lesson=small", settle: false });
  await page.addInitScript(() => Object.defineProperty(navigator, "language", { get: () => "de-DE" }));
  const speaks = (words) => page.waitForFunction((w) => document.getElementById("play").textContent === w, words);
  await page.evaluate(() => (history.replaceState(null, "", "#lesson=small"), location.reload()));
  await speaks("Abspielen");
  await drawn(page);
  await page.selectOption("#language", "en");
  await speaks("Play");
  await page.reload();
  await speaks("Play");
  await page.evaluate(() => (location.hash = "#lesson=when&step=2&mode=embed&lang=de"));
  await speaks("Abspielen");
  await page.evaluate(() => (location.hash = "#lesson=when&step=2&mode=present&lang=de"));
  await page.waitForFunction(() => document.body.dataset.mode === "present" && document.body.dataset.step === "2");
  await close(page);
});
