"""Wall loss: what is left of which walls, and how it is told."""

import numpy as np
import pytest

from fea.errors import ModelError
from fea.section import shapes
from fea.section.properties import properties
from fea.section.wear import Wear, wall_names, walls_called, words, worn

CHANNEL = shapes.channel(depth=150, flange=60, wall=4)
BOXED = shapes.boxed_channel(depth=150, flange=60, wall=4, plate=3)


def test_loss_of_the_whole_section():
    after = worn(CHANNEL, [Wear(loss=0.8)])
    np.testing.assert_allclose(after.thickness, 3.2, rtol=1e-14)
    assert words(CHANNEL, after) == "worn 0.8"
    # the middle of the sheet stays: area in proportion, J with the cube
    p, q = properties(CHANNEL), properties(after)
    assert pytest.approx(0.8, rel=1e-12) == q.A / p.A
    assert pytest.approx(0.8**3, rel=1e-12) == q.J / p.J
    assert q.Cw / p.Cw == pytest.approx(0.8, rel=1e-12)


def test_what_is_left_as_measured():
    after = worn(CHANNEL, [Wear(walls=("web",), left=3.1), Wear(walls=("bottom flange",), left=4)])
    assert after.thickness.tolist() == [4.0, 3.1, 4.0]
    assert words(CHANNEL, after) == "worn web 0.9"
    assert words(CHANNEL, worn(CHANNEL, [Wear(left=4.0)])) == ""


def test_a_plate_put_on_later_is_spared_unless_named():
    after = worn(BOXED, [Wear(loss=0.8)], spared=("plate",))
    assert after.thickness.tolist() == pytest.approx([3.2, 3.2, 3.2, 3.0])
    assert words(BOXED, after, spared=("plate",)) == "worn 0.8"
    named = worn(BOXED, [Wear(walls=("plate",), loss=0.5)], spared=("plate",))
    assert named.thickness.tolist() == [4.0, 4.0, 4.0, 2.5]
    assert words(BOXED, named, spared=("plate",)) == "worn plate 0.5"


def test_a_word_may_mean_several_walls():
    assert walls_called(CHANNEL, "flange").tolist() == [True, False, True]
    after = worn(CHANNEL, [Wear(walls=("flange",), loss=1.0)])
    assert after.thickness.tolist() == [3.0, 4.0, 3.0]
    assert words(CHANNEL, after) == "worn bottom flange 1, top flange 1"
    tube = worn(shapes.tube(diameter=60.3, wall=2.6), [Wear(walls=("wall",), loss=0.6)])
    assert tube.thickness == pytest.approx(np.full(120, tube.thickness[0]))
    assert tube.thickness[0] == pytest.approx(2.0, rel=1e-3)


def test_every_shape_names_its_walls():
    lipped = shapes.lipped_channel(depth=150, flange=60, lip=20, wall=3, corner=6)
    assert wall_names(lipped) == ("bottom lip", "bottom flange", "web", "top flange", "top lip")
    free = shapes.free({"a": (0, 0), "b": (50, 0), "c": (50, 30)}, [("a", "b", 3), ("b", "c", 2)])
    assert wall_names(free) == ("a to b", "b to c")


@pytest.mark.parametrize(
    ("wear", "texts"),
    [
        (Wear(loss=4.0), ("some metal of the bottom flange, 4 mm", "4 mm lost, 0 mm left")),
        (
            Wear(walls=("web",), loss=4.5),
            ("of the web, 4 mm when new", "4.5 mm lost, -0.5 mm left"),
        ),
        (
            Wear(walls=("web",), left=4.2),
            ("left must not be more than the web has when new, 4 mm",),
        ),
        (Wear(walls=("plate",), loss=1.0), ('"plate"', 'its walls are "bottom flange", "web"')),
    ],
)
def test_wear_that_is_refused(wear, texts):
    with pytest.raises(ModelError) as error:
        worn(CHANNEL, [wear])
    for text in texts:
        assert text in str(error.value)
