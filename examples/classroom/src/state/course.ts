// SPDX-License-Identifier: BSD-3-Clause
/** A history as a course in time: the eye on any day, between recorded days on a straight line. */

import type { History, Point, Scenario, SeriesName } from "capsim";
import { t } from "../words/texts.js";
import { strengths } from "./eye_settings.js";
import { allHours } from "./frame.js";

/** Follow-up visits, in the language in use. */
const visitDays = [1, 7, 30, 91, 182, 365];
export const visits = visitDays.map((day, i) => ({
  day,
  get name() {
    return t().visit[i]!;
  },
}));

export function dayInWords(day: number): string {
  const visit = visits.find((v) => Math.abs(v.day - day) < 0.75);
  return visit ? t().at(visit.name) : t().onDay(day);
}

/** The eye on one day. */
export interface Moment {
  day: number;
  area: number; // mm2
  diameter: number; // mm, of the circle of the same area
  smallest: number;
  largest: number;
  clear: number; // largest clear circle about the pupil centre
  opening: Point; // centres, mm
  lens: Point;
  bag: Point;
  lensTurn: number; // degrees, counter-clockwise
  load: number[]; // mN, [0] = 12 o'clock
  loadTotal: number;
  tissue: number; // 0..1
  tissueByHour: number[]; // [0] = 12 o'clock
  rim: Point[];
  equator: Point[];
  ring: Point[] | null;
}

/** An eye as far as there is a picture of it. */
export interface Pictured {
  readonly scenario: Scenario;
  readonly start: Moment; // day 0
  readonly loadTop: number; // at the top of the colour scale, mN
  /** True when it is known how the eye is on that day. */
  shows(day: number): boolean;
  /** The eye on a day that it shows; else on the last one before that. */
  at(day: number): Moment;
}

export class Course implements Pictured {
  readonly days: Float64Array;
  readonly start: Moment;
  readonly lastDay: number;
  readonly loadTop: number; // largest load of one clock hour, mN
  /** True when no fibre holds the bag: where it lies, and how far it is from closing, is then not for the model to say. */
  readonly unheld: boolean;

  constructor(readonly history: History) {
    this.days = history.day;
    this.lastDay = this.days[this.days.length - 1] ?? 0;
    this.start = this.at(0);
    this.unheld = Math.max(...strengths(history.scenario)) < 1e-3;
    this.loadTop = history.values("zonule_load_mN").reduce((most, v) => Math.max(most, v), 0);
  }

  get scenario(): Required<Scenario> {
    return this.history.scenario;
  }
  get complete(): boolean {
    return this.history.status === "completed";
  }

  shows(day: number): boolean {
    return day < this.lastDay + 0.5;
  }

  /** Row before `day` (the side after an event on an event day) and the share of the next row. */
  #place(day: number): [row: number, share: number] {
    const { days } = this;
    let row = 0;
    while (row + 1 < days.length && days[row + 1]! <= day + 1e-9) ++row;
    if (row + 1 >= days.length) return [row, 0];
    return [row, Math.max(0, (day - days[row]!) / (days[row + 1]! - days[row]!))];
  }

  at(day: number): Moment {
    const { history } = this;
    const [row, share] = this.#place(day);
    const next = share > 0 ? row + 1 : row;
    const value = (name: SeriesName, column = 0): number => {
      const a = history.value(name, row, column);
      return share > 0 ? a + share * (history.value(name, next, column) - a) : a;
    };
    const point = (name: SeriesName): Point => [value(name, 0), value(name, 1)];
    const outline = (name: SeriesName): Point[] => {
      const a = history.points(name, row),
        b = history.points(name, next);
      return a.map(([x, y], i) => [x + share * (b[i]![0] - x), y + share * (b[i]![1] - y)]);
    };
    const ring =
      history.has("ring_outline_mm") && history.value("ring_load_mN", row) > 0 ? outline("ring_outline_mm") : null;
    return {
      day: Math.min(day, this.lastDay),
      area: value("opening_area_mm2"),
      diameter: value("opening_diameter_mm"),
      smallest: value("opening_min_diameter_mm"),
      largest: value("opening_max_diameter_mm"),
      clear: value("clear_circle_diameter_mm"),
      opening: point("opening_center_mm"),
      lens: point("lens_center_mm"),
      bag: point("equator_center_mm"),
      lensTurn: value("lens_rotation_deg"),
      load: Array.from({ length: 12 }, (_, k) => value("zonule_load_mN", k)),
      loadTotal: value("zonule_load_total_mN"),
      tissue: value("fibrous_tissue"),
      tissueByHour: Array.from({ length: 12 }, (_, k) => value("fibrous_tissue_by_hour", k)),
      rim: outline("rim_outline_mm"),
      equator: outline("equator_outline_mm"),
      ring,
    };
  }

  /** Share of the opening's area lost since day 0. */
  loss(moment: Moment): number {
    return this.start.area > 0 ? 1 - moment.area / this.start.area : 0;
  }

  /** The centre of what decentration is told of: the lens, or the opening where there is none. */
  placeAt(moment: Moment): Point {
    return this.scenario.lens !== null ? moment.lens : moment.opening;
  }

  /** One series against time, every recorded row; events show as steps. */
  curve(of: (value: (name: SeriesName, column?: number) => number) => number): { day: number; value: number }[] {
    const { history } = this;
    return Array.from(this.days, (day, row) => ({
      day,
      value: of((name, column = 0) => history.value(name, row, column)),
    }));
  }

  /** What the cuts of one day gave at once, mm2; undefined when there is no such number. */
  relief(day: number): number | undefined {
    return this.history.outcome(`relief_day_${day}_mm2`);
  }
}

/** What one clock hour of a whole, healthy zonule carries before surgery [mN]: the unit of "times a healthy hour". Undefined in an eye
 *  whose file says that nothing pulls: there loads are told in millinewton. */
export function healthyHour(course: Course): number | undefined {
  const pull = course.scenario.zonule.pull_mN ?? 0;
  return pull > 0 ? pull / allHours.length : undefined;
}
