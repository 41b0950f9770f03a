"""What `section` prints and draws."""

from pathlib import Path
from typing import Any

import numpy as np
import typer

from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.errors import Complaint, DocumentError, ModelError
from fea.frame.model import Section
from fea.out.sketch import sketch
from fea.section.properties import SectionProperties, properties
from fea.section.wear import wall_names, walls_called


def section_listing(
    choice: Choice,
    name: str | None,
    *,
    as_json: bool,
    png: Path | None = None,
    svg: Path | None = None,
) -> None:
    """Print section properties, the open ones beside what boxing makes of them; draw them."""
    wanted = _wanted(choice, name)
    if as_json:
        from fea.out.record import to_json

        record = {"sections": [_section_record(k, s) for k, s in wanted.items()]}
        typer.echo(to_json(record), nl=False)
    else:
        page = Page()
        for label, section in wanted.items():
            _print_section(page, label, section)
    for path, option, ending in ((png, "--png", ".png"), (svg, "--svg", ".svg")):
        if path is not None:
            _draw(choice, name, wanted, path, (option, ending), quiet=as_json)


def _wanted(choice: Choice, name: str | None) -> dict[str, Section]:
    """Return the sections of a frame by name, stock ones and those that each part makes."""
    from fea.document.spelling import choices
    from fea.frame.build import build_frame

    every = tuple(p.name for p in choice.document.part)
    found: dict[str, Section] = {}
    for fit in ((), *((part,) for part in every)):
        frame = build_frame(choice.document, source=str(choice.path), stock=True, fit=fit)
        for member in frame.members:
            if member.side != "left":
                for run in member.runs:
                    if run.section.nominal is not None:
                        new = run.section.nominal
                        found.setdefault(new.name, new)
                    found.setdefault(run.section.name, run.section)
    wanted = found if name is None else {k: s for k, s in found.items() if _belongs(k, name)}
    if not wanted:
        rule = f'there is no section "{name}" in this frame'
        raise ModelError(Complaint(rule, str(choice.path), do=choices(found, name or "")))
    return wanted


def _belongs(label: str, name: str) -> bool:
    """Whether a built section is the one asked for, or that one with a plate on it."""
    return label == name or label.startswith(f"{name} ")


def _draw(
    choice: Choice,
    name: str | None,
    wanted: dict[str, Section],
    path: Path,
    option: tuple[str, str],
    *,
    quiet: bool,
) -> None:
    """Write a drawing of the sections asked for."""
    from fea.cli.busy import busy
    from fea.out.section_drawing import write_sections

    if name is None:
        rule = "a drawing shows one section, with its plate and its wear"
        raise ModelError(Complaint(rule, option[0], do="name it: plumbrail section FRAME NAME"))
    if path.suffix.lower() != option[1]:
        rule = f"the file of {option[0]} must end in {option[1]}"
        raise DocumentError(Complaint(rule, option[0], str(path)))
    title, about = choice.document.title, ""
    entry = choice.document.section.get(name)
    if entry is not None:
        about = entry.about or entry.shape
    with busy("drawing"):
        left = write_sections(list(wanted.values()), path, title=f"{name}: {title}", subtitle=about)
    if not quiet:
        typer.echo(f"wrote {path}")
    if left:
        typer.echo(f"{left} more sections found no room: ask for one by its whole name", err=True)


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
    page.say("  walls: " + ", ".join(f"{n} {t:.4g}" for n, t in _walls(section)) + " mm")
    if section.nominal is not None:
        page.say(f"  {_beside_new(p, section.nominal)}")
    page.say()


def _walls(section: Section) -> list[tuple[str, float]]:
    """Return each wall's name and thickness, mm."""
    midline = section.midline
    return [
        (name, float(midline.thickness[walls_called(midline, name)].max()))
        for name in wall_names(midline)
    ]


def _beside_new(p: SectionProperties, nominal: Section) -> str:
    """Return what is left of the new section's figures, in words."""
    new = properties(nominal.midline)
    rows = (("A", p.A, new.A, "mm2"), ("Iy", p.Iy, new.Iy, "mm4"), ("J", p.J, new.J, "mm4"))
    texts = [f"{what} {was:.4g} {unit}, now {now / was:.1%}" for what, now, was, unit in rows]
    return "new: " + "; ".join(texts)


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
    record = {
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
        "walls": [{"name": n, "thickness_mm": t} for n, t in _walls(section)],
        "new": None,
    }
    if section.nominal is not None:
        new = properties(section.nominal.midline)
        record["new"] = {
            "name": section.nominal.name,
            "area_mm2": new.A,
            "iy_mm4": new.Iy,
            "j_mm4": new.J,
        }
    return record
