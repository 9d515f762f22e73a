// SPDX-License-Identifier: BSD-3-Clause
/** The handout. */

export const paper = {
  paper: {
    title: "The capsule opening after cataract surgery: what if?",
    predict: "My prediction, and why:",
    seen: "What I saw:",
    scan: "This page again:",
    scanDisk: "This page again: open your copy of it, and put what the code says behind its address.",
    visits: "Follow-up visits",
    visit: "Visit",
    opening: (side: string, band: boolean): string => `${side} opening, mm${band ? " (8 of 10)" : ""}`,
    lost: (side: string): string => `${side} area lost`,
    made: (date: string, version: string): string => `Printed ${date}, libcapsim ${version}. Invented eyes.`,
  },
};
