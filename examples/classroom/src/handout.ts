// SPDX-License-Identifier: BSD-3-Clause
/** One page to print: the pictures, the words, the visits, the scenario and the caution. */

import { visits } from "./course.js";
import { summary } from "./eye_settings.js";
import { drawEye, halfView } from "./eye_picture.js";
import { curveInWords, drawCurve, quantities } from "./curves.js";
import { eyeColours, paperColours } from "./palette.js";
import { aboutBands, crowdDifference, differenceOf, wholeReading } from "./reading.js";
import { commonLoadTop, type Show, sidesOf } from "./sheet.js";

const element = <K extends keyof HTMLElementTagNameMap>(name: K, text = ""): HTMLElementTagNameMap[K] => {
  const made = document.createElement(name);
  made.textContent = text;
  return made;
};

export function fillHandout(page: HTMLElement, show: Show): void {
  const sides = sidesOf(show);
  page.replaceChildren(element("h1", "The capsule opening after cataract surgery: what if?"));
  const row = element("div");
  row.className = "handout-eyes";
  for (const side of sides) {
    const course = show.courses[side]!;
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = 900;
    const g = canvas.getContext("2d")!;
    g.fillStyle = eyeColours.field;
    g.fillRect(0, 0, 900, 900);
    drawEye(g, course.history.scenario, course.at(show.day), course.start, {
      x: 450,
      y: 450,
      pxPerMm: 450 / halfView,
      loadTop: commonLoadTop(show.courses),
      side,
      labels: true,
    });
    const figure = element("figure");
    const image = new Image();
    image.src = canvas.toDataURL("image/png");
    image.alt = `Eye ${side.toUpperCase()}`;
    figure.append(
      element("h2", `${side.toUpperCase()}: ${course.history.scenario.name}`),
      image,
      element("p", wholeReading(course, show.day, show.crowds[side], show.otherLaws[side])),
      element("p", `Scenario: ${summary(course.history.scenario)}.`),
    );
    row.append(figure);
  }
  // Still one page when much is to be said: smaller letters and pictures.
  page.dataset.words =
    Math.max(...Array.from(row.children, (figure) => figure.textContent!.length)) > 1050 ? "many" : "few";
  page.append(row, curvesOf(show));
  if (show.courses.a && show.courses.b)
    page.append(
      element(
        "p",
        `${differenceOf(show.courses.a, show.courses.b, show.day)}. ${crowdDifference(show.crowds, show.day)}`,
      ),
    );
  page.append(visitTable(show));
  for (const caution of show.cautions) {
    const p = element("p", caution);
    p.className = "caution";
    page.append(p);
  }
  page.append(element("p", `Invented eyes. ${aboutBands(show.crowds)}`));
}

/** Area, decentration and load over time, with their bands. */
function curvesOf(show: Show): HTMLImageElement {
  const [width, height, finer] = [1080, 210, 2];
  const canvas = document.createElement("canvas");
  canvas.width = finer * width;
  canvas.height = finer * height;
  const g = canvas.getContext("2d")!;
  g.scale(finer, finer);
  const shown = quantities.filter((q) => q.key !== "diameter"); // it is in the table
  shown.forEach((quantity, i) =>
    drawCurve(
      g,
      { x: (i * width) / shown.length, y: 0, width: width / shown.length - 10, height },
      quantity,
      show.courses,
      show.day,
      show.duration,
      paperColours,
      show.crowds,
      show.otherLaws,
    ),
  );
  const image = new Image();
  image.className = "handout-curves";
  image.src = canvas.toDataURL("image/png");
  image.alt = shown.map((q) => curveInWords(q, show.courses, show.crowds, show.otherLaws)).join(" ");
  return image;
}

/** The opening at each follow-up visit. */
export function visitTable(show: Show): HTMLTableElement {
  const table = element("table");
  table.className = "visits";
  table.append(element("caption", "Follow-up visits"));
  const sides = sidesOf(show);
  const head = table.createTHead().insertRow();
  const heading = (text: string): void => {
    const th = element("th", text);
    th.scope = "col";
    head.append(th);
  };
  heading("Visit");
  for (const side of sides) {
    heading(`${side.toUpperCase()} opening, mm${show.crowds[side] ? " (8 of 10)" : ""}`);
    heading(`${side.toUpperCase()} area lost`);
  }
  const body = table.createTBody();
  for (const visit of [{ day: 0, name: "surgery" }, ...visits]) {
    if (visit.day > show.duration) continue;
    const line = body.insertRow();
    const th = element("th", visit.name);
    th.scope = "row";
    line.append(th);
    for (const side of sides) {
      const course = show.courses[side]!,
        crowd = show.crowds[side];
      if (visit.day > course.lastDay + 1e-6) {
        line.insertCell().textContent = "–";
        line.insertCell().textContent = "–";
        continue;
      }
      const moment = course.at(visit.day),
        loss = 100 * course.loss(moment);
      const opening = line.insertCell();
      opening.append(moment.diameter.toFixed(2));
      if (crowd && visit.day > 0) {
        const [low, , high] = crowd.at("diameter", visit.day);
        opening.append(" ", element("small", `(${low.toFixed(2)} to ${high.toFixed(2)})`));
      }
      line.insertCell().textContent = `${(Math.abs(loss) < 0.05 ? 0 : loss).toFixed(1)} %`;
    }
  }
  return table;
}
