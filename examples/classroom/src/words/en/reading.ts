// SPDX-License-Identifier: BSD-3-Clause
/** What the numbers of a run say in sentences, and what the library says of its own. */

export const reading = {
  /** Of one eye, the day it is shown. Numbers come as they are to be printed. */
  reading: {
    atEnd: (mm: string, mm2: string): string => `At the end of surgery the opening is ${mm} mm across (${mm2} mm²).`,
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
    /** `off`: how far off the centre; "" for not at all, null for what cannot be told. */
    band: (across: string, lost: string, lens: boolean, off: string | null): string =>
      `In 8 of 10 eyes like this one the opening is then ${across} across${lost}` +
      (off === null
        ? "."
        : `, and the ${lens ? "lens" : "opening"} ${off === "" ? "is central." : `lies ${off} from the pupil's centre.`}`),
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
      `B minus A, day ${day}: area ${area} mm², diameter ${diameter} mm, ${off === "" ? "" : `decentration ${off} mm, `}zonule load ${load} mN`,
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
    wholeBag:
      "Here the whole bag contracts: tissue lies on both leaves outside the lens, too. How strong it is was fitted to groups of patients; how the leaves hold each other is assumed.",
    ring: "The ring's stiffness after months in the bag is uncertain; so is how its ends slide.",
    cuts: "New tissue bridging a cut is not modelled: late relief may be too good.",
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
    gap: "fibres missing",
    weak: "weak fibres",
    polished: "polished",
    stimulated: "lasting stimulus",
    wholeBag: "whole bag",
    wholeBagContracts: "the whole bag contracts",
    cut: (n: number): string => (n === 1 ? "1 cut" : `${n} cuts`),
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
};
