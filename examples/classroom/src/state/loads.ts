// SPDX-License-Identifier: BSD-3-Clause
/** How loads are told: as so many times what is healthy, or in millinewton for those who ask. */

import { fixed, t } from "../words/texts.js";
import { type Course, healthyHour } from "./course.js";
import { allHours } from "./frame.js";

export interface Loads {
  /** Divides a load of one clock hour [mN] into what is shown; 1 where millinewton are. */
  perHour: number;
  /** The same of all hours together. */
  perWhole: number;
  inMillinewton: boolean;
  hour(mN: number): string; // in a sentence
  whole(mN: number): string;
  /** A whole in brackets behind another one: without its unit where that has been said. */
  brief(mN: number): string;
}

/** The loads of an eye, against a healthy one's; of two eyes side by side both against the first. */
export function loadsOf(course: Course | undefined, inMillinewton = false): Loads {
  const healthy = course && healthyHour(course),
    say = t().reading;
  if (inMillinewton || healthy === undefined)
    return {
      perHour: 1,
      perWhole: 1,
      inMillinewton: true,
      hour: (mN) => `${fixed(mN, 1)} mN`,
      whole: (mN) => say.inAll(fixed(mN, 0)),
      brief: (mN) => fixed(mN, 0),
    };
  const perWhole = healthy * allHours.length;
  return {
    perHour: healthy,
    perWhole,
    inMillinewton: false,
    hour: (mN) => say.timesHour(fixed(mN / healthy, 1)),
    whole: (mN) => say.timesWhole(fixed(mN / perWhole, 1)),
    brief: (mN) => fixed(mN / perWhole, 1),
  };
}
