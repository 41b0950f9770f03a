"""A light ladder on stands, for tests of fitting: its document, its readings made up."""

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.study.fit import rig_for
from fea.study.fit_csv import read_readings
from fea.study.fit_model import Rig
from fea.study.fit_readings import Readings
from fea.study.variant import Setting

Array = NDArray[np.float64]

LADDER = """title = "Ladder on stands"

[material.steel]
E = "205 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "240 MPa"

[section.rail]
shape = "channel"
depth = "120 mm"
flange = "50 mm"
wall = "4 mm"

[section.cross]
shape = "box"
depth = "60 mm"
width = "60 mm"
wall = "3 mm"

[[rail]]
name = "rail"
points = [
    { name = "P1", station = "0 mm", offset = "400 mm", height = "500 mm", section = "rail" },
    { name = "P2", station = "2800 mm", offset = "400 mm", height = "500 mm" },
]

[[crossmember]]
name = "A"
station = "50 mm"
section = "cross"
joint = "web"

# Brackets of thin sheet.
[[crossmember]]
name = "B"
station = "1400 mm"
section = "cross"
joint = "bolted"
joint_stiffness = { move = "10 kN/mm", turn = "1.5e7 N mm/rad" }

[[crossmember]]
name = "C"
station = "2750 mm"
section = "cross"
joint = "web"

[axle.front]
station = "100 mm"
track = "1400 mm"
seats = [{ station = "100 mm" }]

[axle.rear]
station = "2700 mm"
track = "1400 mm"
seats = [{ station = "2700 mm" }]
"""

STATIONS = (20, 700, 1400, 2100, 2700)
LOADS = tuple(
    (load, f"1200 mm {side}") for load in ("30 kg", "60 kg") for side in ("right", "left")
)
HEAD = "load,arm,gauge,side,station,direction,reading,uncertainty"
TRUTH = np.array([0.4, np.log(0.7), 8e-5])
"""Wear, joints and stands."""

NOISE = 0.02


def table(stations: tuple[int, ...] = STATIONS) -> str:
    """Return readings, all zero, of gauges under both rails."""
    rows = [
        f"{load},{arm},{side[0].upper()}{x},{side},{x} mm,up,0 mm,{NOISE} mm"
        for load, arm in LOADS
        for x in stations
        for side in ("right", "left")
    ]
    return "\n".join([HEAD, *rows]) + "\n"


def rig(
    folder: Path, stations: tuple[int, ...] = STATIONS, names: tuple[str, ...] = (), more: str = ""
) -> Rig:
    """Return the ladder set up, nothing read yet."""
    path = folder / "ladder.toml"
    path.write_text(LADDER + more, encoding="utf-8")
    document = read_frame(path)
    frame = build_frame(document, source=str(path))
    readings = read_readings(table(stations), "made up")
    return rig_for(Setting(document, str(path), ()), frame, readings, names)


def with_values(ladder: Rig, values: Array, *, told: bool = True) -> Rig:
    """Return the same with readings."""
    taken = tuple(
        replace(t, value=float(v), uncertainty=NOISE if told else None)
        for t, v in zip(ladder.readings.taken, values, strict=True)
    )
    readings: Readings = replace(ladder.readings, taken=taken)
    return replace(ladder, readings=readings, _kept={})
