// SPDX-License-Identifier: BSD-3-Clause
/** A number that is text already, as German writes it. */
export const comma = (text: string): string => text.replace(".", ",");
