// SPDX-License-Identifier: BSD-3-Clause
/** German. */

import type { Texts } from "../en/index.js";
import { listed } from "../listed.js";
import { lessons } from "./lessons.js";
import { panels } from "./panels.js";
import { paper } from "./paper.js";
import { reading } from "./reading.js";
import { stage } from "./stage.js";

export const de: Texts = {
  language: "Deutsch",
  locale: "de",
  decimal: ",",
  clock: {
    none: "keine Stunde",
    all: "alle Stunden",
    hours: (hours) => `${listed(hours, "und")} Uhr`,
    short: (hour) => `${hour} h`,
    spoken: "Uhr",
  },
  direction: {
    nowhere: "nirgendwohin",
    up: "nach oben",
    down: "nach unten",
    right: "nach rechts",
    left: "nach links",
    nasally: "nach nasal",
    temporally: "nach temporal",
    joined: (words) => words.join(" und "),
  },
  title: "Die Öffnung der Kapsel: Was wäre, wenn?",
  short: "Für Forschung und Lehre, nicht für die Behandlung eines Patienten.",
  visit: ["1 Tag", "1 Woche", "1 Monat", "3 Monate", "6 Monate", "12 Monate"],
  surgery: "Operation",
  at: (visit) => `Nach ${visit.replace(/(Tag|Monat)e$/, "$1en")}`,
  onDay: (day) => (day < 0.5 ? "Am Ende der Operation" : `Am Tag ${Math.round(day)}`),
  day: (day) => `Tag ${Math.round(day)}`,
  ...lessons,
  ...stage,
  ...reading,
  ...panels,
  ...paper,
};
