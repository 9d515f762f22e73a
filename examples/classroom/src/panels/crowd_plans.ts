// SPDX-License-Identifier: BSD-3-Clause
/** Plans of a crowd: when to look, and where to cut. The library's own studies, asked for by a button, in a worker of their own. */

import {
  CapsimError,
  type CutsRequest,
  type ContractionLaw,
  type CutStudy,
  type Population,
  type Proportion,
  type Quantiles,
  type Scenario,
  Solver,
  type StudyOfRequest,
  type StudyRequest,
  type VisitsRequest,
  type VisitStudy,
} from "capsim";
import { dayInWords } from "../state/course.js";
import { fit, labelled } from "../stage/fit_tables.js";
import { atLevel, defaults, weakHours } from "../state/eye_settings.js";
import { shortNameOf } from "../state/other_law.js";
import { hourOfDirection, pointAt } from "../state/frame.js";
import { fixed, fromLibrary, inText, t } from "../words/texts.js";

export interface CrowdPlansPage {
  /** The eye that is being changed. */
  scenario(): Scenario;
  population(): Population | undefined;
}

/** So many eyes take a minute at most. Cuts take 16 forks an eye and law, and each is followed to the last day: the page asks how many. */
const eyesToWatch = 16;

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;

/** The plan as a study wants it: on the quick level. */
const planOf = (scenario: Scenario): Scenario => atLevel(scenario, "coarse") as Scenario;
/** The same eye before anybody cuts it. */
const uncut = (scenario: Scenario): Scenario => ({
  ...scenario,
  events: (scenario.events ?? []).filter((event) => !("relaxing_cuts" in event)),
});

/** Ways to cut that are set side by side: evenly, and gathered towards the weak hours or away from them where there are any. */
export function layoutsOf(scenario: Scenario, day: number): NonNullable<CutsRequest["layouts"]> {
  const evenly = [
    { name: "two", hours: [12, 6] },
    { name: "three", hours: [12, 4, 8] },
    { name: "four", hours: [12, 3, 6, 9] },
  ];
  const weak = weakHours(scenario),
    along = weak.map((hour) => pointAt(hour, 1)),
    [x, y] = [0, 1].map((k) => along.reduce((sum, p) => sum + p[k]!, 0)) as [number, number];
  const middle = Math.round(hourOfDirection(x, y)) || 12;
  const gathered = (about: number): number[] => [-1, 0, 1].map((step) => ((about + step + 23) % 12) + 1);
  const sided =
    Math.hypot(x, y) < 1e-6
      ? []
      : [
          { name: "towards", hours: gathered(middle) },
          { name: "away", hours: gathered(middle + 6) },
        ];
  return [...evenly, ...sided].map((layout) => ({ ...layout, length_mm: defaults.cutLength, day }));
}

/** What is left of a study [s], from what it took since its first run was done, the start of the worker left out; undefined before a
 *  sixteenth of it is done: the first runs are no measure of the rest. */
export const secondsLeft = (sinceFirst: number, done: number, total: number): number | undefined =>
  done > 1 && done >= total / 16 ? (sinceFirst * (total - done)) / (done - 1) : undefined;

export class CrowdPlans {
  readonly #solver = new Solver();
  #under: AbortController | undefined;
  #shown: string | undefined; // the eye that the table tells of

  constructor(private readonly page: CrowdPlansPage) {
    $("study-visits").addEventListener("click", () => void this.#visits());
    $("study-cuts").addEventListener("click", () => void this.#cuts());
    $("study-stop").addEventListener("click", () => this.#under?.abort());
  }

  /** The eye may be another one now: the table still tells of the one it was made for. */
  eyeChanged(): void {
    $("study-old").hidden = this.#shown === undefined || this.#shown === JSON.stringify(this.page.scenario());
  }

  async #visits(): Promise<void> {
    const limit = $<HTMLInputElement>("study-limit").valueAsNumber;
    const study = await this.#run<VisitsRequest>({
      kind: "visits",
      plans: [planOf(this.page.scenario())],
      eyes: eyesToWatch,
      threshold: { quantity: "clear_circle_diameter_mm", limit, below: true },
    });
    if (study) show(visitRows(study), study.cautions);
  }

  async #cuts(): Promise<void> {
    const plan = uncut(this.page.scenario());
    const study = await this.#run<CutsRequest>({
      kind: "cuts",
      plans: [planOf(plan)],
      eyes: Number($<HTMLSelectElement>("study-eyes").value),
      layouts: layoutsOf(plan, $<HTMLInputElement>("study-day").valueAsNumber),
    });
    if (study) show(layoutRows(study), study.cautions);
  }

  async #run<R extends StudyRequest>(request: Omit<R, "population">): Promise<StudyOfRequest<R> | undefined> {
    const population = this.page.population();
    if (population === undefined) return void this.#say(t().crowdPlans.noCrowd);
    this.#under?.abort();
    const under = (this.#under = new AbortController()),
      about = JSON.stringify(this.page.scenario()),
      started = performance.now();
    let first: number | undefined;
    const tell = (done: number, total: number): void => {
      if (this.#under !== under) return; // another study has been asked for
      if (done > 0) first ??= performance.now();
      const left = first === undefined ? undefined : secondsLeft((performance.now() - first) / 1000, done, total);
      $<HTMLProgressElement>("study-progress").value = done / total;
      this.#say(`${t().crowdPlans.running(done, total)}${left === undefined ? "" : ` ${t().crowdPlans.left(left)}`}`);
    };
    this.#running(true);
    this.#say(t().crowdPlans.starting);
    try {
      const study = await this.#solver.study({ ...request, population: population.name } as unknown as R, {
        signal: under.signal,
        onProgress: ({ done, total }) => tell(done, total),
      });
      this.#shown = about;
      this.eyeChanged();
      this.#say(t().crowdPlans.took((performance.now() - started) / 1000));
      return study;
    } catch (error) {
      if (!(error instanceof CapsimError)) throw error;
      if (this.#under === under) this.#refused(error);
      return undefined;
    } finally {
      if (this.#under === under) this.#running(false);
    }
  }

  #running(on: boolean): void {
    $<HTMLProgressElement>("study-progress").value = 0;
    for (const id of ["study-stop", "study-progress"]) $(id).hidden = !on;
  }
  #say(words: string): void {
    $("study-status").textContent = words;
  }
  /** What stopped it; the library's own words for why are English. */
  #refused(error: CapsimError): void {
    if (error.status === "cancelled") return this.#say(t().crowdPlans.stopped);
    const why = Object.assign(document.createElement("span"), {
      lang: "en",
      textContent: error.violations
        .slice(0, 3)
        .map((v) => v.text)
        .join(" "),
    });
    $("study-status").replaceChildren(`${t().crowdPlans.refused} `, why);
  }
}

export interface StudyTable {
  title: string;
  head: string[];
  rows: string[][];
  below: string[];
}

const count = ({ count: k, of }: Proportion): string => t().crowdPlans.of(k, of);
const number = (value: number | null | undefined, digits: number): string =>
  value === null || value === undefined ? t().table.none : fixed(value, digits);

/** One row a visit: how many eyes it is the first to find, by law. */
export function visitRows(study: VisitStudy): StudyTable {
  const words = t().crowdPlans,
    usual = study.schedules.slice(0, study.laws.length);
  const rows = (usual[0]?.days ?? []).map((day, i) => [dayInWords(day), ...usual.map((s) => count(s.found[i]!))]);
  rows.push([words.inAll, ...study.crosses.map(count)]);
  rows.push([words.halfBy, ...study.day_quantiles.map((q) => number(q.median, 0))]);
  rows.push([words.late, ...usual.map((s) => number(s.days_late.median, 0))]);
  const sign = study.signs[0];
  return {
    title: words.visitsTitle(inText(String(study.threshold.limit)), study.eyes),
    head: [words.visit, ...study.laws.map(shortNameOf)],
    rows,
    below: sign
      ? [
          words.sign(
            t().library.measurements[sign.measurement] ?? sign.measurement,
            sign.day,
            fixed(sign.cut, 2),
            sign.below,
          ),
        ]
      : [],
  };
}

/** One row a layout, with what it gives back and costs, the laws side by side; marked when no other beats it. */
export function layoutRows(study: CutStudy): StudyTable {
  const words = t().crowdPlans;
  const laws = (of: Partial<Record<ContractionLaw, Quantiles>>, digits: number): string =>
    study.laws.map((law) => number(of[law]?.median, digits)).join(" / ");
  return {
    title: words.cutsTitle(study.layouts[0]!.day, study.eyes, study.laws.map(shortNameOf).join(" / ")),
    head: [words.layout, words.back, words.kept, words.load, words.margin, words.unbeaten],
    rows: study.layouts.map((layout) => [
      `${words.layouts[layout.name] ?? layout.name} (${layout.hours.join(", ")})`,
      laws(layout.area_back_mm2, 1),
      laws(layout.area_kept_mm2, 1),
      laws(layout.zonule_load_max_mN, 1),
      `${laws(layout.tip_to_equator_mm, 1)}${layout.near_equator.count > 0 ? " !" : ""}`,
      layout.nothing_beats ? "✓" : t().table.none,
    ]),
    below: [
      words.cutsNote,
      ...(study.layouts.some((layout) => layout.near_equator.count > 0) ? [words.nearEquator] : []),
    ],
  };
}

function show({ title, head, rows, below }: StudyTable, cautions: readonly string[]): void {
  const make = <K extends keyof HTMLElementTagNameMap>(tag: K, text: string): HTMLElementTagNameMap[K] =>
    Object.assign(document.createElement(tag), { textContent: text });
  const table = document.createElement("table");
  table.className = "plans study";
  table.append(make("caption", title));
  const top = table.createTHead().insertRow();
  for (const name of head) top.append(Object.assign(make("th", name), { scope: "col" }));
  const body = table.createTBody();
  for (const [first, ...rest] of rows) {
    const line = body.insertRow();
    line.append(Object.assign(make("th", first!), { scope: "row" }));
    for (const cell of rest) line.insertCell().textContent = cell;
  }
  $("study-result").replaceChildren(
    labelled(table),
    ...below.map((text) => make("p", text)),
    ...cautions.map((text) => Object.assign(make("p", fromLibrary(text)), { className: "caution" })),
  );
  fit($("study-result"));
}
