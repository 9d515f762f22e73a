// SPDX-License-Identifier: BSD-3-Clause
/** One page to print: question, room for a prediction, six visits in lines, tables, cautions, the way back to the page. */

import type { Point } from "capsim";
import { renderSVG } from "uqr";
import type { Lesson } from "../lessons/lesson_list.js";
import { type Course, visits } from "../state/course.js";
import { summary } from "../state/eye_settings.js";
import { codeOf } from "../state/address.js";
import { type Show, sidesOf } from "../state/show.js";
import { labelled } from "../stage/fit_tables.js";
import { aboutBands } from "../words/reading.js";
import { fixed, t } from "../words/texts.js";
import { endInWords, planRows } from "../words/verdict.js";

const element = <K extends keyof HTMLElementTagNameMap>(name: K, text = ""): HTMLElementTagNameMap[K] => {
  const made = document.createElement(name);
  made.textContent = text;
  return made;
};

/** What the sheet says beside the runs. */
export interface HandoutWords {
  lesson: Lesson | undefined;
  link: string;
  version: string;
}

/** Room for this many lines of a prediction. */
const lines = 2;

export function fillHandout(page: HTMLElement, show: Show, about: HandoutWords): void {
  const words = t().paper,
    { lesson } = about;
  page.replaceChildren(element("h1", lesson ? t().lessons[lesson.key].title : words.title));
  if (lesson) page.append(named("p", "handout-question", t().lessons[lesson.key].question));
  page.append(ruled(words.predict), strip(show), ruled(words.seen));
  page.append(planTable(show), visitTable(show));
  for (const side of sidesOf(show))
    page.append(element("p", `${side.toUpperCase()}: ${summary(show.courses[side]!.scenario)}.`));
  for (const caution of show.cautions) page.append(named("p", "caution", caution));
  page.append(foot(show, about));
}

function named<K extends keyof HTMLElementTagNameMap>(tag: K, name: string, text = ""): HTMLElementTagNameMap[K] {
  const made = element(tag, text);
  made.className = name;
  return made;
}

/** A heading with empty lines to write on. */
function ruled(heading: string): HTMLElement {
  const box = named("div", "ruled");
  box.append(element("p", heading));
  for (let i = 0; i < lines; ++i) box.append(named("div", "rule"));
  return box;
}

/** Each eye at six visits, as drawings in black lines. */
function strip(show: Show): HTMLElement {
  const table = named("div", "strip");
  const days = [0, ...visits.map((v) => v.day).filter((d) => d > 1 && d <= show.duration)];
  for (const side of sidesOf(show)) {
    const course = show.courses[side]!;
    const row = named("figure", "strip-row");
    row.append(element("figcaption", `${side.toUpperCase()} ${course.scenario.name}`));
    for (const day of days) row.append(lineArt(course, day));
    table.append(row);
  }
  return table;
}

/** The eye on one day in lines that print: bag, first rim dotted, rim of the day full, what is lost hatched by nothing but its gap. */
function lineArt(course: Course, day: number): HTMLElement {
  const moment = course.at(day),
    { start } = course;
  const d = (points: readonly Point[]): string =>
    `M${points.map(([x, y]) => `${x.toFixed(3)} ${(-y).toFixed(3)}`).join("L")}Z`;
  const cell = named("div", "strip-cell");
  const lens = course.scenario.lens;
  const optic = lens
    ? `<circle cx="${moment.lens[0]}" cy="${-moment.lens[1]}" r="${(lens.optic_diameter_mm ?? 6) / 2}" stroke-dasharray=".5 .25"/>`
    : "";
  cell.innerHTML =
    `<svg viewBox="-6.6 -6.6 13.2 13.2" role="img" fill="none" stroke="#000" stroke-width=".1">` +
    `<path d="${d(moment.equator)}"/>${optic}<path d="${d(start.rim)}" stroke-dasharray=".12 .22"/>` +
    `<path d="${d(start.rim)}${d(moment.rim)}" fill="#bbb" fill-rule="evenodd" stroke="none"/>` +
    `<path d="${d(moment.rim)}" stroke-width=".24"/></svg>`;
  cell.append(element("small", `${t().day(day)}: ${fixed(moment.diameter, 1)} mm`));
  return cell;
}

/** The page again, by hand or by camera; when and with what it was made. */
function foot(show: Show, { link, version }: HandoutWords): HTMLElement {
  const box = named("div", "handout-foot");
  const words = named("div", "handout-made");
  words.append(
    element("p", t().paper.made(new Date().toISOString().slice(0, 10), version)),
    element(
      "p",
      `${codeOf(link) === link ? t().paper.scan : t().paper.scanDisk} ${link.length > 160 ? `${link.slice(0, 160)}…` : link}`,
    ),
    element("p", aboutBands(show.crowds)),
  );
  box.append(words);
  const said = codeOf(link);
  if (said.length <= longestCode) {
    const code = named("div", "qr");
    code.dataset.says = said;
    code.innerHTML = renderSVG(said, { ecc: "L", border: 2 });
    box.append(code);
  }
  return box;
}
/** A longer address makes a code too fine to be read off paper. */
const longestCode = 900;

/** The plans as rows: what happened to each, from its own start. A plan's name has a line of its own, so that the numbers fit a phone. */
export function planTable(show: Show): HTMLTableElement {
  const { head, rows, own, note } = planRows(show);
  const table = element("table");
  table.className = "plans";
  table.append(element("caption", t().table.caption(endInWords(show.duration))));
  const columns = head.map((_, i) => i).filter((i) => i > 0 && rows.some((row) => row[i] !== t().table.none));
  const top = table.createTHead().insertRow();
  for (const i of columns) {
    const th = element("th", head[i]);
    th.scope = "col";
    top.append(th);
  }
  rows.forEach((row, k) => {
    const body = table.createTBody(),
      name = element("th", row[0]);
    Object.assign(name, { scope: "rowgroup", colSpan: columns.length });
    body.dataset.plan = row[0]![0]!.toLowerCase();
    body.insertRow().append(name);
    const line = body.insertRow();
    for (const i of columns) line.insertCell().append(i === own[k] ? element("strong", row[i]) : row[i]!);
  });
  if (note !== "") table.title = note;
  return labelled(table);
}

/** The opening at each follow-up visit. */
export function visitTable(show: Show): HTMLTableElement {
  const table = element("table");
  table.className = "visits";
  table.append(element("caption", t().paper.visits));
  const sides = sidesOf(show);
  const head = table.createTHead().insertRow();
  const heading = (text: string): void => {
    const th = element("th", text);
    th.scope = "col";
    head.append(th);
  };
  heading(t().paper.visit);
  for (const side of sides) {
    heading(t().paper.opening(side.toUpperCase(), show.crowds[side] !== undefined));
    heading(t().paper.lost(side.toUpperCase()));
  }
  const body = table.createTBody();
  for (const visit of [{ day: 0, name: t().surgery }, ...visits]) {
    if (visit.day > show.duration) continue;
    const line = body.insertRow();
    const th = element("th", visit.name);
    th.scope = "row";
    line.append(th);
    for (const side of sides) {
      const course = show.courses[side]!,
        crowd = show.crowds[side];
      if (visit.day > course.lastDay + 1e-6) {
        line.insertCell().textContent = t().table.none;
        line.insertCell().textContent = t().table.none;
        continue;
      }
      const moment = course.at(visit.day),
        loss = 100 * course.loss(moment);
      const opening = line.insertCell();
      opening.append(fixed(moment.diameter, 2));
      if (crowd && visit.day > 0) {
        const [low, , high] = crowd.at("diameter", visit.day);
        opening.append(" ", element("small", `(${t().table.to(fixed(low, 2), fixed(high, 2))})`));
      }
      line.insertCell().textContent = `${fixed(Math.abs(loss) < 0.05 ? 0 : loss, 1)} %`;
    }
  }
  return labelled(table);
}
