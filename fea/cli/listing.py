"""What `check` and `demos` print."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import typer

from fea import units
from fea.cli.options import Choice
from fea.cli.tables import Page, frame_tables
from fea.frame.model import Frame, Mount
from fea.units import System

if TYPE_CHECKING:
    from fea.frame.body import Body, Tie


@dataclass(frozen=True)
class _Bodies:
    """All bodies of a document with the kinds that each stands for, and all ties to them."""

    bodies: "list[tuple[tuple[str, ...], Body]]"
    ties: "list[Tie]"


def frame_listing(choice: Choice, *, as_json: bool, system: System) -> None:
    """Print the contents of a frame document."""
    from fea.result.mass import masses

    frame = choice.frame()
    summary = masses(frame)
    added = _part_masses(choice)
    on_top = _bodies(choice)
    if not as_json:
        page = Page()
        frame_tables(page, frame, summary, added, system)
        _body_tables(page, frame, on_top, system)
        return
    from fea.out.record import to_json

    record = _frame_record(frame, summary.steel, summary.kerb, added) | _body_record(on_top)
    typer.echo(to_json(record), nl=False)


def _part_masses(choice: Choice) -> dict[str, float]:
    """Return the steel that each part alone adds to the stock frame, tonnes."""
    from fea.frame.build import build_frame
    from fea.result.mass import masses

    def steel(fit: tuple[str, ...]) -> float:
        frame = build_frame(
            choice.document,
            source=str(choice.path),
            stock=True,
            fit=fit,
            positions=choice.positions,
        )
        return masses(frame).steel

    names = [part.name for part in choice.document.part]
    base = steel(()) if names else 0.0
    return {name: steel((name,)) - base for name in names}


def _bodies(choice: Choice) -> _Bodies:
    """Return what stands on the frame, whichever kind of body is chosen."""
    from fea.frame.build import build_frame
    from fea.frame.build_body import body_kinds

    bodies: list[tuple[tuple[str, ...], Body]] = []
    ties: dict[tuple[str, str], Tie] = {}
    for kind in body_kinds(choice.document):
        frame = build_frame(
            choice.document,
            source=str(choice.path),
            fit=choice.fit,
            leave=choice.leave,
            stock=choice.stock,
            positions=choice.positions,
            body=kind,
        )
        for body in frame.bodies:
            same = [k for k, (_, b) in enumerate(bodies) if _told(b) == _told(body)]
            if same:
                kinds, first = bodies[same[0]]
                bodies[same[0]] = ((*kinds, kind), first)
            else:
                bodies.append(((kind,), body))
        for tie in frame.ties:
            ties.setdefault((tie.pair, tie.side), tie)
    return _Bodies(bodies, list(ties.values()))


def _told(body: "Body") -> tuple[object, ...]:
    """Return what is listed of a body."""
    names = (tuple(b.name for b in body.beams), tuple(p.name for p in body.panels))
    return body.name, *names, tuple(body.points), body.twist, body.bending


def _body_tables(page: Page, frame: Frame, on_top: _Bodies, system: System) -> None:
    """Print the mounts as they stand, the bodies to choose from, and the ties."""
    if frame.mounts:
        heads: tuple[str, ...] = ("mount", "grade", "state", "holds up and down", "sideways")
        rows = [_mount(mount, system) for mount in frame.mounts]
        page.table("Body mounts as they stand, bracket and state counted", heads, rows, (3, 4))
    if on_top.bodies:
        heads = ("body", "kind", "on mounts", "twist alone", "bending alone")
        rows = [_body(kinds, body, system) for kinds, body in on_top.bodies]
        page.table("Bodies to choose from", heads, rows, (3, 4))
    if on_top.ties:
        heads = ("tie", "", "from", "station", "to", "length")
        rows = [_tie(tie, system) for tie in on_top.ties]
        page.table("Ties between frame and body", heads, rows, (3, 5))


def _mount(mount: Mount, system: System) -> tuple[str, ...]:
    from fea.frame.mounts import effective

    held = effective(mount)
    return (
        f"{mount.name} {mount.side}",
        mount.grade or "its own figures",
        mount.state,
        *(units.show(held[k], "stiffness", system) for k in (2, 1)),
    )


def _body(kinds: tuple[str, ...], body: "Body", system: System) -> tuple[str, ...]:
    twist, bending = body.twist, body.bending
    return (
        body.name,
        ", ".join(kinds),
        " ".join(dict.fromkeys(name for name, _ in body.points)),
        "" if twist is None else units.show(twist.stiffness, "rotational_stiffness", system),
        "" if bending is None else units.show(bending.stiffness, "stiffness", system),
    )


def _tie(tie: "Tie", system: System) -> tuple[str, ...]:
    length = float(np.linalg.norm(np.subtract(tie.body_point, tie.frame_point)))
    return (
        f"{tie.pair} {tie.side}",
        "fitted" if tie.fitted else "left off",
        tie.onto,
        f"{tie.frame_point[0]:.0f}",
        f"{tie.beam} of {tie.body}",
        units.show(length, "length", system),
    )


def _body_record(on_top: _Bodies) -> dict[str, Any]:
    def twist(body: "Body") -> float | None:
        given = body.twist
        kind = "rotational_stiffness"
        return None if given is None else units.convert(given.stiffness, kind, "N m/deg")

    return {
        "bodies": [
            {
                "name": body.name,
                "kinds": list(kinds),
                "beams": [beam.name for beam in body.beams],
                "panels": [panel.name for panel in body.panels],
                "mounts": [{"name": name, "side": side} for name, side in body.points],
                "twist_nm_per_deg": twist(body),
                "bending_n_per_mm": None if body.bending is None else body.bending.stiffness,
            }
            for kinds, body in on_top.bodies
        ],
        "ties": [
            {
                "name": tie.pair,
                "side": tie.side,
                "fitted": tie.fitted,
                "on": tie.onto,
                "frame_point_mm": list(tie.frame_point),
                "body": tie.body,
                "brace": tie.beam,
                "body_point_mm": list(tie.body_point),
            }
            for tie in on_top.ties
        ],
    }


def _frame_record(
    frame: Frame, steel: float, kerb: float, added: dict[str, float]
) -> dict[str, Any]:
    from fea.frame.mounts import effective

    return {
        "format": 1,
        "frame": frame.name,
        "title": frame.title,
        "steel_kg": 1000.0 * steel,
        "kerb_kg": 1000.0 * kerb,
        "members": [
            {
                "name": m.name,
                "kind": m.kind,
                "part": m.part,
                "length_mm": m.runs[-1].end,
                "sections": list(dict.fromkeys(r.section.name for r in m.runs)),
                "joints": {j.end: j.kind for j in frame.joints if j.member == m.name},
            }
            for m in frame.members
        ],
        "parts": [
            {"name": p.name, "fitted": p.fitted, "adds_kg": 1000.0 * added[p.name]}
            for p in frame.parts
        ],
        "mounts": [
            {
                "name": m.name,
                "position_mm": list(m.position),
                "side": m.side,
                "grade": m.grade,
                "state": m.state,
                "stiffness_n_per_mm": [k if np.isfinite(k) else None for k in m.stiffness],
                "holds_n_per_mm": [k if np.isfinite(k) else None for k in effective(m)],
                "on": m.onto,
            }
            for m in frame.mounts
        ],
        "masses": [
            {"name": m.name, "mass_kg": 1000.0 * m.mass, "by": m.carrier, "laden_only": m.laden}
            for m in frame.masses
        ],
    }


def demo_listing() -> None:
    """Print the shipped frames and load cases."""
    from fea.document.find import shipped_cases, shipped_frames
    from fea.document.read import read_case, read_frame

    page = Page()
    frames = [(name, read_frame(path).title) for name, path in shipped_frames().items()]
    page.table("Frames", ("name", "what it is"), frames, ())
    cases = [(name, read_case(path).title) for name, path in shipped_cases().items()]
    page.table("Load cases", ("name", "what it does"), cases, ())
