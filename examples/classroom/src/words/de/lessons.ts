// SPDX-License-Identifier: BSD-3-Clause
/** What a lesson asks and says, its verdict, and the table of the plans. */

import type { LessonKey } from "../../lessons/lesson_keys.js";
import type { lessons as english, LessonWords } from "../en/lessons.js";
import { comma } from "./comma.js";

const percent = (v: number): string => `${Math.abs(v).toFixed(0)}\u00a0%`;
const mm = (v: number): string => comma(`${v.toFixed(1)}\u00a0mm`);
/** "9 % seiner Fläche verloren"; kurz, wo es schon gesagt ist: "3 %". */
const lost = (v: number, whose = "ihrer"): string =>
  `${percent(v)} ${whose} Fläche ${Math.round(v) < 0 ? "gewonnen" : "verloren"}`;
const lostToo = (v: number, first: number): string =>
  Math.round(v) < 0 === Math.round(first) < 0 ? percent(v) : lost(v, "seiner");

const all: Record<LessonKey, LessonWords> = {
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
      a: "Gewebe zwischen den Blättern zieht den ganzen Sack zusammen. Der Ring hält ihn weit und die Blätter auseinander.",
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

export const lessons: typeof english = {
  lessons: all,
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
    to: (low, high, unit = "") => `${low} bis ${high}${unit}`,
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
};
