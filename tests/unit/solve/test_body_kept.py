"""A body is condensed once, and only a body that is alike is taken for it."""

from dataclasses import replace

import numpy as np
import pytest
from study_frames import setting

from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.mesh.discretise import discretise
from fea.mesh.vehicle import BodyAt
from fea.solve.body import between, body_stiffness
from fea.solve.body_kept import Bodies, fingerprint
from fea.solve.body_motion import body_motion


def frame() -> Frame:
    return build_frame(setting("harbour_tourer").document, source="x", body="open")


@pytest.fixture(scope="module")
def at() -> BodyAt:
    return discretise(frame()).bodies[0]


def test_an_equal_body_of_another_frame_is_found_again(at: BodyAt) -> None:
    other = discretise(frame()).bodies[0]
    assert other.body is not at.body
    kept = Bodies()
    first = kept.between(at.body, at.ties, at.labels)
    assert kept.between(other.body, other.ties, other.labels) is first
    np.testing.assert_array_equal(first, between(body_stiffness(at.body, at.ties), at.labels))
    with pytest.raises(ValueError, match="read-only"):
        first[0, 0] = 0.0


def test_what_differs_is_condensed_anew(at: BodyAt) -> None:
    own = fingerprint(at.body, at.ties, at.labels)
    stiffer = tuple(replace(t, stiffness=(1.0, 2.0, 3.0), fitted=True) for t in at.ties)
    assert fingerprint(at.body, stiffer, at.labels) == own  # a tie's springs are no part of it
    x, y, z = at.ties[0].body_point
    moved = (replace(at.ties[0], body_point=(x + 1.0, y, z)), *at.ties[1:])
    assert fingerprint(at.body, moved, at.labels) != own
    beam = at.body.beams[0]
    wall = replace(beam.section, midline=replace(
        beam.section.midline, thickness=1.001 * beam.section.midline.thickness
    ))  # fmt: skip
    beams = (replace(beam, section=wall), *at.body.beams[1:])
    assert fingerprint(replace(at.body, beams=beams), at.ties, at.labels) != own
    assert fingerprint(at.body, at.ties, at.labels[::-1]) != own


def test_the_kept_recovery_moves_as_the_body_does(at: BodyAt) -> None:
    kept = Bodies()
    held = np.random.default_rng(17).normal(size=(len(at.labels), 6))
    found = kept.recovery(at.body, at.ties, at.labels)
    own = body_motion(at.body, at.ties, at.labels, held).motions
    np.testing.assert_allclose(found.motion(held).motions, own, rtol=1e-12)
    assert kept.recovery(at.body, at.ties, at.labels) is found
    assert len(found.beam_names) == len(found.mesh.beam_nodes)
    assert set(found.beam_names) == {beam.name for beam in at.body.beams}


def test_only_so_many_are_kept(at: BodyAt, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fea.solve.body_kept.KEPT", 2)
    kept = Bodies()
    figure = at.body.twist
    assert figure is not None
    for k in range(4):
        twist = replace(figure, stiffness=figure.stiffness * (1.0 + 0.01 * k))
        kept.between(replace(at.body, twist=twist), at.ties, at.labels)
    assert len(kept._stiffness) == 2
