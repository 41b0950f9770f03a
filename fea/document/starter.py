"""A first frame document from a few answers: text with comments, to be measured into shape."""

from itertools import pairwise

from fea.document.starter_answers import Answers, bare

HEAD = """\
# {title}
# Begun with `plumbrail new` from a few figures: measure, and put yours in their place.
#
# Stations count rearward from the front axle, offsets from the centreline with the right side
# positive, heights from the ground.  Every figure carries its unit: "120 mm", "4.75 in", "11 ga".
# Read it with `plumbrail check {file}`, solve it with `plumbrail run {file}`.

title = {quoted}
about = "A {kind} frame; wheelbase {wheelbase}, rails {length} long."

# ---------------------------------------------------------------------------------- metals
# Of an unknown old steel take a low yield stress: the stiffness hangs on E, which all steels share.

[material.steel]
E = "206 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "240 MPa"

# -------------------------------------------------------------------------------- sections
# Outer dimensions, as a caliper reads them.  Measure the wall at a clean edge or by ultrasound:
# a tolerance such as "3.0 +- 0.2 mm" lets `plumbrail confidence` tell what it matters.

[section.rail]
shape = "{shape}"
depth = "{depth}"
{across} = "{flange}"
wall = "{gauge}"

# A guess: a square tube of two fifths of the rail's depth.
[section.crossmember]
shape = "box"
depth = "{tube}"
width = "{tube}"
wall = "{tube_wall}"

# ----------------------------------------------------------------------------------- rails
# The right rail; the left one is its mirror image.  Points lie at mid-depth,
# {line}.  A section holds from its point to the next one
# that names another.

[[rail]]
name = "rail"
{opens}points = [
{points}
]

# ---------------------------------------------------------------------------- crossmembers
# Welded to the rails' webs (joint = "web"); write "web_and_flanges" where the flanges are welded
# too, "bolted" where bolts hold.
"""

CROSSMEMBER = """
[[crossmember]]
name = "X{number}"
station = "{station}"
section = "crossmember"
joint = "web"
"""

AXLES = """
# ----------------------------------------------------------------------------------- axles
# Where the springs bear on the rails.  A leaf spring has two seats: give hanger and shackle each
# its station, with share = 0.5.  The track is a guess.

[axle.front]
station = "{zero}"
track = "{track}"
seats = [{{ station = "{zero}" }}]

[axle.rear]
station = "{wheelbase}"
track = "{track}"
seats = [{{ station = "{wheelbase}" }}]

# ----------------------------------------------------------------------------------- parts
# What may be added, fitted or left off by name: `--with {first}`, `--without {first}`, `--stock`.
"""

BOXING = """
[[part]]
name = "boxing"
about = "plates that close the rails between {near} and {far}"
fitted = false

[[part.boxing]]
rail = "rail"
from = "{start}"
to = "{end}"
plate = "{gauge}"
material = "steel"
"""

TUBE = """
[[part]]
name = "extra_tube"
about = "one more crossmember in the middle of the longest bay"
fitted = false

[[part.crossmember]]
name = "X{number}"
station = "{station}"
section = "crossmember"
material = "steel"
joint = "web"
"""

SEAT_HEIGHT = 500.0
"""Of the rails at mid-depth, mm; a guess until it is measured."""


def frame_text(answers: Answers, file: str) -> str:
    """Return a frame document that runs, with comments on what to measure next."""
    unit = answers.units

    def told(value: float) -> str:
        return f"{bare(value, unit)} {unit}"

    channel = answers.shape == "channel"
    tube = round(0.4 * answers.depth / 5.0) * 5.0
    wheelbase, long_bay = told(answers.wheelbase), _longest_bay(answers)
    head = HEAD.format(
        title=answers.title,
        quoted=_quoted(answers.title),
        file=file,
        kind=answers.kind,
        wheelbase=wheelbase,
        length=told(answers.length),
        shape=answers.shape,
        depth=told(answers.depth),
        across="flange" if channel else "width",
        flange=told(answers.flange),
        gauge=answers.gauge,
        tube=told(tube),
        tube_wall=told(max(2.0, 0.05 * tube)),
        line="on the middle of the web" if channel else "on the middle line of the box",
        opens='opens = "inboard"\n' if channel else "",
        points=_points(answers),
    )
    crossing = "".join(
        CROSSMEMBER.format(number=k, station=told(station))
        for k, station in enumerate(answers.crossmembers, start=1)
    )
    first, last = answers.crossmembers[long_bay], answers.crossmembers[long_bay + 1]
    axles = AXLES.format(
        zero=told(0.0),
        wheelbase=wheelbase,
        track=told(answers.width + 600.0),
        first="boxing" if channel else "extra_tube",
    )
    plates = BOXING.format(
        near=f"X{long_bay + 1}",
        far=f"X{long_bay + 2}",
        start=told(first),
        end=told(last),
        gauge=answers.gauge,
    )
    number = len(answers.crossmembers) + 1
    more = TUBE.format(number=number, station=told(0.5 * (first + last)))
    return head + crossing + axles + (plates if channel else "") + more


def _longest_bay(answers: Answers) -> int:
    """Return which crossmember, from 0, the bay starts at that is longest between the axles."""
    at, base = answers.crossmembers, answers.wheelbase
    between = [min(b, base) - max(a, 0.0) for a, b in pairwise(at)]
    return between.index(max(between))


def _quoted(text: str) -> str:
    """Return a TOML string: backslashes and quotes escaped, control signs left out."""
    clean = "".join(sign for sign in text if sign.isprintable())
    return '"' + clean.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _points(answers: Answers) -> str:
    """Return the rail's points: straight, or wide and low between the axles of a perimeter."""
    half = 0.5 * (answers.width - (answers.wall if answers.shape == "channel" else answers.flange))
    base, start = answers.wheelbase, -answers.front
    end = start + answers.length
    # station, offset, height, what it is
    turns = [(start, half, SEAT_HEIGHT, "front end"), (end, half, SEAT_HEIGHT, "rear end")]
    if answers.kind == "perimeter":
        narrow, low = 0.6 * half, SEAT_HEIGHT - 120.0
        turns = [
            (start, narrow, SEAT_HEIGHT, "front end"),
            (0.15 * base, narrow, SEAT_HEIGHT, "the flare starts"),
            (0.32 * base, half, low, "side rail"),
            (0.68 * base, half, low, "kick-up starts"),
            (0.84 * base, narrow, SEAT_HEIGHT, "kick-up ends"),
            (end, narrow, SEAT_HEIGHT, "rear end"),
        ]
    lines = []
    for number, (station, offset, height, what) in enumerate(turns, start=1):
        where = ", ".join(
            f'{key} = "{bare(value, answers.units)} {answers.units}"'
            for key, value in (("station", station), ("offset", offset), ("height", height))
        )
        section = ', section = "rail"' if number == 1 else ""
        lines.append(f'    {{ name = "A{number}", {where}{section} }},  # {what}')
    return "\n".join(lines)
