// SPDX-License-Identifier: BSD-3-Clause
/** German. */

import type { LessonKey } from "../lessons/lesson_list.js";
import { type LessonWords, listed, type Texts } from "./en.js";

const percent = (v: number): string => `${Math.abs(v).toFixed(0)}\u00a0%`;
const comma = (text: string): string => text.replace(".", ",");
const mm = (v: number): string => comma(`${v.toFixed(1)}\u00a0mm`);
/** "9 % seiner Fläche verloren"; kurz, wo es schon gesagt ist: "3 %". */
const lost = (v: number, whose = "ihrer"): string =>
  `${percent(v)} ${whose} Fläche ${Math.round(v) < 0 ? "gewonnen" : "verloren"}`;
const lostToo = (v: number, first: number): string =>
  Math.round(v) < 0 === Math.round(first) < 0 ? percent(v) : lost(v, "seiner");

const komma = (v: number): string => v.toPrecision(2).replace(".", ",");

const lessons: Record<LessonKey, LessonWords> = {
  small: {
    title: "Kleine oder große Öffnung",
    a: "Große Öffnung",
    b: "Kleine Öffnung",
    question: "Welche Öffnung verliert in einem Jahr mehr von ihrer Fläche?",
    why: {
      b: "Eine kleine Öffnung lässt mehr Kapsel auf der Linse. Dort sitzen mehr Zellen, und sie ziehen an einem kürzeren Rand.",
      a: "Hier schrumpft die große mehr. Sieh nach, was sich sonst unterscheidet.",
      alike: "Bei diesem Paar macht die Größe allein keinen klaren Unterschied.",
    },
    try: "Ändere die Größe von B. Ab wann wird der Verlust klein?",
  },
  sector: {
    title: "Auf einer Seite fehlen Fasern",
    a: "Rundum locker",
    b: "Lücke, 3 bis 5",
    question: "B hat von 3 bis 5 Uhr keine Fasern. Wohin geht die Linse?",
    answers: { away: "Weg von der Lücke", towards: "In die Lücke", still: "Sie bleibt in der Mitte" },
    why: {
      away: "Die Lücke zieht an nichts. Die Fasern gegenüber ziehen, und keine Faser zieht zurück.",
      towards: "Hier zieht die schrumpfende Kapsel die Linse zur freien Seite.",
      still: "Der Zug bleibt auf beiden Seiten gleich genug, um die Linse zu halten.",
    },
    try: "Gib den Stunden 3 bis 5 etwas Kraft. Wie viel genügt?",
  },
  ring: {
    title: "Mit und ohne Ring",
    a: "Ohne Ring",
    b: "Spannring",
    question: "Nur ein Zehntel der Fasern ist übrig. Welche Öffnung verliert mehr Fläche?",
    why: {
      a: "Der Ring hält den Sack weit. Er bremst das Schrumpfen, aber er hält es nicht auf.",
      b: "Der Ring hilft hier nicht: Mit ihm schrumpft die Öffnung mehr.",
      alike: "Der Ring hält den Sack rund. Den Rand bremst er kaum: Die Zellen ziehen wie zuvor.",
    },
    try: "Gib A mehr Fasern. Wie viele ersetzen den Ring?",
  },
  ringsize: {
    title: "Kleiner oder großer Ring",
    a: "Kleiner Ring",
    b: "Großer Ring",
    question: "Welche Öffnung verliert mehr Fläche?",
    why: {
      alike: "Im Sack werden beide auf fast eine Größe gedrückt. Der größere drückt stärker und bringt wenig.",
      a: "Der größere Ring drückt stärker und hält den Sack weiter.",
      b: "Der größere Ring nimmt den Fasern den Zug. Der Rand schrumpft dann freier.",
    },
    try: "Ändere den Ring von B. Achte auf den Anfang: Ein Ring weitet die Öffnung sofort.",
  },
  polish: {
    title: "Poliert oder nicht",
    a: "Nicht poliert",
    b: "Poliert",
    question: "In B ließ das Polieren 30 % der Zellen übrig. Welche Öffnung verliert mehr Fläche?",
    why: {
      a: "Weniger Zellen bilden weniger Gewebe, und weniger Gewebe zieht weniger.",
      b: "Bei diesem Paar hilft das Polieren nicht.",
      alike: "Die übrigen Zellen bilden hier fast ebenso viel Gewebe. Polieren macht keinen klaren Unterschied.",
    },
    try: "Ändere, wie viele Zellen in B bleiben. Genügt die Hälfte?",
  },
  look: {
    title: "Wann nachsehen",
    a: "Entzündet",
    b: "",
    question: "Bis wann ist die Hälfte des Jahresverlustes da?",
    answers: { month: "In 1 Monat", quarter: "In 3 Monaten", later: "Später" },
    why: {
      month: "Der meiste Zug kommt früh. Nach einem Monat sieht man, wohin es geht.",
      quarter: "Neues Gewebe braucht Wochen. Ein Monat zeigt den Trend, drei Monate zeigen das Ergebnis.",
      later: "Ein Reiz, der bleibt, hält das Gewebe am Leben. Ein früher Blick genügt nicht.",
    },
    try: "Ändere den bleibenden Reiz. Wann kommt jetzt die Hälfte?",
  },
  when: {
    title: "Schnitte früh oder spät",
    a: "Nach 1 Monat",
    b: "Nach 6 Monaten",
    question: "Je vier Schnitte. Welche Öffnung ist nach einem Jahr größer?",
    why: {
      a: "Frühe Schnitte lösen den Rand, ehe er fest ist, und der Vorsprung bleibt.",
      b: "Frühe Schnitte öffnen einen Rand, der weiter schrumpft. Späte treffen ihn kurz vor dem Ende.",
      alike:
        "Frühe Schnitte halten den Rand länger weit. Späte geben auf einmal mehr zurück. Am Ende gleicht es sich aus.",
    },
    try: "Ändere den Tag der Schnitte von B. Welcher ist der beste?",
  },
  number: {
    title: "Zwei oder vier Schnitte",
    a: "Zwei Schnitte",
    b: "Vier Schnitte",
    question: "Welche Öffnung ist nach 6 Monaten größer?",
    why: {
      b: "Jeder Schnitt befreit sein Stück Rand. Zwei weiten ihn in einer Richtung, vier in beiden.",
      a: "Zwei Schnitte genügen hier: Mehr geben nicht mehr.",
      alike: "Mehr Schnitte geben hier nicht mehr.",
    },
    try: "Mach die zwei Schnitte von A länger. Schaffen zwei, was vier schaffen?",
  },
  side: {
    title: "Schnitte auf einer Seite",
    a: "Verteilt",
    b: "Auf einer Seite",
    question: "Je vier Schnitte. Welche Öffnung liegt nach 6 Monaten weiter neben der Mitte?",
    why: {
      b: "Die geschnittene Seite klafft, die heile nicht. So liegt die Öffnung auf einer Seite.",
      a: "Auch verteilte Schnitte halten sie hier nicht in der Mitte.",
      alike: "Wo die Schnitte liegen, verschiebt die Mitte hier kaum.",
    },
    try: "Mach die Schnitte von B kürzer. Kommt die Öffnung zurück zur Mitte?",
  },
  laws: {
    title: "Zwei Ideen, was zieht",
    a: "Fasern ziehen",
    b: "Zellen ziehen",
    question: "Ein Auge, zwei Ideen, was zieht. Welche verliert mehr Fläche?",
    why: {
      a: "Welche Idee stimmt, weiß noch niemand. Hier trennen sie sich: Trau der Richtung, nicht der Zahl.",
      b: "Welche Idee stimmt, weiß noch niemand. Hier trennen sie sich: Trau der Richtung, nicht der Zahl.",
      alike: "Beide Ideen folgen denselben Patienten. Hier sind sie einig, also hängt die Zahl weniger an der Idee.",
    },
    try: "Ändere den bleibenden Reiz in B. Trennen sich die Ideen?",
  },
};

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

export const de: Texts = {
  language: "Deutsch",
  locale: "de",
  decimal: ",",
  clock: {
    none: "keine Stunde",
    all: "alle Stunden",
    hours: (hours) => `${listed(hours, "und")} Uhr`,
    short: (hour) => `${hour} h`,
    spoken: "Uhr",
  },
  direction: {
    nowhere: "nirgendwohin",
    up: "nach oben",
    down: "nach unten",
    right: "nach rechts",
    left: "nach links",
    nasally: "nach nasal",
    temporally: "nach temporal",
    joined: (words) => words.join(" und "),
  },
  picture: {
    nasal: "nasal",
    temporal: "temporal",
    months: (n) => `${n} Mo.`,
    other: (side, alike) => (alike ? `${side} anders ≈ ${side}` : `${side} anders`),
    rose: "Last der Zonula je Stunde",
    roseLabel: "Last der Zonula je Stunde der Uhr",
    overTime: (name) => `${name} im Lauf der Zeit`,
    times: (times) => `${times} ×`,
    timesUnit: "× gesund",
  },
  reading: {
    atEnd: (mm, mm2, load) =>
      `Am Ende der Operation ist die Öffnung ${mm} mm weit (${mm2} mm²), und die Zonula trägt ${load}.`,
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
      `In 8 von 10 Augen wie diesem liegt die Weite der Öffnung dann ${across}${lost}, und die ${lens ? "Linse" : "Öffnung"} ` +
      (off === undefined ? "ist in der Mitte." : `liegt ${off} neben der Mitte der Pupille.`),
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
      `B minus A, Tag ${day}: Fläche ${area} mm², Durchmesser ${diameter} mm, Dezentrierung ${off} mm, Last der Zonula ${load} mN`,
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
    ring: "Wie steif der Ring nach Monaten im Sack noch ist, ist unsicher; auch, wie seine Enden gleiten.",
    cuts: "Neues Gewebe, das einen Schnitt überbrückt, ist nicht im Modell: Später Gewinn ist vielleicht zu gut.",
  },
  words: {
    view: (eye, day) =>
      `${eye === undefined ? "Auge" : eye === "left" ? "Linkes Auge" : "Rechtes Auge"} von vorn, Tag ${day}`,
    opening: (mm, least, most) => `Öffnung ${mm} mm, von ${least} bis ${most} mm`,
    held: "Zonula rundum vorhanden",
    absent: (hours) => `keine Zonula bei ${hours}`,
    weak: (hours) => `schwache Zonula bei ${hours}`,
    optic: (mm, off) => `Optik von ${mm} mm, ${off} mm neben der Mitte`,
    noLens: "keine Linse",
    ring: "im Sack liegt ein Spannring",
    tissue: (percent) => `fibröses Gewebe unter dem Rand, ${percent} % seiner vollen Dicke`,
    leastTissue: (hours, percent) => `, am wenigsten bei ${hours} (${percent} %)`,
    cuts: (hours) => `Entlastungsschnitte bei ${hours}`,
    onDay: (value, day) => `${value} am Tag ${day}`,
    bandEnds: (low, high) => `; 8 von 10 solchen Augen enden zwischen ${low} und ${high}`,
    lawEnds: (other, own) =>
      `; die dünne Linie, nach der anderen Vorstellung davon, was zieht, endet bei ${other} statt ${own}`,
    curve: (name, unit, parts) => `${name} in ${unit} im Lauf der Zeit. ${parts}.`,
    rose: (unit, parts) => `Last der Zonula je Stunde der Uhr, ${unit}. ${parts}.`,
    times: "in Vielfachen einer gesunden Stunde",
    timesWhole: "Vielfachen einer gesunden",
    millinewton: "in Millinewton",
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
  pointed: {
    at: (where, what) => `${where}: ${what}`,
    eye: (side, mm, inward, load) => `${side} Rand ${mm} mm ${inward ? "einwärts" : "auswärts"}, ${load}`,
  },
  section: {
    title: "Von der Seite (Skizze)",
    note: "Höhen sind gezeichnet, nicht gerechnet.",
    optic: "Optik",
    contact: "Kontaktzone",
    fused: "verwachsene Blätter",
    shows: "Das vordere Blatt liegt bis zum Rand auf der Optik, darunter das Gewebe der Kontaktzone.",
  },
  panel: {
    opening: "Öffnung (Kapsulorhexis)",
    zonule: "Zonula",
    ring: "Spannring",
    healing: "Zellen und Heilung",
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
    zonuleNote:
      "Eine Stunde nach außen ziehen: gesund; zur Mitte: fehlt. Tasten: links und rechts wandern, auf und ab stellen.",
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
    haptics: "Haptiken",
    noLens: "keine Linse",
    optic: "Durchmesser der Optik",
    axis: "Erste Haptik zeigt auf",
    free: "Freier Durchmesser, mm",
    none: "keiner",
    sizes: { small: "klein", medium: "mittel", large: "groß" },
    gap: "Lücke des Rings bei",
    addCuts: "Schnitte hinzufügen",
    occasion: (n) => `${n}. Mal`,
    removeCuts: (n) => `${n}. Mal entfernen`,
    cutDial: (n) => `Stunden der Schnitte, ${n}. Mal`,
    otherEvents: (n) => `${n} andere Ereignisse der geladenen Datei bleiben, wie sie sind.`,
    day: "Tag",
    daySpoken: "Tage nach der Operation",
    length: "Länge",
  },
  title: "Die Öffnung der Kapsel: Was wäre, wenn?",
  short: "Für Forschung und Lehre, nicht für die Behandlung eines Patienten.",
  lessons,
  visit: ["1 Tag", "1 Woche", "1 Monat", "3 Monate", "6 Monate", "12 Monate"],
  surgery: "Operation",
  at: (visit) => `Nach ${visit.replace(/(Tag|Monat)e$/, "$1en")}`,
  onDay: (day) => (day < 0.5 ? "Am Ende der Operation" : `Am Tag ${Math.round(day)}`),
  day: (day) => `Tag ${Math.round(day)}`,
  ask: {
    nav: "Lektionen",
    number: (n, of) => `Lektion ${n} von ${of}`,
    a: "A",
    b: "B",
    alike: "Beide gleich",
    you: (answer, right) => (right ? `Deine Antwort: „${answer}“. Richtig.` : `Deine Antwort: „${answer}“. Nein.`),
    steps: ["Frage", "Schau", "Warum", "Versuch"],
    step: (n, name) => `Schritt ${n}: ${name}`,
    watch: "Das Jahr vergeht. Achte auf den weißen Rand und den gefärbten Verlust.",
    back: "Zurück",
    next: "Weiter",
    nextLesson: "Nächste Lektion",
    restart: "Neu beginnen",
    skip: "Zeig das Jahr",
    free: "Dein eigenes Paar. Ändere eines und spiele ab.",
    freeTitle: "Selbst erkunden",
    changed: "Du hast dieses Paar geändert. „Neu beginnen“ holt die Lektion zurück.",
  },
  verdict: {
    start: (a, b) =>
      b === null
        ? `Tag 0: die Öffnung wie gemacht, ${a} weit.`
        : `Tag 0: die Öffnungen wie gemacht, A ${a} und B ${b} weit.`,
    hidden: "Erst deine Antwort. Dann vergeht das Jahr.",
    lostOne: (when, v) => `${when} hat die Öffnung ${lost(v)}.`,
    lost: (when, a, b, who) =>
      who === "alike"
        ? `${when} sind beide gleich: A hat ${lost(a, "seiner")}, B ${lostToo(b, a)}.`
        : who === "b"
          ? `${when} hat B ${lost(b, "seiner")}, A ${lostToo(a, b)}.`
          : `${when} hat A ${lost(a, "seiner")}, B ${lostToo(b, a)}.`,
    area: (when, a, b, who) =>
      who === "alike"
        ? `${when} sind beide Öffnungen gleich: A ${mm(a)}², B ${mm(b)}².`
        : `${when} ist ${who.toUpperCase()} größer: A ${mm(a)}², B ${mm(b)}².`,
    offCentre: (when, a, b, who) =>
      who === "alike"
        ? `${when} kein klarer Unterschied: A liegt ${mm(a)} neben der Mitte, B ${mm(b)}.`
        : `${when} liegt ${who.toUpperCase()} weiter neben der Mitte: A ${mm(a)}, B ${mm(b)}.`,
    direction: (when, shift, where) =>
      where === "still"
        ? `${when} ist die Linse von B noch in der Mitte.`
        : `${when} ist die Linse von B ${comma(shift.toFixed(2))}\u00a0mm ${where === "away" ? "weg von der Lücke" : "in die Lücke"} gewandert.`,
    half: (days) => `Die Hälfte des Jahresverlustes ist am Tag ${Math.round(days)} da.`,
    crowd: (same, of) => `So ist es in ${same} von ${of} ähnlichen Augen.`,
    counting: (n, of) => `Zähle ähnliche Augen: ${n} von ${of} …`,
    unheld: "Nichts hält diesen Sack, also ist seine Lage nicht zu sagen.",
  },
  table: {
    caption: (when) => `Die Pläne, von der Operation bis ${when} (fett: wie gerechnet)`,
    plan: "Plan",
    opening: "Öffnung, mm",
    crowd: "8 von 10 Augen",
    shift: "Linse bewegt, mm",
    cuts: "Schnitte gaben, mm²",
    byLaw: ["Verlust, wenn Fasern ziehen", "Verlust, wenn Zellen ziehen"],
    keep: (letter) => `${letter} als weiteren Plan behalten`,
    drop: (letter) => `Plan ${letter} entfernen`,
    none: "–",
    to: (low, high) => `${low} bis ${high} %`,
    part: "≠ Die zwei Ideen, was zieht, trennt mehr als die Pläne.",
    months: (n) => `${n} Monate`,
    days: (n) => `Tag ${n}`,
  },
  controls: {
    diameter: "Größe der Öffnung",
    gap: "Fasern von 3 bis 5 Uhr",
    strength: "Kraft der Fasern",
    cells: "Zellen übrig",
    chronic: "bleibender Reiz",
    ring: "freie Größe des Rings",
    cutDay: "Tag der Schnitte",
    cutLength: "Länge der Schnitte",
  },
  quantity: {
    area: "Fläche der Öffnung",
    diameter: "Durchmesser der Öffnung",
    decentration: "Dezentrierung der Linse",
    load: "Last der Zonula",
  },
  page: {
    play: "Abspielen",
    pause: "Pause",
    clock: "Zeit",
    dayLabel: "Tag",
    bandKey:
      "volle Linie A, unterbrochene B; schraffiert: 8 von 10 Augen wie A, wie B. ▲ Entlastungsschnitte. Dünn: dasselbe Auge unter der anderen Idee, was zieht.",
    present: "Vorführen",
    leave: "Verlassen",
    theme: "Hell / dunkel",
    language: "Sprache",
    colours: { system: "Farben: wie das System", light: "Farben: hell", dark: "Farben: dunkel" },
    inMillinewton: "Last in Millinewton",
    undo: "Zurück",
    redo: "Wieder",
    reset: "Schlichtes Auge",
    stage: "Bilder",
    skip: "Zu den Bildern",
    week: "Woche",
    speed: "Tempo",
    slow: "langsam",
    normal: "normal",
    fast: "schnell",
    view: "Uhr und Ansicht",
    compare: "Mit einem zweiten Auge B vergleichen",
    trueSize: "Wahre Größe",
    ruler: "Auf diesem Schirm misst der Balken von 2 mm",
    result: "Was es sagt",
    plans: "Die Pläne nebeneinander",
    change: "Ein Auge ändern",
    changeA: "A ändern",
    changeB: "B ändern",
    copy: "Auf das andere übertragen",
    more: "In mehr Worten",
    uncertain: "Was unsicher ist",
    visits: "Jede Kontrolle",
    words: "Die Bilder in Worten",
    key: "Was das Bild zeigt",
    graphs: "Im Lauf der Zeit",
    spread: "Streuung echter Augen",
    noSpread: "nicht gezeigt",
    share: "Zum Mitnehmen",
    picture: "Bild (PNG)",
    drawing: "Bild (SVG)",
    gif: "Film (GIF)",
    webm: "Film (WebM)",
    csv: "Zahlen (CSV)",
    json: "Ergebnis (JSON)",
    print: "Handzettel (drucken)",
    saveScenario: "Szenario speichern",
    openScenario: "Szenario öffnen",
    copyLink: "Verweis kopieren",
    link: "Verweis auf das, was zu sehen ist",
    publicAddress: "Wo die Klasse diese Seite findet (für Verweis und Code)",
    linkNote: "An einem anderen Rechner den Teil ab # hinter die Adresse der Seite dort setzen.",
    quick: "schnell",
    finer: (share) => `schnell; feiner ${share} %`,
    invented: "Alles wird in dieser Seite gerechnet; nichts wird verschickt. Alle Augen sind erfunden.",
    keyWords: (top) =>
      `Zonula, je Stunde, bis ${top}. Gepunktet: der Rand am Tag 0. Gefärbt: die seither verlorene Fläche. Punkt mit Strich: die Linse und ihr Weg.`,
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
    nothing: "Noch ist nichts gerechnet.",
    done: (what) => `${what}: fertig.`,
    failed: (what) => `${what}: Das ging nicht.`,
    noFilm: "Dieser Browser kann keine Filme erzeugen; nimm das GIF.",
  },
  paper: {
    title: "Die Öffnung der Kapsel nach der Staroperation: Was wäre, wenn?",
    predict: "Meine Vorhersage, und warum:",
    seen: "Was ich sah:",
    scan: "Diese Seite noch einmal:",
    scanDisk: "Diese Seite noch einmal: die eigene Kopie öffnen und hinter ihre Adresse setzen, was der Code sagt.",
    visits: "Kontrollen",
    visit: "Kontrolle",
    opening: (side, band) => `${side} Öffnung, mm${band ? " (8 von 10)" : ""}`,
    lost: (side) => `${side} Fläche verloren`,
    made: (date, version) => `Gedruckt ${date}, libcapsim ${version}. Erfundene Augen.`,
  },
};
