"""The picture of parts: every part's metal has its share, stock metal none; charts."""

import numpy as np
import pytest
from handmade import case

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.out.parts_chart import page
from fea.out.parts_scene import parts_scene
from fea.out.scene import Scene
from fea.study.parts import PartStudy, study
from fea.study.variant import Setting, Variant

PARTS = """
[[part]]
name = "plates"
[[part.boxing]]
rail = "rail"
from = "600 mm"
to = "1500 mm"
plate = "3 mm"

[[part]]
name = "cross"
[[part.crossmember]]
name = "C"
station = "2000 mm"
section = "cross_channel"
joint = "web"
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> PartStudy:
    path = tmp_path_factory.mktemp("parts") / "ladder.toml"
    text = find_frame("ladder_web_butt").read_text(encoding="utf-8")
    path.write_text(text + PARTS, encoding="utf-8")
    cases = (case("twist"), case("bending"))
    return study(Setting(read_frame(path), str(path), cases), Variant(), workers=1)


@pytest.fixture(scope="module")
def shown(found: PartStudy) -> Scene:
    return parts_scene(found)


def test_every_part_has_its_share(found: PartStudy, shown: Scene) -> None:
    walls = shown.walls
    (field,) = walls.fields
    value = field.values[walls.quads]
    assert ((value == value[:, :1]) | np.isnan(value)).all()
    middle = walls.points[walls.quads].mean(axis=1)
    shares = [100.0 * found.share(k, "twist")[0] / found.shared("twist") for k in (0, 1)]
    assert sum(shares) == pytest.approx(100.0)
    on_rail = np.array([walls.members[m].startswith("rail") for m in walls.member])
    boxed = on_rail & (middle[:, 0] > 600.0) & (middle[:, 0] < 1500.0)
    cross = walls.member == walls.members.index("C")
    assert boxed.any()
    assert value[boxed, 0] == pytest.approx(shares[0])
    assert value[cross, 0] == pytest.approx(shares[1])
    assert np.isnan(value[~boxed & ~cross]).all()


def test_the_walls_are_where_they_were(found: PartStudy, shown: Scene) -> None:
    walls = shown.walls
    assert len(walls.points) == 4 * len(walls.quads) == len(walls.movement)
    assert len(walls.sections) == len(walls.quads)
    assert float(np.ptp(walls.points[:, 0])) >= 2400.0
    assert shown.facts[0][0] == "Twist stiffness"
    assert {name for name, _ in shown.facts[1:]} == {"plates", "cross"}
    assert "stock metal is grey" in shown.subtitle


def test_the_chart_has_a_bar_for_every_share(found: PartStudy) -> None:
    pytest.importorskip("matplotlib")
    figure = page(found, 400)
    twist, bending, _ = figure.axes
    assert [t.get_text() for t in twist.get_yticklabels()] == ["plates", "cross"]
    for axes, measure in ((twist, "twist"), (bending, "bending")):
        widths = [bar.get_width() for bar in axes.patches if hasattr(bar, "get_width")][:2]
        assert widths == pytest.approx([100.0 * found.share(k, measure)[0] for k in (0, 1)])
