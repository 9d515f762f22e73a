// SPDX-License-Identifier: BSD-3-Clause
/** The numbers as files: a table for a spreadsheet, and the whole result as JSON. */

import type { Course } from "../state/course.js";
import { bandLevel, type Crowd } from "../state/crowd.js";
import type { OtherLaw } from "../state/other_law.js";
import { aboutBands } from "../words/reading.js";
import { quantities } from "../state/quantity.js";
import { type Show, sidesOf } from "../state/show.js";

const ends = ["low", "median", "high"] as const;

/** One line per day and eye, the bands in columns of their own; caution, scenarios and source of the bands stand
 *  above as comments. */
export function csvOf(show: Show): string {
  const lines: string[] = [];
  for (const caution of show.cautions) lines.push(`# ${caution}`);
  const sides = sidesOf(show);
  for (const side of sides) lines.push(`# scenario ${side.toUpperCase()}: ${JSON.stringify(show.scenarios[side])}`);
  lines.push(`# ${aboutBands(show.crowds)}`);
  const columns: string[] = [];
  const first = show.courses[sides[0]!]!.history;
  const scalars = first.text.series.filter((s) => !s.axis.endsWith("_point") && s.axis !== "cut");
  for (const s of scalars)
    for (let c = 0; c < s.columns; ++c)
      columns.push(
        s.axis === "one"
          ? s.name
          : s.axis === "xy"
            ? `${s.name}_${"xy"[c]}`
            : s.axis === "clock_hour"
              ? `${s.name}_${c === 0 ? 12 : c}h`
              : `${s.name}_${c + 1}`,
      );
  const banded = Object.keys(show.crowds).length > 0 ? quantities : [];
  for (const q of banded) for (const end of ends) columns.push(`band_${end}_${q.series}`);
  lines.push(["eye", ...columns].join(","));
  for (const side of sides) {
    const { history } = show.courses[side]!,
      crowd = show.crowds[side];
    for (let row = 0; row < history.rows; ++row) {
      const values = scalars.flatMap((s) =>
        Array.from({ length: s.columns }, (_, c) => String(history.value(s.name, row, c))),
      );
      // Just before an event the crowd is where its own row just before it says, not where a line would lead.
      const band = banded.flatMap(
        (q) => crowd?.at(q.key, history.day[row]!, history.value("event_side", row) < 0).map(String) ?? ["", "", ""],
      );
      lines.push([side.toUpperCase(), ...values, ...band].join(","));
    }
  }
  return lines.join("\n") + "\n";
}

function bandsOf(crowd: Crowd): object {
  const { name, edition, description } = crowd.population;
  const bands = Object.fromEntries(
    quantities.map((q) => {
      const { low, median, high } = crowd.band(q.key);
      return [q.series, { low, median, high }];
    }),
  );
  return {
    population: name,
    edition,
    description,
    eyes: crowd.eyes,
    failed: crowd.failed,
    level: bandLevel,
    day: Array.from(crowd.day),
    ...bands,
  };
}

function lawOf({ law, own, other }: OtherLaw): object {
  const course = (c: Course): object => ({
    opening_area_mm2: Array.from(c.history.values("opening_area_mm2")),
    opening_diameter_mm: Array.from(c.history.values("opening_diameter_mm")),
  });
  return {
    law,
    level: "coarse",
    day: Array.from(other.days),
    ...course(other),
    instead_of: { day: Array.from(own.days), ...course(own) },
  };
}

function resultOf(course: Course, crowd: Crowd | undefined, law: OtherLaw | undefined): object {
  const { text } = course.history;
  const series = Object.fromEntries(
    text.series.map((s) => [
      s.name,
      {
        unit: s.unit,
        description: s.description,
        columns: s.columns,
        values: Array.from(course.history.values(s.name)),
      },
    ]),
  );
  return {
    status: text.status,
    message: text.message,
    version: text.version,
    scenario: text.scenario,
    cuts: text.cuts,
    diagnostics: text.diagnostics,
    outcomes: text.outcomes.values,
    flags: text.outcomes.flags,
    series,
    ...(text.runaway_margin ? { runaway_margin: text.runaway_margin } : {}),
    ...(crowd ? { bands: bandsOf(crowd) } : {}),
    ...(law ? { other_law: lawOf(law) } : {}),
  };
}

export function jsonOf(show: Show): string {
  const results = Object.fromEntries(
    sidesOf(show).map((side) => [
      side.toUpperCase(),
      resultOf(show.courses[side]!, show.crowds[side], show.otherLaws[side]),
    ]),
  );
  return JSON.stringify({ format: "capsim-classroom-result", caution: show.cautions, results }, null, 1) + "\n";
}
