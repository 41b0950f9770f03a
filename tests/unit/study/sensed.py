"""A small frame with everything that can be varied: shapes, a plate, bolted joints, mounts."""

from pathlib import Path

from handmade import Cross, Ladder, Plate, Sheet

from fea.document.find import find_case
from fea.document.read import read_case, read_frame
from fea.frame.build_case import build_case
from fea.study.variant import Setting


def _sheet(shape: str, **sizes: float) -> Sheet:
    return Sheet(shape, tuple(sizes.items()))


CHANNEL = _sheet("channel", depth=120.0, flange=55.0, wall=3.5)
LADDER = Ladder(
    points=(
        (0.0, 360.0, 500.0, CHANNEL),
        (700.0, 400.0, 460.0, _sheet("box", depth=110.0, width=60.0, wall=3.0)),
        (1900.0, 400.0, 460.0, CHANNEL),
    ),
    crosses=(
        Cross(80.0, _sheet("tube", diameter=60.0, wall=2.6), "web_and_flanges"),
        Cross(950.0, _sheet("hat", depth=70.0, width=80.0, lip=18.0, wall=2.0), "bolted"),
        Cross(1800.0, CHANNEL, "web"),
    ),
    axles=(150.0, 1700.0),
    seats=((150.0,), (1500.0, 1890.0)),
    plates=(Plate(250.0, 600.0, 3.0),),
)
BODY = """
[[mount]]
name = "M1"
station = "300 mm"
offset = "430 mm"
height = "580 mm"
vertical = "700 N/mm"
lateral = "300 N/mm"
longitudinal = "250 N/mm"
[[mount]]
name = "M2"
station = "1600 mm"
offset = "450 mm"
height = "580 mm"
vertical = "500 N/mm"
lateral = "300 N/mm"
[[body]]
name = "tub"
kind = ["open"]
material = "steel"
mounts = { M1 = "S1", M2 = "S2" }
twist = { stiffness = "900 N m/deg", between = ["M1", "M2"] }
[body.point]
S1 = { station = "300 mm", offset = "430 mm", height = "620 mm" }
S2 = { station = "1600 mm", offset = "450 mm", height = "620 mm" }
[[body.beam]]
name = "sill"
section = "S1"
path = ["S1", "S2"]
[[body.beam]]
name = "front bar"
section = "S1"
across = "S1"
[[body.beam]]
name = "rear bar"
section = "S1"
across = "S2"
"""


def small(folder: Path) -> Setting:
    """Return the small frame with its body, and the cases of twist and bending."""
    path = folder / "small.toml"
    path.write_text(LADDER.toml() + BODY, encoding="utf-8")
    cases = tuple(build_case(read_case(find_case(c))) for c in ("twist", "bending"))
    return Setting(read_frame(path), str(path), cases, body="open")
