// SPDX-License-Identifier: BSD-3-Clause
/** The buttons that take something along: pictures, films, numbers, the handout, the scenario, the link. */

import type { Scenario } from "capsim";
import { canFilm, commentOf, makeFilm, makeGif } from "./film.js";
import { fillHandout } from "./handout.js";
import type { Lesson } from "../lessons/lesson_list.js";
import { t } from "../words/texts.js";
import type { Pair } from "../state/notebook.js";
import { runnable } from "../state/eye_settings.js";
import type { Side } from "../stage/palette.js";
import { withWords } from "./png.js";
import { drawFrame, sheetSize } from "./sheet.js";
import { svgOf } from "./svg_pen.js";
import { csvOf, jsonOf } from "./tables.js";
import { type Show, sidesOf } from "../state/show.js";
import { verdictOf } from "../words/verdict.js";

export interface ExportsPage {
  show(): Show;
  pair(): Pair;
  editing(): Side;
  lesson(): Lesson | undefined;
  link(): string;
  version(): string;
  open(scenario: Scenario): void;
  unreadable(words: string): void;
}

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;

export class Exports {
  constructor(private readonly page: ExportsPage) {
    const act = (id: string, make: () => Promise<void>): void =>
      $(id).addEventListener("click", () => void this.#guard(id, make));
    act("save-png", async () => save("capsule-opening.png", await pngOf(page.show(), page.lesson())));
    act("save-svg", async () =>
      save("capsule-opening.svg", new Blob([pictureOf(page.show(), page.lesson())], { type: "image/svg+xml" })),
    );
    const filming = (share: number): void => this.#say(t().status.film(Math.round(100 * share)));
    act("save-gif", async () => save("capsule-opening.gif", await makeGif(page.show(), page.lesson(), filming)));
    act("save-webm", async () => save("capsule-opening.webm", await makeFilm(page.show(), page.lesson(), filming)));
    act("save-csv", async () => save("capsule-opening.csv", new Blob([csvOf(page.show())], { type: "text/csv" })));
    act("save-json", async () =>
      save("capsule-opening.json", new Blob([jsonOf(page.show())], { type: "application/json" })),
    );
    act("save-scenario", async () => {
      const side = page.editing(),
        scenario = page.pair()[side] ?? page.pair().a;
      save(
        `scenario-${side}.json`,
        new Blob([JSON.stringify(runnable(scenario), null, 2) + "\n"], { type: "application/json" }),
      );
    });
    act("print", async () => window.print());
    // By whatever way printing is asked for, the sheet is that of now.
    addEventListener("beforeprint", () =>
      fillHandout($("handout"), page.show(), { lesson: page.lesson(), link: page.link(), version: page.version() }),
    );
    act("copy-link", async () => {
      const box = $<HTMLInputElement>("link"),
        link = page.link();
      box.select();
      await navigator.clipboard.writeText(link).catch(() => document.execCommand("copy"));
    });
    if (!canFilm) {
      const film = $<HTMLButtonElement>("save-webm");
      film.disabled = true;
      film.title = t().status.noFilm;
    }
    $("open-scenario").addEventListener("click", () => $("file").click());
    $<HTMLInputElement>("file").addEventListener("change", (event) => {
      const input = event.target as HTMLInputElement,
        file = input.files?.[0];
      if (file) void file.text().then((text) => this.#read(text));
      input.value = "";
    });
  }

  #read(text: string): void {
    let scenario: unknown;
    try {
      scenario = JSON.parse(text);
    } catch {
      this.page.unreadable(t().trouble.notJson);
      return;
    }
    this.page.open(scenario as Scenario);
  }

  async #guard(id: string, make: () => Promise<void>): Promise<void> {
    const pressed = $<HTMLButtonElement>(id);
    if (sidesOf(this.page.show()).length === 0 && id !== "save-scenario" && id !== "copy-link") {
      this.#say(t().status.nothing);
      return;
    }
    pressed.setAttribute("aria-disabled", "true");
    try {
      await make();
      this.#say(t().status.done(pressed.textContent!));
    } catch (error) {
      console.warn(error);
      this.#say(t().status.failed(pressed.textContent!));
    } finally {
      pressed.removeAttribute("aria-disabled");
    }
  }

  #say(words: string): void {
    $("export-status").textContent = words;
  }
}

async function pngOf(show: Show, lesson: Lesson | undefined): Promise<Blob> {
  const canvas = document.createElement("canvas");
  canvas.width = sheetSize.width;
  canvas.height = sheetSize.height;
  drawFrame(canvas.getContext("2d")!, sheetSize.width, sheetSize.height, show, lesson);
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/png"));
  if (blob === null) throw new Error("the browser made no picture");
  const words: Record<string, string> = { Caution: show.cautions.join(" ") };
  for (const side of sidesOf(show)) words[`Scenario ${side.toUpperCase()}`] = JSON.stringify(show.scenarios[side]);
  return new Blob([withWords(new Uint8Array(await blob.arrayBuffer()), words)], { type: "image/png" });
}

/** The same picture in lines. */
function pictureOf(show: Show, lesson: Lesson | undefined): string {
  const { width, height } = sheetSize;
  return svgOf(width, height, verdictOf(show, lesson), commentOf(show), (pen) =>
    drawFrame(pen, width, height, show, lesson),
  );
}

function save(name: string, blob: Blob): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
