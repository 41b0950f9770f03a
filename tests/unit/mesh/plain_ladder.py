"""A short ladder written out as a document, for the joints and their sheet metal."""

from collections.abc import Sequence
from pathlib import Path

from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.frame.model import Frame

SECTIONS = {
    "channel 120": 'shape = "channel"\ndepth = "123 mm"\nflange = "51.5 mm"\nwall = "3 mm"',
    "channel 80": 'shape = "channel"\ndepth = "83 mm"\nflange = "51.5 mm"\nwall = "3 mm"',
    "channel 100": 'shape = "channel"\ndepth = "102.5 mm"\nflange = "41.25 mm"\nwall = "2.5 mm"',
    "box 120": 'shape = "box"\ndepth = "123 mm"\nwidth = "53 mm"\nwall = "3 mm"',
    "box 60": 'shape = "box"\ndepth = "63 mm"\nwidth = "63 mm"\nwall = "3 mm"',
    "tube": 'shape = "tube"\ndiameter = "63 mm"\nwall = "3 mm"',
}
BOLTS = 'bolts = 4\nbolt = "M10"\nbolt_spacing = "60 mm"\nbracket_wall = "5 mm"'


def ladder(
    folder: Path,
    *,
    rail: str = "channel 120",
    cross: str = "channel 100",
    keys: str = 'joint = "web"',
    stations: Sequence[float] = (200.0, 1000.0),
    points: Sequence[tuple[float, float]] = ((0.0, 300.0), (1200.0, 300.0)),
) -> Frame:
    """Return two rails and equal crossmembers; `keys` go into every crossmember's table."""
    lines = ['title = "Ladder"', "[material.steel]", 'E = "205 GPa"', "nu = 0.3"]
    lines += ['density = "7850 kg/m3"', 'yield = "240 MPa"']
    for name in dict.fromkeys((rail, cross)):
        lines += [f'[section."{name}"]', SECTIONS[name]]
    lines += ["[[rail]]", 'name = "rail"', "points = ["]
    for k, (x, y) in enumerate(points):
        place = f'name = "P{k}", station = "{x} mm", offset = "{y} mm", height = "0 mm"'
        lines.append(f"{{ {place}" + (f', section = "{rail}"' if k == 0 else "") + " },")
    lines.append("]")
    for k, x in enumerate(stations):
        lines += ["[[crossmember]]", f'name = "X{k}"', f'station = "{x} mm"']
        lines += [f'section = "{cross}"', keys]
    for axle, x in zip(("front", "rear"), (points[0][0], points[-1][0]), strict=True):
        lines += [f"[axle.{axle}]", f'station = "{x} mm"', 'track = "800 mm"']
        lines.append(f'seats = [{{ station = "{x} mm" }}]')
    path = folder / "ladder.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return build_frame(read_frame(path), source=str(path))
