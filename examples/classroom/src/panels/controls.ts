// SPDX-License-Identifier: BSD-3-Clause
/** The controls of one eye, in the words of the trade. They edit a scenario, and show any that is given. */

import type { ContractionLaw, Lens, Scenario } from "capsim";
import type { ControlListener } from "./control_listener.js";
import { CutControls } from "./cut_controls.js";
import {
  cells,
  defaults,
  lensOf,
  openingCenter,
  openingDiameter,
  ovalOf,
  ringOf,
  setCells,
  setStrengths,
  strengths,
} from "../state/eye_settings.js";
import { allHours } from "../state/frame.js";
import { HourDial } from "./hour_dial.js";
import { NumberControl } from "./number_control.js";
import { laws } from "../state/other_law.js";
import { setWholeBag, wholeBag } from "../state/whole_bag.js";
import { inText, t } from "../words/texts.js";

const presets: { key: string; values: number[] }[] = [
  { key: "firm", values: allHours.map(() => 1) },
  { key: "weak", values: allHours.map(() => 0.3) },
  { key: "sector", values: allHours.map((h) => (h >= 3 && h <= 5 ? 0.2 : 1)) },
  { key: "missing", values: allHours.map((h) => (h >= 3 && h <= 5 ? 0 : 1)) },
];
const ringSizes: [number, "small" | "medium" | "large"][] = [
  [12, "small"],
  [12.3, "small"],
  [13, "medium"],
  [14.5, "large"],
];
const percent = (v: number): number => Math.round(100 * v);

export class Controls {
  readonly #refresh: (() => void)[] = [];
  readonly #cuts: CutControls;

  constructor(
    private readonly root: HTMLElement,
    private readonly listener: ControlListener,
  ) {
    this.#opening();
    this.#zonule();
    this.#ring();
    this.#healing();
    const section = this.#section("cuts", t().panel.cuts, false);
    this.#cuts = new CutControls(section, listener);
    this.#refresh.push(() => this.#cuts.refresh());
    this.#lens();
    this.#eye();
    this.refresh();
  }

  /** Shows the name as it is now. */
  refreshName: () => void = () => undefined;

  /** Shows the scenario as it is now. */
  refresh(): void {
    for (const refresh of this.#refresh) refresh();
  }

  #section(key: string, title: string, open: boolean): HTMLElement {
    const details = document.createElement("details");
    details.id = `section-${key}`;
    details.open = open;
    const summary = document.createElement("summary");
    summary.textContent = title;
    const body = document.createElement("div");
    details.append(summary, body);
    this.root.append(details);
    return body;
  }

  #change(edit: (s: Scenario) => void, resting: boolean): void {
    edit(this.listener.scenario());
    this.listener.changed(resting);
  }

  #number(
    into: HTMLElement,
    id: string,
    label: string,
    unit: string,
    spoken: string,
    range: [number, number, number],
    digits: number,
    get: (s: Scenario) => number,
    set: (s: Scenario, v: number) => void,
    note?: string,
  ): NumberControl {
    const [min, max, step] = range;
    const control = new NumberControl({
      id,
      label,
      unit,
      spoken,
      min,
      max,
      step,
      digits,
      ...(note === undefined ? {} : { note }),
      begin: () => this.listener.begin(),
      change: (value, resting) => this.#change((s) => set(s, value), resting),
    });
    into.append(control.element);
    this.#refresh.push(() => control.set(get(this.listener.scenario())));
    return control;
  }

  #choice<T extends string | number>(
    into: HTMLElement,
    id: string,
    label: string,
    options: [T, string][],
    get: (s: Scenario) => T,
    set: (s: Scenario, v: T) => void,
  ): HTMLElement {
    const group = document.createElement("fieldset");
    group.className = "choice";
    group.id = id;
    group.innerHTML = `<legend>${label}</legend>`;
    for (const [value, words] of options) {
      const name = document.createElement("label");
      const radio = document.createElement("input");
      Object.assign(radio, { type: "radio", name: id, value: String(value) });
      radio.addEventListener("change", () => {
        this.listener.begin();
        set(this.listener.scenario(), value);
        this.listener.changed(true);
        this.refresh();
      });
      name.append(radio, words);
      group.append(name);
      this.#refresh.push(() => {
        radio.checked = get(this.listener.scenario()) === value;
      });
    }
    into.append(group);
    return group;
  }

  #eye(): void {
    const body = this.#section("eye", t().panel.eye, false);
    const name = document.createElement("div");
    name.className = "text";
    name.innerHTML = `<label for="name">${t().panel.name}</label><input id="name" type="text" maxlength="60" autocomplete="off">`;
    const box = name.querySelector("input")!;
    box.addEventListener("change", () => {
      this.listener.begin();
      this.#change((s) => {
        s.name = box.value.trim() || t().summary.unnamed;
      }, true);
    });
    this.refreshName = () => {
      box.value = this.listener.scenario().name ?? "";
    };
    this.#refresh.push(() => this.refreshName());
    body.append(name);
    // Changing sides mirrors everything, so that what was nasal stays nasal.
    this.#choice<"right" | "left">(
      body,
      "eye",
      t().panel.side,
      (["right", "left"] as const).map((side) => [side, t().panel.sides[side]!]),
      (s) => (s.eye === "left" || s.eye === "right" ? s.eye : ("" as "right")),
      (_, side) => this.listener.mirror(side),
    );
    this.#note(body, t().panel.mirrored);
  }

  #opening(): void {
    const body = this.#section("opening", t().panel.opening, true);
    const oval = document.createElement("p");
    oval.className = "note";
    oval.id = "oval";
    body.append(oval);
    this.#refresh.push(() => {
      const both = ovalOf(this.listener.scenario());
      oval.hidden = both === undefined;
      oval.textContent = both ? t().panel.oval(t().summary.by(both)) : "";
    });
    this.#number(
      body,
      "opening-diameter",
      t().panel.diameter,
      "mm",
      t().panel.mm,
      [3, 7, 0.05],
      2,
      openingDiameter,
      (s, v) => {
        s.opening = { ...s.opening, diameter_mm: v };
        delete s.opening.diameters_mm;
        delete s.opening.outline_mm;
      },
    );
    this.#number(
      body,
      "opening-x",
      t().panel.across,
      "mm",
      t().panel.acrossSpoken,
      [-1, 1, 0.05],
      2,
      (s) => openingCenter(s)[0],
      (s, v) => {
        s.opening = { ...s.opening, center_mm: [v, openingCenter(s)[1]] };
      },
      t().panel.acrossNote,
    );
    this.#number(
      body,
      "opening-y",
      t().panel.up,
      "mm",
      t().panel.upSpoken,
      [-1, 1, 0.05],
      2,
      (s) => openingCenter(s)[1],
      (s, v) => {
        s.opening = { ...s.opening, center_mm: [openingCenter(s)[0], v] };
      },
    );
  }

  #zonule(): void {
    const body = this.#section("zonule", t().panel.zonule, true);
    const row = document.createElement("div");
    row.className = "presets";
    for (const preset of presets) {
      const button = document.createElement("button");
      button.type = "button";
      const [name, words] = t().panel.presets[preset.key]!;
      button.append(name, Object.assign(document.createElement("small"), { textContent: words }));
      button.dataset.preset = preset.key;
      button.addEventListener("click", () => {
        this.listener.begin();
        this.#change((s) => setStrengths(s, preset.values), true);
        this.refresh();
      });
      row.append(button);
    }
    body.append(row);
    const dial = this.#dial(
      body,
      "zonule-dial",
      t().panel.zonuleDial,
      (v) => t().panel.strength(percent(v)),
      strengths,
      setStrengths,
    );
    body.append(dial);
    this.#note(body, t().panel.zonuleNote);
    this.#number(
      body,
      "zonule-all",
      t().panel.zonuleAll,
      "%",
      t().panel.zonuleSpoken,
      [0, 100, 5],
      0,
      (s) => Math.round((100 * strengths(s).reduce((a, b) => a + b, 0)) / 12),
      (s, v) => {
        setStrengths(
          s,
          allHours.map(() => v / 100),
        );
        this.refresh();
      },
    );
  }

  #dial(
    body: HTMLElement,
    id: string,
    label: string,
    what: (v: number) => string,
    get: (s: Scenario) => number[],
    set: (s: Scenario, v: number[]) => void,
  ): SVGSVGElement {
    const dial = new HourDial({
      id,
      label,
      kind: "levels",
      what,
      begin: () => this.listener.begin(),
      change: (values, resting) => {
        this.#change((s) => set(s, values), resting);
        this.refresh();
      },
    });
    this.#refresh.push(() => dial.set(get(this.listener.scenario())));
    body.append(dial.element);
    return dial.element;
  }

  #note(body: HTMLElement, text: string): void {
    const note = document.createElement("p");
    note.className = "note";
    note.textContent = text;
    body.append(note);
  }

  #healing(): void {
    const body = this.#section("healing", t().panel.healing, false);
    this.#number(
      body,
      "cells-all",
      t().panel.cellsAll,
      "%",
      t().panel.cellsSpoken,
      [0, 100, 5],
      0,
      (s) => Math.round((100 * cells(s).reduce((a, b) => a + b, 0)) / 12),
      (s, v) => {
        setCells(
          s,
          allHours.map(() => v / 100),
        );
        this.refresh();
      },
    );
    this.#dial(body, "cells-dial", t().panel.cellsDial, (v) => t().panel.cells(percent(v)), cells, setCells);
    this.#note(body, t().panel.cellsNote);
    this.#number(
      body,
      "chronic",
      t().panel.stimulus,
      "",
      t().panel.stimulusSpoken,
      [0, 1, 0.05],
      2,
      (s) => s.contraction?.chronic_signal ?? 0,
      (s, v) => {
        s.contraction = { ...s.contraction, chronic_signal: v };
      },
      t().panel.stimulusNote,
    );
    this.#choice<ContractionLaw>(
      body,
      "law",
      t().panel.pulls,
      laws.map((law) => [law, t().panel.laws[law]!]),
      (s) => s.contraction?.law ?? "fibre_remodelling",
      (s, law) => {
        const whole = wholeBag(s);
        s.contraction = { ...s.contraction, law };
        if (whole) setWholeBag(s, true); // its numbers under that law
      },
    );
    this.#note(body, t().panel.lawNote);
    this.#contracting(body);
  }

  #contracting(body: HTMLElement): void {
    this.#choice<"rim" | "bag">(
      body,
      "contracts",
      t().panel.contracts,
      [
        ["rim", t().panel.contractsRim],
        ["bag", t().panel.contractsBag],
      ],
      (s) => (wholeBag(s) ? "bag" : "rim"),
      (s, what) => setWholeBag(s, what === "bag"),
    );
    this.#note(body, t().panel.contractsNote);
  }

  #lens(): void {
    const body = this.#section("lens", t().panel.lens, false);
    this.#choice<number>(
      body,
      "haptics",
      t().panel.haptics,
      [
        [0, t().panel.noLens],
        [2, "2"],
        [3, "3"],
        [4, "4"],
      ],
      (s) => (lensOf(s) ? (lensOf(s)!.haptics ?? defaults.haptics) : 0),
      (s, v) => {
        s.lens = v === 0 ? null : { ...lensOf(s), haptics: v };
      },
    );
    const numbers = [
      this.#number(
        body,
        "optic",
        t().panel.optic,
        "mm",
        t().panel.mm,
        [5, 7, 0.1],
        1,
        (s) => lensOf(s)?.optic_diameter_mm ?? defaults.opticDiameter,
        (s, v) => this.#editLens(s, { optic_diameter_mm: v }),
      ),
      this.#number(
        body,
        "axis",
        t().panel.axis,
        "h",
        t().clock.spoken,
        [0.5, 12, 0.5],
        1,
        (s) => lensOf(s)?.axis_hour ?? defaults.axisHour,
        (s, v) => this.#editLens(s, { axis_hour: v }),
      ),
    ];
    this.#refresh.push(() => {
      for (const number of numbers) number.disabled = lensOf(this.listener.scenario()) === null;
    });
  }

  #editLens(s: Scenario, part: Partial<Lens>): void {
    s.lens = { ...lensOf(s), ...part };
  }

  #ring(): void {
    const body = this.#section("ring", t().panel.ring, false);
    this.#choice<number>(
      body,
      "ring",
      t().panel.free,
      [
        [0, t().panel.none],
        ...ringSizes.map(([d, size]): [number, string] => [d, `${t().panel.sizes[size]!}, ${inText(String(d))}`]),
      ],
      (s) => {
        const ring = ringOf(s);
        return ring
          ? (ringSizes.find(([d]) => Math.abs(d - (ring.free_diameter_mm ?? defaults.ringDiameter)) < 0.01)?.[0] ?? -1)
          : 0;
      },
      (s, v) => {
        s.tension_ring = v === 0 ? null : { ...ringOf(s), free_diameter_mm: v };
      },
    );
    const other = Object.assign(document.createElement("p"), { className: "note", id: "other-ring" });
    body.append(other);
    this.#refresh.push(() => {
      const free = ringOf(this.listener.scenario())?.free_diameter_mm ?? defaults.ringDiameter;
      other.hidden = ringOf(this.listener.scenario()) === null || ringSizes.some(([d]) => Math.abs(d - free) < 0.01);
      other.textContent = t().panel.otherRing(inText(String(free)));
    });
    const gap = this.#number(
      body,
      "ring-gap",
      t().panel.gap,
      "h",
      t().clock.spoken,
      [1, 12, 1],
      0,
      (s) => ringOf(s)?.gap_hour ?? defaults.gapHour,
      (s, v) => {
        s.tension_ring = { ...ringOf(s), gap_hour: v };
      },
    );
    this.#refresh.push(() => {
      gap.disabled = ringOf(this.listener.scenario()) === null;
    });
  }
}
