// SPDX-License-Identifier: BSD-3-Clause
/** The buttons and choices of the panel and of the head of the page. */

import type { Classroom } from "../classroom.js";
import { writeAddress } from "../state/address.js";
import { titleOf } from "../state/eye_settings.js";
import type { Side } from "../state/frame.js";
import { freshPair } from "../state/notebook.js";
import { setMode } from "../stage/presenting.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;
const on = (id: string, act: () => void): void => $(id).addEventListener("click", act);
const chosen = (id: string, act: (value: string) => void): void =>
  $<HTMLSelectElement>(id).addEventListener("change", () => act($<HTMLSelectElement>(id).value));

function compare(
  { choose, notebook }: Pick<Classroom, "notebook"> & { choose: Classroom["choose"] },
  two: boolean,
): void {
  choose({ ...notebook.pair, b: two ? { ...structuredClone(notebook.pair.a), name: titleOf(notebook.pair.a) } : null });
}

export function listenToButtons(room: Classroom): void {
  const { notebook, view } = room;
  const beside = (two: boolean): void => compare({ notebook, choose: (pair) => room.choose(pair) }, two);
  on("undo", () => room.undo());
  on("redo", () => room.redo());
  on("reset", () => {
    room.panel.take(undefined, 1);
    room.choose(freshPair());
  });
  on("edit-a", () => room.edit("a"));
  on("edit-b", () => {
    if (notebook.pair.b === null) beside(true);
    room.edit("b");
  });
  on("copy", () => {
    const other: Side = room.editing === "a" ? "b" : "a";
    room.choose({ ...notebook.pair, [other]: structuredClone(notebook.scenario(room.editing)) });
  });
  on("theme", () => {
    view.nextTheme();
    room.draw();
  });
  on("present", () => setMode(room, room.mode === "present" ? "page" : "present", true));
  $<HTMLInputElement>("compare").addEventListener("change", () => beside($<HTMLInputElement>("compare").checked));
  chosen("spread", (value) => {
    notebook.remember();
    notebook.pair.spread = value;
    room.refreshButtons();
    room.desk.newCrowds();
    room.draw();
    room.tell();
  });
  chosen("language", (value) => {
    location.hash = writeAddress({ ...room.address, language: value || "en" });
    location.reload();
  });
  for (const id of ["true-size", "screen-mm"])
    $(id).addEventListener("input", () => {
      view.layOut();
      room.draw();
    });
  $("in-millinewton").addEventListener("change", () => {
    room.draw();
    room.tell();
  });
}
