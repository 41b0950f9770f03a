"""What `confidence` does and prints: bands of the gains, and which figure makes them."""

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.many import CAUTION, check_joints, running, setting_of
from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.cli.wrapped import say
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.study.confidence import Band, Confidence, Spread
    from fea.units import System

KINDS = {"twist": "rotational_stiffness", "bending": "stiffness"}

QUICK = 200
"""Frames below which more processes only cost: starting one takes as long as 50 frames."""


def trust(
    choice: Choice,
    given: Sequence[str],
    draws: int,
    seed: int,
    workers: int | None,
    system: "System",
    *,
    joints: str = "beam",
    coarse: float = 1.0,
    as_json: bool,
) -> None:
    """Draw, and print bands, odds and what matters most."""
    from fea.study.confidence import confidence
    from fea.study.confidence_record import as_record
    from fea.study.engine import cores
    from fea.study.tolerances import tolerances

    check_joints(joints)
    sheet = joints == "sheet"
    found = tolerances(choice.document, _pairs(given))
    setting, _, fitted = setting_of(choice, None, sheet=sheet)
    if sheet:
        setting = replace(setting, coarse=coarse)
        with running("solving frames", workers, None, None) as runner:
            study = confidence(
                setting, found, fitted, draws=draws, seed=seed, positions=choice.positions,
                runner=runner,
            )  # fmt: skip
    else:
        n_frames = draws * (len(fitted) + 2)
        jobs = workers or (cores() if n_frames > QUICK else 1)
        with busy(f"solving {n_frames} frames"):
            study = confidence(
                setting, found, fitted, draws=draws, seed=seed, positions=choice.positions,
                jobs=jobs,
            )  # fmt: skip
    if as_json:
        typer.echo(json.dumps(as_record(study), indent=2, ensure_ascii=False, allow_nan=False))
        return
    page = Page()
    say(page, f"{choice.document.title}: how sure the gains are", "bold")
    say(page, f"Parts fitted: {', '.join(fitted) or 'none'}.")
    _inputs(page, study)
    _stock(page, study, system)
    _gains(page, study)
    _ranking(page, study)
    say(
        page,
        f"{study.draws} draws (seed {study.seed}), each figure evenly within its limits and on its"
        f" own; bands hold the middle nine tenths. {_basis(study, coarse)}",
    )
    say(page, CAUTION)


def _basis(study: "Confidence", coarse: float) -> str:
    """Say what the draws rest on."""
    if study.miss is None:
        return "Joints by beam rules: their own error is not in."
    size = "" if coarse == 1.0 else f" {coarse:g} times as coarse as usual"
    draw = "nearest half way to an end" if len(study.tolerances) == 1 else "farthest off"
    return (
        f"Joints as sheet metal{size}: {study.solves} frames were solved, each figure at both ends"
        " of its range; draws follow curves through those, and what one figure does to the effect"
        f" of another is left out. First order is the line from end to end. The draw {draw}"
        f" was solved in full: the curves miss it by {100.0 * study.miss:.2g} %."
    )


def _pairs(given: Sequence[str]) -> dict[str, str]:
    out = {}
    for text in given:
        path, equals, amount = (part.strip() for part in text.rpartition("="))
        if not equals:
            raise DocumentError(
                Complaint(
                    "a tolerance is written PATH=AMOUNT",
                    "--tolerance",
                    text,
                    'such as --tolerance "rail.wall=0.2 mm"',
                )
            )
        out[path] = amount
    return out


def _inputs(page: Page, study: "Confidence") -> None:
    """Print which figure matters: to the gain of all parts, or to stock where there are none."""
    bases = {
        m: study.gains[m].get("") or next(iter(study.gains[m].values()), spread)
        for m, spread in study.stock.items()
    }
    if not bases:
        return
    rows = []
    for k in np.argsort(-next(iter(bases.values())).shares, kind="stable").tolist():
        t = study.tolerances[k]
        unit = units.KINDS[t.kind].si
        mean, half = (units.convert(x, t.kind, unit) for x in (t.mean, t.half))
        shares = [f"{100.0 * s.shares[k]:.0f} %" for s in bases.values()]
        rows.append((t.path, f"{mean:.4g} +- {half:.4g} {unit}", *shares))
    title = "Which figure matters most: share of the variance"
    page.table(title, ["figure", "", *bases], rows, range(1, 2 + len(bases)))
    for m, spread in bases.items():
        if spread.shares.any():
            path = study.tolerances[int(spread.shares.argmax())].path
            say(page, f"What to measure better, for {m}: {path}.")


def _stock(page: Page, study: "Confidence", system: "System") -> None:
    rows = []
    for m, spread in study.stock.items():
        texts = [_plain(x, m, system) for x in (spread.band.nominal, spread.band.low,
                                                 spread.band.high)]  # fmt: skip
        line = [_plain(x, m, system) for x in (spread.linear.low, spread.linear.high)]
        rows.append((m, texts[0], f"{texts[1]} to {texts[2]}", f"{line[0]} to {line[1]}"))
    page.table("Stock frame", ("", "by the means", "drawn", "first order"), rows, (1, 2, 3))


def _plain(value: float, measure: str, system: "System") -> str:
    return units.show(value, KINDS[measure], system).split(" (")[0]


def _gains(page: Page, study: "Confidence") -> None:
    for m, each in study.gains.items():
        rows = [(name or "all of them together", *_bands(s)) for name, s in each.items()]
        if rows:
            heads = ("part, alone", "by the means", "drawn", "first order")
            page.table(f"Gains over stock in {m}, per cent", heads, rows, (1, 2, 3))


def _bands(spread: "Spread") -> list[str]:
    def words(band: "Band") -> str:
        return f"{100.0 * band.low:+.2f} to {100.0 * band.high:+.2f}"

    return [f"{100.0 * spread.band.nominal:+.2f}", words(spread.band), words(spread.linear)]


def _ranking(page: Page, study: "Confidence") -> None:
    if study.right is None or study.first is None:
        return
    say(page, f"Ranking by twist gain alone: {', '.join(study.ranking)}.")
    say(
        page,
        f"It is right with a probability of {100.0 * study.right:.0f} %; {study.ranking[0]} is"
        f" first with {100.0 * study.first:.0f} %.",
    )
    close = [
        f"{a} before {b} {100.0 * p:.0f} %"
        for a, b, p in zip(study.ranking[:-1], study.ranking[1:], study.ahead.tolist(), strict=True)
        if p < 0.995
    ]
    if close:
        say(page, f"Not certain: {'; '.join(close)}.")
