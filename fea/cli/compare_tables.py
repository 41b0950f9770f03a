"""The tables of `compare`: what got worse, then the ratio first and both figures beside it."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from fea import units
from fea.cli.tables import Page
from fea.cli.wrapped import say
from fea.study.compare import Comparison, Figure, Group, Kind, Pair
from fea.study.compare_places import TWIN
from fea.study.compare_record import sentence

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."

MOST_PLACES = 12
"""Places that got worse that are told one by one, along members and about joints each."""

MOST_ROWS = 16
"""Lines of a table of joints or mounts."""

APART = 2
"""Up to so many cases each has tables of its own; beyond, the worst of all stands in one."""

MOST_NAMES = 6
"""Names in one sentence."""

LOADED: tuple[Kind, ...] = ("joint", "mount")
"""What is told by the load it carries."""

STATES: tuple[Literal["before", "after"], ...] = ("before", "after")

SAME = 0.0005
"""A change of less than this share is none."""


def print_comparison(found: Comparison, said: tuple[str, ...], system: units.System) -> None:
    """Print the whole comparison."""
    page = Page()
    before, after = found.before, found.after
    titles = dict.fromkeys(s.frame.title for s in (before, after))
    page.say(f"{' and '.join(titles)}: {before.label} against {after.label}", "bold")
    for word, state in (("Before", before), ("After", after)):
        parts = ", ".join(state.frame.fitted)
        label = "" if state.label == word.lower() else f", {state.label}"
        say(page, f"{word}{label}: {parts or 'no added part fitted'}.")
    for line in said:
        say(page, line)
    _worse(page, found, system)
    _figures(page, found, system)
    for group in found.groups if len(found.groups) <= APART else (found.overall,):
        _members(page, group, system)
        _joints(page, group, system)
        _mounts(page, group, system)
    for line in dict.fromkeys(line for a in after.answers for line in a.assumed):
        say(page, f"Assumed: {line}.")
    if after.modes is not None:
        n = len(after.modes.modes)
        about = f"what is not among a state's lowest {n} by name is not found"
        say(page, f"Modes: hung in nothing, with all that the frame carries; {about}.")
    page.say(CAUTION)


def _worse(page: Page, found: Comparison, system: units.System) -> None:
    """Print the places that got worse."""
    several = len(found.groups) > 1
    limit = f"{100.0 * found.limit:.3g} %"
    numbered = list(enumerate(found.places, start=1))  # as the picture numbers them
    along = [(k, p) for k, p in numbered if not p.about]
    about = [(k, p) for k, p in numbered if p.about]
    page.say()
    if not along:
        page.say(f"No place along a member is stressed more by over {limit}.", "bold")
    else:
        page.say(f"Stressed more by over {limit}, the largest rise first:", "bold")
    for k, p in along[:MOST_PLACES]:
        say(page, f"{k:>2} {sentence(p, system, case=several)}")
    _rest(page, len(along) - MOST_PLACES)
    if about:
        page.say("In sheet metal about joints (shells rank them, and are no limit):", "bold")
    for k, p in about[:MOST_PLACES]:
        say(page, f"{k:>2} {sentence(p, system, case=several)}")
    _rest(page, len(about) - MOST_PLACES)
    _heavier(page, found)


def _rest(page: Page, more: int) -> None:
    if more > 0:
        page.say(f"  and {more} more, all in --csv and --json.")


def _heavier(page: Page, found: Comparison) -> None:
    """Say which members rose without being stressed much, and which joints and mounts by load."""
    limit = f"{100.0 * found.limit:.3g} %"
    told = {name for p in found.places for name in p.members}
    low = [pair for _, pair in found.heavier("member") if pair.name not in told]
    if low:
        say(page, f"Up by over {limit}, yet stressed little: {_names(low)}.")
    for kind in LOADED:
        pairs = [p for _, p in found.heavier(kind) if p.figure in ("moment", "force")]
        if pairs:
            say(page, f"Loaded more by over {limit}, {kind}s: {_names(pairs)}.")


def _names(pairs: Sequence[Pair]) -> str:
    """Return the names of some pairs, each once, not too many."""
    names = list(dict.fromkeys(p.name for p in merged(pairs)))
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return ", ".join(names[:MOST_NAMES]) + more


def merged(pairs: Sequence[Pair]) -> list[Pair]:
    """Return the pairs with those of the right and of the left that are alike as one."""
    left, out = list(pairs), []
    while left:
        pair = left.pop(0)
        twin = next((p for p in left if _mirrored(pair.name, p.name) and _alike(pair, p)), None)
        if twin is not None:
            left.remove(twin)
            stem = pair.name.removesuffix(" right").removesuffix(" left")
            pair = replace(pair, name=f"{stem} right and left")
        out.append(pair)
    return out


def _mirrored(one: str, other: str) -> bool:
    sides = (" right", " left")
    return any(
        one.endswith(a) and other == one.removesuffix(a) + b for a, b in (sides, sides[::-1])
    )


def _alike(one: Pair, other: Pair) -> bool:
    for figure in ("utilisation", "stress", "moment", "force"):
        for state in STATES:
            a, b = one.value(state, figure), other.value(state, figure)
            if (a is None) != (b is None):
                return False
            if a is not None and b is not None and abs(a - b) > TWIN * max(abs(a), abs(b)):
                return False
    return True


def _figures(page: Page, found: Comparison, system: units.System) -> None:
    rows = [
        (f.name, _ratio(f), *(_text(v, f.kind, system) for v in (f.before, f.after)))
        for f in found.figures
    ]
    heads = ("", "after / before", found.before.label, found.after.label)
    page.table("The whole frame", heads, rows, (1, 2, 3))


def _ratio(figure: Figure) -> str:
    return f"{figure.ratio:.3f}" if figure.ratio is not None else ""


def _text(value: float | None, kind: str, system: units.System) -> str:
    if value is None:
        return "not found"
    if kind == "frequency":
        return f"{value:.2f} Hz"
    return _show(value, kind, system)


def _members(page: Page, group: Group, system: units.System) -> None:
    rows = [
        (
            p.name,
            _change(p),
            *(_use(p.value(state, "utilisation")) for state in STATES),
            *(_show(p.value(state, "stress"), "stress", system) for state in STATES),
            _station(p),
        )
        for p in merged(group.of("member"))
    ]
    heads = ("member", "change", "of yield", "now", "highest stress", "now", "at, mm")
    page.table(f"Members: {group.title}", heads, rows, (1, 2, 3, 4, 5, 6))


def _joints(page: Page, group: Group, system: units.System) -> None:
    pairs = merged(group.of("joint"))
    metal = any(p.figure == "stress" for p in pairs)
    figure = "stress" if metal else "moment"
    shown = [p for p in pairs if p.figure == figure][:MOST_ROWS]
    rows = [
        (
            p.name,
            _change(p),
            *(_show(p.value(state, figure), figure, system) for state in STATES),
            *(_show(p.value(state, "force"), "force", system) for state in STATES),
        )
        for p in shown
    ]
    if not rows:
        return
    title = f"Joints: {group.title}" + (" (stress in their metal: for ranking)" if metal else "")
    heads = ("joint", "change", figure, "now", "force", "now")
    page.table(title, heads, rows, (1, 2, 3, 4, 5))
    _rest(page, len(pairs) - len(shown))


def _mounts(page: Page, group: Group, system: units.System) -> None:
    pairs = merged(group.of("mount"))
    rows = [
        (
            p.name,
            _change(p),
            *(_show(p.value(state, "force"), "force", system) for state in STATES),
        )
        for p in pairs[:MOST_ROWS]
    ]
    if rows:
        title = f"Body mounts: {group.title}"
        page.table(title, ("mount", "change", "force", "now"), rows, (1, 2, 3))
        _rest(page, len(pairs) - MOST_ROWS)


def _change(pair: Pair) -> str:
    if pair.before is None or pair.after is None:
        return "new" if pair.before is None else "gone"
    if pair.change is None:
        return ""
    return "0 %" if abs(pair.change) < SAME else f"{100.0 * pair.change:+.1f} %"


def _use(value: float | None) -> str:
    return "" if value is None else f"{100.0 * value:.1f} %"


def _show(value: float | None, kind: str, system: units.System) -> str:
    """Return a figure in the one unit that comes first."""
    return "" if value is None else units.show(value, kind, system).split(" (")[0]


def _station(pair: Pair) -> str:
    row = pair.after or pair.before
    return f"{row.station:.0f}" if row is not None and row.station is not None else ""
