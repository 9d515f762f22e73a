// SPDX-License-Identifier: BSD-3-Clause
/** What a lesson asks and says, its verdict, and the table of the plans. */

import type { LessonKey } from "../../lessons/lesson_keys.js";

/** What a lesson says. `why` is said for the outcome that the numbers show, and for no other. */
export interface LessonWords {
  title: string;
  a: string; // the plans by name
  b: string;
  question: string;
  answers?: Record<string, string>; // left out: A, B, or both alike
  why: Record<string, string>;
  try: string;
}

// A number and its unit stay in one line.
const percent = (v: number): string => `${Math.abs(v).toFixed(0)}\u00a0%`;
const mm = (v: number): string => `${v.toFixed(1)}\u00a0mm`;
const lost = (v: number): string => (Math.round(v) < 0 ? `gained ${percent(v)}` : `lost ${percent(v)}`);

const all: Record<LessonKey, LessonWords> = {
  small: {
    title: "Small or large opening",
    a: "Large opening",
    b: "Small opening",
    question: "Which opening loses more of its area in a year?",
    why: {
      b: "A small opening leaves more capsule on the lens. More cells sit there, and they pull on a shorter rim.",
      a: "Here the large one shrinks more. Look at what else differs between the two.",
      alike: "In this pair, size alone makes no clear difference.",
    },
    try: "Change the size of B. Where does the loss become small?",
  },
  sector: {
    title: "Fibres missing on one side",
    a: "Loose all round",
    b: "Gap, 3 to 5",
    question: "B has no fibres from 3 to 5 o'clock. Where does its lens go?",
    answers: { away: "Away from the gap", towards: "Into the gap", still: "It stays in the middle" },
    why: {
      away: "The gap pulls at nothing. The fibres across from it do, and no fibre pulls back.",
      towards: "The shrinking capsule draws the lens to the free side here.",
      still: "The pull on both sides stays even enough to hold the lens.",
    },
    try: "Give the hours 3 to 5 some strength. How much is enough?",
  },
  ring: {
    title: "With and without a ring",
    a: "No ring",
    b: "Tension ring",
    question: "A tenth of the fibres is left. Which opening loses more of its area?",
    why: {
      a: "Tissue between the leaves shrinks the whole bag. The ring holds it wide and keeps the leaves apart.",
      b: "The ring does not help here: the opening shrinks more with it.",
      alike: "The ring keeps the bag round. It hardly slows the rim: cells pull as before.",
    },
    try: "Give A more fibres. How many does it take to do without the ring?",
  },
  ringsize: {
    title: "A small or a large ring",
    a: "Small ring",
    b: "Large ring",
    question: "Which opening loses more of its area?",
    why: {
      alike: "In the bag both rings are pressed to nearly one size. The larger pushes harder, for little gain.",
      a: "The larger ring pushes harder and holds the bag wider.",
      b: "The larger ring takes the pull off the fibres. The rim then shrinks more freely.",
    },
    try: "Change the ring of B. Watch the start: a ring widens the opening at once.",
  },
  polish: {
    title: "Polished or not",
    a: "Not polished",
    b: "Polished",
    question: "Polishing left 30 % of the cells in B. Which opening loses more of its area?",
    why: {
      a: "Fewer cells make less tissue, and less tissue pulls less.",
      b: "Polishing does not help in this pair.",
      alike: "The cells that are left make nearly as much tissue here. Polishing makes no clear difference.",
    },
    try: "Change how many cells are left in B. Is half enough?",
  },
  look: {
    title: "When to look",
    a: "An inflamed eye",
    b: "",
    question: "By when has half of the year's loss come about?",
    answers: { month: "Within 1 month", quarter: "Within 3 months", later: "Later" },
    why: {
      month: "Most of the pull comes early. A visit at one month shows where it leads.",
      quarter: "New tissue needs weeks to form. One month shows the trend, three months show the result.",
      later: "A stimulus that stays keeps the tissue alive. One early visit is not enough.",
    },
    try: "Change the lasting stimulus. When does half of the loss come now?",
  },
  when: {
    title: "Cuts early or late",
    a: "Cuts at 1 month",
    b: "Cuts at 6 months",
    question: "Four cuts each. Which opening is larger after a year?",
    why: {
      a: "The early cuts let go before the rim has set, and that lead stays.",
      b: "The early cuts open a rim that goes on to shrink. The late ones meet it near its end.",
      alike: "Early cuts keep the rim wide for longer. Late cuts give back more at once. By the end it is even.",
    },
    try: "Change the day of B's cuts. Which day is best?",
  },
  number: {
    title: "Two cuts or four",
    a: "Two cuts",
    b: "Four cuts",
    question: "Which opening is larger at 6 months?",
    why: {
      b: "Each cut frees its own part of the rim. Two cuts widen it one way; four widen it both ways.",
      a: "Two cuts are enough here: more of them give no more.",
      alike: "More cuts give nothing more here.",
    },
    try: "Make the two cuts of A longer. Can two do what four do?",
  },
  side: {
    title: "Cuts on one side",
    a: "Spread out",
    b: "On one side",
    question: "Four cuts each. Which opening lies farther off centre at 6 months?",
    why: {
      b: "The cut side gapes and the whole side does not, so the opening sits to one side.",
      a: "The spread cuts do not keep it central here.",
      alike: "Where the cuts lie moves the centre little here.",
    },
    try: "Make the cuts of B shorter. Does the opening come back to the middle?",
  },
  laws: {
    title: "Two ideas of what pulls",
    a: "Fibres pull",
    b: "Cells pull",
    question: "One eye, two ideas of what pulls. Which one loses more area?",
    why: {
      a: "Nobody knows yet which idea is right. Here they part: trust the trend, not the number.",
      b: "Nobody knows yet which idea is right. Here they part: trust the trend, not the number.",
      alike: "Both ideas were set by the same patients. Here they agree, so the number hangs less on the idea.",
    },
    try: "Change the lasting stimulus in B. Do the two ideas part?",
  },
};

export const lessons = {
  lessons: all,
  ask: {
    nav: "Lessons",
    number: (n: number, of: number): string => `Lesson ${n} of ${of}`,
    a: "A",
    b: "B",
    alike: "Both alike",
    you: (answer: string, right: boolean): string =>
      right ? `You said “${answer}”. Right.` : `You said “${answer}”. Not so.`,
    steps: ["Ask", "Watch", "Why", "Try"] as string[],
    step: (n: number, name: string): string => `Step ${n}: ${name}`,
    watch: "The year goes by. Watch the white rim and the tinted loss.",
    back: "Back",
    next: "Next",
    nextLesson: "Next lesson",
    restart: "Restart",
    skip: "Show the year",
    free: "Your own pair of eyes. Change one thing and play.",
    freeTitle: "Explore",
    changed: "You changed this pair. Restart brings the lesson back.",
  },
  verdict: {
    start: (a: string, b: string | null): string =>
      b === null ? `Day 0: the opening as made, ${a} wide.` : `Day 0: the openings as made, A ${a} and B ${b} wide.`,
    hidden: "Your answer first. Then the year goes by.",
    lostOne: (when: string, v: number): string => `${when} the opening has ${lost(v)} of its area.`,
    lost: (when: string, a: number, b: number, who: string): string =>
      who === "alike"
        ? `${when} both are alike: A has ${lost(a)} of its area, B ${lost(b).replace("lost ", "")}.`
        : who === "b"
          ? `${when} B has ${lost(b)} of its area, A ${lost(a).replace("lost ", "")}.`
          : `${when} A has ${lost(a)} of its area, B ${lost(b).replace("lost ", "")}.`,
    area: (when: string, a: number, b: number, who: string): string =>
      who === "alike"
        ? `${when} both openings are alike: A ${mm(a)}², B ${mm(b)}².`
        : `${when} ${who.toUpperCase()} is larger: A ${mm(a)}², B ${mm(b)}².`,
    offCentre: (when: string, a: number, b: number, who: string): string =>
      who === "alike"
        ? `${when} no clear difference: A lies ${mm(a)} off centre, B ${mm(b)}.`
        : `${when} ${who.toUpperCase()} lies farther off centre: A ${mm(a)}, B ${mm(b)}.`,
    direction: (when: string, shift: number, where: string): string =>
      where === "still"
        ? `${when} the lens of B is still in the middle.`
        : `${when} the lens of B has moved ${shift.toFixed(2)}\u00a0mm ${where === "away" ? "away from" : "into"} the gap.`,
    half: (days: number): string => `Half of the year's loss has come by day ${Math.round(days)}.`,
    crowd: (same: number, of: number): string => `So it is in ${same} of ${of} eyes like these.`,
    counting: (n: number, of: number): string => `Counting eyes like these: ${n} of ${of} …`,
    unheld: "Nothing holds this bag, so its place cannot be told.",
  },
  table: {
    caption: (when: string): string => `The plans, from surgery to ${when} (bold: as run)`,
    plan: "Plan",
    opening: "Opening, mm",
    crowd: "8 of 10 eyes",
    shift: "Lens moved, mm",
    cuts: "Cuts gave, mm²",
    byLaw: ["Lost if fibres pull", "Lost if cells pull"] as string[],
    keep: (letter: string): string => `Keep ${letter} as a further plan`,
    drop: (letter: string): string => `Remove plan ${letter}`,
    none: "–",
    to: (low: string, high: string, unit = ""): string => `${low} to ${high}${unit}`,
    part: "≠ The two ideas of what pulls differ by more than the plans do.",
    months: (n: number): string => `${n} months`,
    days: (n: number): string => `day ${n}`,
  },
  controls: {
    diameter: "size of the opening",
    gap: "fibres from 3 to 5 o'clock",
    strength: "strength of the fibres",
    cells: "cells left",
    chronic: "lasting stimulus",
    ring: "free size of the ring",
    cutDay: "day of the cuts",
    cutLength: "length of the cuts",
  },
};
