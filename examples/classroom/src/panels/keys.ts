// SPDX-License-Identifier: BSD-3-Clause
/** The keys of the page, and of a presenter's remote, which sends Page Up and Page Down. */

export interface KeyActions {
  play(): void;
  undo(): void;
  redo(): void;
  lesson(index: number): void;
  visit(forward: boolean): void;
  step(forward: boolean): void;
  answer(number: number): void;
  blank(): void;
  leave(): void;
  presenting(): boolean;
  asking(): boolean;
}

const typed = "input[type=text], input[type=number], textarea, select";
const ownKeys = `${typed}, button, summary, input[type=range], input[type=checkbox], input[type=radio], [role=slider], [role=button]`;

export function listenToKeys(act: KeyActions): void {
  document.addEventListener("keydown", (event) => {
    const at = event.target as HTMLElement;
    if (at.matches(typed)) return;
    if (event.ctrlKey || event.metaKey) {
      if (event.key !== "z" && event.key !== "y") return;
      event.preventDefault();
      if (event.key === "z" && !event.shiftKey) act.undo();
      else act.redo();
      return;
    }
    // A slider has no use for the space bar: there too it starts and stops the clock.
    const own = at.matches(ownKeys) && !(event.key === " " && at.matches("input[type=range]"));
    if (event.altKey || !take(event.key, own, act)) return;
    event.preventDefault();
  });
}

/** True when the key was for the page. `own`: what has the focus may need the key itself. */
function take(key: string, own: boolean, act: KeyActions): boolean {
  if (key === " ") return !own && (act.play(), true);
  // Before a class the figures are the lessons; for one alone they are the answers of the question that stands.
  if (/^[0-9]$/.test(key)) {
    const number = Number(key);
    if (act.presenting()) return (act.lesson(number === 0 ? 9 : number - 1), true);
    return act.asking() && number >= 1 && number <= 3 && (act.answer(number), true);
  }
  if (!act.presenting()) return false;
  switch (key) {
    case "ArrowRight":
    case "ArrowLeft":
      return !own && (act.visit(key === "ArrowRight"), true);
    case "PageDown":
    case "PageUp":
      return (act.step(key === "PageDown"), true);
    case "b":
    case "B":
      return (act.blank(), true);
    case "Escape":
      return (act.leave(), true);
    default:
      return false;
  }
}
