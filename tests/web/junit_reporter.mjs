// SPDX-License-Identifier: BSD-3-Clause
// node's test events as a JUnit report at $CAPSIM_WEB_REPORT, and as lines on the screen. (node's own
// JUnit reporter is younger than the node of Debian 12.)
import { basename } from "node:path";
import { writeFileSync } from "node:fs";

const escaped = (text) =>
  String(text)
    .replace(/[<>&"]/g, (c) => `&#${c.charCodeAt(0)};`)
    .replace(/[^\t\n\r\x20-\uD7FF]/g, " ");

export default async function* report(events) {
  const cases = [];
  for await (const { type, data } of events) {
    if (
      type === "test:diagnostic" &&
      !/^(tests|suites|pass|fail|cancelled|skipped|todo|duration_ms) /.test(data.message)
    )
      yield `   ${data.message}\n`;
    if (type === "test:stdout" || type === "test:stderr") yield data.message;
    if ((type !== "test:pass" && type !== "test:fail") || data.details?.type === "suite") continue;
    if (data.file && data.name === data.file) continue; // the file itself, when it ran to its end
    const skipped = data.skip !== undefined;
    const failed = type === "test:fail";
    const problem = failed ? (data.details?.error?.cause ?? data.details?.error) : undefined;
    const words = problem?.stack ?? problem?.message ?? String(problem);
    yield `${failed ? "FAILED" : skipped ? "skipped" : "passed"}: ${data.name}${typeof data.skip === "string" ? ` (${data.skip})` : ""}\n`;
    if (failed) yield `${words}\n`.replace(/^/gm, "    ");
    cases.push(
      `<testcase classname="web.${escaped(basename(data.file ?? "web", ".mjs"))}" name="${escaped(data.name)}" ` +
        `time="${((data.details?.duration_ms ?? 0) / 1000).toFixed(3)}">` +
        (failed
          ? `<failure>${escaped(words)}</failure>`
          : skipped
            ? `<skipped message="${escaped(data.skip)}"/>`
            : "") +
        "</testcase>",
    );
  }
  if (process.env.CAPSIM_WEB_REPORT)
    writeFileSync(process.env.CAPSIM_WEB_REPORT, `<testsuite name="web">\n${cases.join("\n")}\n</testsuite>\n`);
}
