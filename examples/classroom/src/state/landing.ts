// SPDX-License-Identifier: BSD-3-Clause
/** Where an address leads: to which lesson, which step, which day, which eyes. */

import { type Lesson, lessonOf, lessons } from "../lessons/lesson_list.js";
import type { Step } from "../lessons/lesson_panel.js";
import type { Address } from "./address.js";
import type { Pair } from "./notebook.js";

export const pairOf = (lesson: Lesson): Pair => ({ a: lesson.a, b: lesson.b, lesson: lesson.key });

/** The lesson of an address; the first one, where it leads nowhere and brings no eyes. */
export const lessonAt = (to: Address): Lesson | undefined =>
  lessonOf(to.lesson) ?? (to.eyes === undefined ? lessons()[0] : undefined);

export const stepAt = (to: Address): Step => (to.step ?? 1) as Step;

/** The day that an address is about. Eyes without a lesson are shown half a year after surgery. */
export const dayAt = (to: Address, lesson: Lesson | undefined): number =>
  to.day ?? (lesson === undefined ? 182 : stepAt(to) > 2 ? lesson.day : 0);
