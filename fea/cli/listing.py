"""What `check`, `section` and `demos` print."""

from typing import Any

import numpy as np
import typer

from fea.cli.options import Choice
from fea.cli.tables import Page, frame_tables
from fea.frame.model import Frame, Section
from fea.out.sketch import sketch
from fea.section.properties import SectionProperties, properties
from fea.units import System


def frame_listing(choice: Choice, *, as_json: bool, system: System) -> None:
    """Print the contents of a frame document."""
    from fea.mesh.discretise import discretise
    from fea.result.mass import masses

    frame = choice.frame()
    summary = masses(frame, discretise(frame))
    added = _part_masses(choice)
    if not as_json:
        frame_tables(Page(), frame, summary, added, system)
        return
    from fea.out.record import to_json

    typer.echo(to_json(_frame_record(frame, summary.steel, summary.kerb, added)), nl=False)


def _part_masses(choice: Choice) -> dict[str, float]:
    """Return the steel that each part alone adds to the stock frame, tonnes."""
    from fea.frame.build import build_frame
    from fea.mesh.discretise import discretise
    from fea.result.mass import masses

    def steel(fit: tuple[str, ...]) -> float:
        frame = build_frame(
            choice.document,
            source=str(choice.path),
            stock=True,
            fit=fit,
            positions=choice.positions,
        )
        return masses(frame, discretise(frame)).steel

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


def section_listing(choice: Choice, name: str | None, *, as_json: bool) -> None:
    """Print section properties, the open ones beside what boxing makes of them."""
    from fea.document.spelling import choices
    from fea.errors import Complaint, ModelError
    from fea.frame.build import build_frame

    every = tuple(p.name for p in choice.document.part)
    found: dict[str, Section] = {}
    for fit in ((), *((part,) for part in every)):
        frame = build_frame(choice.document, source=str(choice.path), stock=True, fit=fit)
        for member in frame.members:
            if member.side != "left":
                for run in member.runs:
                    found.setdefault(run.section.name, run.section)
    wanted = found if name is None else {k: s for k, s in found.items() if _belongs(k, name)}
    if not wanted:
        raise ModelError(
            Complaint(
                f'there is no section "{name}" in this frame',
                str(choice.path),
                do=choices(found, name or ""),
            )
        )
    if as_json:
        from fea.out.record import to_json

        record = {"sections": [_section_record(k, s) for k, s in wanted.items()]}
        typer.echo(to_json(record), nl=False)
        return
    page = Page()
    for label, section in wanted.items():
        _print_section(page, label, section)


def _belongs(label: str, name: str) -> bool:
    """Whether a built section is the one asked for, or that one with a plate on it."""
    return label == name or label.startswith(f"{name} ")


def _print_section(page: Page, label: str, section: Section) -> None:
    p = properties(section.midline)
    kind = "closed" if p.is_closed else "open"
    page.say(f"{label} ({kind}, {section.depth:.4g} x {section.width:.4g} mm)", "bold")
    figures = _figures(p)
    drawing = sketch(section.midline, p)
    rows = max(len(figures), len(drawing))
    width = max(len(line) for line in drawing)
    for k in range(rows):
        left = drawing[k] if k < len(drawing) else ""
        right = figures[k] if k < len(figures) else ""
        page.say(f"  {left:<{width}}   {right}".rstrip())
    page.say()


def _figures(p: SectionProperties) -> list[str]:
    c, s = p.centroid, p.shear_centre
    lines = [
        f"area A                 {p.A:10.1f} mm2",
        f"Iy (bends up and down) {p.Iy:10.4g} mm4",
        f"Iz (bends sideways)    {p.Iz:10.4g} mm4",
        f"J (Saint-Venant)       {p.J:10.4g} mm4",
        f"Cw (warping)           {p.Cw:10.4g} mm6",
        f"shear area sideways    {_shear_area(p, 0):10.1f} mm2",
        f"shear area upright     {_shear_area(p, 1):10.1f} mm2",
        f"centroid C at          {c[0]:.1f}, {c[1]:.1f} mm from the reference point",
        f"shear centre S at      {s[0]:.1f}, {s[1]:.1f} mm",
        f"steel mass             {p.A * 7.85e-6 * 1000.0:10.2f} kg/m at 7850 kg/m3",
    ]
    if abs(p.angle) > 1e-6:
        lines.append(
            f"principal axes turned {np.degrees(p.angle):.1f} deg: I1 {p.I1:.4g}, I2 {p.I2:.4g} mm4"
        )
    return lines


def _shear_area(p: SectionProperties, axis: int) -> float:
    return float(1.0 / p.shear[axis, axis])


def _section_record(label: str, section: Section) -> dict[str, Any]:
    p = properties(section.midline)
    return {
        "name": label,
        "closed": p.is_closed,
        "area_mm2": p.A,
        "iy_mm4": p.Iy,
        "iz_mm4": p.Iz,
        "iyz_mm4": p.Iyz,
        "i1_mm4": p.I1,
        "i2_mm4": p.I2,
        "principal_angle_deg": float(np.degrees(p.angle)),
        "j_mm4": p.J,
        "cw_mm6": p.Cw,
        "shear_area_1_mm2": _shear_area(p, 0),
        "shear_area_2_mm2": _shear_area(p, 1),
        "centroid_mm": p.centroid.tolist(),
        "shear_centre_mm": p.shear_centre.tolist(),
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
