"""Tables of the first torsion and bending frequencies, for studies that are asked for them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fea.cli.tables import Page
from fea.cli.wrapped import say

if TYPE_CHECKING:
    from fea.result.first_modes import First
    from fea.study.mode_slope import ModeBase, ModeSlope
    from fea.study.parts import PartStudy
    from fea.study.tie_modes import GradeModes
    from fea.study.ties import TieStudy

ASSUMED = (
    "Hung in nothing, with what it carries unladen, joints by beam rules throughout. First: the"
    " lowest mode in which the rails, less their motion as one, chiefly twist or chiefly bend up"
    " and down."
)

FELT = 5e-7
"""Hz below which one more step shows as nothing."""


def print_part_modes(page: Page, found: "PartStudy") -> None:
    """Print the first modes of the sets of parts."""
    stock = found.modes[0]
    sets = {"stock frame": 0, "as the document fits it": found.fitted, "all parts": found.full}
    for k, name in enumerate(found.names):
        sets[f"{name} alone"] = 1 << k
    for k, name in enumerate(found.names):
        sets[f"all but {name}"] = found.full & ~(1 << k)
    rows = []
    for name, mask in sets.items():
        now = found.modes[mask]
        rows.append((name, *_pair(now.torsion, stock.torsion), *_pair(now.bending, stock.bending)))
    heads = ("", "torsion, x stock", "Hz", "bending, x stock", "Hz")
    page.table("First torsion and first vertical bending frequency", heads, rows, range(1, 5))
    say(page, ASSUMED)


def _pair(now: "First | None", before: "First | None") -> tuple[str, str]:
    if now is None:
        return "-", "-"
    ratio = "-" if before is None else f"{now.frequency / before.frequency:.3f}"
    return ratio, _hertz(now)


def _hertz(mode: "First | None") -> str:
    return "-" if mode is None else f"{mode.frequency:.2f}"


def print_tie_modes(
    page: Page, found: "TieStudy", swings: "Sequence[GradeModes]", order: Sequence[int]
) -> None:
    """Print how every candidate changes the first modes, by mounts: torsion, then bending."""
    heads = ("tie at", *(g.name for g in swings))
    rows = [("none, Hz", *(f"{_hertz(g.bare.torsion)} / {_hertz(g.bare.bending)}" for g in swings))]
    rows += [(found.candidates[n].name, *(_gains(g, n) for g in swings)) for n in order]
    title = "First torsion / first vertical bending frequency by mounts, and its change"
    page.table(title, heads, rows, range(1, len(heads)))
    say(page, f"{ASSUMED} Every tie solved in full.")
    if any("*" in cell for row in rows for cell in row):
        say(
            page,
            "*: not like for like: a tie itself lowers no frequency, but with this one another"
            " motion comes first or mixes in.",
        )


def _gains(grade: "GradeModes", number: int) -> str:
    """Return both changes; a mode not like that without the tie is starred."""
    pairs = zip(grade.gains(number), grade.unlike(number), strict=True)
    return " / ".join(_share(gain) + ("*" if unlike else "") for gain, unlike in pairs)


def _share(gain: float | None) -> str:
    if gain is None:
        return "-"
    text = f"{100.0 * gain:+.2f} %"
    return "0.00 %" if text[1:] == "0.00 %" else text


def print_mode_slopes(page: Page, base: "ModeBase", slopes: "Sequence[ModeSlope]") -> None:
    """Print what one more step of every figure adds to the first modes."""
    from fea.study.mode_slope import step_hz
    from fea.study.sensitivity_record import step_words

    rows = []
    for s in slopes:
        steps = [step_hz(d, s.key) for d in (s.torsion, s.bending)]
        if any(step is not None and abs(step) >= FELT for step in steps):
            rows.append((s.key.path, step_words(s.key), *(_mhz(step) for step in steps)))
    title = "What one more step adds to the first torsion and vertical bending frequency"
    heads = ("figure", "step", "torsion, mHz", "bending, mHz")
    page.table(title, heads, rows, range(1, 4))
    torsion, bending = base.first.torsion, base.first.bending
    say(page, f"Now: torsion {_hertz(torsion)} Hz, bending {_hertz(bending)} Hz. {ASSUMED}")
    others = [s.key.path for s in slopes if not s.assembled]
    if others:
        say(page, f"Modes by differences of full solves (the mesh changes): {', '.join(others)}.")


def _mhz(step: float | None) -> str:
    return "-" if step is None else f"{1000.0 * step:+.3f}"
