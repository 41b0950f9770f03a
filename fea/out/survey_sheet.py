"""A form for measuring a frame, to print on A4 or Letter: what to read, and room to write.

One HTML file without scripts or connections; names in it are data, whatever they say.
"""

import html
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fea.frame.model import Frame
from fea.out.files import write_text
from fea.shop.survey_plan import Plan
from fea.shop.survey_readings import Reading

STYLE = """
@page { margin: 13mm 12mm; }
body { font: 10pt/1.35 "Helvetica Neue", Arial, sans-serif; color: #20272d; max-width: 186mm;
  margin: 8mm auto; padding: 0 3mm; }
h1 { font-size: 16pt; margin: 0 0 1mm; }
h2 { font-size: 11.5pt; margin: 4mm 0 1.2mm; border-bottom: .4mm solid #20272d;
  break-after: avoid; }
p, li { margin: 0 0 1.1mm; } ol { margin: 0; padding-left: 6mm; }
table { border-collapse: collapse; width: 100%; margin-bottom: 2mm; }
tr { break-inside: avoid; }
th, td { border: .25mm solid #7b868e; padding: 1mm 1.4mm; text-align: left; font-weight: normal; }
th { background: #f3f2ee; font-size: 9pt; } td.fill { height: 6.4mm; min-width: 15mm; }
td.name { font-size: 9pt; min-width: 13mm; }
td small { color: #56626b; font-size: 8pt; white-space: nowrap; }
svg { width: 100%; height: auto; display: block; margin: 1.5mm 0; break-inside: avoid; }
pre { font: 8.5pt/1.35 monospace; background: #f3f2ee; padding: 2mm; white-space: pre-wrap;
  break-inside: avoid; margin: 1mm 0; }
.blank { border-bottom: .25mm solid #20272d; display: inline-block; min-width: 32mm; }
.next { break-before: page; }
footer { margin-top: 4mm; font-size: 8.5pt; color: #56626b; }
@media print { body { margin: 0 auto; padding: 0; } th { print-color-adjust: exact; } }
"""

STEPS = (
    "Stand the frame on three sound stands: two under the rear seats, one under the middle of the"
    " front. On four it takes the shape of the stands. Never a jack alone; chock it; nobody under"
    " it while it is moved.",
    "Mark the points on both rails: a punch mark in the middle of the web, at mid-depth, at the"
    " station given. Where the web cannot be reached, carry the point down with a plumb bob or a"
    " square, the same way everywhere.",
    "Lengths from mark to mark, tape taut and not around anything; to half a millimetre. Read"
    " each twice, the tape turned round: what two readings differ by is what they are worth.",
    "Level from left to right: water level or digital level over a straight edge, turned end for"
    " end; plus if the right is higher. Heights over the floor, or down from a laser line.",
    "String: stretched over the middle from the first pair to the last. Offset of each mark from"
    " it, right plus, left minus.",
    "A reading that cannot be had stays empty: the fit says what it can do without it.",
)


def write_survey_sheet(frame: Frame, plan: Plan, path: Path) -> None:
    """Write the form."""
    write_text(path, form(frame, plan))


@dataclass(frozen=True)
class Block:
    """A piece of the form under a heading of its own, or none; `body` is HTML, `title` text.

    `fresh` asks for a page that begins with it.
    """

    title: str
    body: str
    fresh: bool = False


def form(frame: Frame, plan: Plan) -> str:
    """Return the form's text."""
    title = html.escape(frame.title or frame.name)
    body = "\n".join(_headed(block) for block in blocks(frame, plan))
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Measuring the frame: {title}</title><style>{STYLE}</style></head><body>
<h1>Measuring the frame: {title}</h1>
{body}
<footer>A planning aid, not a certification: local codes and a licensed engineer decide.</footer>
</body></html>
"""


def blocks(frame: Frame, plan: Plan) -> list[Block]:
    """Return what the form consists of, in order, for a page of its own or inside another."""
    parts = html.escape(", ".join(frame.fitted) or "none: stock")
    steps = "".join(f"<li>{html.escape(step)}</li>" for step in STEPS)
    head = f"""<p>Parts fitted on the sheet: {parts}. Millimetres; stations count rearward from the
 front axle.</p>
<p>Date <span class="blank"></span> Done by <span class="blank"></span>
 Tape, level <span class="blank"></span></p>
{_drawing(frame, plan)}"""
    typed = f"""<p>In a spreadsheet, saved as CSV, a row for each reading. Then
 <code>plumbrail survey FRAME POINTS.csv</code>. Uncertainty: about half of what two readings of
 yours differ by.</p>
<pre>{html.escape(_typed(plan))}</pre>
<p>What looked wrong (cracks, kinks, old repairs):</p>
<p><span class="blank" style="width:100%">&nbsp;</span></p>"""
    lengths = (
        "<p>Small print: what the sheet makes it. Both diagonals of a bay should read alike.</p>\n"
        + _table(plan, plan.of("length"), 2)
    )
    return [
        Block("", head),
        Block("How", f"<ol>{steps}</ol>"),
        Block("Points: height over the floor, offset from the string", _marks(plan)),
        Block("Level, right over left", _table(plan, plan.of("level"), 2)),
        Block("Lengths", lengths, fresh=True),
        Block("Typed in", typed),
    ]


def _headed(block: Block) -> str:
    kind = ' class="next"' if block.fresh else ""
    head = f"<h2{kind}>{html.escape(block.title)}</h2>\n" if block.title else ""
    return head + block.body


def _marks(plan: Plan) -> str:
    """Return the table of points, with room for what is read of each."""
    rows = "".join(
        f"<tr><td>{html.escape(p.key)}</td><td>{p.station:.0f}</td><td>{p.offset:+.0f}</td>"
        f'<td>{p.height:.0f}</td><td class="fill"></td><td class="fill"></td></tr>'
        for p in plan.points
    )
    return (
        "<table><tr><th>point</th><th>station</th><th>offset on the sheet</th>"
        "<th>height on the sheet</th>\n<th>over the floor</th><th>from the string</th></tr>"
        f"{rows}</table>"
    )


def _table(plan: Plan, readings: list[Reading], columns: int) -> str:
    """Return a table with room for two readings each, in columns side by side."""
    heads = "<th>from</th><th>to</th><th>sheet</th><th>first</th><th>second</th>" * columns
    rows = -(-len(readings) // columns)
    lines = []
    for k in range(rows):
        cells = ""
        for column in range(columns):
            at = column * rows + k
            cells += _cells(plan, readings[at]) if at < len(readings) else "<td></td>" * 5
        lines.append(f"<tr>{cells}</tr>")
    return f"<table><tr>{heads}</tr>{''.join(lines)}</table>"


def _cells(plan: Plan, reading: Reading) -> str:
    a, b = (html.escape(plan.points[k].key) for k in (reading.first, reading.second))
    return (
        f'<td class="name">{a}</td><td class="name">{b}</td>'
        f"<td><small>{reading.value:.0f}</small></td>"
        '<td class="fill"></td><td class="fill"></td>'
    )


def _typed(plan: Plan) -> str:
    if not plan.pairs:
        return ""
    a, b = (plan.points[k].key for k in (plan.pairs[0].left, plan.pairs[0].right))
    return "\n".join(
        (
            "[readings]",
            "kind,from,to,reading,uncertainty",
            f"length,{a},{b},... mm,1 mm",
            f"level,{a},{b},... mm,0.5 mm",
            f"floor,{a},,... mm,1 mm",
            "[coordinates]",
            "point,offset,uncertainty",
            f"{a},... mm,1 mm",
        )
    )


def _drawing(frame: Frame, plan: Plan) -> str:
    """Return a plan view, front to the left, right side of the vehicle at the top."""
    every = np.vstack([m.path for m in frame.members])
    low, high = float(every[:, 0].min()) - 140.0, float(every[:, 0].max()) + 140.0
    wide = float(np.abs(every[:, 1]).max()) + 190.0
    lines = "".join(
        f'<polyline points="{" ".join(f"{x:.0f},{-y:.0f}" for x, y in m.path[:, :2])}"'
        f' stroke-width="{30 if m.kind == "rail" else 16}"/>'
        for m in frame.members
    )
    places = [(p.station, -p.offset) for p in plan.points]
    links = "".join(
        f'<path d="M{places[r.first][0]:.0f} {places[r.first][1]:.0f}'
        f'L{places[r.second][0]:.0f} {places[r.second][1]:.0f}"/>'
        for r in plan.of("length")
    )
    marks = "".join(
        f'<circle cx="{x:.0f}" cy="{y:.0f}" r="20"/><text x="{x:.0f}"'
        f' y="{y + (-60 if y < 0 else 110):.0f}">{html.escape(p.name)}</text>'
        for p, (x, y) in zip(plan.points, places, strict=True)
    )
    return (
        f'<svg viewBox="{low:.0f} {-wide:.0f} {high - low:.0f} {2 * wide:.0f}" role="img"'
        ' aria-label="The frame from above with the points and lengths" font-size="72"'
        ' font-family="Helvetica, Arial, sans-serif" text-anchor="middle">'
        f'<g fill="none" stroke="#d9d7d1" stroke-linejoin="round">{lines}</g>'
        f'<g fill="none" stroke="#1f6f7d" stroke-width="5">{links}</g>'
        f'<g fill="#20272d">{marks}</g>'
        f'<text x="{low + 20:.0f}" y="{-wide + 70:.0f}" text-anchor="start">right</text>'
        f'<text x="{low + 20:.0f}" y="{wide - 20:.0f}" text-anchor="start">left</text>'
        f'<text x="{low + 20:.0f}" y="0" text-anchor="start">front</text></svg>'
    )
