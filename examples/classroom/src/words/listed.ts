// SPDX-License-Identifier: BSD-3-Clause
/** "3, 4 and 5": a row of things as any of the languages here writes it, with its own word for "and". */
export const listed = (items: readonly string[], and: string): string =>
  items.length < 2 ? items.join("") : `${items.slice(0, -1).join(", ")} ${and} ${items.at(-1)!}`;
