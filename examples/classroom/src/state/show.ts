// SPDX-License-Identifier: BSD-3-Clause
/** What is on screen, or is to be put on paper: the runs of both eyes with all that stands beside them, and the day. */

import type { Scenario } from "capsim";
import type { Course } from "./course.js";
import type { Crowd } from "./crowd.js";
import type { Side } from "./frame.js";
import type { OtherLaw, OtherLaws } from "./other_law.js";

export type Courses = Partial<Record<Side, Course>>;
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
  begun?: Courses; // day 0 of eyes whose course is still computed: for their picture on that day, and nothing else
  crowds: Crowds; // as far as they are to be shown
  otherLaws: OtherLaws;
  further?: FurtherPlan[]; // in the table only
  scenarios: Record<Side, Scenario | null>;
  day: number;
  duration: number;
  cautions: string[]; // the library's own words
  pending?: boolean; // the runs are still those of the pair before: nothing is to be said of them
}

export const sidesOf = (show: Show): Side[] => (["a", "b"] as const).filter((side) => show.courses[side] !== undefined);

export const showsDay0 = (day: number): boolean => day < 0.5;

/** What the picture of each eye is made of on the clock's day: of an eye whose course is awaited day 0 may be known. */
export function picturedCourses({ courses, begun, day }: Show): Courses {
  return showsDay0(day) ? { ...courses, ...begun } : courses;
}

/** Largest load of one hour over all shown courses: both eyes are coloured on one scale. */
export const commonLoadTop = (courses: Courses): number =>
  Math.max(0.1, ...Object.values(courses).map((c) => c.loadTop));
