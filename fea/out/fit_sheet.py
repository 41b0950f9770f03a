"""A sheet for the stand test, to print on A4 or Letter: how to set it up, a table to fill in.

One HTML file without scripts or connections; names in it are data, whatever they say.
"""

import html
from pathlib import Path

from fea import units
from fea.frame.case import Place
from fea.frame.model import Frame
from fea.frame.spots import place_words
from fea.out.files import write_text
from fea.study.fit_plan import Plan

STYLE = """
@page { margin: 14mm 13mm; }
body { font: 10pt/1.34 "Helvetica Neue", Arial, sans-serif; color: #1d2429; max-width: 184mm;
  margin: 8mm auto; padding: 0 4mm; }
h1 { font-size: 17pt; margin: 0 0 1mm; } h2 { font-size: 12pt; margin: 5mm 0 1.5mm;
  border-bottom: .4mm solid #1d2429; break-after: avoid; }
p, li { margin: 0 0 1.3mm; } ol, ul { margin: 0; padding-left: 6mm; }
table { border-collapse: collapse; width: 100%; break-inside: avoid; }
th, td { border: .25mm solid #7b868e; padding: 1.2mm 1.6mm; text-align: left; font-weight: normal; }
th { background: #eef1f3; font-size: 9pt; } td.fill { height: 7mm; min-width: 17mm; }
td small, th small { color: #56626b; font-size: 8pt; white-space: nowrap; }
.danger { border: .8mm solid #a3211b; padding: 2mm 3mm; break-inside: avoid; margin-top: 3mm; }
.danger h2 { border: 0; margin: 0 0 1mm; color: #a3211b; }
svg { width: 100%; max-height: 84mm; display: block; margin: 1mm 0; break-inside: avoid; }
pre { font: 8.5pt/1.35 monospace; background: #f4f6f7; padding: 2mm; white-space: pre-wrap;
  break-inside: avoid; margin: 1mm 0; }
.blank { border-bottom: .25mm solid #1d2429; display: inline-block; min-width: 32mm; }
footer { margin-top: 5mm; font-size: 8.5pt; color: #56626b; }
@media print { body { margin: 0 auto; padding: 0; } th { print-color-adjust: exact; } }
"""

DANGER = (
    "A frame that falls kills. Two sound stands under the rear, on level concrete, rated for"
    " several times the weight; a jack alone never holds it. Chock whatever still has wheels.",
    "Nobody under the frame, and no hand between frame and stand, while a weight hangs.",
    "The arm's weight can fall and the arm can spring back: tie the weight on with a short chain,"
    " keep it a hand's breadth above blocks, keep feet clear, wear boots and eye protection.",
    "Clamp the frame down to the stands loosely, or have a block under each rail, so that a tipped"
    " frame drops no more than 20 mm.",
    "A second person watches the stands and calls halt. Load by hand, slowly, the small weight"
    " first. Stop when something creaks, slips or does not come back to zero.",
    "A rusted frame may tear: with holes or cracks in sight, do not hang any weight on it.",
)

STEPS = (
    "Take off what bridges the frame (body, bed, engine if it can be), or the frame alone is not"
    " what is measured. Note which added parts are fitted.",
    "Put the arm across the front under both rails where the sheet says, clamped so that it bears"
    " on both. Its middle stands on a round bar or a ball on a stand: it must tip freely.",
    "Stand every gauge on the floor or on a bar that touches neither frame nor stands. The tip"
    " bears under the web of the rail (a lip of the flange reads the rail's roll as well).",
    "Load to the larger weight and take it off, three times, to seat everything. Then set all"
    " gauges to zero with the bare arm.",
    "Hang a weight, wait a minute, read every gauge, up positive, to a hundredth of a millimetre."
    " Take it off: each gauge must come back within 0.02 mm; if not, find what slips, start anew.",
    "Do so for every weight and both sides of the arm. Left and right should read alike with"
    " opposite signs; half of what they differ is what your readings are worth (uncertainty).",
    "A gauge that has to be moved from place to place is a gauge of its own at each.",
)


def write_fit_sheet(frame: Frame, plan: Plan, path: Path) -> None:
    """Write the sheet."""
    write_text(path, sheet(frame, plan))


def sheet(frame: Frame, plan: Plan) -> str:
    """Return the sheet's text."""
    title = html.escape(frame.title or frame.name)
    parts = html.escape(", ".join(frame.fitted) or "none: stock")
    stands = " and ".join(
        f"station {_mm(x)}, {_mm(abs(y))} {'right' if y > 0 else 'left'} of the centreline"
        for x, y in plan.stands
    )
    masses = sorted(set(plan.masses))
    hung = ", then ".join(f"{m:g} kg ({units.show(1e-3 * m, 'mass', 'us').split(' (')[0]})"
                          for m in masses)  # fmt: skip
    couple = max(abs(one.couple) for one in plan.readings.loads)
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Stand test: {title}</title><style>{STYLE}</style></head><body>
<h1>Stand test of the frame: {title}</h1>
<p>Parts fitted in the calculation: {parts}. Stations count rearward from the front axle.</p>
<p>Date <span class="blank"></span> Done by <span class="blank"></span>
 Spotter <span class="blank"></span></p>
<div class="danger"><h2>Before anything is lifted</h2>{_list("ul", DANGER)}</div>
<h2>Set-up</h2>
{_drawing(frame, plan)}
<ul><li>Rear stands under the webs of the rails: {stands}.</li>
<li>Pivot under the middle of the arm: station {_mm(plan.pivot)}, on the centreline.</li>
<li>Weights: {hung}, hung {_mm(plan.arm)} from the centreline on the right, then on the left:
 a couple of up to {html.escape(units.show(couple, "moment"))}.</li></ul>
<h2>How</h2>{_list("ol", STEPS)}
<h2>Readings, mm, up positive</h2>
<p>Small print: about what the frame as drawn would read. Far from it in one gauge: look at that
 gauge; in all: the frame.</p>
{_table(plan)}
<h2>Write down as well</h2>
<ul><li>Weights as weighed: <span class="blank"></span> <span class="blank"></span>
 Arm as measured: right <span class="blank"></span> left <span class="blank"></span></li>
<li>What did not come back to zero, and by how much: <span class="blank"></span></li>
<li>Under each stand (wood, steel, concrete): <span class="blank"></span>
 Walls measured elsewhere: <span class="blank"></span></li>
<li>Repeat one loading at the end: by how much do gauges differ?
 <span class="blank"></span></li></ul>
<h2>Typed in</h2>
<p>In a spreadsheet, saved as CSV; a row for each gauge and weight, units in the cells. Then
 <code>plumbrail fit FRAME READINGS.csv</code>.</p>
<pre>{html.escape(_typed(plan))}</pre>
<footer>A planning aid, not a certification: local codes and a licensed engineer decide.</footer>
</body></html>
"""


def _list(tag: str, items: tuple[str, ...]) -> str:
    return f"<{tag}>" + "".join(f"<li>{html.escape(i)}</li>" for i in items) + f"</{tag}>"


def _mm(value: float) -> str:
    return html.escape(units.show(float(round(value)), "length"))


def _table(plan: Plan) -> str:
    heads = "".join(
        f"<th>{m:g} kg {side}</th>" for m, side in zip(plan.masses, plan.sides, strict=True)
    )
    rows = []
    for gauge, expected in zip(plan.readings.gauges, plan.expected, strict=True):
        cells = "".join(f'<td class="fill"><small>{e:+.2f}</small></td>' for e in expected)
        where = f"{gauge.place.side}, {_mm(gauge.place.station or 0.0)}"
        rows.append(f"<tr><th>{html.escape(gauge.name)} <small>{where}</small></th>{cells}</tr>")
    return f"<table><tr><th>gauge</th>{heads}</tr>{''.join(rows)}</table>"


def _typed(plan: Plan) -> str:
    first = plan.readings.gauges[0]
    lines = [
        "[test]",
        f"couple at,{_cell(plan.readings.setup.couple_at)}",
        f"stands at,{_cell(plan.readings.setup.stands_at)}",
        "[readings]",
        "load,arm,gauge,side,station,direction,reading,uncertainty",
        f"{plan.masses[0]:g} kg,{plan.arm:g} mm {plan.sides[0]},{first.name},{first.place.side},"
        f"{first.place.station:g} mm,up,... mm,0.02 mm",
    ]
    return "\n".join(lines)


def _cell(place: Place) -> str:
    """Return a place as it is typed in."""
    return f"{place.station:g} mm" if place.station is not None else place_words(place)


def _drawing(frame: Frame, plan: Plan) -> str:
    """Return a plan view, front to the left, right side of the vehicle at the top."""
    every = [m.path for m in frame.members]
    low = min(float(p[:, 0].min()) for p in every) - 120.0
    high = max(float(p[:, 0].max()) for p in every) + 120.0
    wide = plan.arm + 160.0
    lines = "".join(
        f'<polyline points="{" ".join(f"{x:.0f},{-y:.0f}" for x, y in m.path[:, :2])}"'
        f' stroke-width="{34 if m.kind == "rail" else 20}"/>'
        for m in frame.members
    )
    stands = "".join(
        f'<path d="M{x:.0f} {-y - 46:.0f}l46 80h-92z"/><text x="{x:.0f}"'
        f' y="{-y + (-70 if y > 0 else 120):.0f}">stand</text>'
        for x, y in plan.stands
    )
    arm = (
        f'<path d="M{plan.pivot:.0f} {-plan.arm:.0f}V{plan.arm:.0f}"/>'
        f'<circle cx="{plan.pivot:.0f}" cy="0" r="38"/>'
    )
    sides = (("right", 1.0), ("left", -1.0))
    weights = "".join(
        f'<text x="{plan.pivot + 60:.0f}" y="{-s * plan.arm + 25:.0f}"'
        f' text-anchor="start">weight, {side}</text>'
        for side, s in sides
    )
    gauges = "".join(_gauge_mark(frame, g.name, g.place.station or 0.0, g.place.side)
                     for g in plan.readings.gauges)  # fmt: skip
    return (
        f'<svg viewBox="{low:.0f} {-wide:.0f} {high - low:.0f} {2 * wide:.0f}" role="img"'
        ' aria-label="The frame from above with stands, arm and gauges" font-size="88"'
        ' font-family="Helvetica, Arial, sans-serif" text-anchor="middle">'
        f'<g fill="none" stroke="#9aa5ad" stroke-linejoin="round">{lines}</g>'
        f'<g fill="none" stroke="#1d2429" stroke-width="22">{arm}</g>'
        f'<text x="{plan.pivot + 60:.0f}" y="25" text-anchor="start">pivot</text>{weights}'
        f'<g fill="#1d2429">{stands}</g>{gauges}'
        f'<text x="{low + 30:.0f}" y="{-wide + 80:.0f}" text-anchor="start">front</text></svg>'
    )


def _gauge_mark(frame: Frame, name: str, station: float, side: str) -> str:
    from fea.frame.spots import rails_at

    member = next(m for s, m, _ in rails_at(frame, station, "stand test") if s == side)
    path = frame.member(member).path
    y = -_offset_at(path, station)
    out = -105.0 if side == "right" else 160.0
    return (
        f'<circle cx="{station:.0f}" cy="{y:.0f}" r="30" fill="#fff" stroke="#a3211b"'
        f' stroke-width="14"/><text x="{station:.0f}" y="{y + out * 0.75:.0f}"'
        f' fill="#a3211b">{html.escape(name)}</text>'
    )


def _offset_at(path: object, station: float) -> float:
    import numpy as np

    line = np.asarray(path, dtype=np.float64)
    return float(np.interp(station, line[:, 0], line[:, 1]))
