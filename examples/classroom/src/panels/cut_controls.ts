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
    const day = this.#number(index, "day", t().panel.day, "d", t().panel.daySpoken, [0, 364, 1, 0], (now, value) => {
      now.day = value;
    });
    const length = this.#number(
      index,
      "length",
      t().panel.length,
      "mm",
      t().panel.mm,
      [0.2, 2, 0.05, 2],
      (now, value) => {
        now.relaxing_cuts.length_mm = value;
      },
    );
    const dial = this.#dial(index);
    day.set(occasion.day);
    length.set(occasion.relaxing_cuts.length_mm ?? defaults.cutLength);
    dial.set(allHours.map((h) => (occasion.relaxing_cuts.hours.includes(h) ? 1 : 0)));
    box.append(day.element, length.element, dial.element, this.#removal(index));
    return box;
  }

  /** The scenario may have been replaced by undo: always edit the occasion that is there now. */
  #current(index: number): Occasion {
    return cutOccasions(this.listener.scenario())[index]!;
  }

  #edited(resting: boolean): void {
    this.#shown = JSON.stringify([
      cutOccasions(this.listener.scenario()),
      (this.listener.scenario().events ?? []).filter((e) => !isCuts(e)).length,
    ]);
    this.listener.changed(resting);
  }

  #number(
    index: number,
    what: string,
    label: string,
    unit: string,
    spoken: string,
    [min, max, step, digits]: [number, number, number, number],
    put: (now: Occasion, value: number) => void,
  ): NumberControl {
    return new NumberControl({
      id: `cut-${what}-${index}`,
      label,
      unit,
      spoken,
      min,
      max,
      step,
      digits,
      begin: () => this.listener.begin(),
      change: (value, resting) => {
        put(this.#current(index), value);
        this.#edited(resting);
      },
    });
  }

  #dial(index: number): HourDial {
    return new HourDial({
      id: `cut-dial-${index}`,
      label: t().panel.cutDial(index + 1),
      kind: "marks",
      what: () => "",
      begin: () => this.listener.begin(),
      change: (values, resting) => {
        const cuts = this.#current(index).relaxing_cuts;
        const between = cuts.hours.filter((h) => !Number.isInteger(h)); // from a file
        cuts.hours = [...allHours.filter((_, i) => values[i] === 1), ...between];
        this.#edited(resting);
      },
    });
  }

  #removal(index: number): HTMLButtonElement {
    const remove = document.createElement("button");
    Object.assign(remove, { type: "button", textContent: t().panel.removeCuts(index + 1) });
    remove.addEventListener("click", () => {
      this.listener.begin();
      const s = this.listener.scenario(),
        gone = this.#current(index);
      s.events = (s.events ?? []).filter((e) => e !== gone);
      this.refresh();
      this.listener.changed(true);
      document.getElementById("add-cuts")?.focus();
    });
    return remove;
  }
}
