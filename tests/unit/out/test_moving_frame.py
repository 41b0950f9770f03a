"""A frame under load as a film and as a page: from rest to the full load and back."""

import base64
import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from handmade import case, section, square_tube, two_rails
from numpy.typing import NDArray
from PIL import Image

from fea.analyse import analyse
from fea.frame.model import Joint
from fea.out import film
from fea.out.frame_scene import scene
from fea.out.load_scene import load_scene
from fea.out.moving import Moving
from fea.out.moving_page import FINE, moving_page
from fea.result.answer import answers
from fea.section import shapes

pytestmark = pytest.mark.picture


@cache
def moving(scale: float | None = None) -> Moving:
    channel = section(shapes.channel(depth=120.0, flange=50.0, wall=3.0), "C", is_open=True)
    joint = Joint("", "start", "", 0.0, "web")
    cross = square_tube(60.0, 3.0)
    frame = two_rails(1600.0, 700.0, channel, cross, [0.0, 800.0, 1600.0], joint)
    found = answers(analyse(replace(frame, title="Two rails"), [case("twist"), case("bending")]))
    return load_scene([scene(one) for one in found], scale)


LABELS = [
    "Twist between the axles, front right up",
    "Bending, 1000 N on each rail at mid-wheelbase",
]


def apart(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> float:
    return float(np.abs(one.astype(float) - other.astype(float)).mean())


def pictures(path: Path) -> list[NDArray[np.uint8]]:
    found = []
    with Image.open(path) as image:
        assert image.info["loop"] == 0  # for ever
        for k in range(image.n_frames):
            image.seek(k)
            found.append(np.asarray(image.convert("RGB")))
    return found


def test_a_load_comes_on_and_goes_off_a_mode_swings() -> None:
    loaded = moving().shares(8)
    assert loaded[0] == 0.0
    assert loaded.max() == loaded[4] == 1.0
    assert loaded.min() == 0.0
    np.testing.assert_allclose(loaded[1:4], loaded[:4:-1], atol=1e-12)
    swing = replace(moving(), loaded=False).shares(8)
    assert swing[0] == 0.0
    np.testing.assert_allclose(swing, -np.roll(swing, 4), atol=1e-12)


def test_the_motion_is_the_solved_one() -> None:
    shown = moving(40.0)
    channel = shown.motions[0]
    assert np.linalg.norm(channel.movement, axis=1).max() == pytest.approx(1.0, rel=1e-12)
    assert channel.times == 40.0
    assert np.nanmax(channel.values) == 1.0
    # Twice the scale is twice as far drawn, of the same movement.
    assert moving(80.0).motions[0].size == pytest.approx(2.0 * channel.size, rel=1e-12)
    assert [m.label for m in shown.motions] == LABELS
    assert channel.key[0] == "Von Mises stress"
    assert channel.words().endswith("; movements drawn 40 x")
    # The reference lines stay where they are.
    lines = np.unique(shown.lines)
    assert len(lines) > 0
    assert not channel.movement[lines].any()


def test_the_film_begins_at_rest_and_closes_its_loop(tmp_path: Path) -> None:
    path = tmp_path / "frame.gif"
    film.write_film(moving(), path)
    found = pictures(path)
    assert len(found) == film.FRAMES
    steps = [apart(one, other) for one, other in zip(found, [*found[1:], found[0]], strict=True)]
    assert min(steps) > 0.0
    assert steps[-1] <= 1.05 * max(steps[:-1])  # from the last to the first as to any other
    full = apart(found[film.FRAMES // 2], found[0])
    assert full == max(apart(one, found[0]) for one in found)
    # It comes down through the pictures by which it went up.
    assert all(apart(found[k], found[-k]) == 0.0 for k in range(1, film.FRAMES // 2))


def test_the_first_picture_is_the_frame_at_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(film, "FRAMES", 2)
    shown = moving()
    motion = shown.motions[0]
    at_rest, loaded = film.film(shown, 0)
    # The same window, for points that nothing is drawn between hold the motion; and no load.
    move = motion.size * motion.movement
    still = replace(shown, points=np.concatenate([shown.points, shown.points + move]))
    values = np.where(np.isfinite(motion.values), 0.0, np.nan)
    alone = replace(
        motion, movement=np.zeros_like(still.points), values=np.concatenate([values, values])
    )
    assert np.array_equal(at_rest, film.film(replace(still, motions=(alone,)), 0)[0])
    assert apart(at_rest, loaded) > 1.0


def test_the_page_holds_every_case_and_no_address() -> None:
    text = moving_page(moving())
    assert "@@" not in text
    assert "default-src 'none'" in text
    assert not re.search(r"https?:|//[a-z]+\.", text.replace("// ", ""))
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.DOTALL)
    assert found is not None
    data = json.loads(found[1])
    assert data["loaded"] is True
    assert [m["label"] for m in data["motions"]] == LABELS
    for packed, motion in zip(data["motions"], moving().motions, strict=True):
        movement = np.frombuffer(base64.b64decode(packed["movement"]), "<i2").reshape(-1, 3) / FINE
        np.testing.assert_allclose(movement, motion.movement, atol=0.6 / FINE)
        values = np.frombuffer(base64.b64decode(packed["values"]), "<i2") / FINE
        told = np.isfinite(motion.values)
        np.testing.assert_allclose(values[told], motion.values[told], atol=0.6 / FINE)
        assert (values[~told] == -1.0).all()
