#include "cut_list/sheet_style.hpp"

namespace shankwright::cut_list {

std::string_view sheet_style() {
  return R"css(
@page { size: A4; margin: 14mm 13mm 15mm 13mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt sans-serif; } }
* { box-sizing: border-box; }
body { font: 9.5pt/1.35 "DejaVu Sans", Arial, sans-serif; color: #111; background: #fff; margin: 0 auto; max-width: 184mm; }
h1 { font-size: 16pt; margin: 0 0 1mm; }
h2 { font-size: 11.5pt; margin: 6mm 0 1.5mm; border-bottom: 0.5mm solid #111; padding-bottom: 0.5mm; break-after: avoid; }
h3 { font-size: 10.5pt; margin: 5mm 0 1mm; break-after: avoid; }
p { margin: 0 0 1mm; }
.small { font-size: 7.8pt; color: #333; }
.caution { border: 0.7mm solid #111; padding: 2mm 3mm; margin: 3mm 0; break-inside: avoid; }
.caution strong { display: block; margin-bottom: 1mm; }
.caution ul { margin: 0; padding-left: 5mm; }
table { border-collapse: collapse; width: 100%; margin-bottom: 3mm; font-variant-numeric: tabular-nums; }
th, td { border-bottom: 0.2mm solid #888; padding: 0.9mm 1.5mm; text-align: left; vertical-align: top; }
th { border-bottom: 0.4mm solid #111; font-size: 8.2pt; vertical-align: bottom; }
td.n, th.n { text-align: right; white-space: nowrap; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
.piece { border: 0.4mm solid #111; margin: 0 0 3mm; break-inside: avoid; }
.piece > div { padding: 1.8mm 3mm; }
.head { display: flex; justify-content: space-between; align-items: baseline; gap: 5mm; }
.mark { font-size: 13pt; font-weight: bold; }
.length { font-size: 17pt; font-weight: bold; white-space: nowrap; }
.facts { display: grid; grid-template-columns: 1fr 1fr; gap: 0 6mm; border-top: 0.2mm solid #888; }
.boxes { display: flex; flex-wrap: wrap; gap: 1.5mm 5mm; border-top: 0.2mm solid #888; }
.box { white-space: nowrap; }
.box::before { content: ""; display: inline-block; width: 4mm; height: 4mm; border: 0.35mm solid #111; vertical-align: -0.8mm; margin-right: 1.5mm; }
.line { display: inline-block; border-bottom: 0.3mm solid #111; min-width: 32mm; height: 5mm; }
.signatures { display: flex; flex-wrap: wrap; gap: 3mm 8mm; margin-top: 4mm; break-inside: avoid; }
.total td { font-weight: bold; border-top: 0.4mm solid #111; border-bottom: 0; }
td .small { display: block; }
)css";
}

}  // namespace shankwright::cut_list
