// SPDX-License-Identifier: BSD-3-Clause
/** Occasions of relaxing cuts: when, how long, at which hours. */

import type { RelaxingCuts, ScenarioEvent } from "capsim";
import type { ControlListener } from "./control_listener.js";
import { cutOccasions, defaults, isCuts } from "../state/eye_settings.js";
import { allHours } from "../state/frame.js";
import { t } from "../words/texts.js";
import { HourDial } from "./hour_dial.js";
import { NumberControl } from "./number_control.js";

type Occasion = ScenarioEvent & { relaxing_cuts: RelaxingCuts };

export class CutControls {
  readonly #list = document.createElement("div");
  #shown = "";

  constructor(
    body: HTMLElement,
    private readonly listener: ControlListener,
  ) {
    const caution = document.createElement("p");
    caution.className = "caution";
    caution.id = "cut-caution";
    const add = document.createElement("button");
    Object.assign(add, { type: "button", id: "add-cuts", textContent: t().panel.addCuts });
    add.addEventListener("click", () => {
      listener.begin();
      const s = listener.scenario();
      const days = cutOccasions(s).map((e) => e.day);
      const day = days.length === 0 ? 91 : Math.min(360, Math.max(...days) + 60);
      // At hours not cut before: a second cut of the same length at the same place would change nothing.
      const used = cutOccasions(s).flatMap((e) => e.relaxing_cuts.hours);
      const hours = [
        [12, 6],
        [3, 9],
        [1, 7],
        [4, 10],
        [2, 8],
        [5, 11],
      ].find((pair) => !pair.some((h) => used.includes(h))) ?? [12, 6];
      s.events = [...(s.events ?? []), { day, relaxing_cuts: { hours, length_mm: defaults.cutLength } }];
      this.refresh();
      listener.changed(true);
    });
    body.append(caution, this.#list, add);
  }

  /** Rebuilds when the number of occasions has changed; otherwise shows the values. */
  refresh(): void {
    const s = this.listener.scenario();
    const occasions = cutOccasions(s),
      others = (s.events ?? []).length - occasions.length;
    const text = JSON.stringify([occasions, others]);
    if (text === this.#shown) return;
    this.#shown = text;
    this.#list.replaceChildren(...occasions.map((occasion, i) => this.#occasion(occasion, i)));
    if (others > 0) {
      const note = document.createElement("p");
      note.className = "note";
      note.textContent = t().panel.otherEvents(others);
      this.#list.append(note);
    }
  }

  #occasion(occasion: Occasion, index: number): HTMLElement {
    const box = document.createElement("fieldset");
    box.className = "occasion";
    box.innerHTML = `<legend>${t().panel.occasion(index + 1)}</legend>`;
    const { begin } = { begin: (): void => this.listener.begin() };
    // The scenario may have been replaced by undo: always edit the occasion that is there now.
    const current = (): Occasion => cutOccasions(this.listener.scenario())[index]!;
    const note = (resting: boolean): void => {
      this.#shown = JSON.stringify([
        cutOccasions(this.listener.scenario()),
        (this.listener.scenario().events ?? []).filter((e) => !isCuts(e)).length,
      ]);
      this.listener.changed(resting);
    };
    const day = new NumberControl({
      id: `cut-day-${index}`,
      label: t().panel.day,
      unit: "d",
      spoken: t().panel.daySpoken,
      min: 0,
      max: 364,
      step: 1,
      digits: 0,
      begin,
      change: (value, resting) => {
        current().day = value;
        note(resting);
      },
    });
    const length = new NumberControl({
      id: `cut-length-${index}`,
      label: t().panel.length,
      unit: "mm",
      spoken: t().panel.mm,
      min: 0.2,
      max: 2,
      step: 0.05,
      digits: 2,
      begin,
      change: (value, resting) => {
        current().relaxing_cuts.length_mm = value;
        note(resting);
      },
    });
    const dial = new HourDial({
      id: `cut-dial-${index}`,
      label: t().panel.cutDial(index + 1),
      kind: "marks",
      what: () => "",
      begin,
      change: (values, resting) => {
        const between = current().relaxing_cuts.hours.filter((h) => !Number.isInteger(h)); // from a file
        current().relaxing_cuts.hours = [...allHours.filter((_, i) => values[i] === 1), ...between];
        note(resting);
      },
    });
    day.set(occasion.day);
    length.set(occasion.relaxing_cuts.length_mm ?? defaults.cutLength);
    dial.set(allHours.map((h) => (occasion.relaxing_cuts.hours.includes(h) ? 1 : 0)));
    const remove = document.createElement("button");
    Object.assign(remove, { type: "button", textContent: t().panel.removeCuts(index + 1) });
    remove.addEventListener("click", () => {
      this.listener.begin();
      const s = this.listener.scenario(),
        gone = current();
      s.events = (s.events ?? []).filter((e) => e !== gone);
      this.refresh();
      this.listener.changed(true);
      document.getElementById("add-cuts")?.focus();
    });
    box.append(day.element, length.element, dial.element, remove);
    return box;
  }
}
