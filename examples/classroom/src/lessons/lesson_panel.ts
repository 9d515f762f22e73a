// SPDX-License-Identifier: BSD-3-Clause
/** The card of a lesson: ask, watch, why, try. It asks before it tells; what it tells comes from the runs. */

import type { Scenario } from "capsim";
import { NumberControl } from "../panels/number_control.js";
import type { Side } from "../state/frame.js";
import type { Show } from "../state/show.js";
import { t } from "../words/texts.js";
import { lessonKeys } from "./lesson_keys.js";
import { type Lesson, lessons } from "./lesson_list.js";
import { answersTo, find } from "./measure.js";

export type Step = 1 | 2 | 3 | 4;

export interface LessonListener {
  /** An answer is given, or waived: the year is to go by. */
  play(): void;
  /** The lesson's day is to be shown at once. */
  skip(): void;
  choose(key: string): void;
  restart(): void;
  /** The step has changed. */
  stepped(): void;
  scenario(side: Side): Scenario;
  begin(): void;
  changed(side: Side, resting: boolean): void;
}

const make = <K extends keyof HTMLElementTagNameMap>(
  tag: K,
  text = "",
  more: Partial<HTMLElementTagNameMap[K]> = {},
): HTMLElementTagNameMap[K] => Object.assign(document.createElement(tag), { textContent: text }, more);

export class LessonPanel {
  #lesson: Lesson | undefined;
  #step: Step = 1;
  #answer: string | undefined;
  #edited = false;
  #trial: NumberControl | undefined;
  #finding = "";

  constructor(
    private readonly card: HTMLElement,
    private readonly row: HTMLElement,
    private readonly listener: LessonListener,
  ) {
    for (const [i, { key }] of lessons().entries()) {
      const button = make("button", String(i + 1), { type: "button", title: t().lessons[key].title });
      button.dataset.lesson = key;
      button.setAttribute("aria-label", `${t().ask.number(i + 1, lessonKeys.length)}: ${t().lessons[key].title}`);
      button.addEventListener("click", () => listener.choose(key));
      row.append(button);
    }
  }

  get lesson(): Lesson | undefined {
    return this.#lesson;
  }
  get step(): Step {
    return this.#step;
  }
  /** True while the answer must not be seen. */
  get asks(): boolean {
    return this.#lesson !== undefined && this.#step < 3;
  }

  take(lesson: Lesson | undefined, step: Step): void {
    this.#lesson = lesson;
    this.#step = step;
    this.#answer = undefined;
    this.#edited = false;
    for (const button of this.row.querySelectorAll<HTMLElement>("button"))
      if (button.dataset.lesson === lesson?.key) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    this.#draw();
  }

  /** The eyes on screen are no longer those of the lesson, or are again. */
  set edited(value: boolean) {
    if (this.#edited === value) return;
    this.#edited = value;
    this.card.querySelector<HTMLElement>(".changed")?.toggleAttribute("hidden", !value);
  }

  go(step: Step): void {
    if (this.#lesson === undefined || step === this.#step) return;
    this.#step = step;
    this.#draw();
    this.listener.stepped();
  }

  /** The clock has stopped, or stands, on a day. */
  arrived(day: number): void {
    if (this.#lesson !== undefined && this.#step === 2 && day >= this.#lesson.day - 0.5) this.go(3);
  }

  back(): void {
    if (this.#lesson !== undefined && this.#step > 1) this.#move((this.#step === 3 ? 1 : this.#step - 1) as Step);
  }
  next(): void {
    if (this.#lesson === undefined) return this.listener.choose(lessonKeys[0]!);
    if (this.#step === 1) return this.#commit(undefined);
    if (this.#step === 2) return this.listener.skip();
    if (this.#step === 3) return this.#move(4);
    const at = lessonKeys.indexOf(this.#lesson.key);
    this.listener.choose(lessonKeys[(at + 1) % lessonKeys.length]!);
  }

  /** Gives the answer with a number, from 1. */
  answerNumber(n: number): void {
    const answer = this.#lesson && this.#step === 1 ? answersTo(this.#lesson.measure)[n - 1] : undefined;
    if (answer !== undefined) this.#commit(answer);
  }

  /** What the runs say is put in when they are there. */
  tell(show: Show): void {
    const { a, b } = show.courses;
    const found =
      this.#lesson && a && !show.pending ? find(this.#lesson.measure, a, b, this.#lesson.day)?.answer : undefined;
    const finding = found ?? "";
    if (finding !== this.#finding) {
      this.#finding = finding;
      if (this.#step === 3) this.#draw();
    }
    if (this.#trial && this.#lesson)
      this.#trial.set(this.#lesson.trial.get(this.listener.scenario(this.#lesson.trial.side)));
  }

  #commit(answer: string | undefined): void {
    this.#answer = answer;
    this.#move(2);
  }

  #move(step: Step): void {
    this.go(step);
    if (step === 2) this.listener.play();
    this.card.querySelector<HTMLElement>(".now")?.focus({ preventScroll: true });
  }

  #draw(): void {
    const lesson = this.#lesson,
      words = t().ask;
    this.#trial = undefined;
    document.body.dataset.step = lesson ? String(this.#step) : "free";
    if (lesson === undefined) {
      this.card.replaceChildren(make("h2", words.freeTitle), make("p", words.free));
      return;
    }
    const say = t().lessons[lesson.key];
    const number = words.number(lessonKeys.indexOf(lesson.key) + 1, lessonKeys.length);
    const body = [this.#ask, this.#watch, this.#why, this.#try][this.#step - 1]!.call(this, lesson);
    const head = make("h2", say.title, { className: "now", tabIndex: -1 });
    this.card.replaceChildren(make("p", number, { className: "count" }), head, this.#steps(), ...body, this.#ways());
  }

  #steps(): HTMLElement {
    const list = make("ol", "", { className: "steps" });
    t().ask.steps.forEach((name, i) => {
      const item = make("li", name);
      if (i + 1 === this.#step) item.setAttribute("aria-current", "step");
      list.append(item);
    });
    return list;
  }

  #nameOf(lesson: Lesson, answer: string): string {
    const words = t().ask;
    const own = t().lessons[lesson.key].answers?.[answer];
    if (own !== undefined) return own;
    return answer === "alike" ? words.alike : `${answer.toUpperCase()}: ${t().lessons[lesson.key][answer as Side]}`;
  }

  #ask(lesson: Lesson): HTMLElement[] {
    const group = make("div", "", { className: "answers" });
    group.setAttribute("role", "group");
    group.setAttribute("aria-labelledby", "question");
    answersTo(lesson.measure).forEach((answer, i) => {
      const button = make("button", "", { type: "button" });
      button.append(make("kbd", String(i + 1)), this.#nameOf(lesson, answer));
      button.dataset.answer = answer;
      button.addEventListener("click", () => this.#commit(answer));
      group.append(button);
    });
    return [make("p", t().lessons[lesson.key].question, { className: "question", id: "question" }), group];
  }

  #watch(lesson: Lesson): HTMLElement[] {
    return [make("p", t().lessons[lesson.key].question, { className: "question" }), make("p", t().ask.watch)];
  }

  #why(lesson: Lesson): HTMLElement[] {
    const parts: HTMLElement[] = [];
    if (this.#answer !== undefined && this.#finding !== "") {
      const right = this.#answer === this.#finding;
      const said = make("p", t().ask.you(this.#nameOf(lesson, this.#answer), right), { className: "said" });
      said.dataset.right = String(right);
      parts.push(said);
    }
    const why = t().lessons[lesson.key].why[this.#finding];
    if (why !== undefined) parts.push(make("p", why, { className: "why" }));
    return parts;
  }

  #try(lesson: Lesson): HTMLElement[] {
    const { side, label, range, digits, unit, get, set } = lesson.trial;
    const control = new NumberControl({
      id: "trial",
      label: `${side.toUpperCase()}: ${t().controls[label]}`,
      unit,
      spoken: { mm: t().panel.mm, d: t().panel.daySpoken }[unit] ?? unit,
      min: range[0],
      max: range[1],
      step: range[2],
      digits,
      begin: () => this.listener.begin(),
      change: (value, resting) => {
        set(this.listener.scenario(side), value);
        this.listener.changed(side, resting);
      },
    });
    control.set(get(this.listener.scenario(side)));
    this.#trial = control;
    const changed = make("p", t().ask.changed, { className: "changed note", hidden: !this.#edited });
    return [make("p", t().lessons[lesson.key].try, { className: "question" }), control.element, changed];
  }

  #ways(): HTMLElement {
    const words = t().ask,
      row = make("div", "", { className: "ways" });
    const button = (id: string, text: string, act: () => void): HTMLButtonElement => {
      const made = make("button", text, { type: "button", id });
      made.addEventListener("click", act);
      row.append(made);
      return made;
    };
    button("lesson-back", words.back, () => this.back()).disabled = this.#step === 1;
    const next = [words.skip, words.skip, words.next, words.nextLesson][this.#step - 1]!;
    const go = button("lesson-next", next, () => this.next());
    if (this.#step > 1) go.className = "primary";
    button("lesson-restart", words.restart, () => this.listener.restart());
    return row;
  }
}
