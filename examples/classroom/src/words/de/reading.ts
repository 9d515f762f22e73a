// SPDX-License-Identifier: BSD-3-Clause
/** What the numbers of a run say in sentences, and what the library says of its own. */

import type { reading as english } from "../en/reading.js";
import { comma } from "./comma.js";

const flags: Record<string, (numbers: readonly string[]) => string> = {
  run_not_completed: () => "Die Rechnung endete vorzeitig. Alle Werte gelten für den letzten erreichten Tag.",
  opening_not_as_stated: ([mm]) =>
    `Neben Stunden der Aufhängung, die nichts halten, kann die Öffnung nicht so liegen wie angegeben. Ihre Fläche stimmt; ihr Umriss weicht am Tag 0 um bis zu ${mm} mm ab.`,
  ring_ends_overlap: ([mm]) => `Die Enden des Spannrings haben sich um ${mm} mm aneinander vorbeigeschoben.`,
  rim_stretch_near_tearing: ([times]) =>
    `Der Rand ist auf das ${times}-Fache seiner spannungsfreien Länge gedehnt; Schnittkanten der Kapsel von Spenderaugen rissen bei 1,35 bis 1,70.`,
  strain_beyond_law: () => "Das Blatt ist um mehr als 50 % gedehnt, mehr als in den Messungen seines Gesetzes.",
  lips_overlap: ([day]) =>
    day === undefined
      ? "Die Lippen eines Schnittes kreuzen sich irgendwann: Die Flächen dieser Tage zählen nur die sichtbare Öffnung."
      : `Die Lippen der Schnitte vom Tag ${day} schließen oder überlappen sich, statt zu klaffen: Für sie ist kein Gewinn genannt.`,
  relief_range: () =>
    "Was Schnitte zurückgeben, kann sich halbieren oder verdoppeln, wenn sie um die Hälfte kürzer oder länger sind, und es hängt davon ab, was zieht: Nennen Sie es nur mit seiner Spanne.",
  no_contraction: () => "Kein Gewebe entstand: Das Blatt liegt nicht auf der Optik, oder keine Zellen blieben übrig.",
  unvalidated_zonule_failure: () => "Das Reißen von Faserbündeln ist eingeschaltet; das ist an keiner Messung geprüft.",
  rim_off_optic: ([mm, hour]) => `Der Rand hat die Optik um bis zu ${mm} mm verlassen, bei ${hour} Uhr.`,
  runaway_not_followed: ([times]) =>
    `Der Abstand zum Verschluss ließ sich nicht über das ${times}-Fache des jetzigen Zuges hinaus verfolgen.`,
  near_runaway: ([times]) =>
    `Gewebe, das auf Dauer ${times}-mal so stark zöge wie jetzt, schlösse die Öffnung oder zöge sie davon.`,
};

export const reading: typeof english = {
  reading: {
    atEnd: (mm, mm2) => `Am Ende der Operation ist die Öffnung ${mm} mm weit (${mm2} mm²).`,
    then: (when, mm, percent, way) =>
      `${when} ist die Öffnung ${mm} mm weit, ${
        way === "same"
          ? "etwa gleich groß wie"
          : `${percent} % ${way === "smaller" ? "kleiner" : "größer"} an Fläche als`
      } am Ende der Operation.`,
    lobed: (least, most) =>
      `Ihre Schnitte machen sie gelappt: ${least} mm an der engsten, ${most} mm an der weitesten Stelle.`,
    oval: (least, most) => `Sie ist oval: ${least} mal ${most} mm.`,
    central: (lens) => `Die ${lens ? "Linse" : "Öffnung"} ist in der Mitte geblieben.`,
    moved: (lens, mm, direction, way, weak) =>
      `Die ${lens ? "Linse" : "Öffnung"} ist ${mm} mm ${direction} gewandert${
        way === "" ? "" : `, ${way === "away" ? "weg von den schwachen Stunden" : "zu den schwachen Stunden"} (${weak})`
      }.`,
    load: (now, start, where) => `Die Zonula trägt ${now} (${start} am Tag 0), ${where}.`,
    even: "rundum gleichmäßig",
    nearlyEven: "rundum fast gleichmäßig",
    most: (hours, each, load) => `am meisten bei ${hours} (${each ? "je " : ""}${load})`,
    timesWhole: (times) => `${times}-mal so viel wie eine gesunde`,
    timesHour: (times) => `${times}-mal eine gesunde Stunde`,
    inAll: (mN) => `${mN} mN im Ganzen`,
    cuts: (n, mm, day) =>
      `${["Kein Schnitt", "Ein Schnitt", "Zwei Schnitte", "Drei Schnitte", "Vier Schnitte", "Fünf Schnitte", "Sechs Schnitte"][n] ?? `${n} Schnitte`} von ${mm} mm am Tag ${day}`,
    noRelief: (cuts) =>
      `${cuts}: Die Lippen schließen oder überlappen sich, statt zu klaffen. Ein Gewinn ist nicht zu nennen.`,
    toCome: (cuts) => `${cuts}: noch nicht gemacht.`,
    relief: (cuts, n, mm2) => `${cuts} ${n === 1 ? "gibt" : "geben"} sofort ${mm2} mm² zurück.`,
    nothingPulls: (when) => `${when} zieht kein Gewebe am Rand: Nichts ist da, was die Öffnung schließen könnte.`,
    margin: (when, near, end, factor) => {
      const pull = `${factor}-mal so stark ziehen wie jetzt, und zwar auf Dauer,`;
      const what = {
        tips: `müsste etwa ${pull} ehe nichts mehr die Öffnung hielte`,
        closes: `müsste etwa ${pull} ehe die Öffnung neun Zehntel ihrer Fläche verloren hätte`,
        holds: `könnte ${pull} und die Öffnung hielte noch`,
      }[end];
      return (
        `${when} ist dieses Auge ${{ near: "nahe am", some: "ein Stück entfernt vom", far: "weit entfernt vom" }[near]} Verschluss: Das Gewebe am Rand ${what}. ` +
        "Das sagt nicht, ob und wann es dazu kommt, und unter echten Augen einer Art ist die Zahl um ein Mehrfaches verschieden."
      );
    },
    range: (low, high, unit) => (low === high ? `bei ${low} ${unit}` : `zwischen ${low} und ${high} ${unit}`),
    band: (across, lost, lens, off) =>
      `In 8 von 10 Augen wie diesem liegt die Weite der Öffnung dann ${across}${lost}` +
      (off === null
        ? "."
        : `, und die ${lens ? "Linse" : "Öffnung"} ${off === "" ? "ist in der Mitte." : `liegt ${off} neben der Mitte der Pupille.`}`),
    bandLost: (low, high) => ` (${low} bis ${high} % der Fläche verloren)`,
    noBand: "Kein Band echter Augen ist gezeigt: Lies Richtungen und Vergleiche, keine Millimeter.",
    aboutBand: (source) =>
      `Im Band liegen 8 von 10 Augen, ein Zehntel auf jeder Seite davon (${source}). Die Streuung folgt veröffentlichten Gruppen von Patienten und ist um dieses erfundene Auge gelegt.`,
    source: (eyes, description, name, edition, failed) =>
      `${eyes} Augen, Streuung wie in: ${description}, Population ${name}, Ausgabe ${edition}` +
      (failed > 0 ? `; ${failed} davon kamen nicht bis zum letzten Tag` : ""),
    sameEyes: (eyes, low, high, less) =>
      `Dieselben ${eyes} Augen unter beiden Plänen: Fläche ${low} bis ${high} mm² in 8 von 10, kleiner bei B in ${less} von ${eyes}.`,
    difference: (day, area, diameter, off, load) =>
      `B minus A, Tag ${day}: Fläche ${area} mm², Durchmesser ${diameter} mm, ${off === "" ? "" : `Dezentrierung ${off} mm, `}Last der Zonula ${load} mN`,
    otherLaw: (law, when, what) =>
      `Nach der anderen Vorstellung davon, was zieht (${law}), wäre die Öffnung ${when[0]!.toLowerCase()}${when.slice(1)} ${what} (der Unterschied ist der der schnellen, groben Rechnung).`,
    otherSame: (mm) => `auf ${mm} mm gleich`,
    otherInstead: (other, own) => `${other} mm weit statt ${own} mm`,
  },
  doubts: {
    band: (source) =>
      `Die Linie ist ein erfundenes Auge; 8 von 10 Augen wie dieses liegen im Band (${source}). Das Band enthält, was in veröffentlichten Gruppen von Patienten verschieden war, und sonst nichts: weder Fehler des Operateurs noch des Modells.`,
    noBand:
      "Die Zahlen gehören zu einem erfundenen Auge, ohne die Streuung echter Augen: Lies Richtungen und Vergleiche, keine Millimeter.",
    front:
      "Nur von vorn gesehen: keine Kippung, keine Bewegung vor oder zurück, keine Schwerkraft, kein Einreißen, kein Stoß eines Lasers.",
    averages:
      "Der Druck der Haptiken, der Zug der Zonula und das Tempo der Heilung sind angenommene Mittelwerte; am Patienten kann sie heute niemand messen.",
    laws: "Zwei Vorstellungen davon, was zieht, folgen denselben Gruppen von Patienten, und am Patienten hat sie niemand auseinandergehalten. Die dünne Linie ist dieses Auge unter der anderen; ihr Abstand kommt zum Band hinzu.",
    line: "Zwischen gerechneten Tagen liegt eine gerade Linie.",
    coarse: "Das ist die schnelle, grobe Rechnung, solange ein Regler bewegt wird.",
    wholeBag:
      "Hier schrumpft der ganze Sack: Gewebe liegt auch auf beiden Blättern außerhalb der Linse. Wie stark es ist, folgt Gruppen von Patienten; wie die Blätter einander halten, ist angenommen.",
    ring: "Wie steif der Ring nach Monaten im Sack noch ist, ist unsicher; auch, wie seine Enden gleiten.",
    cuts: "Neues Gewebe, das einen Schnitt überbrückt, ist nicht im Modell: Später Gewinn ist vielleicht zu gut.",
  },
  summary: {
    eye: (side) =>
      side === undefined ? "Auge, Seite nicht genannt" : side === "left" ? "linkes Auge" : "rechtes Auge",
    by: (both) => both.join(" mal "),
    opening: (mm) => `Öffnung ${mm} mm`,
    zonule: (low, high) => (low === high ? `Zonula ${high} %` : `Zonula ${low} bis ${high} %`),
    ring: (mm) => `Spannring ${mm} mm`,
    optic: (mm) => `Optik ${mm} mm`,
    noLens: "keine Linse",
    cells: (low, high) => `Zellen übrig ${low} bis ${high} %`,
    stimulus: (v) => `bleibender Reiz ${v}`,
    cuts: (n, mm, day) => `${n} Schnitte von ${mm} mm am Tag ${day}`,
    gap: "Fasern fehlen",
    weak: "Fasern schwach",
    polished: "poliert",
    stimulated: "bleibender Reiz",
    wholeBag: "ganzer Sack",
    wholeBagContracts: "der ganze Sack schrumpft",
    cut: (n) => (n === 1 ? "1 Schnitt" : `${n} Schnitte`),
    plain: "Ein schlichtes Auge",
    unnamed: "ohne Namen",
  },
  library: {
    research:
      "Nur für Forschung und Lehre, nicht für die Behandlung eines Patienten. Klinische Entscheidungen gehören der zugelassenen Ärztin oder dem Arzt und den örtlichen Vorgaben. Das Modell liegt in einer Ebene: keine Kippung, keine Verschiebung nach vorn oder hinten, keine Schwerkraft, kein Einreißen, kein Stoß eines Lasers. Augen unterscheiden sich stärker voneinander als durch die mittlere Wirkung; eine einzelne Zahl ohne Band ist keine Vorhersage.",
    cuts: "Entlastungsschnitte haben Risiken: Druckanstieg, Entzündung, Dellen in der Linse, Makulaödem, Netzhautablösung, ein Schnitt, der bis zum Äquator weiterläuft, eine veränderte Last der Zonula und Luxation der Linse. Veröffentlichte Häufigkeiten gelten für Laseröffnungen der hinteren Kapsel, nicht für Entlastungsschnitte der vorderen.",
    populations: {
      age_related_cataract: "Augen ohne bekanntes Risiko, mit einer Linse aus hydrophobem Acryl oder PMMA",
      silicone_lens: "Augen ohne bekanntes Risiko, mit einer Linse aus Silikon",
      polished_rim: "Augen ohne bekanntes Risiko, deren Rand von Zellen frei poliert wurde",
      pseudoexfoliation: "Augen mit Pseudoexfoliation: schwache Zonula und ein bleibender Reiz",
      age_related_cataract_whole_bag:
        "Augen ohne bekanntes Risiko, mit einer Linse aus hydrophobem Acryl oder PMMA; der Sack schrumpft im Ganzen",
      silicone_lens_whole_bag: "Augen ohne bekanntes Risiko, mit einer Linse aus Silikon; der Sack schrumpft im Ganzen",
      polished_rim_whole_bag:
        "Augen ohne bekanntes Risiko, deren Rand von Zellen frei poliert wurde; der Sack schrumpft im Ganzen",
      pseudoexfoliation_whole_bag: "Augen mit Pseudoexfoliation: schwache Zonula; der Sack schrumpft im Ganzen",
    },
    flag: (code, text, numbers) => flags[code]?.(numbers.map(comma)) ?? text,
    measurements: {
      opening_diameter_mm: "Durchmesser der Öffnung, mm,",
      clear_circle_diameter_mm: "freier Kreis, mm,",
      area_loss_percent: "verlorene Fläche, %,",
      opening_decentration_mm: "Öffnung neben der Mitte, mm,",
      lens_decentration_mm: "Linse neben der Mitte, mm,",
      opening_min_diameter_mm: "engste Weite, mm,",
    },
  },
};
