"""What `verify` prints."""

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from fea.cli.tables import Page

if TYPE_CHECKING:
    from fea.verify import CaseResult


def print_results(results: "Sequence[CaseResult]") -> None:
    """Print the checks under their sources, one line each, and the count."""
    page = Page()
    width = max((len(r.id) for r in results), default=0)
    head = f"{'check':<{width}} {'computed':>13} {'published':>13} {'off by':>9} {'within':>9}"
    page.say("Computed beside published", "bold")
    for source, group in groupby(results, key=lambda r: r.source):
        rows = list(group)
        page.say()
        page.say(f"{source} ({', '.join(dict.fromkeys(r.certainty for r in rows))})")
        page.say(head)
        for r in rows:
            off = r.computed / r.expected - 1.0 if r.expected else r.computed
            figures = f"{r.computed:>13.6g} {r.expected:>13.6g} {off:>+9.1e} {r.tolerance:>9.1e}"
            page.say(f"{r.id:<{width}} {figures}  {'ok ' if r.ok else 'OFF'} {r.unit}".rstrip())
    good = sum(r.ok for r in results)
    page.say()
    page.say(
        "Certainty: found, the printed value was seen; memory, it was recalled; derived, a closed"
        " form or a second computation of our own."
    )
    wide = sum(r.tolerance > 0.01 for r in results)
    page.say(
        f"{good} of {len(results)} checks within tolerance; {wide} of them allow over 1 %, where"
        " the printed figure is known to differ from a thin-wall model (each case says why)."
    )
