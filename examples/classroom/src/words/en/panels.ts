// SPDX-License-Identifier: BSD-3-Clause
/** What is set, what a crowd is asked, and what went wrong. */

import { listed } from "../listed.js";

export const panels = {
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
};
