"""A crossmember bolted elsewhere and turned round."""

import numpy as np
import pytest

from fea.analyse import Analysis, analyse
from fea.cli.options import load_cases
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.document.schema import FrameDocument
from fea.errors import ModelError
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.frame.slots import crossmember_entries, mount_station
from fea.result.stiffness import profile, twist_stiffness
from fea.study.engine import Runner
from fea.study.positions import joint_load, movable, position_sweep
from fea.study.variant import Setting, Variant


def read(name: str) -> FrameDocument:
    return read_frame(find_frame(name))


def frame(turned: tuple[str, ...] = (), station: float = 1260.0) -> Frame:
    document = read("orchard_pickup")
    return build_frame(document, source="pickup", positions={"X3": station}, turned=turned)


def solved(one: Frame) -> Analysis:
    return analyse(one, load_cases(None))


def test_turned_round_its_section_is_mirrored_and_nothing_else_moves() -> None:
    drawn, turned = (f.member("X3") for f in (frame(), frame(("X3",))))
    there, back = (m.runs[0].section.midline.points for m in (drawn, turned))
    ours = {tuple(p) for p in (there * [-1.0, 1.0]).round(9).tolist()}
    assert {tuple(p) for p in back.round(9).tolist()} == ours
    assert not np.allclose(there, back)
    np.testing.assert_array_equal(drawn.path, turned.path)
    assert frame().joints == frame(("X3",)).joints


def test_turned_round_it_opens_the_other_way() -> None:
    text = read("orchard_pickup").origin.data
    number = next(k for k, c in enumerate(text["crossmember"]) if c["name"] == "X3")
    assert "opens" not in text["crossmember"][number]
    drawn = solved(frame(("X3",))).solutions[0]
    data = dict(text)
    data["crossmember"] = [dict(c) for c in text["crossmember"]]
    data["crossmember"][number]["opens"] = "front"
    opened = build_frame(FrameDocument.model_validate(data), source="opened")
    mine = solved(opened).solutions[0]
    np.testing.assert_allclose(mine.u, drawn.u, atol=1e-12 * np.abs(drawn.u).max())


@pytest.mark.parametrize(("case", "name"), [(0, "twist"), (1, "bending")])
def test_loads_of_the_ends_are_those_of_the_brackets_springs(case: int, name: str) -> None:
    one = frame()
    found = solved(one)
    assert found.cases[case].name == name
    solution = found.solutions[case]
    springs = solution.mesh.springs
    for joint in one.joints:
        if joint.member != "X3":
            continue
        label = f"X3 on {joint.onto}, joint"
        mine = [k for k, words in enumerate(springs.label) if words == label]
        assert len(mine) == 6
        load = joint_load(one, solution, joint)
        want = -solution.spring_force[mine]
        np.testing.assert_allclose(load, want, atol=1e-6 * np.abs(want).max())


def test_nothing_acts_between_the_ends() -> None:
    one = frame(("X3",), 1180.0)
    solution = solved(one).solutions[0]
    joints = [j for j in one.joints if j.member == "X3"]
    loads = [joint_load(one, solution, j) for j in joints]
    ends = one.member("X3").path
    force = loads[0][:3] + loads[1][:3]
    moment = sum(load[3:] + np.cross(end, load[:3]) for load, end in zip(loads, ends, strict=True))
    assert np.abs(force).max() < 1e-6 * np.abs(loads[0][:3]).max()
    assert np.abs(moment).max() < 1e-6 * np.abs(loads[0][3:]).max()


def test_every_position_both_ways_round() -> None:
    document = read("harbour_tourer")
    setting = Setting(document, "tourer", tuple(load_cases(None)))
    found = position_sweep(setting, Variant.of(), "Y3", Runner(workers=1))
    assert [p.station for p in found.tried] == [1080.0 + 25.0 * k for k in range(9)] * 2
    assert [p.turned for p in found.tried] == [False] * 9 + [True] * 9
    assert all(p.mount == p.station + (-40.0 if p.turned else 40.0) for p in found.tried)
    at = found.tried[12]
    built = build_frame(document, source="tourer", positions={"Y3": at.station}, turned=["Y3"])
    answer = solved(built)
    line = profile(built, answer.solutions[0])
    assert line is not None
    assert at.twist == pytest.approx(twist_stiffness(built, answer.cases[0], line), rel=1e-9)
    # The case's couple is 1000 N m already; its bending is 2 kN.
    load = joint_load(built, answer.solutions[1], next(j for j in built.joints if j.member == "Y3"))
    mine = np.array([*at.in_bending[0].force, *at.in_bending[0].moment])
    np.testing.assert_allclose(mine, load / 2.0, atol=1e-6 * np.abs(load).max())


def test_which_crossmember() -> None:
    document = read("orchard_pickup")
    assert movable(document, "pickup", None) == "X3"
    with pytest.raises(ModelError, match='no crossmember "X4" with several positions'):
        movable(document, "pickup", "X4")
    with pytest.raises(ModelError, match='"X4" that can be turned round') as refused:
        frame(("X4",))
    assert "X3" in str(refused.value)
    entry = crossmember_entries(document)["X3"]
    assert mount_station(entry, 1260.0, turned=True) == 1225.0
