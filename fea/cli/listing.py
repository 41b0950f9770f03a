"""What `check` and `demos` print."""

from typing import Any

import numpy as np
import typer

from fea.cli.options import Choice
from fea.cli.tables import Page, frame_tables
from fea.frame.model import Frame
from fea.units import System


def frame_listing(choice: Choice, *, as_json: bool, system: System) -> None:
    """Print the contents of a frame document."""
    from fea.result.mass import masses

    frame = choice.frame()
    summary = masses(frame)
    added = _part_masses(choice)
    if not as_json:
        frame_tables(Page(), frame, summary, added, system)
        return
    from fea.out.record import to_json

    typer.echo(to_json(_frame_record(frame, summary.steel, summary.kerb, added)), nl=False)


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


def _frame_record(
    frame: Frame, steel: float, kerb: float, added: dict[str, float]
) -> dict[str, Any]:
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
                "stiffness_n_per_mm": [k if np.isfinite(k) else None for k in m.stiffness],
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
