/** The one style sheet of the report: screen, dark screen, narrow window, paper. */
import { swatches } from '../../figures/palette.ts';

const accountRules = Object.entries(swatches)
  .map(([id, { fill, ink, pattern }]) => {
    const paint = pattern ? `url(#pattern-${id})` : fill;
    const halo = pattern ? ';stroke:#fff;stroke-width:4px;paint-order:stroke' : '';
    return `.fill-${id}{fill:${paint}}.ink-${id}{fill:${ink}${halo}}`;
  })
  .join('\n');

export const styleSheet = `
:root{color-scheme:light dark;--page:#fff;--ink:#1b1f24;--soft:#4c5560;--line:#b9c0c8;--band:#f3f5f7;
--link:#1b4f72;--ok:#1d5c3f;--caution:#7a4b00;--unknown:#4a4f57;--stop:#9c1f1f;--bar:#5d7f99;--need:#9c1f1f}
*{box-sizing:border-box}
html{font:16px/1.5 system-ui,-apple-system,"Segoe UI","Noto Sans","Liberation Sans",sans-serif;
background:var(--page);color:var(--ink)}
body{margin:0 auto;padding:1.5rem 1rem 3rem;max-width:62rem;overflow-wrap:anywhere}
h1,h2,h3,h4{line-height:1.25;margin:0;text-wrap:balance}
h1{font-size:1.6rem}
h2{font-size:1.2rem;margin:2.5rem 0 .75rem;padding-bottom:.25rem;border-bottom:2px solid var(--ink)}
h3{font-size:1.05rem;margin:1.75rem 0 .5rem}
h4{font-size:1rem;margin:0 0 .25rem}
p{margin:.5rem 0;max-width:46rem}
ul,ol{margin:.5rem 0;padding-left:1.25rem;max-width:46rem}
ol{padding-left:2.25rem}
a{color:var(--link)}
.cite{white-space:nowrap}
li{margin:.25rem 0}
.faint,caption,.note{color:var(--soft)}
.note{font-size:.9rem}
.titleblock{border:1.5px solid var(--ink)}
.titleblock header{padding:.75rem 1rem;border-bottom:1.5px solid var(--ink)}
.titleblock p{margin:.35rem 0 0}
.titleblock dl{display:flex;flex-wrap:wrap;margin:0;overflow:hidden}
.titleblock dl>div{flex:1 1 auto;padding:.4rem 1rem;border:solid var(--line);border-width:1px 0 0 1px;margin:-1px 0 0 -1px}
dt{font-size:.8rem;color:var(--soft)}
dd{margin:0}
.verdict{border-left:.5rem solid var(--unknown);padding:.25rem 0 .25rem 1rem}
.verdict.ok{border-color:var(--ok)}.verdict.caution{border-color:var(--caution)}
.verdict.stop{border-color:var(--stop)}.verdict.unknown{border-left-style:dashed}
.verdict .summary{font-size:1.2rem;line-height:1.4}
.level{display:inline-block;font-weight:600;padding:0 .5rem;border:1.5px solid;border-radius:2px;
white-space:nowrap;color:var(--ok)}
.level.caution{color:var(--caution);border-style:double;border-width:3px}
.level.unknown{color:var(--unknown);border-style:dashed}
.level.stop{color:#fff;background:#9c1f1f;border-color:#9c1f1f}
.levels{display:flex;flex-wrap:wrap;align-items:baseline;gap:.5rem 2rem;margin:.25rem 0}
.finding{border:1px solid var(--line);padding:.75rem 1rem;margin:.75rem 0}
.finding h4{display:flex;flex-wrap:wrap;gap:.25rem .75rem;align-items:baseline}
.next{border-left:3px solid var(--line);padding-left:.75rem}
.scroll{overflow-x:auto;margin:.75rem 0}
.scroll:focus-visible{outline:2px solid var(--link);outline-offset:2px}
table{border-collapse:collapse;min-width:100%;font-size:.9rem}
caption{text-align:left;font-size:.85rem;padding:0 0 .25rem}
th,td{text-align:left;vertical-align:top;padding:.25rem .75rem .25rem 0;border-bottom:1px solid var(--line);
font-weight:400;min-width:7.75rem;max-width:24rem}
tbody th{min-width:10rem}
thead th{font-weight:600;white-space:nowrap;border-bottom:1.5px solid var(--ink)}
.number{min-width:0}
tr>:last-child{padding-right:0}
.number{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.gauge{display:block;width:10rem;height:1rem;margin-top:.2rem}
.gauge{min-width:7rem}.gauge .rate{fill:var(--bar)}.gauge .need{stroke:var(--need);stroke-width:2}
.gauge .ground{fill:var(--band)}
.ledger{display:block;width:100%;height:3rem;margin:.5rem 0;border:1px solid var(--ink);background:#fff}
.ledger rect{stroke:#fff;stroke-width:1}
.ledger text,.key text{font:600 .85rem ui-monospace,"DejaVu Sans Mono",monospace;text-anchor:middle;
dominant-baseline:central}
.keyed{display:flex;white-space:nowrap;gap:.5rem;align-items:flex-start}
.key{flex:none;width:1.75rem;height:1.25rem;border:1px solid var(--line)}
.patterns{position:absolute;width:0;height:0}
.pattern-line{stroke:#6b6b6b;stroke-width:1.2;fill:none}
.mono{font-family:ui-monospace,"DejaVu Sans Mono",monospace;font-size:.8rem}
.sign td{height:3rem;min-width:7rem}
figure{margin:1rem 0}figure svg{max-width:100%;height:auto}
.small{font-size:.85rem;color:var(--soft)}
.step{border-top:1px solid var(--line);padding:.25rem 0}
${accountRules}
@media screen and (prefers-color-scheme:dark){
:root{--page:#14181d;--ink:#e8eaed;--soft:#a9b2bd;--line:#444d57;--band:#232a31;--link:#8ec3ea;--ok:#79cfa1;
--caution:#f0b95a;--unknown:#c0c7cf;--stop:#f08a8a;--bar:#7fa3c0;--need:#f08a8a}
.ledger,.key{border-color:var(--soft)}}
@media (max-width:30rem){body{padding:1rem .75rem 2rem}h1{font-size:1.35rem}.finding{padding:.5rem .75rem}
.verdict .summary{font-size:1.1rem}}
@media print{
@page{size:A4;margin:16mm 15mm 18mm;@bottom-right{content:counter(page) " / " counter(pages);font-size:9pt}}
html{font-size:10pt}body{max-width:none;padding:0}
.scroll{overflow:visible}h2,h3,h4,caption{break-after:avoid}
.finding,.ledger,tr,.sign,.verdict,.titleblock{break-inside:avoid}
.stream,.hop{break-inside:auto}
svg,.level{-webkit-print-color-adjust:exact;print-color-adjust:exact}}
`;
