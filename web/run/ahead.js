// Asks for what the page will show while its modules are still on their way: run.js asks for the
// same addresses and finds them answered.
(() => {
  const id = encodeURIComponent(new URLSearchParams(location.search).get("id") ?? "");
  const run = `api/reviews/runs/${id}`;
  const paths = [run, `${run}/temperatures?buckets=600`, "api/reviews/references", `api/estimates/history?run_id=${id}&quantity=spout_abv&most=600`];
  for (const href of id ? paths : []) {
    const link = document.createElement("link");
    Object.assign(link, { rel: "preload", as: "fetch", crossOrigin: "anonymous", href });
    document.head.append(link);
  }
})();
