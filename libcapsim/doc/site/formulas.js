// SPDX-License-Identifier: BSD-3-Clause
// Sets the formulas of a page with KaTeX.
document.addEventListener("DOMContentLoaded", () => {
  for (const place of document.querySelectorAll(".formula")) {
    const displayMode = place.dataset.display === "block";
    katex.render(place.textContent, place, { displayMode, throwOnError: false });
  }
});
