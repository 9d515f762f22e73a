// SPDX-License-Identifier: BSD-3-Clause
/** The handout. */

import type { paper as english } from "../en/paper.js";

export const paper: typeof english = {
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
