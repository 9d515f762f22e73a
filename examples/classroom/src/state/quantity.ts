// SPDX-License-Identifier: BSD-3-Clause
/** The four quantities that are drawn against time, and how each is read off a run. */

import type { SeriesName } from "capsim";
import { t } from "../words/texts.js";
import type { Course } from "./course.js";
import type { Loads } from "./loads.js";

export type QuantityKey = "area" | "diameter" | "decentration" | "load";

export interface Quantity {
  key: QuantityKey;
  series: string; // what it is called in a table, with its unit
  name: string;
  unit: string;
  digits: number;
  /** What is drawn is the value over this; left out: 1. */
  per?: number;
  of: (value: (name: SeriesName, column?: number) => number, hasLens: boolean) => number;
}

export const quantities: Quantity[] = [
  {
    key: "area",
    series: "opening_area_mm2",
    get name() {
      return t().quantity.area;
    },
    unit: "mm²",
    digits: 1,
    of: (v) => v("opening_area_mm2"),
  },
  {
    key: "diameter",
    series: "opening_diameter_mm",
    get name() {
      return t().quantity.diameter;
    },
    unit: "mm",
    digits: 2,
    of: (v) => v("opening_diameter_mm"),
  },
  {
    key: "decentration",
    series: "decentration_mm",
    get name() {
      return t().quantity.decentration;
    },
    unit: "mm",
    digits: 2,
    of: (v, lens) => {
      const place = lens ? "lens_center_mm" : "opening_center_mm";
      return Math.hypot(v(place, 0), v(place, 1));
    },
  },
  {
    key: "load",
    series: "zonule_load_total_mN",
    get name() {
      return t().quantity.load;
    },
    unit: "mN",
    digits: 1,
    of: (v) => v("zonule_load_total_mN"),
  },
];

/** The quantities as they are drawn: the load in the unit that is asked for. */
export const drawn = ({ perWhole, inMillinewton }: Loads): Quantity[] =>
  quantities.map((quantity) =>
    quantity.key !== "load" || inMillinewton
      ? quantity
      : { ...quantity, name: quantity.name, per: perWhole, digits: 2, unit: t().picture.timesUnit },
  );

export function valueAt(quantity: Quantity, course: Course, day: number): number {
  const m = course.at(day),
    { per = 1 } = quantity;
  switch (quantity.key) {
    case "area":
      return m.area;
    case "diameter":
      return m.diameter;
    case "load":
      return m.loadTotal / per;
    case "decentration":
      return Math.hypot(...course.placeAt(m));
  }
}
