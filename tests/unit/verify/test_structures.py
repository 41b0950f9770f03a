"""The model that is built from a validation case."""

import numpy as np
import pytest

from fea.analyse import solve
from fea.document.validation import StructureDocument
from fea.verify.structure import build

BASE = {
    "id": "T",
    "title": "t",
    "source": "s",
    "certainty": "derived",
    "kind": "structure",
    "units": "mm N",
    "material": {"E": 2e5, "G": 8e4},
    "section": {"s": {"A": 100.0, "I1": 1e4, "I2": 2e4, "J": 1e4}},
    "expect": [{"name": "x", "read": "ux", "node": "b", "value": 0.0, "unit": "mm"}],
}


def structure(**tables):
    return build(StructureDocument.model_validate(BASE | tables))


def bar(**keys):
    return {"name": "bar", "from": "a", "to": "b", "section": "s"} | keys


def test_segments_are_named_and_evenly_spaced():
    s = structure(
        node={"a": [0.0, 0.0, 0.0], "b": [90.0, 30.0, 0.0]},
        bar=[bar(segments=3)],
        hold=[{"nodes": ["a"]}],
    )
    assert list(s.node) == ["a", "b", "bar 1", "bar 2"]
    assert s.mesh.points[s.node["bar 2"]] == pytest.approx([60.0, 20.0, 0.0])
    assert s.mesh.elements.nodes.tolist() == [[0, 2], [2, 3], [3, 1]]


def test_arc_lies_on_its_circle():
    s = structure(
        node={"a": [50.0, 0.0, 0.0], "b": [0.0, 50.0, 0.0]},
        bar=[bar(segments=8, centre=[0.0, 0.0, 0.0])],
        hold=[{"nodes": ["a"]}],
    )
    assert np.linalg.norm(s.mesh.points, axis=1) == pytest.approx(50.0)
    assert s.mesh.beams.length == pytest.approx(100.0 * np.sin(np.pi / 32))


def test_arms_shorten_the_bar():
    s = structure(
        node={"a": [0.0, 0.0, 0.0], "b": [100.0, 0.0, 0.0]},
        bar=[bar(segments=2, arm_start=[10.0, 0.0, 5.0], arm_end=[-30.0, 0.0, 5.0])],
        hold=[{"nodes": ["a"]}],
    )
    assert s.mesh.beams.length == pytest.approx(30.0)
    assert s.mesh.points[s.node["bar 1"]] == pytest.approx([40.0, 0.0, 5.0])
    assert s.mesh.beams.arms[0, 1] == pytest.approx([0.0, 0.0, 0.0])


def test_twist_rolls_piece_by_piece():
    s = structure(
        node={"a": [0.0, 0.0, 0.0], "b": [100.0, 0.0, 0.0]},
        bar=[bar(segments=2, turn=0.1, twist=0.4)],
        hold=[{"nodes": ["a"]}],
    )
    angles = np.arctan2(s.mesh.beams.axes[:, 1, 2], s.mesh.beams.axes[:, 1, 1])
    assert angles == pytest.approx([0.2, 0.4])


def test_springs_to_the_ground_show_among_the_reactions():
    s = structure(
        node={"a": [0.0, 0.0, 0.0], "b": [1000.0, 0.0, 0.0]},
        bar=[bar()],
        spring=[
            {"name": "k", "node": "b", "freedom": "uz", "stiffness": 7.0},
            {"name": "m", "node": "a", "freedom": "ry", "stiffness": 1e6},
        ],
        hold=[{"nodes": ["a"], "freedoms": ["ux", "uy", "uz", "rx", "rz"]}],
        load=[{"node": "b", "force": [0.0, 0.0, 3.0]}],
    )
    solution = solve(s.mesh, [s.loads])[0]
    held = s.loads.rows.transposed(solution.reactions, s.mesh.n_freedoms).reshape(-1, 7)
    assert held[:, 2].sum() == pytest.approx(-3.0, rel=1e-12)
    assert solution.spring_force[0] == pytest.approx(7.0 * solution.u[7 + 2], rel=1e-12)


def test_spring_between_two_nodes_takes_their_difference():
    s = structure(
        node={"a": [0.0, 0.0, 0.0], "b": [100.0, 0.0, 0.0], "c": [100.0, 0.0, 0.0]},
        bar=[bar()],
        spring=[{"name": "k", "node": "b", "other": "c", "freedom": "ux", "stiffness": 5.0}],
        hold=[{"nodes": ["a"]}, {"nodes": ["c"], "freedoms": ["uy", "uz", "rx", "ry", "rz"]}],
        load=[{"node": "c", "force": [2.0, 0.0, 0.0]}],
    )
    solution = solve(s.mesh, [s.loads])[0]
    gap = solution.u[7 * s.node["c"]] - solution.u[7 * s.node["b"]]
    assert gap == pytest.approx(2.0 / 5.0, rel=1e-12)
    assert solution.spring_force[0] == pytest.approx(-2.0, rel=1e-12)


def test_warp_follows_where_it_is_linked():
    channel = {
        "corners": [[50.0, -50.0], [0.0, -50.0], [0.0, 50.0], [50.0, 50.0]],
        "walls": [[0.0, 1.0, 3.0], [1.0, 2.0, 3.0], [2.0, 3.0, 3.0]],
    }
    nodes = {"a": [0.0, 0.0, 0.0], "b": [400.0, 0.0, 0.0], "c": [400.0, 0.0, 0.0]}
    common = {
        "section": {"s": channel},
        "node": nodes | {"d": [900.0, 0.0, 0.0]},
        "bar": [bar(), bar(name="next") | {"from": "c", "to": "d"}],
        "hold": [{"nodes": ["a"]}],
        "load": [{"node": "d", "moment": [1000.0, 0.0, 0.0]}],
    }
    linked = structure(
        **common,
        link=[{"from": "b", "to": "c"}, {"from": "b", "to": "c", "freedoms": ["warp"]}],
    )
    apart = structure(**common, link=[{"from": "b", "to": "c"}])
    turns = []
    for s in (linked, apart):
        u = solve(s.mesh, [s.loads])[0].u.reshape(-1, 7)
        turns.append(u[s.node["d"], 3])
        same = u[s.node["b"], 6] == pytest.approx(u[s.node["c"], 6], rel=1e-12)
        assert same == (s is linked)
    assert turns[1] > 1.2 * turns[0]
