// Runs before the first paint, so that a page never flashes in the wrong theme; and before
// anything else loads, so that a script that fails early is known to have failed.
(() => {
  addEventListener(
    "error",
    ({ target }) => {
      if (target instanceof HTMLScriptElement) target.dataset.failed = "";
    },
    true,
  );

  const root = document.documentElement;
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  root.dataset.theme = dark ? "dark" : "light";
  try {
    const theme = JSON.parse(localStorage.getItem("wormtub.look") ?? "{}").theme;
    if (theme === "light" || theme === "dark") root.dataset.theme = theme;
  } catch {
    // Storage is shut or holds something else: the system's theme is a good answer.
  }

  // A browser's first look at zones and their names costs as much as a chart: let it have that
  // behind it while the rest is still on its way.
  setTimeout(() => new Intl.DateTimeFormat("en-GB", { timeZone: "Europe/London" }));
})();
