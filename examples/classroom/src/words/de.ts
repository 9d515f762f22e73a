// SPDX-License-Identifier: BSD-3-Clause
/** German. */

import type { LessonKey } from "../lessons/lesson_list.js";
import type { LessonWords, Texts } from "./en.js";

const percent = (v: number): string => `${Math.abs(v).toFixed(0)} %`;
const comma = (text: string): string => text.replace(".", ",");
const mm = (v: number): string => comma(`${v.toFixed(1)} mm`);
const lost = (v: number): string =>
  Math.round(v) < 0 ? `${percent(v)} Fläche gewonnen` : `${percent(v)} Fläche verloren`;

const komma = (v: number): string => v.toPrecision(2).replace(".", ",");

const lessons: Record<LessonKey, LessonWords> = {
  small: {
    title: "Kleine oder große Öffnung",
    a: "Große Öffnung",
    b: "Kleine Öffnung",
    question: "Welche verliert in einem Jahr mehr von ihrer Fläche?",
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
    b: "Keine von 3 bis 5 Uhr",
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
    question: "Lockere Fasern. Welche Öffnung verliert mehr Fläche?",
    why: {
      a: "Der Ring hält den Sack weit. Er bremst das Schrumpfen, aber er hält es nicht auf.",
      b: "Der Ring hilft hier nicht: Mit ihm schrumpft die Öffnung mehr.",
      alike: "Der Ring hält den Sack rund. Den Rand bremst er kaum: Die Zellen ziehen wie zuvor.",
    },
    try: "Ändere die Fasern von B. Zählt der Ring in einem lockereren Auge mehr?",
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
    b: "Poliert, 30 % übrig",
    question: "Welche verliert in einem Jahr mehr von ihrer Fläche?",
    why: {
      a: "Weniger Zellen bilden weniger Gewebe, und weniger Gewebe zieht weniger.",
      b: "Bei diesem Paar hilft das Polieren nicht.",
      alike: "Beide schrumpfen so wenig, dass Polieren hier keinen klaren Unterschied macht.",
    },
    try: "Ändere, wie viele Zellen in B bleiben. Genügt die Hälfte?",
  },
  look: {
    title: "Wann nachsehen",
    a: "Ein entzündetes Auge",
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
    a: "Vier Schnitte nach 1 Monat",
    b: "Vier Schnitte nach 6 Monaten",
    question: "Welche Öffnung ist nach einem Jahr größer?",
    why: {
      a: "Frühe Schnitte lösen den Rand, ehe er fest ist, und der Vorsprung bleibt.",
      b: "Frühe Schnitte öffnen einen Rand, der weiter schrumpft. Späte treffen ihn kurz vor dem Ende.",
      alike: "Am Ende macht der Tag der Schnitte hier keinen klaren Unterschied.",
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
    a: "Vier Schnitte, verteilt",
    b: "Vier Schnitte, eine Seite",
    question: "Welche Öffnung liegt nach 6 Monaten weiter neben der Mitte?",
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

export const de: Texts = {
  language: "Deutsch",
  locale: "de",
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
    free: "Dein eigenes Paar. Ändere eines und spiele das Jahr ab.",
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
        ? `${when} sind beide gleich: A hat ${lost(a)}, B ${lost(b)}.`
        : who === "b"
          ? `${when} hat B ${lost(b)}, A ${lost(a)}.`
          : `${when} hat A ${lost(a)}, B ${lost(b)}.`,
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
        : `${when} ist die Linse von B ${comma(shift.toFixed(2))} mm ${where === "away" ? "weg von der Lücke" : "in die Lücke"} gewandert.`,
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
    shift: "Linse bewegt",
    cuts: "Schnitte gaben",
    byLaw: ["Verlust, wenn Fasern ziehen", "Verlust, wenn Zellen ziehen"],
    keep: (letter) => `${letter} als weiteren Plan behalten`,
    drop: (letter) => `Plan ${letter} entfernen`,
    none: "–",
    to: (low, high) => `${low} bis ${high}`,
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
    graphs: "Über das Jahr",
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
      `Zonula, je Stunde, bis zum ${top}-fachen der mittleren Stunde von A am Tag 0. Gepunktet: der Rand am Tag 0. Gefärbt: die seither verlorene Fläche. Punkt mit Strich: die Linse und ihr Weg.`,
  },
  influence: {
    title: "Welche Stunden zählen",
    zonule: "Ein Zehntel mehr Fasern",
    cells: "Ein Zehntel mehr Zellen",
    note: "Was ein Zehntel mehr in einer Stunde an der Fläche des letzten Tages ändert. Volles Blatt: größer; leeres Blatt: kleiner. Kreuz: eine Stunde, die keine hat. Aus den Ableitungen eines schnellen Laufs.",
    running: "Es wird gerechnet …",
    none: "Für dieses Auge gibt es diese Zahlen nicht.",
    top: (most: number): string => `${komma(most)} mm²`,
    about: (side: string): string => `Auge ${side}.`,
    alike: { zonule: "Keine Stunde der Fasern ragt heraus.", cells: "Keine Stunde der Zellen ragt heraus." },
    most: {
      zonule: (hour: number, change: number): string =>
        `Fasern zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr macht die Öffnung ${komma(Math.abs(change))} mm² ${change > 0 ? "größer" : "kleiner"}.`,
      cells: (hour: number, change: number): string =>
        `Zellen zählen am meisten bei ${hour} Uhr: Ein Zehntel mehr macht sie ${komma(Math.abs(change))} mm² ${change > 0 ? "größer" : "kleiner"}.`,
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
    visitsTitle: (limit: number, eyes: number): string =>
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
    link: "Die Augen dieses Verweises lassen sich nicht rechnen.",
    damaged: "Der Verweis ist beschädigt: Er enthält keine Augen. Die Seite beginnt mit ihrer ersten Lektion.",
    file: "Die Datei enthält kein Szenario, das sich rechnen lässt.",
    notJson: "Die Datei ist kein JSON-Text.",
    more: (n) => `und ${n} weitere`,
  },
  paper: {
    title: "Die Öffnung der Kapsel nach der Staroperation: Was wäre, wenn?",
    predict: "Meine Vorhersage, und warum:",
    seen: "Was ich sah:",
    scan: "Diese Seite noch einmal:",
    scanDisk: "Diese Seite noch einmal: die eigene Kopie öffnen und hinter ihre Adresse setzen, was der Code sagt.",
    made: (date, version) => `Gedruckt ${date}, libcapsim ${version}. Erfundene Augen.`,
  },
};
