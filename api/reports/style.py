"""How a report looks, on a screen and on paper: the pages' paper and copper, in one place."""

from typing import Final

STYLE: Final = """
:root { --ink: #2a2520; --ink-2: #665d51; --rule: #e0d6c4; --copper: #9c4318; --paper: #fffdf8; }
* { box-sizing: border-box; }
html {
  background: var(--paper);
  color: var(--ink);
  font: 14px/1.5 system-ui, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", Arial, sans-serif;
  font-variant-numeric: tabular-nums;
}
body { width: 728px; max-width: 100%; margin: 28px auto 48px; padding: 0 14px; }
h1 { margin: 0; font-size: 26px; line-height: 1.2; overflow-wrap: anywhere; }
h2 {
  margin: 30px 0 8px;
  padding-top: 10px;
  border-top: 1px solid var(--ink);
  font-size: 17px;
  break-after: avoid;
}
h3 { margin: 18px 0 6px; font-size: 14px; break-after: avoid; }
p { margin: 0 0 8px; }
.under { color: var(--ink-2); margin-top: 4px; }
.simulated { border: 1px dashed var(--copper); padding: 6px 10px; color: var(--copper); }
.sides {
  display: grid;
  grid-template-columns: repeat(auto-fit, minmax(min(100%, 300px), 1fr));
  gap: 0 36px;
  margin-bottom: 12px;
}
div.apart { margin-top: 56px; }
.learned p { white-space: pre-line; }
ol { margin: 0 0 10px; padding-left: 22px; }
.summary p { font-size: 15.5px; }
.figures {
  display: grid;
  grid-template-columns: repeat(auto-fill, minmax(145px, 1fr));
  gap: 12px 18px;
  margin: 16px 0;
}
.figures div { break-inside: avoid; }
.figures b { display: block; font-size: 20px; line-height: 1.25; font-weight: 600; }
.figures span, .quiet { color: var(--ink-2); font-size: 12px; }
.scroll { overflow-x: auto; }
table { width: 100%; border-collapse: collapse; font-size: 12px; line-height: 1.35; }
th, td {
  padding: 4px 10px 4px 0;
  text-align: left;
  vertical-align: top;
  border-bottom: 1px solid var(--rule);
  overflow-wrap: break-word;
}
th { color: var(--ink-2); font-weight: 500; vertical-align: bottom; }
th:last-child, td:last-child { padding-right: 0; }
.number { text-align: right; white-space: nowrap; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
.chart { break-inside: avoid; margin: 8px 0; overflow-x: auto; }
.versions {
  columns: 2 290px;
  column-gap: 26px;
  font: 10px/1.5 ui-monospace, "DejaVu Sans Mono", monospace;
  color: var(--ink-2);
}
.versions div { display: flex; justify-content: space-between; gap: 8px; break-inside: avoid; }
footer { margin-top: 28px; color: var(--ink-2); font-size: 12px; }
@page {
  size: A4;
  margin: 14mm 12mm 16mm;
  @bottom-right {
    content: counter(page) " / " counter(pages);
    font: 9px system-ui, sans-serif;
    color: #665d51;
  }
}
@media print {
  html { background: none; font-size: 12px; }
  body { width: auto; margin: 0; padding: 0; }
  .scroll, .chart { overflow: visible; }
  .apart { break-before: page; margin-top: 0; }
  h2 { margin-top: 20px; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""
