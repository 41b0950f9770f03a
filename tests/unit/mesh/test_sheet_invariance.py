"""What must not change the answer when joints are sheet metal, for every kind of joint."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import case, mirror
from plain_ladder import BOLTS, ladder

from fea.analyse import analyse
from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.mesh.discretise import discretise
from fea.mesh.patches import Patch
from fea.result.answer import answers
from fea.solve.condense import Memory, condense

SAME = 1e-9
COARSE = 3.0
"""Of the sheet metal: what is the same here is so on every mesh."""

KINDS = {
    "web": 'joint = "web"',
    "web_and_flanges": 'joint = "web_and_flanges"',
    "through": 'joint = "through"',
    "bolted": f'joint = "bolted"\n{BOLTS}',
    "gusset": 'joint = "web"\ngusset = { legs = "80 mm", wall = "4 mm" }',
}
BARE = (("web", "channel 120"), ("web", "box 120"), ("web_and_flanges", "channel 120"))
OTHERS = (("through", "channel 120"), ("bolted", "channel 120"), ("gusset", "channel 120"))
EVERY = pytest.mark.parametrize(("kind", "rail"), [*BARE, *OTHERS])


def frame_of(folder: Path, kind: str, rail: str) -> Frame:
    cross = "tube" if kind == "through" else "channel 80" if kind == "bolted" else "channel 100"
    return ladder(folder, rail=rail, cross=cross, keys=KINDS[kind])


def stiffnesses(frame: Frame, refine: int = 1) -> np.ndarray:
    """Return twist and bending stiffness; nothing kept from one call to the next."""
    cases = [case("twist"), case("bending")]
    found = answers(
        analyse(frame, cases, refine=refine, sheet_joints=True, coarse=COARSE, store=Memory())
    )
    return np.array([found[0].twist_stiffness, found[1].bending_stiffness])


@EVERY
def test_a_finer_mesh(tmp_path: Path, kind: str, rail: str) -> None:
    frame = frame_of(tmp_path, kind, rail)
    np.testing.assert_allclose(stiffnesses(frame, 4), stiffnesses(frame), rtol=SAME)


@EVERY
def test_the_other_hand(tmp_path: Path, kind: str, rail: str) -> None:
    frame = frame_of(tmp_path, kind, rail)
    np.testing.assert_allclose(stiffnesses(mirror(frame)), stiffnesses(frame), rtol=SAME)


@EVERY
def test_inches(tmp_path: Path, kind: str, rail: str) -> None:
    metric = frame_of(tmp_path, kind, rail)
    lines = []
    for line in (tmp_path / "ladder.toml").read_text(encoding="utf-8").split('"'):
        number, _, unit = line.partition(" ")
        lines.append(f"{float(number) / 25.4!r} in" if unit == "mm" else line)
    path = tmp_path / "inches.toml"
    path.write_text('"'.join(lines), encoding="utf-8")
    inches = build_frame(read_frame(path), source=str(path))
    assert ' in"' in path.read_text(encoding="utf-8")
    np.testing.assert_allclose(stiffnesses(inches), stiffnesses(metric), rtol=SAME)


def turned(frame: Frame, turn: np.ndarray) -> Frame:
    """Return a frame's members turned in space; nothing else, which goes by stations."""
    members = tuple(replace(m, path=m.path @ turn.T, up=turn @ m.up) for m in frame.members)
    return replace(frame, members=members, axles=())


def block(patch: Patch, turn: np.ndarray) -> np.ndarray:
    """Return what turns the kept freedoms of a patch, (m, m)."""
    out = np.zeros((len(patch.freedoms),) * 2)
    at = 0
    for count in patch.slots()[0]:
        for first in (at, at + 3):
            out[first : first + 3, first : first + 3] = turn
        if count == 7:
            out[at + 6, at + 6] = 1.0
        at += count
    return out


@EVERY
def test_turning_in_space(tmp_path: Path, kind: str, rail: str) -> None:
    frame = frame_of(tmp_path, kind, rail)
    turn, _ = np.linalg.qr(np.random.default_rng(1638).normal(size=(3, 3)))
    turn = turn * np.sign(np.linalg.det(turn))
    patch, there = (
        discretise(turned(frame, by), sheet_joints=True, coarse=COARSE).patches[0]
        for by in (np.eye(3), turn)
    )
    here, _ = condense(patch.sheet())
    other, _ = condense(there.sheet())
    R = block(patch, turn)
    scale = np.sqrt(np.diagonal(here))
    scale = np.maximum(scale, 1e-9 * scale.max())
    unit = (R.T @ other @ R - here) / np.outer(scale, scale)
    assert np.abs(unit).max() < SAME
