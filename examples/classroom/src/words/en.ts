// SPDX-License-Identifier: BSD-3-Clause
/** English: every word that is seen first. Another language is another file of this shape. */

import type { LessonKey } from "../lessons/lesson_list.js";

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

/** "3, 4 and 5". */
export const listed = (items: readonly string[], and: string): string =>
  items.length < 2 ? items.join("") : `${items.slice(0, -1).join(", ")} ${and} ${items.at(-1)!}`;

// A number and its unit stay in one line.
const percent = (v: number): string => `${Math.abs(v).toFixed(0)}\u00a0%`;
const mm = (v: number): string => `${v.toFixed(1)}\u00a0mm`;
const lost = (v: number): string => (Math.round(v) < 0 ? `gained ${percent(v)}` : `lost ${percent(v)}`);

const lessons: Record<LessonKey, LessonWords> = {
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
      a: "The ring holds the bag wide. It slows the shrinking, but it does not stop it.",
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

export const en = {
  language: "English",
  locale: "en",
  decimal: ".",
  /** Hours of a clock face. */
  clock: {
    none: "no hour",
    all: "all hours",
    hours: (hours: readonly string[]): string => `${listed(hours, "and")} o'clock`,
    short: (hour: number): string => `${hour} h`,
    spoken: "o'clock",
  },
  direction: {
    nowhere: "nowhere",
    up: "up",
    down: "down",
    right: "to the right",
    left: "to the left",
    nasally: "nasally",
    temporally: "temporally",
    joined: (words: readonly string[]): string => words.join(" and "),
  },
  /** In the pictures. */
  picture: {
    nasal: "nasal",
    temporal: "temporal",
    months: (n: number): string => `${n} mo`,
    other: (side: string, alike: boolean): string => (alike ? `${side} other ≈ ${side}` : `${side} other`),
    rose: "Zonule load by hour",
    roseLabel: "Zonule load by clock hour",
    overTime: (name: string): string => `${name} over time`,
    times: (times: string): string => `${times} ×`,
    timesUnit: "× healthy",
  },
  /** Of one eye, the day it is shown. Numbers come as they are to be printed. */
  reading: {
    atEnd: (mm: string, mm2: string, load: string): string =>
      `At the end of surgery the opening is ${mm} mm across (${mm2} mm²) and the zonule carries ${load}.`,
    then: (when: string, mm: string, percent: string, way: "same" | "smaller" | "larger"): string =>
      `${when} the opening is ${mm} mm across, ${way === "same" ? "about the same area as" : `${percent} % ${way} in area than`} at the end of surgery.`,
    lobed: (least: string, most: string): string =>
      `It is lobed by its cuts: ${least} mm at its narrowest, ${most} mm at its widest.`,
    oval: (least: string, most: string): string => `It is oval: ${least} by ${most} mm.`,
    central: (lens: boolean): string => `The ${lens ? "lens" : "opening"} has stayed central.`,
    moved: (lens: boolean, mm: string, direction: string, way: "away" | "towards" | "", weak: string): string =>
      `The ${lens ? "lens" : "opening"} has moved ${mm} mm ${direction}${
        way === "" ? "" : `, ${way === "away" ? "away from" : "towards"} the weak hours (${weak})`
      }.`,
    load: (now: string, start: string, where: string): string =>
      `The zonule carries ${now} (${start} on day 0), ${where}.`,
    even: "evenly round the clock",
    nearlyEven: "nearly evenly round the clock",
    most: (hours: string, each: boolean, load: string): string => `most at ${hours} (${each ? "each " : ""}${load})`,
    timesWhole: (times: string): string => `${times} times what a healthy one does`,
    timesHour: (times: string): string => `${times} times a healthy hour`,
    inAll: (mN: string): string => `${mN} mN in all`,
    cuts: (n: number, mm: string, day: number): string =>
      `${["No cut", "One cut", "Two cuts", "Three cuts", "Four cuts", "Five cuts", "Six cuts"][n] ?? `${n} cuts`} of ${mm} mm on day ${day}`,
    noRelief: (cuts: string): string =>
      `${cuts}: the lips close or overlap instead of gaping, so no relief can be stated.`,
    toCome: (cuts: string): string => `${cuts} are still to come.`,
    relief: (cuts: string, n: number, mm2: string): string =>
      `${cuts} ${n === 1 ? "gives" : "give"} back ${mm2} mm² at once.`,
    nothingPulls: (when: string): string =>
      `${when} no tissue pulls at the rim: nothing is there that could close the opening.`,
    margin: (when: string, near: "near" | "some" | "far", end: "tips" | "closes" | "holds", factor: string): string => {
      const pull = `${factor} times as hard as it does, and for good,`;
      const what = {
        tips: `would have to pull about ${pull} before nothing held the opening any more`,
        closes: `would have to pull about ${pull} before the opening had lost nine tenths of its area`,
        holds: `could pull ${pull} and the opening would still hold`,
      }[end];
      return (
        `${when} this eye is ${{ near: "near", some: "some way from", far: "far from" }[near]} closing: the tissue at its rim ${what}; ` +
        "this does not say whether or when it will, and among real eyes of one kind the number differs several-fold."
      );
    },
    range: (low: string, high: string, unit: string): string =>
      low === high ? `at ${low} ${unit}` : `between ${low} and ${high} ${unit}`,
    band: (across: string, lost: string, lens: boolean, off: string | undefined): string =>
      `In 8 of 10 eyes like this one the opening is then ${across} across${lost}, and the ${lens ? "lens" : "opening"} ` +
      (off === undefined ? "is central." : `lies ${off} from the pupil's centre.`),
    bandLost: (low: string, high: string): string => ` (${low} to ${high} % of the area lost)`,
    noBand: "No band of real eyes is shown: read directions and comparisons, not millimetres.",
    aboutBand: (source: string): string =>
      `In the band lie 8 of 10 eyes, a tenth on either side (${source}). The spread is fitted to published groups of patients and put about this invented eye.`,
    source: (eyes: number, description: string, name: string, edition: string, failed: number): string =>
      `${eyes} eyes, spread as in: ${description}, population ${name}, edition ${edition}` +
      (failed > 0 ? `; ${failed} of them did not reach the last day` : ""),
    sameEyes: (eyes: number, low: string, high: string, less: number): string =>
      `The same ${eyes} eyes under both: area ${low} to ${high} mm² in 8 of 10, smaller in B in ${less} of ${eyes}.`,
    difference: (day: number, area: string, diameter: string, off: string, load: string): string =>
      `B minus A, day ${day}: area ${area} mm², diameter ${diameter} mm, decentration ${off} mm, zonule load ${load} mN`,
    otherLaw: (law: string, when: string, what: string): string =>
      `Under the other hypothesis of what pulls (${law}) the opening ${when[0]!.toLowerCase()}${when.slice(1)} would be ${what} (the difference is that of the quick, coarse answer).`,
    otherSame: (mm: string): string => `the same to within ${mm} mm`,
    otherInstead: (other: string, own: string): string => `${other} mm across instead of ${own} mm`,
  },
  /** What a listener must know before believing the picture. */
  doubts: {
    band: (source: string): string =>
      `The line is one invented eye; 8 of 10 eyes like it lie in the band (${source}). The band holds what differed within published groups of patients and nothing else: not the surgeon's or the model's own error.`,
    noBand:
      "The numbers are those of one invented eye, shown without the spread of real eyes: read directions and comparisons, not millimetres.",
    front: "Seen from the front only: no tilt, no movement forward or back, no gravity, no tearing, no laser shock.",
    averages:
      "The push of the haptics, the pull of the zonule and the speed of healing are assumed averages; nobody can measure them in a patient today.",
    laws: "Two hypotheses of what pulls are fitted to the same groups of patients, and nobody has told them apart in a patient. The thin line is this eye under the other one; the gap to it comes on top of the band.",
    line: "Days between computed ones lie on a straight line.",
    coarse: "This is the quick, coarse answer while a control moves.",
    ring: "The ring's stiffness after months in the bag is uncertain; so is how its ends slide.",
    cuts: "New tissue bridging a cut is not modelled: late relief may be too good.",
  },
  /** The pictures for those who do not see them. */
  words: {
    view: (eye: string | undefined, day: number): string =>
      `Front view of ${eye === undefined ? "an eye" : `a ${eye} eye`}, day ${day}`,
    opening: (mm: string, least: string, most: string): string => `opening ${mm} mm, from ${least} to ${most} mm`,
    held: "zonule present all round",
    absent: (hours: string): string => `no zonule at ${hours}`,
    weak: (hours: string): string => `weak zonule at ${hours}`,
    optic: (mm: string, off: string): string => `optic of ${mm} mm, ${off} mm off centre`,
    noLens: "no lens",
    ring: "a tension ring lies in the bag",
    tissue: (percent: number): string => `fibrous tissue at ${percent} % of its full thickness under the rim`,
    leastTissue: (hours: string, percent: number): string => `, least at ${hours} (${percent} %)`,
    cuts: (hours: string): string => `relaxing cuts at ${hours}`,
    onDay: (value: string, day: number): string => `${value} on day ${day}`,
    bandEnds: (low: string, high: string): string => `; 8 of 10 such eyes end between ${low} and ${high}`,
    lawEnds: (other: string, own: string): string =>
      `; the thin line, under the other hypothesis of what pulls, ends at ${other} instead of ${own}`,
    curve: (name: string, unit: string, parts: string): string => `${name} in ${unit} over time. ${parts}.`,
    rose: (unit: string, parts: string): string => `Zonule load by clock hour in ${unit}. ${parts}.`,
    times: "multiples of a healthy hour",
    timesWhole: "multiples of a healthy one",
    millinewton: "millinewton",
  },
  /** An eye in one line. */
  summary: {
    eye: (side: string | undefined): string => (side === undefined ? "eye, side not stated" : `${side} eye`),
    by: (both: readonly string[]): string => both.join(" by "),
    opening: (mm: string): string => `opening ${mm} mm`,
    zonule: (low: number, high: number): string => (low === high ? `zonule ${high} %` : `zonule ${low} to ${high} %`),
    ring: (mm: string): string => `ring ${mm} mm`,
    optic: (mm: string): string => `optic ${mm} mm`,
    noLens: "no lens",
    cells: (low: number, high: number): string => `cells left ${low} to ${high} %`,
    stimulus: (v: string): string => `lasting stimulus ${v}`,
    cuts: (n: number, mm: string, day: number): string => `${n} cuts of ${mm} mm on day ${day}`,
    plain: "A plain eye",
    unnamed: "unnamed",
  },
  /** What the library says in English of its own, by its names; a test compares. */
  library: {
    research:
      "For research and teaching only, not for treating a patient. Clinical decisions belong to the licensed clinician and to local protocols. The model is in-plane: no tilt, no axial shift, no gravity, no tearing, no laser shock. Eyes differ from one another by more than the mean effect, so a single number without a band is not a forecast.",
    cuts: "Relaxing cuts carry risks: pressure rise, inflammation, lens pitting, macular oedema, retinal detachment, a cut that runs on to the equator, a change of zonular load and lens dislocation. Published rates are for posterior laser openings, not for anterior relaxing cuts.",
    populations: {
      age_related_cataract: "Eyes without known risk, with a lens of hydrophobic acrylic or PMMA",
      silicone_lens: "Eyes without known risk, with a silicone lens",
      polished_rim: "Eyes without known risk whose rim was polished free of cells",
      pseudoexfoliation: "Eyes with pseudoexfoliation: weak zonule and a lasting stimulus",
      age_related_cataract_whole_bag:
        "Eyes without known risk, with a lens of hydrophobic acrylic or PMMA; the bag contracts as a whole",
      silicone_lens_whole_bag: "Eyes without known risk, with a silicone lens; the bag contracts as a whole",
      polished_rim_whole_bag:
        "Eyes without known risk whose rim was polished free of cells; the bag contracts as a whole",
      pseudoexfoliation_whole_bag: "Eyes with pseudoexfoliation: weak zonule; the bag contracts as a whole",
    } as Record<string, string>,
    /** What a flag says: its code, the library's own words, and the numbers in them. */
    flag: (_code: string, text: string, _numbers: readonly string[]): string => text,
    measurements: {
      opening_diameter_mm: "diameter of the opening, mm,",
      clear_circle_diameter_mm: "clear circle, mm,",
      area_loss_percent: "area lost, %,",
      opening_decentration_mm: "opening off centre, mm,",
      lens_decentration_mm: "lens off centre, mm,",
      opening_min_diameter_mm: "narrowest width, mm,",
    } as Record<string, string>,
  },
  /** Read off where one points. */
  pointed: {
    at: (where: string, what: string): string => `${where}: ${what}`,
    eye: (side: string, mm: string, inward: boolean, load: string): string =>
      `${side} rim ${mm} mm ${inward ? "in" : "out"}, ${load}`,
  },
  /** The sketch from the side. */
  section: {
    title: "From the side (sketch)",
    note: "Heights are drawn, not computed.",
    optic: "optic",
    contact: "contact zone",
    fused: "fused leaves",
    shows: "The front leaf lies over the optic up to the rim, with the tissue of the contact zone below it.",
  },
  panel: {
    opening: "Opening (capsulorhexis)",
    zonule: "Zonule",
    ring: "Tension ring",
    healing: "Cells and healing",
    cuts: "Relaxing cuts",
    lens: "Lens",
    eye: "Eye",
    name: "Name",
    side: "Side",
    sides: { right: "right", left: "left" } as Record<string, string>,
    mirrored: "The other side is the mirror image: what is nasal stays nasal.",
    oval: (both: string): string => `Oval: ${both} mm. Setting a diameter makes it round.`,
    diameter: "Diameter",
    mm: "millimetres",
    across: "Centre, across",
    acrossSpoken: "millimetres to the right of the picture",
    acrossNote: "Positive is to the right of the picture.",
    up: "Centre, up",
    upSpoken: "millimetres up",
    presets: {
      firm: ["Firm", "healthy fibres all round"],
      weak: ["Uniformly weak", "a third of the strength all round"],
      sector: ["Weak sector", "firm, but weak from 3 to 5 o'clock"],
      missing: ["Missing sector", "firm, but nothing from 3 to 5 o'clock"],
    } as Record<string, [string, string]>,
    zonuleDial: "Strength of the zonule by clock hour",
    strength: (percent: number): string => (percent === 0 ? "absent" : `${percent} percent of full strength`),
    zonuleNote:
      "Drag an hour outward for healthy, to the middle for absent. Keys: left and right walk, up and down set.",
    zonuleAll: "All hours at",
    zonuleSpoken: "percent of full strength",
    cellsAll: "Cells left after polishing",
    cellsSpoken: "percent of the cells",
    cellsDial: "Cells left by clock hour",
    cells: (percent: number): string => (percent === 0 ? "no cells left" : `${percent} percent of the cells left`),
    cellsNote: "100 %: not polished. Drag an hour to the middle where the rim was polished clean.",
    stimulus: "Lasting stimulus",
    stimulusSpoken: "times the first stimulus",
    stimulusNote: "0: it fades in weeks. More: uveitis, diabetes, a blood barrier that stays open.",
    pulls: "What pulls",
    laws: {
      fibre_remodelling: "fibres, laid down stretched",
      active_lock_in: "cells, whose contraction is locked in",
    } as Record<string, string>,
    lawNote:
      "Two hypotheses; nobody has told them apart in a patient. Where they agree, the answer hangs less on the model.",
    haptics: "Haptics",
    noLens: "no lens",
    optic: "Optic diameter",
    axis: "First haptic points to",
    free: "Free diameter, mm",
    none: "none",
    sizes: { small: "small", medium: "medium", large: "large" } as Record<string, string>,
    gap: "Gap of the ring at",
    addCuts: "Add an occasion",
    occasion: (n: number): string => `Occasion ${n}`,
    removeCuts: (n: number): string => `Remove occasion ${n}`,
    cutDial: (n: number): string => `Clock hours of the cuts of occasion ${n}`,
    otherEvents: (n: number): string => `${n} other event(s) of the loaded file stay as they are.`,
    day: "Day",
    daySpoken: "days after surgery",
    length: "Length",
  },
  title: "The capsule opening: what if?",
  short: "For research and teaching, not for treating a patient.",
  lessons,
  visit: ["1 day", "1 week", "1 month", "3 months", "6 months", "12 months"] as string[],
  surgery: "surgery",
  at: (visit: string): string => `At ${visit}`,
  onDay: (day: number): string => (day < 0.5 ? "At the end of surgery" : `On day ${Math.round(day)}`),
  day: (day: number): string => `day ${Math.round(day)}`,
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
    to: (low: string, high: string): string => `${low} to ${high} %`,
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
  quantity: {
    area: "Opening area",
    diameter: "Opening diameter",
    decentration: "Decentration of the lens",
    load: "Zonule load",
  },
  page: {
    play: "Play",
    pause: "Pause",
    clock: "Time",
    dayLabel: "Day",
    bandKey:
      "full line A, broken line B; hatched: 8 of 10 eyes like A, like B. ▲ relaxing cuts. Thin: the same eye under the other idea of what pulls.",
    present: "Present",
    leave: "Leave",
    theme: "Light / dark",
    language: "Language",
    colours: { system: "Colours: as the system", light: "Colours: light", dark: "Colours: dark" },
    inMillinewton: "Load in millinewton",
    undo: "Undo",
    redo: "Redo",
    reset: "Plain eye",
    stage: "Pictures",
    skip: "To the pictures",
    week: "week",
    speed: "Speed",
    slow: "slow",
    normal: "normal",
    fast: "fast",
    view: "Clock and view",
    compare: "Compare with a second eye, B",
    trueSize: "True size",
    ruler: "On this screen the 2 mm bar measures",
    result: "What it says",
    plans: "The plans side by side",
    change: "Change an eye",
    changeA: "change A",
    changeB: "change B",
    copy: "Copy to the other",
    more: "In more words",
    uncertain: "What is uncertain",
    visits: "Every visit",
    words: "The pictures in words",
    key: "What the picture shows",
    graphs: "Over time",
    spread: "Spread of real eyes",
    noSpread: "not shown",
    share: "Take it along",
    picture: "Picture (PNG)",
    drawing: "Picture (SVG)",
    gif: "Film (GIF)",
    webm: "Film (WebM)",
    csv: "Numbers (CSV)",
    json: "Result (JSON)",
    print: "Handout (print)",
    saveScenario: "Save scenario file",
    openScenario: "Open scenario file",
    copyLink: "Copy link",
    link: "Link to what is on screen",
    publicAddress: "Where your class finds this page (for link and code)",
    linkNote: "Opened on another computer, put the part from # on behind the address of the page there.",
    quick: "quick",
    finer: (share: number): string => `quick; finer ${share} %`,
    invented: "Everything is computed in this page; nothing is sent anywhere. All eyes are invented.",
    keyWords: (top: string): string =>
      `Zonule, by hour, up to ${top}. Dotted: the rim on day 0. Tinted: the area lost since. Dot with a line: the lens and its way.`,
  },
  influence: {
    title: "Which hours matter",
    zonule: "A tenth more fibres",
    cells: "A tenth more cells",
    asked: "Asked about",
    of: {
      area: "area of the opening, last day",
      lens: "lens off centre, last day",
      load: "largest load of one hour of the zonule",
    },
    note: "What a tenth more in one hour does to what is asked about. Full petal: more; open petal: less. Cross: an hour that has none. From the derivatives of one quick run.",
    running: "Running …",
    none: "For this eye there are no such numbers.",
    top: (most: number, unit: string): string => `${most.toPrecision(2)} ${unit}`,
    about: (side: string): string => `Eye ${side}.`,
    alike: { zonule: "No hour of the fibres stands out.", cells: "No hour of the cells stands out." },
    most: {
      area: {
        zonule: (hour: number, change: number): string =>
          `Fibres matter most at ${hour} o'clock: a tenth more makes the opening ${Math.abs(change).toPrecision(2)} mm² ${change > 0 ? "larger" : "smaller"}.`,
        cells: (hour: number, change: number): string =>
          `Cells matter most at ${hour} o'clock: a tenth more makes it ${Math.abs(change).toPrecision(2)} mm² ${change > 0 ? "larger" : "smaller"}.`,
      },
      lens: {
        zonule: (hour: number, change: number): string =>
          change < 0
            ? `The lens would move back most if the fibres at ${hour} o'clock were stronger: a tenth more matters ${Math.abs(change).toPrecision(2)} mm.`
            : `Fibres matter most at ${hour} o'clock: a tenth more moves the lens ${change.toPrecision(2)} mm further off.`,
        cells: (hour: number, change: number): string =>
          change < 0
            ? `It would move back most if there were more cells at ${hour} o'clock: a tenth more matters ${Math.abs(change).toPrecision(2)} mm.`
            : `Cells matter most at ${hour} o'clock: a tenth more moves it ${change.toPrecision(2)} mm further off.`,
      },
      load: {
        zonule: (hour: number, change: number): string =>
          `Fibres matter most at ${hour} o'clock: a tenth more makes the largest load ${Math.abs(change).toPrecision(2)} mN ${change > 0 ? "higher" : "lower"}.`,
        cells: (hour: number, change: number): string =>
          `Cells matter most at ${hour} o'clock: a tenth more makes it ${Math.abs(change).toPrecision(2)} mN ${change > 0 ? "higher" : "lower"}.`,
      },
    },
  },
  crowdPlans: {
    title: "Many eyes",
    dotsTitle: "Each eye a dot: % lost",
    across: "under A",
    up: "under B",
    noDots: "Not one eye of the crowd is in yet.",
    dots: (eyes: number, more: number): string => `${eyes} eyes, each a dot. B loses more in ${more} of them.`,
    dotsOne: (eyes: number): string => `${eyes} eyes, each a dot.`,
    whenToLook: "When to look",
    limit: "clear circle under",
    whereToCut: "Where to cut",
    stop: "Stop",
    result: "What the study says",
    onDay: "on day",
    eyes: "eyes",
    progress: "How far the study is",
    note: "For the eye you change, under both ideas of what pulls. Cuts take about half a minute for each eye.",
    old: "This table is of the eye as it was before you changed it.",
    starting: "Starting …",
    left: (seconds: number): string =>
      seconds < 60 ? "Less than a minute left." : `About ${Math.ceil(seconds / 60)} minutes left.`,
    took: (seconds: number): string =>
      `Done in ${seconds < 90 ? `${Math.ceil(seconds)} s` : `${Math.round(seconds / 60)} min`}.`,
    running: (done: number, total: number): string => `Running: ${done} of ${total} …`,
    stopped: "Stopped.",
    noCrowd: "Choose a spread of real eyes first.",
    refused: "This cannot be asked of the eye as set.",
    of: (k: number, n: number): string => `${k} of ${n}`,
    visitsTitle: (limit: string, eyes: number): string =>
      `Which visit is first to find a clear circle under ${limit} mm, in ${eyes} eyes`,
    visit: "Visit",
    inAll: "Under it by the last day",
    halfBy: "Half of these by day",
    late: "Found so many days late",
    sign: (what: string, day: number, cut: string, below: boolean): string =>
      `Best early sign: ${what} ${below ? "below" : "above"} ${cut} on day ${day}.`,
    cutsTitle: (day: number, eyes: number, laws: string): string =>
      `Ways to cut on day ${day}, middle of ${eyes} eyes (${laws})`,
    layouts: {
      two: "2 evenly",
      three: "3 evenly",
      four: "4 evenly",
      towards: "3 at the weak hours",
      away: "3 across from them",
    } as Record<string, string>,
    layout: "Cuts",
    back: "Back at once, mm²",
    kept: "Kept at the end, mm²",
    load: "Largest load, mN",
    margin: "Tip to equator, mm",
    unbeaten: "Nothing beats it",
    cutsNote: "✓ No other way is as good in kept area, tip margin, number of cuts and load, and better in one.",
    nearEquator: "! In some of these eyes a tip comes within 1 mm of the equator.",
  },
  trouble: {
    early: (side: string): string => `The run of eye ${side} ended early.`,
    cannotBe: (side: string): string => `Eye ${side} cannot be as set. The pictures show the last one that could.`,
    stopped: "The engine stopped.",
    tooOld: "This browser cannot run the engine. Take a newer one.",
    is: (path: string, value: string): string => `${path}${value === "" ? "" : ` is ${value}`}`,
    allowed: "allowed is",
    link: (eyes: readonly string[]): string =>
      `${eyes.length === 1 ? "Eye" : "Eyes"} ${listed(eyes, "and")} of this link cannot be run.`,
    damaged: "The link is damaged: it holds no eyes.",
    file: "The file holds no scenario that can be run.",
    notJson: "The file is not JSON text.",
    more: (n: number): string => `and ${n} more`,
  },
  status: {
    noBand: "No band for these eyes.",
    noOtherLaw: "No thin line for these eyes.",
    soFar: (eyes: string): string => `Eyes in so far: ${eyes}.`,
    eyesIn: (side: string, n: number, of: number): string => `${side} ${n} of ${of}`,
    film: (percent: number): string => `Film: ${percent} %`,
    nothing: "Nothing has been computed yet.",
    done: (what: string): string => `${what}: done.`,
    failed: (what: string): string => `${what}: that did not work.`,
    noFilm: "This browser cannot encode films; use the GIF.",
  },
  paper: {
    title: "The capsule opening after cataract surgery: what if?",
    predict: "My prediction, and why:",
    seen: "What I saw:",
    scan: "This page again:",
    scanDisk: "This page again: open your copy of it, and put what the code says behind its address.",
    visits: "Follow-up visits",
    visit: "Visit",
    opening: (side: string, band: boolean): string => `${side} opening, mm${band ? " (8 of 10)" : ""}`,
    lost: (side: string): string => `${side} area lost`,
    made: (date: string, version: string): string => `Printed ${date}, libcapsim ${version}. Invented eyes.`,
  },
};

export type Texts = typeof en;
