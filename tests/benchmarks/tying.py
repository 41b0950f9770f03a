"""Two hundred candidate ties, against two solves of the vehicle in full."""

from collections.abc import Iterator
from dataclasses import replace

from figures import Figure, versus

from fea.document.find import find_case, find_frame
from fea.document.read import read_case, read_frame
from fea.frame.body import Tie
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.frame.model import Frame
from fea.frame.path import distance_at_station, point_at
from fea.frame.ties import candidates, place
from fea.load import loads
from fea.mesh.mesh import Mesh
from fea.solve.system import hold, system
from fea.study.ties import meshed, prepare, solved

CANDIDATES = 200


def figures(full: bool) -> Iterator[Figure]:
    """Yield the study of ties, from a mesh to every gain, against solves from a mesh."""
    path = find_frame("harbour_tourer")
    frame = build_frame(read_frame(path), source=str(path), body="open")
    cases = tuple(build_case(read_case(find_case(name))) for name in ("twist", "bending"))
    vehicle, mesh = meshed(frame, _many(frame), cases, sheet_joints=False)

    def study() -> object:
        return solved(prepare(vehicle, mesh, cases), ["as fitted"])

    def twice() -> None:
        for _ in range(2):
            _solve(vehicle, mesh, cases)

    assert len(study().candidates) == CANDIDATES
    ours, reference = versus(study, twice)
    yield Figure("ties: every gain", f"{CANDIDATES} ties", ours, "2 full solves", reference)
    each = 0.5 * reference
    told = f"a full solve each (1 timed, times {CANDIDATES})"
    yield Figure("ties: every gain", f"{CANDIDATES} ties", ours, told, CANDIDATES * each)


def _solve(frame: Frame, mesh: Mesh, cases: tuple) -> None:
    whole = system(mesh)
    for case in cases:
        load = loads(frame, mesh, case)
        hold(whole, load.rows, load.values[:, None]).solve(load.force[:, None])


def _many(frame: Frame) -> list[Tie]:
    """Return ties from places all along the rails to the floor braces nearest to them."""
    found: list[Tie] = []
    own = [t for t in candidates(frame, reach=600.0) if not t.fitted]
    step = 0
    while len(found) < CANDIDATES:
        for tie in own:
            rail = frame.member(tie.onto)
            station = tie.frame_point[0] + (7.0 * step if step % 2 else -7.0 * step)
            station = min(max(station, rail.path[0, 0] + 1.0), rail.path[-1, 0] - 1.0)
            distance = distance_at_station(rail.path, station)
            found.append(
                replace(
                    tie,
                    pair=f"tie {len(found)}",
                    distance=distance,
                    frame_point=place(point_at(rail.path, distance)),
                )
            )
        step += 1
    return found[:CANDIDATES]
