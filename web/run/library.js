// Fetches plotly.js for the pages that look back; their head asks for it early.

/** @returns {Promise<Plotly | null>} null where it does not come */
export function plotly() {
  const script = document.getElementById("plotly");
  return new Promise((resolve) => {
    if (window.Plotly || !script || "failed" in script.dataset) return resolve(window.Plotly ?? null);
    script.addEventListener("load", () => resolve(window.Plotly ?? null));
    script.addEventListener("error", () => resolve(null));
  });
}
