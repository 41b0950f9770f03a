"""An invented ladder frame as a `Scene`, made by plain arithmetic: nothing here is computed by FE.

Two channel rails, six crossmembers of four sections, a smooth twist about the centreline and a
stress-like field that peaks at the joints: enough to look at every part of a picture.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.out import frame_image
from fea.out.camera import STANDARD, fit
from fea.out.display import Display
from fea.out.scene import BodyLink, Curve, Field, Grillage, Line, Mark, Scene, Walls

Array = NDArray[np.float64]

GOLDEN = Path(__file__).parent / "golden" / "frame.png"
SOFTWARE_ONLY = Display("software")

FRONT, REAR = -620.0, 3880.0
CROSSMEMBERS = (
    # station, shape, half sizes across (station, height), section's name, name
    (-560.0, "tube", (38.0, 38.0), "T 76x3", "front tube"),
    (60.0, "box", (55.0, 40.0), "B 110x80x3", "axle crossmember"),
    (880.0, "channel", (30.0, 60.0), "C 120x60x4", "gearbox crossmember"),
    (1750.0, "box", (30.0, 45.0), "B 90x60x3", "belly box (added)"),
    (2680.0, "channel", (28.0, 60.0), "C 120x56x4", "spring hanger"),
    (3820.0, "channel", (30.0, 50.0), "C 100x60x4", "rear crossmember"),
)


def half_width(x: Array) -> Array:
    """Return the offset of the rails' webs at stations x: narrower at the front, mm."""
    return 360.0 + 75.0 / (1.0 + np.exp(-(x - 450.0) / 140.0))


def rise(x: Array) -> Array:
    """Return the height of the rails' middle at stations x: kicked up over the rear axle, mm."""
    return 520.0 + 95.0 * np.exp(-(((x - 2900.0) / 420.0) ** 2))


def twist(x: Array) -> Array:
    """Return the twist angle at stations x, rad: left side down at the front."""
    return np.deg2rad(0.30 * np.tanh((1500.0 - x) / 1500.0) + 0.02 * np.sin(x / 420.0))


@dataclass(frozen=True, eq=False)
class _Strip:
    points: Array  # (k, c, 3): sections along, points around
    section: str
    name: str


def _around(corners: list[tuple[float, float]], parts: list[int]) -> Array:
    pieces = [
        np.linspace(a, b, n, endpoint=False)
        for a, b, n in zip(corners[:-1], corners[1:], parts, strict=True)
    ]
    return np.concatenate([*pieces, np.array([corners[-1]])])


def _rail(side: float, along: int) -> _Strip:
    x = np.linspace(FRONT, REAR, along + 1)
    # open inboard: the flanges reach from the web towards the centreline
    shape = _around([(58.0, 75.0), (0.0, 75.0), (0.0, -75.0), (58.0, -75.0)], [2, 4, 2])
    y = side * (half_width(x)[:, None] - shape[None, :, 0])
    z = rise(x)[:, None] + shape[None, :, 1]
    points = np.stack([np.broadcast_to(x[:, None], y.shape), y, z], axis=2)
    return _Strip(points, "C 150x58x4", "left rail" if side < 0 else "right rail")


def _crossmember(row: tuple[float, str, tuple[float, float], str, str], along: int) -> _Strip:
    station, shape, (a, b), section, name = row
    if shape == "tube":
        t = np.linspace(0.0, 2 * np.pi, 19)
        around = np.stack([a * np.cos(t), b * np.sin(t)], axis=1)
    elif shape == "box":
        around = _around([(-a, -b), (a, -b), (a, b), (-a, b), (-a, -b)], [3, 2, 3, 2])
    else:
        around = _around([(a, b), (-a, b), (-a, -b), (a, -b)], [2, 4, 2])
    reach = float(half_width(np.array(station))) - 2.0
    y = np.linspace(-reach, reach, along + 1)
    z0 = float(rise(np.array(station)))
    points = np.empty((len(y), len(around), 3))
    points[..., 0] = station + around[None, :, 0]
    points[..., 1] = y[:, None]
    points[..., 2] = z0 + around[None, :, 1]
    return _Strip(points, section, name)


def _movement(points: Array) -> Array:
    angle = twist(points[:, 0])
    return np.stack(
        [np.zeros(len(points)), -angle * (points[:, 2] - 540.0), angle * points[:, 1]], axis=1
    )


def _stress(points: Array) -> Array:
    near = np.zeros(len(points))
    for station, *_ in CROSSMEMBERS:
        near += np.exp(-np.abs(points[:, 0] - station) / 130.0)
    edge = np.abs(points[:, 1]) / 435.0
    return 8.0 + 78.0 * near * edge**2 * (0.6 + 0.4 * np.sin(points[:, 0] / 900.0) ** 2)


def _walls(along_rail: int, along_cross: int) -> Walls:
    strips = [_rail(-1.0, along_rail), _rail(1.0, along_rail)]
    strips += [_crossmember(row, along_cross) for row in CROSSMEMBERS]
    points, quads, member, sections = [], [], [], []
    start = 0
    for number, strip in enumerate(strips):
        k, c, _ = strip.points.shape
        at = start + np.arange(k * c).reshape(k, c)
        cells = np.stack([at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]], axis=2)
        quads.append(cells.reshape(-1, 4))
        points.append(strip.points.reshape(-1, 3))
        member.append(np.full(len(quads[-1]), number, dtype=np.intp))
        sections += [strip.section] * len(quads[-1])
        start += k * c
    p = np.concatenate(points)
    move = _movement(p)
    fields = (
        Field("von Mises stress", "MPa", _stress(p)),
        Field("movement", "mm", np.linalg.norm(move, axis=1)),
    )
    return Walls(
        p, move, np.concatenate(quads), np.concatenate(member),
        tuple(s.name for s in strips), tuple(sections), fields,
    )  # fmt: skip


def _lines() -> tuple[Line, ...]:
    x = np.linspace(FRONT, REAR, 40)
    rails = tuple(
        Line(name, np.stack([x, side * half_width(x), rise(x)], axis=1), None)
        for side, name in ((-1.0, "left rail"), (1.0, "right rail"))
    )
    across = tuple(
        Line(
            name,
            np.array([[s, k * half_width(np.array(s)), rise(np.array(s))] for k in (-1.0, 1.0)]),
            "belly box" if "added" in name else None,
        )
        for s, _, _, _, name in CROSSMEMBERS
    )
    return rails + across


def _marks() -> tuple[Mark, ...]:
    wide_front, wide_rear = 360.0 + 5.0, 435.0
    up, down = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
    return (
        Mark("load", (60.0, wide_front, 595.0), down, "1.32 kN"),
        Mark("load", (60.0, -wide_front, 445.0), up, "1.32 kN"),
        Mark("hold", (2500.0, wide_rear, 500.0), up, "height held"),
        Mark("hold", (3300.0, wide_rear, 490.0), up, "height held"),
        Mark("hold", (2500.0, -wide_rear, 500.0), up, "height held"),
        Mark("hold", (2500.0, -wide_rear, 500.0), (0.0, 1.0, 0.0), "sideways held"),
        Mark("hold", (2500.0, -wide_rear, 500.0), (1.0, 0.0, 0.0), "fore and aft held"),
        Mark("hold", (3300.0, -wide_rear, 490.0), up, "height held"),
    )


def body() -> Grillage:
    """Return a body for the scene: a floor on two sills, borne by a mount and a tie."""
    points = np.array([[x, y, 700.0] for x in (800.0, 1900.0) for y in (-600.0, 600.0)])
    link = np.array([[800.0, 400.0, 560.0], [800.0, 600.0, 700.0]])
    tie = np.array([[1900.0, -400.0, 560.0], [1900.0, -600.0, 700.0]])
    return Grillage(
        name="cab",
        points=points,
        movement=_movement(points),
        beams=np.array([[0, 2], [1, 3], [0, 1], [2, 3]]),
        panels=np.array([[0, 1, 3, 2]]),
        beam_names=("sill left", "sill right", "toe board", "rear wall"),
        panel_names=("floor",),
        links=(
            BodyLink("mount M1 right", "mount", link, _movement(link), "bears 120 N, 118 N up"),
            BodyLink("tie sill left", "tie", tie, _movement(tie), "bears 80 N, 79 N down"),
        ),
    )


def build(along_rail: int = 90, along_cross: int = 20) -> Scene:
    """Return the sample scene; the counts set how finely the members are cut."""
    x = np.linspace(FRONT, REAR, 91)
    angle = np.rad2deg(twist(x))
    marks = tuple((s, name) for s, _, _, _, name in CROSSMEMBERS)
    axles = ((0.0, "front axle"), (2900.0, "rear axle"))
    return Scene(
        title="Orchard pickup, boxed to the belly",
        subtitle="twist, 1000 N m at the front axle, rear axle held",
        facts=(
            ("as stiff in twist as stock", "1.46 x"),
            ("twist stiffness", "2 310 N m/deg (1 704 ft lbf/deg)"),
            ("twist between the axles", "0.433 deg"),
            ("highest stress", "124 MPa at the gearbox crossmember"),
            ("added mass", "11.8 kg"),
            ("softest", "axle crossmember to gearbox crossmember"),
        ),
        walls=_walls(along_rail, along_cross),
        lines=_lines(),
        marks=_marks(),
        stations=tuple(sorted(marks + axles)),
        profile=(
            Curve("boxed", "deg", x, angle),
            Curve("stock", "deg", x, 1.46 * angle + 0.015 * np.sin(x / 300.0), dashed=True),
        ),
        profile_title="Twist angle along the frame",
        soft=(
            ("axle to gearbox bay", 31.2),
            ("gearbox to belly bay", 22.7),
            ("belly box to spring hanger", 17.9),
            ("front bay", 12.4),
            ("spring hanger", 6.1),
            ("rear bay", 4.3),
        ),
        notes=(
            "Joints: crossmembers welded to the web and both flanges; warping is taken as held "
            "at the boxed length only.",
            "Mounts and body are not in this case. Stress is on the midline of each wall and "
            "leaves out the weld toe.",
        ),
    )


def golden_layers() -> NDArray[np.uint8]:
    """Return the small picture of the sample, drawn in software, rows x columns x 3."""
    return flattened(build(45, 12), 50.0, SOFTWARE_ONLY)


def flattened(scene: Scene, scale: float, display: Display) -> NDArray[np.uint8]:
    """Return a scene's frame alone, 400 pixels wide, on white."""
    size = (400, 156)
    points = np.concatenate([scene.walls.points, scene.walls.points + 50.0 * scene.walls.movement])
    window = fit(STANDARD.project(points), size[0] / size[1])
    layers = frame_image.draw(scene, scale, STANDARD, window, size=size, display=display)
    page = np.ones((size[1], size[0], 3))
    for layer in (layers.ghost, layers.frame):
        page = page * (1.0 - layer[..., 3:]) + layer[..., :3] * layer[..., 3:]
    return np.rint(page * 255.0).astype(np.uint8)


if __name__ == "__main__":  # draw the golden picture anew, after looking at the difference
    from matplotlib.image import imsave

    imsave(GOLDEN, golden_layers())
