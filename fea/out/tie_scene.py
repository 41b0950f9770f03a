"""A picture of frame and body with every candidate tie, marked by what it adds."""

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.analyse import Solution, analyse
from fea.frame.mounts import with_grade
from fea.mesh.vehicle import tie_label
from fea.out.frame_scene import scene
from fea.out.picture import PictureReport, write_png
from fea.out.scene import Curve, Rated, Scene
from fea.result.answer import answers
from fea.solve.condense import Store
from fea.study.ties import Grade, TieStudy

Array = NDArray[np.float64]


def write_tie_picture(
    study: TieStudy,
    grade_index: int,
    path: Path,
    *,
    kind: str = "",
    store: Store | None = None,
    scale: float | None = None,
    width: int = 2000,
    software: bool = False,
) -> PictureReport:
    """Write a picture of the vehicle twisted without a tie, the candidates marked by gain.

    Parameters
    ----------
    grade_index : which of the study's grades of mounts
    kind : the kind of body, for the heading; by itself the bodies' names stand there
    store : where condensed sheet metal is kept; by default for this call only
    scale, width, software : as in :func:`fea.out.picture.write_png`
    """
    shown = tie_scene(study, grade_index, kind, store)
    return write_png(shown, path, scale=scale, width=width, software=software)


def tie_scene(
    study: TieStudy, grade_index: int, kind: str = "", store: Store | None = None
) -> Scene:
    """Return the scene: walls plain, so that only the candidates' gains have colours."""
    grade = study.grades[grade_index]
    frame = study.frame
    if grade.name != "as fitted":
        frame = with_grade(frame, grade.name)
    solved = analyse(frame, study.cases[:1], sheet_joints=bool(study.mesh.patches), store=store)
    base = scene(answers(solved)[0])
    best = max(range(len(grade.outcomes)), key=lambda n: grade.outcomes[n].twist_gain)
    on_top = f"{kind} body" if kind else ", ".join(b.name for b in frame.bodies)
    return replace(
        base,
        title=f"{base.title}, {on_top}",
        subtitle=f"candidate ties between frame and body, mounts: {grade.name}; {base.subtitle}",
        facts=_facts(study, grade, best),
        walls=replace(base.walls, fields=()),
        marks=tuple(replace(m, text="") if m.kind == "hold" else m for m in base.marks),
        profile=_profile(study, grade, best),
        notes=("Triangles: where the frame is held.", *base.notes),
        rated=_rated(study, grade, solved.solutions[0]),
    )


def _rated(study: TieStudy, grade: Grade, solution: Solution) -> Rated:
    """Return the candidates as links, both sides, the text on the left one, which is nearer."""
    mesh = solution.mesh
    motions = solution.u.reshape(len(mesh.points), -1)[:, :6]
    node_of = {label: node for at in mesh.bodies for label, node in at.node_of.items()}
    ends, moves, values, texts = [], [], [], []
    for candidate, outcome in zip(study.candidates, grade.outcomes, strict=True):
        gain = 100.0 * outcome.twist_gain
        told = min(candidate.ties, key=lambda tie: tie.body_point[1])
        for tie in candidate.ties:
            both = np.array([tie.frame_point, tie.body_point])
            nodes = np.array([mesh.node_at(tie.onto, tie.distance), node_of[tie_label(tie)]])
            ends.append(both)
            moves.append(
                motions[nodes, :3] + np.cross(motions[nodes, 3:], both - mesh.points[nodes])
            )
            values.append(gain)
            texts.append(f"{candidate.name}\n{_signed(gain)}" if tie is told else "")
    return Rated(
        "Gain in twist stiffness", "%", np.array(ends), np.array(moves), np.array(values),
        tuple(texts),
    )  # fmt: skip


def _signed(gain: float) -> str:
    """Return a gain in per cent with its sign.

    >>> _signed(5.58), _signed(-0.04)
    ('+5.6 %', '0.0 %')
    """
    text = f"{gain:+.1f} %"
    return "0.0 %" if text[1:] == "0.0 %" else text.replace("-", "\u2212")


def _facts(study: TieStudy, grade: Grade, best: int) -> tuple[tuple[str, str], ...]:
    outcome, kind = grade.outcomes[best], "rotational_stiffness"
    now = units.show(outcome.vehicle.twist, kind)
    return (
        (f"Twist stiffness with {study.candidates[best].name}",
         f"{_signed(100.0 * outcome.twist_gain)}: {now}"),
        ("Without a tie", units.show(grade.bare.twist, kind)),
        ("Bending stiffness with it", f"{_signed(100.0 * outcome.bending_gain)}"),
        ("Force in one tie per degree of twist", units.show(outcome.force, "force")),
    )  # fmt: skip


def _profile(study: TieStudy, grade: Grade, best: int) -> tuple[Curve, ...]:
    """Return the twist without a tie and with the best one."""
    out = []
    for state, name, dashed in (
        (grade.outcomes[best].vehicle, f"with {study.candidates[best].name}", False),
        (grade.bare, "no tie", True),
    ):
        line = state.profile
        out.append(Curve(name, "deg", line.stations, np.degrees(line.angle), dashed))
    return tuple(out)
