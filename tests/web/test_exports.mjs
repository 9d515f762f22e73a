// SPDX-License-Identifier: BSD-3-Clause
// What the page saves is opened and looked into; each carries the caution and the scenario.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFile } from "node:fs/promises";
import test, { after, before } from "node:test";
import { capsim } from "./built.mjs";
import {
  crowded,
  download,
  eye,
  hashOf,
  open,
  otherLaws,
  pairIn,
  pixels,
  settles,
  startWithPage,
  stopWithPage,
  text,
} from "./browser.mjs";

const caution = /not for treating a patient/;
const cutCaution = /retinal detachment/;
const cutEye = eye({
  name: "Two cuts",
  opening: { diameter_mm: 4.2 },
  zonule: { strength: 0.3 },
  events: [{ day: 91, relaxing_cuts: { hours: [12, 6], length_mm: 0.6 } }],
});
const plain = eye({ name: "No cut", opening: { diameter_mm: 4.2 }, zonule: { strength: 0.3 } });
const python = process.env.CAPSIM_PYTHON ?? "python3";
const look = (script, path) => JSON.parse(execFileSync(python, ["-c", script, path], { encoding: "utf8" }));

let page;
before(async () => {
  ({ page } = await startWithPage({ hash: hashOf({ a: cutEye, b: plain, spread: "age_related_cataract" }) }));
  await page.fill("#scrub", "182");
  await crowded(page);
  await otherLaws(page);
});
after(() => stopWithPage(page));

test("the_picture_is_a_png_with_caution_and_scenario_in_it", async () => {
  const file = await download(page, "save-png");
  assert.equal(file.name, "capsule-opening-day-182.png");
  const seen = look(
    `import json, sys
from PIL import Image
image = Image.open(sys.argv[1]); image.load()
colours = len(set(image.convert("RGB").resize((200, 180)).getdata()))
print(json.dumps({"size": image.size, "text": {k: str(v) for k, v in image.text.items()}, "colours": colours}))`,
    file.path,
  );
  assert.deepEqual(seen.size, [1920, 1080]);
  assert.match(seen.text.Caution, caution);
  assert.match(seen.text.Caution, cutCaution);
  assert.deepEqual(JSON.parse(seen.text["Scenario A"]).events, cutEye.events);
  assert.equal(JSON.parse(seen.text["Scenario B"]).name, "No cut");
  assert.ok(seen.colours > 500, "something is drawn");
});

test("the_drawing_is_an_svg_that_shows_the_same_as_the_picture", async (t) => {
  const file = await download(page, "save-svg");
  assert.equal(file.name, "capsule-opening-day-182.svg");
  const words = await readFile(file.path, "utf8");
  assert.match(words, caution);
  assert.match(words, cutCaution);
  assert.match(words, /Two cuts/);
  assert.doesNotMatch(words, /NaN|undefined|Infinity|<script|href/);
  const [drawing, picture] = [Buffer.from(words), await readFile((await download(page, "save-png")).path)];
  const seen = await page.evaluate(
    async (sources) => {
      const [drawn, pictured] = await Promise.all(
        sources.map(async (source) => {
          const image = new Image();
          image.src = source;
          await image.decode();
          const g = Object.assign(document.createElement("canvas"), { width: 1920, height: 1080 }).getContext("2d");
          g.drawImage(image, 0, 0);
          return { size: [image.naturalWidth, image.naturalHeight], data: g.getImageData(0, 0, 1920, 1080).data };
        }),
      );
      let differing = 0;
      for (let i = 0; i < drawn.data.length; i += 4) {
        const off = [0, 1, 2].map((k) => Math.abs(drawn.data[i + k] - pictured.data[i + k]));
        if (Math.max(...off) > 60) ++differing;
      }
      return { size: drawn.size, differing: (4 * differing) / drawn.data.length };
    },
    [`data:image/svg+xml;base64,${drawing.toString("base64")}`, `data:image/png;base64,${picture.toString("base64")}`],
  );
  assert.deepEqual(seen.size, [1920, 1080]);
  t.diagnostic(`${(100 * seen.differing).toFixed(2)} % of the pixels differ clearly`);
  assert.ok(seen.differing < 0.02, "but for the edges of lines and letters");
});

test("all_visits_are_one_file_with_both_pictures_of_each", async () => {
  const file = await download(page, "save-visits");
  assert.equal(file.name, "capsule-opening-visits.zip");
  const { names, sizes, captions, drawings } = look(
    `import io, json, re, sys, zipfile
from PIL import Image
archive = zipfile.ZipFile(sys.argv[1]); assert archive.testzip() is None
names = archive.namelist()
read = lambda kind: [archive.read(name) for name in names if name.endswith(kind)]
pictures = [Image.open(io.BytesIO(data)) for data in read("png")]
drawings = [data.decode("utf8") for data in read("svg")]
print(json.dumps({"names": names, "sizes": [p.size for p in pictures], "captions": ["not for treating" in p.text["Caution"] for p in pictures],
  "drawings": [[int(re.search(r"day (\\d+)<", d).group(1)), "retinal detachment" in d, 'viewBox="0 0 1920 1080"' in d or 'width="1920"' in d] for d in drawings]}))`,
    file.path,
  );
  const days = [0, 1, 7, 30, 91, 182, 365]; // the cuts of one eye are made on one of them
  assert.deepEqual(
    names,
    days.flatMap((day) => ["png", "svg"].map((kind) => `capsule-opening-day-${String(day).padStart(3, "0")}.${kind}`)),
  );
  for (const size of sizes) assert.deepEqual(size, [1920, 1080]);
  assert.ok(captions.every((told) => told));
  assert.deepEqual(
    drawings,
    days.map((day) => [day, true, true]),
  );
});

let gif; // made once
test("the_film_is_a_gif_that_moves_with_caution_and_scenario_in_it", async () => {
  const file = (gif = await download(page, "save-gif"));
  const seen = look(
    `import json, sys
from PIL import Image, ImageSequence
image = Image.open(sys.argv[1])
frames = [f.convert("RGB").tobytes() for f in ImageSequence.Iterator(image)]
comment = image.info.get("comment", b"")
print(json.dumps({"size": image.size, "frames": len(frames), "different": len(set(frames)), "comment": comment.decode("utf8", "replace"),
  "milliseconds": image.info.get("duration", 0)}))`,
    file.path,
  );
  assert.equal(seen.frames, 40);
  assert.ok(seen.different > 20, `${seen.different} different frames`);
  const comment = (await readFile(file.path)).toString("latin1");
  assert.match(seen.comment || comment, caution);
  const size = (await readFile(file.path)).length;
  assert.ok(size < 6e6, `${size} bytes`);
});

test("the_pixels_of_the_gif_are_those_that_were_drawn", async () => {
  // The last frame on white paper: the corner is white, the field of the eye is dark, and the eye's own colours are there.
  const file = gif;
  const seen = look(
    `import json, sys
from PIL import Image
image = Image.open(sys.argv[1]); image.seek(image.n_frames - 1)
last = image.convert("RGB")
print(json.dumps({"corner": last.getpixel((2, 2)), "field": last.getpixel((80, 266)), "near_white": sum(min(p) > 240 for p in last.getdata()) / (last.width * last.height)}))`,
    file.path,
  );
  for (const v of seen.corner) assert.ok(v > 245, `${seen.corner}`);
  assert.ok(
    seen.field.every((v, i) => Math.abs(v - [14, 27, 36][i]) < 10),
    `${seen.field}`,
  );
  assert.ok(seen.near_white > 0.1 && seen.near_white < 0.6);
});

test("the_webm_film_plays_and_lasts_what_its_header_says", async (t) => {
  if (await page.isDisabled("#save-webm")) return t.skip("this browser encodes no film");
  const file = await download(page, "save-webm");
  const bytes = await readFile(file.path);
  assert.equal(bytes.subarray(0, 4).toString("hex"), "1a45dfa3", "a Matroska file");
  const seen = await page.evaluate(async (base64) => {
    const video = document.createElement("video");
    video.src = `data:video/webm;base64,${base64}`;
    video.muted = true;
    await new Promise((done, fail) => {
      video.onloadeddata = done;
      video.onerror = () => fail(new Error("not playable"));
    });
    const { width, height } = Object.assign(document.createElement("canvas"), { width: 1280, height: 720 });
    const at = async (seconds) => {
      // On a busy machine the place is reached before its picture is there.
      const shown = new Promise((done) => video.requestVideoFrameCallback(done));
      const reached = new Promise((done) => (video.onseeked = done));
      video.currentTime = seconds;
      await reached;
      await Promise.race([shown, new Promise((done) => setTimeout(done, 3000))]);
      const g = new OffscreenCanvas(width, height).getContext("2d");
      g.drawImage(video, 0, 0);
      return g.getImageData(0, 0, width, height).data;
    };
    // The caption: below the pictures, which end at 550.
    const below = (data) => data.slice(4 * width * 556);
    const ink = (data) => below(data).filter((v, i) => i % 4 === 1 && v < 128).length / (below(data).length / 4);
    const unlike = (p, q) => p.reduce((sum, v, i) => sum + (Math.abs(v - q[i]) > 40 ? 1 : 0), 0) / p.length;
    const [first, held, last] = [await at(0.1), await at(0.7), await at(video.duration - 0.1)];
    return {
      width: video.videoWidth,
      height: video.videoHeight,
      duration: video.duration,
      rests: unlike(first, held),
      moves: unlike(first, last),
      ink: [ink(first), ink(last)],
      captionChanges: unlike(below(first), below(last)),
    };
  }, bytes.toString("base64"));
  assert.deepEqual([seen.width, seen.height], [1280, 720]);
  // Day 0, six visits with the cuts on one of them, 0.8 s each but the last of 2 s, and seven seconds of year between them.
  assert.ok(Math.abs(seen.duration - (7 * 0.8 - 0.8 + 2 + 7)) < 0.5, `${seen.duration} s`);
  for (const share of seen.ink) assert.ok(share > 0.01 && share < 0.3, `${share} of the caption is ink`);
  assert.ok(seen.captionChanges > 0.002, "the verdict in the film follows the day");
  assert.ok(seen.moves > 10 * seen.rests && seen.moves > 0.002, `rests ${seen.rests}, moves ${seen.moves}`);
});

test("the_table_has_every_day_of_both_eyes_under_the_caution", async () => {
  const lines = (await readFile((await download(page, "save-csv")).path, "utf8")).trim().split("\n");
  const head = lines.filter((line) => line.startsWith("#")).join("\n");
  assert.match(head, caution);
  assert.match(head, cutCaution);
  assert.deepEqual(JSON.parse(/# scenario A: (.*)/.exec(head)[1]).events, cutEye.events);
  const rows = lines.filter((line) => !line.startsWith("#")).map((line) => line.split(","));
  const columns = rows.shift();
  assert.ok(
    columns.includes("opening_area_mm2") &&
      columns.includes("zonule_load_mN_12h") &&
      columns.includes("lens_center_mm_x"),
  );
  for (const row of rows) assert.equal(row.length, columns.length);
  assert.match(head, /8 of 10 eyes.*age_related_cataract, edition/);
  const area = columns.indexOf("opening_area_mm2"),
    day = columns.indexOf("day"),
    side = columns.indexOf("event_side");
  const [low, median, high] = ["low", "median", "high"].map((end) => columns.indexOf(`band_${end}_opening_area_mm2`));
  const history = (await capsim.loadEngine()).simulate(cutEye);
  const mine = rows.filter((row) => row[0] === "A");
  assert.equal(mine.length, history.rows);
  mine.forEach((row, i) => {
    assert.equal(Number(row[day]), history.day[i]);
    assert.equal(Number(row[area]), history.value("opening_area_mm2", i)); // the same engine: the same digits
    assert.ok(Number(row[low]) <= Number(row[median]) && Number(row[median]) <= Number(row[high]), `day ${row[day]}`);
  });
  const last = mine.at(-1);
  assert.ok(Number(last[high]) - Number(last[low]) > 0.1, "eyes differ after a year");
  // Both sides of the cuts: the band steps up with its eyes.
  const [before, after] = ["-1", "1"].map((s) => mine.find((row) => row[day] === "91" && row[side] === s));
  assert.ok(Number(after[median]) > Number(before[median]));
});

test("the_result_file_holds_series_outcomes_scenario_and_caution", async () => {
  const result = JSON.parse(await readFile((await download(page, "save-json")).path, "utf8"));
  assert.match(result.caution.join(" "), caution);
  assert.match(result.caution.join(" "), cutCaution);
  const { A, B } = result.results;
  assert.equal(A.status, "completed");
  assert.equal(A.series.rim_outline_mm.values.length, A.series.day.values.length * A.series.rim_outline_mm.columns);
  assert.ok(A.outcomes.some((o) => o.name === "relief_day_91_mm2" && o.value > 0));
  assert.equal(B.scenario.name, "No cut");
  assert.equal(A.runaway_margin.contraction_factor, A.outcomes.find((o) => o.name === "runaway_margin").value);
  assert.equal(A.other_law.law, "active_lock_in");
  assert.equal(A.other_law.opening_area_mm2.length, A.other_law.day.length);
  assert.equal(A.other_law.instead_of.opening_area_mm2.length, A.other_law.instead_of.day.length);
  assert.equal(A.bands.eyes, 32);
  assert.equal(A.bands.opening_area_mm2.low.length, A.bands.day.length);
});

test("the_handout_is_one_page_with_visits_tables_cautions_and_the_way_back", async () => {
  // Printed by the browser's own way, as by Ctrl+P: the sheet is filled when printing is asked for, with what is there now.
  await page.evaluate(() => document.getElementById("handout").replaceChildren("of an earlier day"));
  const pdf = await page.pdf({ preferCSSPageSize: true });
  const words = await text(page, "handout");
  assert.match(words, caution);
  assert.match(words, cutCaution);
  assert.match(words, /right eye, opening 4\.20 mm/);
  assert.match(words, /12 months/);
  assert.match(words, /A opening, mm \(8 of 10\)/);
  assert.match(words, /1 month\d\.\d\d \(\d\.\d\d to \d\.\d\d\)/, "millimetres, not percent");
  assert.match(words, /My prediction, and why:/);
  assert.match(words, /Printed \d{4}-\d\d-\d\d, libcapsim \d/);
  assert.match(words, /In the band lie 8 of 10 eyes/);
  assert.equal(await page.locator("#handout .strip-row").count(), 2);
  assert.equal(await page.locator("#handout .strip-cell svg").count(), 12, "six visits of each eye");
  const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g);
  assert.equal(pages.length, 1);
});

test("the_saved_scenario_is_one_the_native_library_reads", async () => {
  const file = await download(page, "save-scenario");
  const seen = look(
    `import json, sys, capsim
s = capsim.Scenario.from_json(sys.argv[1]); s.validate()
print(json.dumps({"name": s.to_dict()["name"], "events": s.to_dict()["events"]}))`,
    file.path,
  );
  assert.equal(seen.name, "Two cuts");
  assert.deepEqual(seen.events[0].relaxing_cuts.hours, [12, 6]);
  const saved = JSON.parse(await readFile(file.path, "utf8"));
  await page.click("#edit-b");
  await settles(page, () => page.setInputFiles("#file", file.path)); // and this page reads it back
  assert.equal(await pixels(page, "eye-b"), await pixels(page, "eye-a"));
  assert.equal(saved.format, "capsim-scenario");
  await settles(page, () => page.click("#undo"));
});

test("the_handout_of_a_lesson_has_its_question_and_a_code_of_its_address", async () => {
  const lesson = await open({ hash: "#lesson=when&step=3&day=365&lang=de", colours: "dark" });
  await lesson.evaluate(() => window.dispatchEvent(new Event("beforeprint")));
  assert.match(await text(lesson, "handout"), /Welche Öffnung ist nach einem Jahr größer\?/);
  assert.ok(await lesson.evaluate(() => document.querySelectorAll("#handout .qr svg path").length > 0));
  // No phone reaches a page on this disk: the code says what to put behind the address of a copy.
  const says = () => lesson.getAttribute("#handout .qr", "data-says");
  assert.equal(await says(), "#lesson=when&step=3&day=365&lang=de");
  assert.match(await text(lesson, "handout"), /die eigene Kopie öffnen/);
  await lesson.fill("#public-address", "https://example.org/class.html#old");
  await lesson.click("#visit-row button[data-day='182']"); // the sheet is that of now
  await lesson.pdf();
  assert.equal(await says(), "https://example.org/class.html#lesson=when&step=3&day=182&lang=de");
  assert.doesNotMatch(await text(lesson, "handout"), /Kopie/);
  await lesson.fill("#public-address", "javascript:alert(1)");
  assert.equal(await lesson.getAttribute("#public-address", "aria-invalid"), "true");
  assert.match(await lesson.inputValue("#link"), /^file:/);
  for (const theme of ["that of the system", "light", "dark"]) {
    if (theme !== "that of the system") await lesson.click("#theme");
    await lesson.emulateMedia({ media: "print", colorScheme: "dark" });
    await darkOnWhite(lesson, theme);
    await lesson.emulateMedia({ media: null, colorScheme: "dark" });
  }
  await lesson.close();
});

/** Ink and paper of all that is printed. */
async function darkOnWhite(lesson, theme) {
  assert.equal(
    await lesson.evaluate(() => getComputedStyle(document.body).backgroundColor),
    "rgb(255, 255, 255)",
    `paper is white, whatever the theme: ${theme}`,
  );
  const grey = await lesson.evaluate(() => {
    const brightness = (colour) => colour.match(/[\d.]+/g).map(Number);
    return [...document.querySelectorAll("#handout *:not(svg *)")].flatMap((e) => {
      const { color, backgroundColor } = getComputedStyle(e),
        [ink, [r, g, b, opaque = 1]] = [brightness(color), brightness(backgroundColor)];
      const wrong = Math.max(...ink.slice(0, 3)) > 80 || (opaque > 0 && Math.min(r, g, b) < 240);
      return wrong ? [`${e.tagName}.${e.className}: ${color} on ${backgroundColor}`] : [];
    });
  });
  assert.deepEqual(grey, [], `dark ink on white in everything, whatever the screen wears: ${theme}`);
}

test("the_link_can_be_copied", async () => {
  await page
    .context()
    .grantPermissions(["clipboard-read", "clipboard-write"])
    .catch(() => undefined);
  await page.click("#copy-link");
  const link = await page.inputValue("#link");
  assert.match(link, /classroom\.html#s=[\w-]+&day=182&lang=en$/);
  const pair = pairIn(link);
  assert.equal(pair.a.name, "Two cuts");
  assert.equal(pair.b.name, "No cut");
  assert.equal((await page.evaluate(() => navigator.clipboard.readText().catch(() => null))) ?? link, link);
});
