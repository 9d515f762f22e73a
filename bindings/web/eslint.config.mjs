// SPDX-License-Identifier: BSD-3-Clause
// What eslint looks for in the TypeScript and JavaScript of the whole repository: mistakes, not layout (that is
// prettier's). Run from the top of the repository by tests/style.sh; the tools live in the build folder.
import { createRequire } from "node:module";
import { resolve } from "node:path";

const require = createRequire(resolve(process.env.CAPSIM_WEB_BUILD ?? "build/web", "package.json"));
const typescript = require("typescript-eslint");
const core = require("@eslint/js");

export default typescript.config(
  { ignores: ["build/**", "**/node_modules/**", "examples/**/*.html"] },
  core.configs.recommended,
  ...typescript.configs.recommended,
  {
    rules: {
      eqeqeq: "error",
      "no-self-compare": "error",
      "no-template-curly-in-string": "error",
      "no-unmodified-loop-condition": "error",
      "no-unreachable-loop": "error",
      "array-callback-return": "error",
      "@typescript-eslint/no-non-null-assertion": "off", // indices are checked by `noUncheckedIndexedAccess`
      "@typescript-eslint/no-unused-vars": ["error", { argsIgnorePattern: "^_", ignoreRestSiblings: true }],
    },
  },
  {
    files: ["bindings/web/src/**", "examples/classroom/src/**"], // past sixty lines, name the stages
    rules: { "max-lines-per-function": ["error", { max: 60, skipComments: true }] },
  },
  {
    files: ["**/words/*.ts"], // tables of words, one function around all
    rules: { "max-lines-per-function": "off" },
  },
  {
    files: ["**/*.mjs"], // scripts for node, and functions that tests hand to the browser
    rules: { "no-undef": "off" },
  },
);
