"""How the page that is handed over looks, and the little it does: search and a unit switch."""

from __future__ import annotations

STYLE = """
:root { color-scheme: light; --ink: #16211c; --line: #c9cfca; --soft: #f1f4f1; --mark: #1d5c4a; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 80rem; padding: 0 1rem 3rem; color: var(--ink); background: #fff;
  font: 16px/1.45 system-ui, -apple-system, "Segoe UI", "DejaVu Sans", sans-serif; }
h1 { font-size: 1.45rem; line-height: 1.2; margin: 1rem 0 .2rem; overflow-wrap: anywhere; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; padding-top: .4rem;
  border-top: 3px solid var(--mark); }
h3 { font-size: 1.05rem; margin: 1.2rem 0 .3rem; overflow-wrap: anywhere; }
h4, h5, h6 { font-size: 1rem; margin: 1rem 0 .2rem; }
p { margin: .4rem 0; max-width: 46rem; overflow-wrap: anywhere; }
body.imperial .m, body.metric .i { display: none !important; }
.bar { position: sticky; top: 0; z-index: 5; background: #fff; padding: .5rem 0;
  border-bottom: 1px solid var(--line); display: flex; flex-wrap: wrap; gap: .5rem 1rem;
  align-items: center; }
.bar nav { display: flex; flex-wrap: wrap; gap: .2rem .9rem; }
.bar a { color: var(--mark); padding: .3rem 0; }
.switch { display: inline-flex; border: 1.5px solid var(--mark); border-radius: .4rem;
  overflow: hidden; }
.switch button { font: inherit; border: 0; background: #fff; color: var(--mark);
  padding: .45rem .8rem; min-height: 44px; cursor: pointer; }
.switch button[aria-pressed="true"] { background: var(--mark); color: #fff; font-weight: 600; }
.find { display: flex; flex-wrap: wrap; gap: .4rem 1rem; align-items: center; margin: .5rem 0; }
.find input { font: inherit; padding: .45rem .6rem; min-height: 44px; width: 22rem;
  max-width: 100%; border: 1.5px solid #6b746f; border-radius: .4rem; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-size: .9rem; }
th, td { text-align: left; vertical-align: top; padding: .3rem .6rem;
  border-bottom: 1px solid var(--line); font-variant-numeric: tabular-nums; }
td.n { text-align: right; }
th { font-size: .8rem; vertical-align: bottom; border-bottom: 2px solid var(--ink); }
.schedule td { white-space: nowrap; padding: .3rem .45rem; }
.schedule td.size { font-weight: 650; }
.schedule td.long { white-space: normal; min-width: 12rem; max-width: 18rem;
  overflow-wrap: anywhere; }
.schedule tbody th { font-size: .9rem; border-bottom: 1px solid var(--line); vertical-align: top;
  min-width: 6.5rem; max-width: 14rem; overflow-wrap: anywhere; }
.pictures { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 21rem), 1fr));
  gap: 1rem; }
figure { margin: .6rem 0; break-inside: avoid; }
figure svg { width: 100%; height: auto; max-width: 34rem; display: block; }
.pictures > figure { border: 1px solid var(--line); border-radius: .4rem; padding: .5rem; }
figure.wall svg { max-width: none; min-width: 44rem; }
figcaption { font-size: .88rem; max-width: 46rem; overflow-wrap: anywhere; }
.card { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 20rem), 1fr));
  gap: .7rem; padding: 0; list-style: none; }
.card > li { border: 1.5px solid var(--ink); border-radius: .4rem; padding: .6rem .8rem;
  break-inside: avoid; overflow-wrap: anywhere; }
.card .hold { font-size: 1.9rem; font-weight: 700; line-height: 1.15; display: block; }
.card .stop, .warn { font-weight: 700; border-left: 6px solid var(--ink); padding-left: .5rem; }
.meant { font-size: 1.1rem; font-weight: 650; }
dl { max-width: 46rem; } dt { font-weight: 650; margin-top: .5rem; } dd { margin: 0 0 0 1rem; }
details { margin-top: .8rem; }
summary { cursor: pointer; font-weight: 600; padding: .7rem 0; min-height: 44px; }
.cautions { border: 2px solid var(--ink); border-radius: .4rem; padding: .2rem 1rem .6rem; }
small, .quiet { color: #4c5751; font-size: .85rem; }
:focus-visible { outline: 3px solid #c4761b; outline-offset: 2px; }
@media (max-width: 44rem) {
  .bar nav { display: none; }
  .schedule thead { display: none; }
  .schedule, .schedule tbody { display: block; }
  .schedule tr:not([hidden]) { display: grid; grid-template-columns: repeat(4, 1fr);
    gap: .15rem .6rem;
    border: 1px solid var(--line); border-radius: .4rem; padding: .5rem .7rem; margin: .6rem 0; }
  .schedule th, .schedule td { display: block; border: 0 !important; padding: .1rem 0;
    max-width: none; }
  .schedule tbody th { font-size: 1.1rem; grid-column: 1 / -1; }
  .schedule td::before { content: attr(data-l); display: block; font-size: .75rem; color: #4c5751;
    font-weight: 400; }
  .schedule td.size, .schedule td.pair { grid-column: span 2; font-size: 1rem; }
  .schedule td.long { grid-column: 1 / -1; }
  .schedule td:empty { display: none; }
}
@page { margin: 14mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 10pt; }
  .bar, .find { display: none; }
  h2 { break-after: avoid; margin-top: 1rem; } h3 { break-after: avoid; }
  tr, .card > li { break-inside: avoid; }
  thead { display: table-header-group; }
  table, .schedule tbody th { font-size: 7.5pt; } th, td { padding: .1rem .3rem; }
  .wide { overflow: visible; }
  figure.wall svg { min-width: 0; }
  details:not([open]), .folded:not(:has(details[open])) { display: none; }
}
"""

SCRIPT = """
(function () {
  var body = document.body, buttons = document.querySelectorAll('.switch button');
  function show(unit) {
    body.className = unit;
    buttons.forEach(function (b) { b.setAttribute('aria-pressed', String(b.value === unit)); });
  }
  buttons.forEach(function (b) {
    b.addEventListener('click', function () { show(b.value); });
  });
  show(body.className);
  var find = document.getElementById('find'), said = document.getElementById('found');
  var rows = document.querySelectorAll('.schedule tbody tr');
  function look() {
    var words = find.value.toLowerCase().split(/\\s+/).filter(Boolean), count = 0;
    rows.forEach(function (row) {
      var text = row.getAttribute('data-s');
      var hit = words.every(function (word) { return text.indexOf(word) >= 0; });
      row.hidden = !hit;
      if (hit) { count += 1; }
    });
    said.textContent = words.length ? count + ' of ' + rows.length + ' panels' :
      rows.length + ' panels';
  }
  find.addEventListener('input', look);
  look();
})();
"""
