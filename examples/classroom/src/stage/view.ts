// SPDX-License-Identifier: BSD-3-Clause
/** Everything that is drawn and said: pictures on every change of day, words when the clock rests. */

import { curveInWords, dayAt, drawCurve } from "./curves.js";
import { hasCuts, type Level } from "../state/eye_settings.js";
import { dotsInWords, drawDots } from "./eye_dots.js";
import { type Influence, measures, places } from "../state/influence.js";
import { drawInfluence } from "./influence_rose.js";
import { ready } from "./canvas.js";
import { halfView } from "./eye_look.js";
import { fit } from "./fit_tables.js";
import { bothSides } from "../state/frame.js";
import { drawEyes, nameEye, tellLevel, tellOnly } from "./eyes.js";
import { planTable, visitTable } from "../exports/handout.js";
import { hooks } from "../hooks.js";
import type { LessonPanel } from "../lessons/lesson_panel.js";
import { dayReadOut, hourReadOut } from "../words/pointed.js";
import { t } from "../words/texts.js";
import { crowdVerdict, planRows, verdictOf } from "../words/verdict.js";
import { type Loads, loadsOf } from "../state/loads.js";
import { drawRose, roseInWords, type RoseEyes } from "./load_rose.js";
import { Pointing } from "./pointing.js";
import { drawSection, type SectionEye, sectionInWords } from "./side_section.js";
import { loadColour, pageColours, type Side } from "./palette.js";
import {
  aboutBands,
  crowdDifference,
  differenceOf,
  pictureInWords,
  uncertainties,
  wholeReading,
} from "../words/reading.js";
import { drawn, quantities } from "../state/quantity.js";
import { commonLoadTop, picturedEyes, type Show, sidesOf, toldOf } from "../state/show.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;
const paragraphs = (into: HTMLElement, texts: readonly string[], tag = "p"): void =>
  into.replaceChildren(...texts.map((text) => Object.assign(document.createElement(tag), { textContent: text })));
const themes = ["system", "light", "dark"] as const;

export class View {
  readonly #curves = new Map<string, HTMLCanvasElement>();
  readonly #rose: HTMLCanvasElement;
  readonly #section: HTMLCanvasElement;
  readonly #pointing: Pointing;
  #theme = 0;
  #duration = 365;
  #told: number | undefined; // the day that the words are of

  /** `again`: has everything drawn once more, since what is pointed at is another place. */
  constructor(
    private readonly panel: LessonPanel,
    again: () => void,
  ) {
    this.#pointing = new Pointing(again);
    for (const { key, name } of quantities) {
      const canvas = this.#canvas(`curve-${key}`, t().picture.overTime(name));
      this.#curves.set(key, canvas);
      canvas.setAttribute("role", "slider");
      canvas.setAttribute("aria-valuemin", "0");
      canvas.tabIndex = 0;
      this.#pointing.curve(
        canvas,
        (x) => this.#dayAt(canvas, x),
        () => this.#duration,
      );
    }
    this.#rose = this.#canvas("rose", t().picture.roseLabel);
    this.#section = this.#canvas("section", t().section.title);
    for (const canvas of [$("eye-a"), $("eye-b"), this.#rose]) this.#pointing.eye(canvas);
  }

  #dayAt(canvas: HTMLCanvasElement, x: number): number {
    const { width, height } = canvas.getBoundingClientRect();
    return dayAt({ x: 0, y: 0, width, height }, x, this.#duration);
  }
  #loads(show: Show): Loads {
    return loadsOf(show.courses.a ?? show.courses.b, $<HTMLInputElement>("in-millinewton").checked);
  }

  #canvas(id: string, label: string): HTMLCanvasElement {
    const canvas = document.createElement("canvas");
    canvas.id = id;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", label);
    $("curves").append(canvas);
    return canvas;
  }

  nextTheme(): void {
    this.#theme = (this.#theme + 1) % themes.length;
    const theme = themes[this.#theme]!;
    if (theme === "system") delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = theme;
    $("theme").setAttribute("aria-label", t().page.colours[theme]);
  }

  /** True size, if wished: one millimetre of the eye is one of the screen. */
  layOut(): void {
    const trueSize = $<HTMLInputElement>("true-size").checked;
    $("true-size-check").hidden = !trueSize;
    const correction = 2 / ($<HTMLInputElement>("screen-mm").valueAsNumber || 2);
    for (const canvas of document.querySelectorAll<HTMLCanvasElement>(".eye canvas"))
      canvas.style.width = trueSize ? `${2 * halfView * correction}mm` : "";
    document.body.dataset.trueSize = String(trueSize);
  }

  /** Dragging on a curve moves the clock. */
  scrubbing(go: (day: number) => void, rest: () => void): void {
    for (const canvas of this.#curves.values()) {
      const at = (event: PointerEvent): void =>
        go(this.#dayAt(canvas, event.clientX - canvas.getBoundingClientRect().left));
      canvas.addEventListener("pointerdown", (event) => {
        canvas.setPointerCapture(event.pointerId);
        at(event);
      });
      canvas.addEventListener("pointermove", (event) => {
        if (event.buttons === 1) at(event);
      });
      canvas.addEventListener("pointerup", rest);
    }
  }

  draw(show: Show): void {
    this.#duration = show.duration;
    const colours = pageColours();
    const loadTop = commonLoadTop(show.courses),
      loads = this.#loads(show);
    this.eyes(show);
    for (const quantity of drawn(loads)) {
      const { g, width, height } = ready(this.#curves.get(quantity.key)!);
      const { courses, crowds, otherLaws } = toldOf(quantity.key, show);
      if (sidesOf(show).length > 0 && width > 0)
        drawCurve(
          g,
          { x: 0, y: 0, width, height },
          quantity,
          courses,
          show.day,
          show.duration,
          colours,
          crowds,
          otherLaws,
          this.#pointing.day,
        );
    }
    this.#drawRose(show, loads, loadTop);
    this.#drawSection(show);
    this.#readOut(show, loads);
    const dots = ready($<HTMLCanvasElement>("dots"));
    if (dots.width > 0) drawDots(dots.g, dots.width, dots.height, show.crowds, show.day, colours);
    const scrub = $<HTMLInputElement>("scrub");
    scrub.max = String(show.duration);
    scrub.value = String(show.day);
    const words = t().day(show.day);
    scrub.setAttribute("aria-valuetext", words);
    $("day").textContent = words;
    hooks.day(show.day);
    for (const visit of document.querySelectorAll<HTMLElement>("#visit-row button")) {
      visit.hidden = Number(visit.dataset.day) > show.duration + 0.75; // a run that ends before has no such visit
      visit.setAttribute("aria-pressed", String(Math.abs(Number(visit.dataset.day) - show.day) < 0.75));
    }
    this.verdict(show);
    this.#hideWhatIsOld(show.day);
  }

  /** Words that are long are made when the clock rests; until then those of another day are not shown. */
  #hideWhatIsOld(day: number): void {
    document.body.dataset.old = String(this.#told !== undefined && Math.round(this.#told) !== Math.round(day));
  }

  /** The roses of the hours, while their fold is open. */
  influence(influence: Influence | undefined, side: Side): void {
    const colours = pageColours();
    for (const place of places) {
      const { g, width, height } = ready($<HTMLCanvasElement>(`influence-${place}`));
      if (influence !== undefined && width > 0)
        drawInfluence(
          g,
          width,
          height,
          t().influence[place],
          influence[place],
          colours[side],
          colours,
          measures[influence.measure].unit,
        );
    }
  }

  /** The sentence follows the clock; it is read out when the clock rests. */
  verdict(show: Show): void {
    const { lesson } = this.panel;
    const hidden = this.panel.asks && this.panel.step === 1 && show.day >= 0.5;
    const verdict = show.pending ? "" : hidden ? t().verdict.hidden : verdictOf(show, lesson);
    $("verdict").textContent = verdict;
    $("crowd-verdict").textContent = this.panel.asks || show.pending ? "" : crowdVerdict(show, lesson);
  }

  #drawRose(show: Show, loads: Loads, loadTop: number): void {
    const colours = pageColours(),
      { g, width, height } = ready(this.#rose);
    g.fillStyle = colours.ink;
    g.font = "600 14px system-ui, sans-serif";
    g.textAlign = "left";
    g.fillText(t().picture.rose, 4, 17);
    const radius = Math.min(width / 2, (height - 26) / 2) - 22,
      y = 26 + (height - 26) / 2;
    if (radius > 0)
      drawRose(g, width / 2, y, radius, this.#roseEyes(show), loads, loadTop, colours, this.#pointing.hour);
  }

  #sectionEyes(show: Show): SectionEye[] {
    return sidesOf(show).map((side) => {
      const course = show.courses[side]!;
      return { side, course, moment: course.at(show.day) };
    });
  }
  #drawSection(show: Show): void {
    const { g, width, height } = ready(this.#section);
    if (width > 0) drawSection(g, width, height, this.#sectionEyes(show), this.#pointing.hour ?? 3, pageColours());
  }

  /** What is pointed at, in a line over the pictures and as the value of what has the focus. */
  #readOut(show: Show, loads: Loads): void {
    const { hour, day } = this.#pointing,
      ready = sidesOf(show).length > 0;
    const atHour = hour === undefined || !ready ? "" : hourReadOut(show, hour, loads);
    $("pointed").textContent = atHour;
    $("pointed").hidden = atHour === "";
    for (const canvas of [$("eye-a"), $("eye-b")]) {
      canvas.setAttribute("aria-valuenow", String(hour ?? 12));
      canvas.setAttribute("aria-valuetext", atHour === "" ? t().day(show.day) : atHour);
    }
    if (!ready) return;
    for (const quantity of drawn(loads)) {
      const canvas = this.#curves.get(quantity.key)!;
      canvas.setAttribute("aria-valuemax", String(Math.round(this.#duration)));
      canvas.setAttribute("aria-valuenow", String(Math.round(day ?? show.day)));
      canvas.setAttribute("aria-valuetext", dayReadOut(show, quantity, day ?? show.day));
    }
  }

  /** Both pictures. Of an eye that is pictured before its course is there, whose it is and how much is known stands above. */
  eyes(show: Show): void {
    const eyes = picturedEyes(show);
    drawEyes(eyes, show.scenarios, show.day, this.#pointing.hour);
    for (const side of bothSides) {
      const eye = show.begun?.[side];
      if (eye === undefined || eyes[side] !== eye) continue;
      nameEye(side, eye.scenario.name ?? "");
      if (eye.shows(show.day)) tellLevel(side, "coarse");
      else tellOnly(side, eye.at(show.day).day);
    }
  }

  #roseEyes(show: Show): RoseEyes {
    return Object.fromEntries(
      sidesOf(show).map((s) => [s, { scenario: show.courses[s]!.scenario, moment: show.courses[s]!.at(show.day) }]),
    );
  }

  /** The words, for all who read or listen. */
  tell(show: Show, levels: Partial<Record<Side, Level>>): void {
    const sides = sidesOf(show);
    if (sides.length === 0) return;
    this.#told = show.day;
    this.#hideWhatIsOld(show.day);
    this.panel.tell(show);
    this.verdict(show);
    if (show.pending) {
      for (const id of ["plans", "plans-note", "difference", "crowd-difference", "reading-first", "reading-rest"])
        $(id).replaceChildren();
      return;
    }
    this.#tellPlans(show);
    this.#tellReading(show, sides, levels);
    this.#tellPictures(show, sides, levels);
    $("visits").replaceChildren(visitTable(show));
    fit($("visits"));
    $("caution-cuts").hidden = !sides.some((side) => hasCuts(show.courses[side]!.scenario));
    const key = $("key");
    const ramp = [0, 0.25, 0.5, 0.75, 1].map((t) => loadColour(t, 1)).join(", ");
    key.innerHTML = `<span class="ramp" style="background:linear-gradient(90deg, ${ramp})"></span> `;
    key.append(t().page.keyWords(this.#loads(show).hour(commonLoadTop(show.courses))));
  }

  #tellPlans(show: Show): void {
    $("plans").replaceChildren(planTable(show));
    fit($("plans"));
    $("plans-note").textContent = planRows(show).note;
    const two = show.courses.a !== undefined && show.courses.b !== undefined;
    $("difference").textContent = two ? differenceOf(show.courses.a!, show.courses.b!, show.day) : "";
    $("crowd-difference").textContent = two ? crowdDifference(show.crowds, show.day) : "";
  }

  #tellReading(show: Show, sides: readonly Side[], levels: Partial<Record<Side, Level>>): void {
    const loads = this.#loads(show);
    const readings = sides.map((side) => ({
      side,
      ...wholeReading(show.courses[side]!, show.day, show.crowds[side], show.otherLaws[side], loads),
    }));
    $("reading-first").replaceChildren(...readings.map(({ side, first }) => tagged([side], first)));
    // What is so of both eyes is said once.
    const shared = readings.length < 2 ? [] : readings[0]!.rest.filter((words) => readings[1]!.rest.includes(words));
    const own = readings.map(({ side, rest }) =>
      tagged([side], rest.filter((words) => !shared.includes(words)).join(" ")),
    );
    $("reading-rest").replaceChildren(...own, ...(shared.length > 0 ? [tagged(sides, shared.join(" "))] : []));
    // One crowd speaks for both: they are of one kind, and one may be ahead of the other.
    const crowd = show.crowds.a ?? show.crowds.b;
    const uncertain = sides.flatMap((side) =>
      uncertainties(show.courses[side]!, levels[side] ?? "coarse", crowd, show.otherLaws[side]),
    );
    paragraphs($("uncertain-list"), [...new Set(uncertain)], "li");
  }

  /** The pictures in words: each beside its own, and all of them in one text. */
  #tellPictures(show: Show, sides: readonly Side[], levels: Partial<Record<Side, Level>>): void {
    for (const side of sides) {
      const course = show.courses[side]!;
      nameEye(side, course.scenario.name);
      tellLevel(side, levels[side]);
      $(`eye-${side}`).setAttribute("aria-label", pictureInWords(course, show.day));
    }
    const loads = this.#loads(show),
      curves = drawn(loads).map((quantity): [string, string] => {
        const { courses, crowds, otherLaws } = toldOf(quantity.key, show);
        return [quantity.key, curveInWords(quantity, courses, crowds, otherLaws)];
      }),
      rose = roseInWords(this.#roseEyes(show), loads),
      section = sectionInWords(this.#sectionEyes(show), 3);
    for (const [key, words] of curves) this.#curves.get(key)!.setAttribute("aria-label", words);
    $("dots").setAttribute("aria-label", dotsInWords(show.crowds, show.day));
    this.#rose.setAttribute("aria-label", rose);
    this.#section.setAttribute("aria-label", section);
    paragraphs($("words-text"), [
      ...sides.map((side) => `${side.toUpperCase()}: ${pictureInWords(show.courses[side]!, show.day)}`),
      ...curves.map(([, words]) => words),
      aboutBands(show.crowds),
      rose,
      section,
    ]);
  }
}

/** A paragraph about an eye, or about both, headed by their letters. */
function tagged(sides: readonly Side[], text: string): HTMLElement {
  const p = document.createElement("p");
  p.dataset.of = sides.join("");
  for (const side of sides) {
    const tag = document.createElement("span");
    Object.assign(tag, { className: `tag ${side}`, textContent: side.toUpperCase() });
    p.append(tag, " ");
  }
  p.append(text);
  return p;
}
