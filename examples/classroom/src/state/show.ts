// SPDX-License-Identifier: BSD-3-Clause
/** What is on screen, or is to be put on paper: the runs of both eyes with all that stands beside them, and the day. */

import type { Scenario } from "capsim";
import type { Course, Pictured } from "./course.js";
import type { Crowd } from "./crowd.js";
import { bothSides, type Side } from "./frame.js";
import type { OtherLaw, OtherLaws } from "./other_law.js";
import type { QuantityKey } from "./quantity.js";

export type Courses = Partial<Record<Side, Course>>;
export type Eyes = Partial<Record<Side, Pictured>>;
export type Crowds = Partial<Record<Side, Crowd>>;

/** A plan that has been kept beside the two on screen. */
export interface FurtherPlan {
  letter: string; // "C"
  course: Course;
  crowd: Crowd | undefined;
  otherLaw: OtherLaw | undefined;
}

export interface Show {
  courses: Courses;
  begun?: Eyes; // what is known of eyes whose course is still computed: for their picture, and nothing else
  crowds: Crowds; // as far as they are to be shown
  otherLaws: OtherLaws;
  further?: FurtherPlan[]; // in the table only
  scenarios: Record<Side, Scenario | null>;
  day: number;
  duration: number;
  cautions: string[]; // the library's own words
  pending?: boolean; // the runs are still those of the pair before: nothing is to be said of them
}

export const sidesOf = (show: Show): Side[] => bothSides.filter((side) => show.courses[side] !== undefined);

/** A show with the eyes only of which a quantity can be told: not where a bag lies that nothing holds. */
export function toldOf(quantity: QuantityKey, show: Show): Show {
  const told = bothSides.filter((side) => quantity !== "decentration" || show.courses[side]?.unheld !== true);
  const those = <T>(all: Partial<Record<Side, T>>): Partial<Record<Side, T>> =>
    Object.fromEntries(told.flatMap((side) => (all[side] === undefined ? [] : [[side, all[side]]])));
  const { courses, crowds, otherLaws } = show;
  return { ...show, courses: those(courses), crowds: those(crowds), otherLaws: those(otherLaws) };
}

/** What the picture of each eye is made of. Of an eye whose course is awaited some days may be known: those are shown on their days, and where
 *  nothing else is. */
export function picturedEyes({ courses, begun = {}, day }: Show): Eyes {
  const eyes: Eyes = { ...courses };
  for (const side of bothSides) {
    const known = begun[side];
    if (known !== undefined && (known.shows(day) || courses[side] === undefined)) eyes[side] = known;
  }
  return eyes;
}

/** Largest load of one hour over all shown courses: both eyes are coloured on one scale. */
export const commonLoadTop = (eyes: Eyes): number => Math.max(0.1, ...Object.values(eyes).map((c) => c.loadTop));
