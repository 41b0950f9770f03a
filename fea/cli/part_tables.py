"""The tables of `parts`: the ratio to the stock frame first, the absolute figure second."""

from typing import TYPE_CHECKING

from fea import units
from fea.cli.first_tables import print_part_modes
from fea.cli.tables import Page
from fea.study.parts import Measure, PartStudy, figure, per_kilogram
from fea.study.parts_record import members, paragraph

if TYPE_CHECKING:
    from fea.study.variant import Setting
    from fea.units import System

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."

KIND: dict[Measure, str] = {
    "twist": "rotational_stiffness",
    "bending": "stiffness",
    "peak": "stress",
}
WORD: dict[Measure, str] = {"twist": "Twist", "bending": "Bending", "peak": "Highest stress"}

MOST_PAIRS = 6
"""Lines of a table of pairs."""

NOTHING = 1e-6
"""Figures smaller than this are round-off, in the units of the tables."""

LEAST_PAIR = 0.01
"""Share of the stock frame's stiffness below which a pair is said neither to help nor hinder."""


def print_study(found: PartStudy, system: "System") -> None:
    """Print the whole study."""
    page = Page()
    page.say(f"{found.setting.document.title}: what each added part buys", "bold")
    page.say(_about(found))
    for one in found.dropped:
        page.say(f"Not in the study: {one.name}; {one.because}.")
    for name in _idle(found):
        page.say(f"{name}: mounts and ties do nothing without a body; choose one with --body.")
    _print_states(page, found, system)
    for measure in found.measures:
        _print_single(page, found, measure, system)
    for measures in _groups(found):
        _print_build_up(page, found, measures, system)
    page.say("Shapley share: a part's mean step over all orders of fitting", "bold")
    page.say(_basis(found))
    for measures in _groups(found):
        _print_shares(page, found, measures, system)
    for measure in found.measures[:2]:
        _print_pairs(page, found, measure)
    if found.modes:
        print_part_modes(page, found)
    page.say(paragraph(found))
    page.say(CAUTION)


def _groups(found: PartStudy) -> list[tuple[Measure, ...]]:
    """Return the measures that one table has room for."""
    return [found.measures[:2], found.measures[2:]] if found.measures[2:] else [found.measures]


def _about(found: PartStudy) -> str:
    n, setting = len(found.names), found.setting
    parts = "1 part" if n == 1 else f"{n} parts"
    top = f", with the {setting.body} body" if setting.body not in (None, "none") else ""
    return f"Stock frame against {parts}{top}; {_joints(setting)}."


def _idle(found: PartStudy) -> list[str]:
    """Return the parts that only a body would make work."""
    if found.setting.body not in (None, "none"):
        return []
    metal = ("crossmember", "boxing", "bulkhead", "brace")
    return [
        part.name
        for part in found.setting.document.part
        if part.name in found.names and not any(getattr(part, table) for table in metal)
    ]


def _joints(setting: "Setting") -> str:
    if not setting.sheet_joints:
        return "joints by beam rules"
    if setting.coarse == 1.0:
        return "joints as sheet metal"
    return f"joints as sheet metal {setting.coarse:g} times as coarse as usual, for ranking"


def _unit(measure: Measure, system: "System") -> str:
    kind = units.KINDS[KIND[measure]]
    return (kind.us or kind.si) if system == "us" else kind.si


def _number(value: float, measure: Measure, system: "System") -> str:
    there = units.convert(value, KIND[measure], _unit(measure, system))
    if abs(there) < NOTHING:
        return "0"
    return f"{there:.0f}" if abs(there) >= 1000.0 else f"{there:.4g}"


def _kilograms(mass: float) -> str:
    return f"{1000.0 * mass:.2f}"


def _signed(share: float) -> str:
    text = f"{100.0 * share:+.1f} %"
    return "0.0 %" if text[1:] == "0.0 %" else text


def _ratio(share: float) -> str:
    text = f"{share:+.3f}"
    return "0.000" if text[1:] == "0.000" else text


def _each(gain: float, mass: float) -> str:
    per = per_kilogram(gain, mass)
    return "-" if per is None else _signed(per)


def _cells(found: PartStudy, mask: int, measure: Measure, system: "System") -> tuple[str, str]:
    ratio = found.ratio(mask, measure)
    return f"{ratio:.3f}", _number(figure(found.figures[mask], measure), measure, system)


def _print_states(page: Page, found: PartStudy, system: "System") -> None:
    sets = {"stock frame": 0, "all parts": found.full}
    if found.fitted not in sets.values():
        sets = {"stock frame": 0, "as the document fits it": found.fitted, "all parts": found.full}
    heads = [""]
    for measure in found.measures:
        heads += [f"{WORD[measure].lower()}, x stock", _unit(measure, system)]
    rows = []
    for name, mask in sets.items():
        cells = [c for m in found.measures for c in _cells(found, mask, m, system)]
        rows.append((name, *cells, _kilograms(found.figures[mask].steel)))
    page.table("", [*heads, "steel, kg"], rows, range(1, len(heads) + 1))
    if found.fitted not in (0, found.full):
        page.say(f"The document fits {', '.join(members(found, found.fitted))}.")


def _print_single(page: Page, found: PartStudy, measure: Measure, system: "System") -> None:
    unit = _unit(measure, system)
    gain, loss = ("change", "change") if measure == "peak" else ("gain", "loss")
    heads = ("part", "alone, x stock", unit, gain, "left out, x stock", unit, loss, "kg", "per kg")
    rows = [
        (
            name,
            *_cells(found, 1 << k, measure, system),
            _signed(found.gain(k, measure)),
            *_cells(found, found.full & ~(1 << k), measure, system),
            _signed(found.loss(k, measure)),
            _kilograms(found.mass(k)),
            _each(found.gain(k, measure), found.mass(k)),
        )
        for k, name in enumerate(found.names)
    ]
    title = f"{WORD[measure]}: each part alone on the stock frame, and left out of all parts"
    page.table(title, heads, rows, range(1, len(heads)))


def _print_build_up(
    page: Page, found: PartStudy, measures: tuple[Measure, ...], system: "System"
) -> None:
    heads = ["added"]
    for measure in measures:
        heads += [f"{WORD[measure].lower()}, x stock", _unit(measure, system), "step"]
    rows = []
    steps = found.steps()
    for k, mask in enumerate(steps):
        cells: list[str] = []
        for m in measures:
            before = found.ratio(steps[k - 1], m) if k else found.ratio(mask, m)
            step = _signed(found.ratio(mask, m) - before) if k else ""
            cells += [*_cells(found, mask, m, system), step]
        name = found.names[k - 1] if k else "(stock)"
        rows.append((name, *cells, _kilograms(found.figures[mask].steel)))
    title = "Built up in the document's order; steps are shares of the stock frame's figure"
    page.table(title, [*heads, "steel, kg"], rows, range(1, len(heads) + 1))


def _print_shares(
    page: Page, found: PartStudy, measures: tuple[Measure, ...], system: "System"
) -> None:
    division = found.division
    heads = ["part"]
    for measure in measures:
        heads += [f"{WORD[measure].lower()}, x stock", _unit(measure, system)]
        heads += ["of change" if measure == "peak" else "of gain"]
        heads += ["per kg"] if measure != "peak" else []
    rows = [_share_row(found, k, measures, system) for k in range(len(found.names))]
    total: list[str] = ["together"]
    for m in measures:
        stock = figure(division.figures[0], m)
        rise = figure(division.figures[found.full], m) - stock
        total += [_ratio(rise / stock), _number(rise, m, system), "100.0 %"]
        total += [""] if m != "peak" else []
    page.table("", heads, [*rows, tuple(total)], range(1, len(heads)))


def _share_row(
    found: PartStudy, k: int, measures: tuple[Measure, ...], system: "System"
) -> tuple[str, ...]:
    cells = [found.names[k]]
    sampled = found.division.shares.n_orders is not None
    for m in measures:
        mean, error = found.share(k, m)
        stock, whole = figure(found.division.figures[0], m), found.shared(m)
        beside = f" ± {error:.3f}" if sampled else ""
        cells += [f"{_ratio(mean)}{beside}", _number(mean * stock, m, system)]
        cells.append(_signed(mean / whole).removeprefix("+") if abs(whole) > NOTHING else "-")
        cells += [_each(mean, found.mass(k))] if m != "peak" else []
    return tuple(cells)


def _basis(found: PartStudy) -> str:
    division = found.division
    count = division.shares.n_orders
    sets = len(division.figures)
    orders = f"All orders, from {sets} sets" if count is None else (
        f"{count} random orders, {sets} sets, with standard error"
    )  # fmt: skip
    first = f"{orders}; {_joints(division.setting)}."
    if division.setting.sheet_joints == found.setting.sheet_joints:
        return first
    return (
        f"{first} Shares and pairs alone are by beam rules; beside sheet metal these make"
        f" {_beside(found, 'twist')}, and {_beside(found, 'bending')}. --shares sheet takes sheet"
        " metal throughout, and minutes."
    )


def _beside(found: PartStudy, measure: Measure) -> str:
    """Return in words how far simpler joints are off in one measure, stock and full."""
    texts = []
    for mask, name in ((0, "the stock frame"), (found.full, "all parts")):
        simple = figure(found.division.figures[mask], measure)
        more = simple / figure(found.figures[mask], measure) - 1.0
        word = "stiffer" if more >= 0.0 else "softer"
        texts.append(f"{name} {100.0 * abs(more):.1f} % {word}")
    return f"in {measure} {' and '.join(texts)}"


def _print_pairs(page: Page, found: PartStudy, measure: Measure) -> None:
    pairs = found.pairs(measure)
    if not pairs:
        return
    rows = [
        (f"{p.first} + {p.second}", _signed(p.on_stock), _signed(p.in_full))
        for p in pairs[:MOST_PAIRS]
    ]
    title = (
        f"{WORD[measure]}: what two parts bring together beyond each alone, of the stock frame's"
    )
    page.table(title, ("pair", "on the stock frame", "among all parts"), rows, (1, 2))
    page.say(_strongest(found, measure))
    page.say()


def _strongest(found: PartStudy, measure: Measure) -> str:
    """Name the pair that helps each other most, and the one that hinders each other most."""
    every = [
        (value, f"{p.first} and {p.second}", where)
        for p in found.pairs(measure)
        for value, where in ((p.on_stock, "on the stock frame"), (p.in_full, "among all parts"))
    ]
    best, worst = max(every), min(every)
    texts = []
    if best[0] >= LEAST_PAIR:
        texts.append(f"{best[1]} help each other most ({_signed(best[0])} {best[2]})")
    if worst[0] <= -LEAST_PAIR:
        texts.append(f"{worst[1]} hinder each other most ({_signed(worst[0])} {worst[2]})")
    if not texts:
        return f"No pair changes {100.0 * LEAST_PAIR:g} % of the stock frame's by coming together."
    return f"In {measure}, {'; '.join(texts)}."
