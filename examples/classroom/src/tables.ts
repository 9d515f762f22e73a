// SPDX-License-Identifier: BSD-3-Clause
/** The numbers as files: a table for a spreadsheet, and the whole result as JSON. */

import type { Course } from "./course.js";
import { type Show, sidesOf } from "./sheet.js";

/** One line per day and eye; the caution and the scenarios stand above as comments. */
export function csvOf(show: Show): string {
  const lines: string[] = [];
  for (const caution of show.cautions) lines.push(`# ${caution}`);
  const sides = sidesOf(show);
  for (const side of sides) lines.push(`# scenario ${side.toUpperCase()}: ${JSON.stringify(show.scenarios[side])}`);
  const columns: string[] = [];
  const first = show.courses[sides[0]!]!.history;
  const scalars = first.text.series.filter((s) => !s.name.endsWith("outline_mm") && !s.name.startsWith("cut_"));
  for (const s of scalars)
    for (let c = 0; c < s.columns; ++c)
      columns.push(s.columns === 1 ? s.name : s.columns === 2 ? `${s.name}_${"xy"[c]}` : s.columns === 12 ? `${s.name}_${c === 0 ? 12 : c}h` : `${s.name}_${c + 1}`);
  lines.push(["eye", ...columns].join(","));
  for (const side of sides) {
    const { history } = show.courses[side]!;
    for (let row = 0; row < history.rows; ++row)
      lines.push([side.toUpperCase(), ...scalars.flatMap((s) => Array.from({ length: s.columns }, (_, c) => String(history.value(s.name, row, c))))].join(","));
  }
  return lines.join("\n") + "\n";
}

function resultOf(course: Course): object {
  const { text } = course.history;
  const series = Object.fromEntries(text.series.map((s) => [s.name, {
    unit: s.unit, description: s.description, columns: s.columns, values: Array.from(course.history.values(s.name)),
  }]));
  return { status: text.status, message: text.message, version: text.version, scenario: text.scenario, cuts: text.cuts,
    diagnostics: text.diagnostics, outcomes: text.outcomes.values, flags: text.outcomes.flags, series };
}

export function jsonOf(show: Show): string {
  const results = Object.fromEntries(sidesOf(show).map((side) => [side.toUpperCase(), resultOf(show.courses[side]!)]));
  return JSON.stringify({ format: "capsim-classroom-result", caution: show.cautions, results }, null, 1) + "\n";
}
