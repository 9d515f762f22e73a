// SPDX-License-Identifier: BSD-3-Clause
/** What is set, what a crowd is asked, and what went wrong. */

import type { panels as english } from "../en/panels.js";
import { listed } from "../listed.js";
import { comma } from "./comma.js";

const komma = (v: number): string => comma(v.toPrecision(2));

export const panels: typeof english = {
  panel: {
    opening: "Öffnung (Kapsulorhexis)",
    zonule: "Zonula",
    ring: "Spannring",
    healing: "Zellen und Heilung (Phimose)",
    cuts: "Entlastungsschnitte",
    lens: "Linse",
    eye: "Auge",
    name: "Name",
    side: "Seite",
    sides: { right: "rechts", left: "links" },
    mirrored: "Die andere Seite ist das Spiegelbild: Was nasal ist, bleibt nasal.",
    oval: (both) => `Oval: ${both} mm. Ein Durchmesser macht sie rund.`,
    diameter: "Durchmesser",
    mm: "Millimeter",
    across: "Mitte, waagrecht",
    acrossSpoken: "Millimeter im Bild nach rechts",
    acrossNote: "Positiv ist im Bild nach rechts.",
    up: "Mitte, senkrecht",
    upSpoken: "Millimeter nach oben",
    presets: {
      firm: ["Fest", "rundum gesunde Fasern"],
      weak: ["Überall schwach", "rundum ein Drittel der Kraft"],
      sector: ["Schwacher Sektor", "fest, aber von 3 bis 5 Uhr schwach"],
      missing: ["Fehlender Sektor", "fest, aber von 3 bis 5 Uhr nichts"],
    },
    zonuleDial: "Kraft der Zonula je Stunde der Uhr",
    strength: (percent) => (percent === 0 ? "fehlt" : `${percent} Prozent der vollen Kraft`),
    zonuleNote: "Eine Stunde nach außen ziehen: gesund; zur Mitte: fehlt. Tasten: Tab wandert, Pfeile stellen.",
    zonuleAll: "Alle Stunden auf",
    zonuleSpoken: "Prozent der vollen Kraft",
    cellsAll: "Zellen nach dem Polieren übrig",
    cellsSpoken: "Prozent der Zellen",
    cellsDial: "Zellen übrig je Stunde der Uhr",
    cells: (percent) => (percent === 0 ? "keine Zellen übrig" : `${percent} Prozent der Zellen übrig`),
    cellsNote: "100 %: nicht poliert. Eine Stunde zur Mitte ziehen, wo der Rand sauber poliert wurde.",
    stimulus: "Bleibender Reiz",
    stimulusSpoken: "mal der erste Reiz",
    stimulusNote: "0: Er klingt in Wochen ab. Mehr: Uveitis, Diabetes, eine Blutschranke, die offen bleibt.",
    pulls: "Was zieht",
    laws: {
      fibre_remodelling: "Fasern, gedehnt abgelegt",
      active_lock_in: "Zellen, deren Zug einrastet",
    },
    lawNote:
      "Zwei Vorstellungen; am Patienten hat sie niemand auseinandergehalten. Wo sie einig sind, hängt die Antwort weniger am Modell.",
    contracts: "Was schrumpft",
    contractsRim: "der Rand",
    contractsBag: "der ganze Sack",
    contractsNote:
      "Der ganze Sack: Gewebe auch auf beiden Blättern außerhalb der Linse. Für schwache Fasern und Ringe; Antworten dauern länger.",
    haptics: "Haptiken",
    noLens: "keine Linse",
    optic: "Durchmesser der Optik",
    axis: "Erste Haptik zeigt auf",
    free: "Freier Durchmesser, mm",
    none: "keiner",
    sizes: { small: "klein", medium: "mittel", large: "groß" },
    gap: "Lücke des Rings bei",
    otherRing: (mm: string): string => `Jetzt ${mm} mm, keine davon.`,
    addCuts: "Schnitte hinzufügen",
    occasion: (n) => `${n}. Mal`,
    removeCuts: (n) => `${n}. Mal entfernen`,
    cutDial: (n) => `Stunden der Schnitte, ${n}. Mal`,
    otherEvents: (n) => `${n} andere Ereignisse der geladenen Datei bleiben, wie sie sind.`,
    day: "Tag",
    daySpoken: "Tage nach der Operation",
    length: "Länge",
  },
  influence: {
    title: "Welche Stunden zählen",
    zonule: "Ein Zehntel mehr Fasern",
    cells: "Ein Zehntel mehr Zellen",
    asked: "Gefragt ist nach",
    of: {
      area: "Fläche der Öffnung am letzten Tag",
      lens: "Abstand der Linse von der Mitte am letzten Tag",
      load: "größter Last einer Stunde der Zonula",
    },
    note: "Was ein Zehntel mehr in einer Stunde an dem ändert, wonach gefragt ist. Volles Blatt: mehr; leeres Blatt: weniger. Kreuz: eine Stunde, die keine hat. Aus den Ableitungen eines schnellen Laufs.",
    running: "Es wird gerechnet …",
    none: "Für dieses Auge gibt es diese Zahlen nicht.",
    top: (most: number, unit: string): string => `${komma(most)} ${unit}`,
    about: (side: string): string => `Auge ${side}.`,
    alike: { zonule: "Keine Stunde der Fasern ragt heraus.", cells: "Keine Stunde der Zellen ragt heraus." },
    most: {
      area: {
        zonule: (hour: number, change: number): string =>
          `Fasern zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr macht die Öffnung ${komma(Math.abs(change))} mm² ${change > 0 ? "größer" : "kleiner"}.`,
        cells: (hour: number, change: number): string =>
          `Zellen zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr macht sie ${komma(Math.abs(change))} mm² ${change > 0 ? "größer" : "kleiner"}.`,
      },
      lens: {
        zonule: (hour: number, change: number): string =>
          change < 0
            ? `Die Linse ginge am weitesten zurück, wären die Fasern bei ${hour} Uhr stärker: Ein Zehntel mehr macht ${komma(Math.abs(change))} mm aus.`
            : `Fasern zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr schiebt die Linse ${komma(change)} mm weiter hinaus.`,
        cells: (hour: number, change: number): string =>
          change < 0
            ? `Sie ginge am weitesten zurück, wären bei ${hour} Uhr mehr Zellen: Ein Zehntel mehr macht ${komma(Math.abs(change))} mm aus.`
            : `Zellen zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr schiebt sie ${komma(change)} mm weiter hinaus.`,
      },
      load: {
        zonule: (hour: number, change: number): string =>
          `Fasern zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr macht die größte Last ${komma(Math.abs(change))} mN ${change > 0 ? "höher" : "niedriger"}.`,
        cells: (hour: number, change: number): string =>
          `Zellen zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr macht sie ${komma(Math.abs(change))} mN ${change > 0 ? "höher" : "niedriger"}.`,
      },
    },
  },
  crowdPlans: {
    title: "Viele Augen",
    dotsTitle: "Jedes Auge ein Punkt: % verloren",
    across: "bei A",
    up: "bei B",
    noDots: "Noch ist kein Auge der Schar gerechnet.",
    dots: (eyes: number, more: number): string => `${eyes} Augen, jedes ein Punkt. B verliert mehr in ${more} davon.`,
    dotsOne: (eyes: number): string => `${eyes} Augen, jedes ein Punkt.`,
    whenToLook: "Wann nachsehen",
    limit: "freier Kreis unter",
    whereToCut: "Wo schneiden",
    stop: "Anhalten",
    result: "Was die Rechnung sagt",
    onDay: "am Tag",
    eyes: "Augen",
    progress: "Wie weit die Rechnung ist",
    note: "Für das Auge, das geändert wird, nach beiden Vorstellungen davon, was zieht. Schnitte dauern etwa eine halbe Minute je Auge.",
    old: "Diese Tabelle gilt für das Auge, wie es vor der letzten Änderung war.",
    starting: "Es beginnt …",
    left: (seconds: number): string =>
      seconds < 60 ? "Noch weniger als eine Minute." : `Noch etwa ${Math.ceil(seconds / 60)} Minuten.`,
    took: (seconds: number): string =>
      `Fertig nach ${seconds < 90 ? `${Math.ceil(seconds)} s` : `${Math.round(seconds / 60)} min`}.`,
    running: (done: number, total: number): string => `Gerechnet: ${done} von ${total} …`,
    stopped: "Angehalten.",
    noCrowd: "Erst eine Streuung wirklicher Augen wählen.",
    refused: "Das lässt sich bei diesem Auge nicht fragen.",
    of: (k: number, n: number): string => `${k} von ${n}`,
    visitsTitle: (limit: string, eyes: number): string =>
      `Welcher Besuch findet zuerst einen freien Kreis unter ${limit} mm, bei ${eyes} Augen`,
    visit: "Besuch",
    inAll: "Darunter bis zum letzten Tag",
    halfBy: "Die Hälfte davon bis Tag",
    late: "Gefunden so viele Tage zu spät",
    sign: (what: string, day: number, cut: string, below: boolean): string =>
      `Bestes frühes Zeichen: ${what} ${below ? "unter" : "über"} ${cut} am Tag ${day}.`,
    cutsTitle: (day: number, eyes: number, laws: string): string =>
      `Schnitte am Tag ${day}, Mitte von ${eyes} Augen (${laws})`,
    layouts: {
      two: "2 gleichmäßig",
      three: "3 gleichmäßig",
      four: "4 gleichmäßig",
      towards: "3 bei den schwachen Stunden",
      away: "3 gegenüber davon",
    } as Record<string, string>,
    layout: "Schnitte",
    back: "Sofort zurück, mm²",
    kept: "Am Ende geblieben, mm²",
    load: "Größte Last, mN",
    margin: "Spitze bis Äquator, mm",
    unbeaten: "Nichts ist besser",
    cutsNote:
      "✓ Nichts anderes ist in Fläche, Abstand der Spitze, Zahl der Schnitte und Last ebenso gut und in einem besser.",
    nearEquator: "! In einigen dieser Augen kommt eine Spitze dem Äquator näher als 1 mm.",
  },
  trouble: {
    early: (side) => `Die Rechnung von Auge ${side} endete vorzeitig.`,
    cannotBe: (side) => `Auge ${side} geht so nicht. Die Bilder zeigen das letzte, das ging.`,
    stopped: "Die Rechenmaschine blieb stehen.",
    tooOld: "Dieser Browser kann die Rechenmaschine nicht ausführen. Nimm einen neueren.",
    is: (path, value) => `${path}${value === "" ? "" : ` ist ${value}`}`,
    allowed: "erlaubt ist",
    link: (eyes) =>
      eyes.length === 1
        ? `Auge ${eyes[0]} dieses Verweises lässt sich nicht rechnen.`
        : `Die Augen ${listed(eyes, "und")} dieses Verweises lassen sich nicht rechnen.`,
    damaged: "Der Verweis ist beschädigt: Er enthält keine Augen.",
    file: "Die Datei enthält kein Szenario, das sich rechnen lässt.",
    notJson: "Die Datei ist kein JSON-Text.",
    more: (n) => `und ${n} weitere`,
  },
  status: {
    noBand: "Kein Band für diese Augen.",
    noOtherLaw: "Keine dünne Linie für diese Augen.",
    soFar: (eyes) => `Gerechnete Augen: ${eyes}.`,
    eyesIn: (side, n, of) => `${side} ${n} von ${of}`,
    film: (percent) => `Film: ${percent} %`,
    pictures: (percent: number): string => `Bilder: ${percent} %`,
    nothing: "Noch ist nichts gerechnet.",
    done: (what) => `${what}: fertig.`,
    failed: (what) => `${what}: Das ging nicht.`,
    noFilm: "Dieser Browser kann keine Filme erzeugen; nimm das GIF.",
  },
};
