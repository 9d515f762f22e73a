// SPDX-License-Identifier: BSD-3-Clause
/** Tables that fit their place: one that is too wide for it has each row stacked, every cell below the words of its column. */

/** Puts the words of the head on every cell, and says what each part is: what is stacked is no table to a browser any more. */
export function labelled<T extends HTMLTableElement>(table: T): T {
  const heads = [...(table.tHead?.rows[0]?.cells ?? [])].map((cell) => cell.textContent ?? "");
  table.setAttribute("role", "table");
  for (const part of [table.tHead, ...table.tBodies]) part?.setAttribute("role", "rowgroup");
  for (const row of table.rows) {
    row.setAttribute("role", "row");
    for (const cell of row.cells) {
      const isHead = cell.tagName === "TH";
      cell.setAttribute("role", !isHead ? "cell" : row.parentElement === table.tHead ? "columnheader" : "rowheader");
      if (!isHead) cell.dataset.label = heads[cell.cellIndex] ?? "";
    }
  }
  return table;
}

/** Stacks the table of a box if it is wider than that; unstacks it when there is room. */
export function fit(box: HTMLElement): void {
  const table = box.querySelector("table");
  table?.classList.remove("stacked");
  table?.classList.toggle("stacked", box.clientWidth > 0 && box.scrollWidth > box.clientWidth);
}

/** Has the tables of the page fitted whenever the widths of their boxes change, as when a fold is opened. */
export function fitTables(): void {
  const widths = new Map<Element, number>();
  const changed = new ResizeObserver((boxes) => {
    for (const { target, contentRect } of boxes) {
      if (widths.get(target) === contentRect.width) continue;
      widths.set(target, contentRect.width);
      requestAnimationFrame(() => fit(target as HTMLElement)); // not while the browser lays out
    }
  });
  for (const box of document.querySelectorAll(".wide")) changed.observe(box);
}
