// SPDX-License-Identifier: BSD-3-Clause
/** The buttons that take something along: pictures, films, numbers, the handout, the scenario, the link. */

import type { Scenario } from "capsim";
import { canFilm, makeFilm, makeGif } from "./film.js";
import { fillHandout } from "./handout.js";
import type { Lesson } from "../lessons/lesson_list.js";
import { t } from "../words/texts.js";
import type { Pair } from "../state/notebook.js";
import { runnable } from "../state/eye_settings.js";
import type { Side } from "../stage/palette.js";
import { drawingOf, nameOf, pngOf, visitsOf } from "./pictures.js";
import { csvOf, jsonOf } from "./tables.js";
import { type Show, sidesOf } from "../state/show.js";

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
    act("save-png", async () => save(nameOf(page.show(), "png"), await pngOf(page.show(), page.lesson())));
    act("save-svg", async () => save(nameOf(page.show(), "svg"), drawingOf(page.show(), page.lesson())));
    const drawing = (share: number): void => this.#say(t().status.pictures(Math.round(100 * share)));
    act("save-visits", async () =>
      save("capsule-opening-visits.zip", await visitsOf(page.show(), page.lesson(), drawing)),
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

function save(name: string, blob: Blob): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
