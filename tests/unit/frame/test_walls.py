"""Wear, holes and stitched plates in a frame: where they lie and what they do."""

import tomllib
from typing import Any

import numpy as np
import pytest

from fea.document.find import find_frame
from fea.document.schema import FrameDocument
from fea.errors import ModelError
from fea.frame.build import build_frame
from fea.frame.model import Frame, Run
from fea.section.properties import properties

HEAD = """
title = "A small frame"
[material.steel]
E = "206 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "240 MPa"
[section.C]
shape = "channel"
depth = "120 mm"
flange = "55 mm"
wall = "3.5 mm"
[section.B]
shape = "box"
depth = "80 mm"
width = "60 mm"
wall = "3 mm"
[[rail]]
name = "rail"
points = [
    { name = "P1", station = "0 mm", offset = "400 mm", height = "500 mm", section = "C" },
    { name = "P2", station = "1500 mm", offset = "400 mm", height = "500 mm", section = "B" },
    { name = "P3", station = "2400 mm", offset = "400 mm", height = "500 mm" },
]
[[crossmember]]
name = "X1"
station = "100 mm"
section = "B"
joint = "web"
[[part]]
name = "plates"
[[part.boxing]]
rail = "rail"
from = "300 mm"
to = "1200 mm"
plate = "3 mm"
"""

# Every shape of the trade, as a document has it.
SHAPES = {
    "channel": 'depth="120 mm"\nflange="55 mm"\nwall="3.5 mm"\ncorner="8 mm"',
    "lipped channel": 'depth="120 mm"\nflange="55 mm"\nlip="18 mm"\nwall="2.5 mm"\ncorner="6 mm"',
    "boxed channel": 'depth="120 mm"\nflange="55 mm"\nwall="3.5 mm"\nplate="3 mm"\ncorner="8 mm"',
    "capped channel": 'depth="120 mm"\nflange="55 mm"\nwall="3.5 mm"\nplate="3 mm"',
    "toe to toe": 'depth="100 mm"\nflange="40 mm"\nwall="3 mm"\ncorner="6 mm"',
    "box": 'depth="100 mm"\nwidth="60 mm"\nwall="4 mm"\ncorner="8 mm"',
    "tube": 'diameter="60.3 mm"\nwall="2.6 mm"',
    "hat": 'depth="80 mm"\nwidth="60 mm"\nlip="15 mm"\nwall="2.5 mm"',
    "angle": 'depth="60 mm"\nflange="40 mm"\nwall="5 mm"',
    "Z": 'depth="100 mm"\nflange="40 mm"\nwall="3 mm"',
    "I": 'depth="100 mm"\nflange="50 mm"\nwall="4 mm"\nflange_wall="6 mm"',
    "plate": 'depth="100 mm"\nwall="6 mm"',
    "flat": 'depth="40 mm"\nwidth="10 mm"',
    "free": 'corners={a=["0 mm","50 mm"],b=["0 mm","-50 mm"],left=["40 mm","-50 mm"]}\n'
    'walls=[{from="a",to="b",thickness="3 mm",name="left back"},'
    '{from="b",to="left",thickness="4 mm"}]',
}


def build(text: str, **choice: Any) -> Frame:
    document = FrameDocument.model_validate(tomllib.loads(HEAD + text))
    return build_frame(document, source="small.toml", **choice)


def runs(frame: Frame, member: str = "rail right") -> list[tuple[float, float, str]]:
    return [(r.start, r.end, r.section.name) for r in frame.member(member).runs]


def run_at(frame: Frame, distance: float, member: str = "rail right") -> Run:
    return next(r for r in frame.member(member).runs if r.start <= distance < r.end)


def thickness(frame: Frame, distance: float, member: str = "rail right") -> dict[str, float]:
    midline = run_at(frame, distance, member).section.midline
    return dict(zip(midline.names, midline.thickness.tolist(), strict=True))


def test_wear_splits_the_runs_as_a_plate_does() -> None:
    text = '[[wear]]\nrail = "rail"\nfrom = "900 mm"\nto = "1700 mm"\nloss = "0.5 mm"\n'
    frame = build(text)
    assert runs(frame) == [
        (0.0, 300.0, "C"),
        (300.0, 900.0, "C boxed"),
        (900.0, 1200.0, "C boxed worn 0.5"),
        (1200.0, 1500.0, "C worn 0.5"),
        (1500.0, 1700.0, "B worn 0.5"),
        (1700.0, 2400.0, "B"),
    ]
    assert runs(frame, "rail left") == runs(frame)
    # the plate is newer than the rust
    assert thickness(frame, 1000) == pytest.approx(
        {"bottom flange": 3.0, "web": 3.0, "top flange": 3.0, "plate": 3.0}
    )
    assert run_at(frame, 1000).section.nominal.name == "C boxed"
    assert run_at(frame, 1000).part == "plates"
    for one, two in zip(
        frame.member("rail right").runs, frame.member("rail left").runs, strict=True
    ):
        np.testing.assert_array_equal(
            one.section.midline.points * [-1, 1], two.section.midline.points
        )


def test_wear_of_walls_by_name_on_one_side() -> None:
    text = """
[[wear]]
rail = "rail"
side = "left"
to = "600 mm"
wall = ["web", "bottom flange"]
left = "2.8 mm"
[[wear]]
rail = "rail"
from = "300 mm"
to = "600 mm"
wall = "plate"
loss = "1 mm"
"""
    frame = build(text)
    assert thickness(frame, 400, "rail left") == pytest.approx(
        {"bottom flange": 2.8, "web": 2.8, "top flange": 3.5, "plate": 2.0}
    )
    assert thickness(frame, 400)["web"] == 3.5
    assert [name for _, _, name in runs(frame, "rail left")][:2] == [
        "C worn bottom flange 0.7, web 0.7",
        "C boxed worn bottom flange 0.7, web 0.7, plate 1",
    ]
    # where no plate is fitted there is none to wear
    assert {name for _, _, name in runs(build(text, stock=True))} == {"C", "B"}


def test_wear_that_is_not_applied_changes_nothing_but_is_checked() -> None:
    text = '[[wear]]\nrail = "rail"\nloss = "0.5 mm"\napplied = false\n'
    assert runs(build(text)) == runs(build(""))
    with pytest.raises(ModelError, match="must leave some metal"):
        build(text.replace("0.5", "3.5"))


def test_wear_of_a_crossmember() -> None:
    frame = build('[[wear]]\nmember = "X1"\nwall = "top"\nloss = "1 mm"\n')
    assert runs(frame, "X1") == [(0.0, 800.0, "B worn top 1")]
    assert thickness(frame, 10, "X1") == {
        "bottom": 3.0, "right side": 3.0, "top": 2.0, "left side": 3.0,
    }  # fmt: skip


def test_two_kinds_of_wear_on_different_walls_of_one_place() -> None:
    frame = build(
        '[[wear]]\nrail = "rail"\nto = "1000 mm"\nwall = "web"\nloss = "0.5 mm"\n'
        '[[wear]]\nrail = "rail"\nto = "1000 mm"\nwall = "flange"\nloss = "0.2 mm"\n'
    )
    assert thickness(frame, 10) == pytest.approx(
        {"bottom flange": 3.3, "web": 3, "top flange": 3.3}
    )


def test_a_single_hole_and_a_row() -> None:
    frame = build("""
[[hole]]
rail = "rail"
wall = "web"
at = "800 mm"
diameter = "40 mm"
[[hole]]
rail = "rail"
wall = "plate"
from = "200 mm"
to = "700 mm"
diameter = "12 mm"
pitch = "100 mm"
""")
    assert runs(frame)[:6] == [
        (0.0, 200.0, "C"),
        (200.0, 300.0, "C"),
        (300.0, 700.0, "C boxed holed plate 12 at 100"),
        (700.0, 740.0, "C boxed"),
        (740.0, 860.0, "C boxed holed web 40"),
        (860.0, 1200.0, "C boxed"),
    ]
    pierced, plain = run_at(frame, 800).section, run_at(frame, 720).section
    assert pierced.nominal.midline.key() == plain.midline.key()
    assert properties(pierced.midline).J < properties(plain.midline).J
    assert properties(pierced.midline).A < properties(plain.midline).A
    # mesh and joints ask for the web's metal: it is as thick as ever
    assert pierced.midline.thickness[pierced.midline.held_wall] == 3.5


def test_a_stitched_plate() -> None:
    stitch = HEAD.replace(
        'plate = "3 mm"\n', 'plate = "3 mm"\nstitch = { weld = "40 mm", pitch = "100 mm" }\n'
    )
    frame = build_frame(FrameDocument.model_validate(tomllib.loads(stitch)), source="small.toml")
    soft, firm = run_at(frame, 500).section, run_at(build(""), 500).section
    assert soft.name == "C boxed stitched 40/100"
    assert soft.nominal.midline.key() == firm.midline.key()
    p, q = properties(soft.midline), properties(firm.midline)
    assert 0.7 * q.J < p.J < 0.95 * q.J
    assert (p.A, p.Iy, p.Iz) == (q.A, q.Iy, q.Iz)
    whole = stitch.replace('"40 mm", pitch', '"100 mm", pitch')
    all_along = build_frame(FrameDocument.model_validate(tomllib.loads(whole)), source="small.toml")
    assert run_at(all_along, 500).section.name == "C boxed"


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_as_rail_and_crossmember(shape: str) -> None:
    """Each is built, stands the right way, has properties, and can be worn by its walls' names."""
    text = HEAD.replace(
        'shape = "box"\ndepth = "80 mm"\nwidth = "60 mm"\nwall = "3 mm"\n',
        f'shape = "{shape}"\n{SHAPES[shape]}\n',
    )

    def make(more: str) -> Frame:
        document = FrameDocument.model_validate(tomllib.loads(text + more))
        return build_frame(document, source="small.toml")

    new = make("")
    for member in ("rail right", "X1"):
        section = new.member(member).runs[-1].section
        p = properties(section.midline)
        assert min(p.A, p.Iy, p.Iz, p.J) > 0
        assert len(section.midline.names) == len(section.midline.walls)
    names = dict.fromkeys(new.member("X1").runs[0].section.midline.names)
    for name in names:
        old = make(f'[[wear]]\nmember = "X1"\nwall = "{name}"\nloss = "0.5 mm"\n')
        before = new.member("X1").runs[0].section.midline
        after = old.member("X1").runs[0].section.midline
        lost = before.thickness - after.thickness
        assert lost == pytest.approx([0.5 * (n == name) for n in before.names])
        assert "worn" in old.member("X1").runs[0].section.name


def test_a_users_own_names_do_not_turn_with_the_section() -> None:
    text = HEAD.replace(
        'shape = "box"\ndepth = "80 mm"\nwidth = "60 mm"\nwall = "3 mm"\n',
        f'shape = "free"\n{SHAPES["free"]}\n',
    )
    frame = build_frame(FrameDocument.model_validate(tomllib.loads(text)), source="small.toml")
    assert frame.member("rail right").runs[-1].section.midline.names == ("left back", "b to left")


def test_the_rusty_pickup() -> None:
    """The shipped document's wear, put to work: the figures that its text gives."""
    source = find_frame("orchard_pickup").read_text(encoding="utf-8")
    assert source.count("applied = false") == 2
    data = tomllib.loads(source.replace("applied = false", "applied = true"))
    rusty = build_frame(FrameDocument.model_validate(data), source="rusty.toml", stock=True)
    worn = [r for r in rusty.member("rail left").runs if "worn" in r.section.name]
    assert [r.section.name for r in worn] == ["C150x60 worn 0.8", "C130x55 worn 0.7"]
    assert worn[0].section.midline.thickness == pytest.approx([3.2] * 3)
    assert worn[1].section.midline.thickness == pytest.approx([2.8] * 3)
    assert worn[0].end - worn[0].start == pytest.approx(np.hypot(300, 30))
