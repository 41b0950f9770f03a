"""The packet's chapters on stress, road loads and the sizes of welds."""

import math

from fea import units
from fea.out import packet_html as page
from fea.out.packet_contents import Contents
from fea.out.packet_html import Markup
from fea.out.packet_pairs import paired
from fea.result.answer import Answer
from fea.result.envelope import Envelope, Worst
from fea.strength.report import JointStrength, SeamStrength, Strength
from fea.units import System

PREFIX = "road_"
MOST = 8
"""Lines of the short tables."""

MOST_CAUTIONS = 6

SOURCES = (
    "How hard the road hits is an estimate from common practice: plumbrail envelope gives each"
    " load's source."
)


def stress_chapter(found: Contents) -> Markup:
    """Return the highest stress of the twist and bending cases and the worst of the road."""
    system = found.asked.system
    rows = []
    for answer in found.now:
        for name, peak in paired(answer.peaks, lambda p: p.member, lambda p: p.utilisation):
            rows.append(
                (
                    answer.case.title or answer.case.name,
                    name,
                    f"{peak.station:.0f}",
                    units.show(peak.von_mises, "stress", system),
                    f"{100.0 * peak.utilisation:.0f} %",
                )
            )
            if sum(r[0] == rows[-1][0] for r in rows) == 3:
                break
    heads = ("case", "member", "at, mm", "highest stress", "of yield")
    where = found.now[0].where_peaks
    title = f"Under the test loads, the three most stressed members each: {where}"
    pieces = [page.table(title, heads, rows, (2, 3, 4))]
    loaded = found.loaded
    if isinstance(loaded, str):
        pieces.append(page.say(f"Load cases: not told: {loaded}."))
    else:
        pieces += _envelope(found)
    return page.chapter("stress", "Highest stress, and the worst of the road", *pieces)


def _envelope(found: Contents) -> list[Markup]:
    loaded, system = found.loaded, found.asked.system
    assert not isinstance(loaded, str)
    members = paired(
        loaded.worst.of("member"),
        lambda r: r.name,
        lambda r: r.utilisation.value if r.utilisation else 0.0,
    )
    rows = [
        (
            name,
            f"{100.0 * r.utilisation.value:.0f} %" if r.utilisation else "",
            _worst(r.stress, "stress", system),
            f"{r.station:.0f}" if r.station is not None else "",
            short(r.governs),
        )
        for name, r in members
    ][:MOST]
    heads = ("member", "of yield", "stress", "at, mm", "governed by")
    title = f"Members, the worst of {len(loaded.answers)} load cases"
    pieces = [page.table(title, heads, rows, (1, 2, 3))]
    pieces.append(_metal(loaded.worst, system))
    mounts = paired(
        loaded.worst.of("mount"), lambda r: r.name, lambda r: r.force.value if r.force else 0.0
    )
    lines = [(name, _worst(r.force, "force", system), short(r.governs)) for name, r in mounts]
    pieces.append(page.table("Body mounts", ("mount", "force", "governed by"), lines[:MOST], (1,)))
    summary = [(short(a.case.name), a.case.title, *_top(a)) for a in loaded.answers]
    titles = ("case", "", "of yield", "in")
    pieces.append(page.table("Load cases", titles, summary, (2,)))
    if any(a.solution.loads.road is not None for a in loaded.answers):
        pieces.append(page.say(SOURCES, "quiet"))
    over = [name for name, use, *_ in rows if use and float(use.split()[0]) > 100.0]
    if over:
        words = f"Above yield in some case: {', '.join(over)}. Look there before anything else."
        pieces.append(page.say(words, "warn"))
    return pieces


def _metal(worst: Envelope, system: System) -> Markup:
    """Return the joints whose sheet metal is stressed most; nothing by beam rules."""
    known = [r for r in worst.of("joint") if r.stress is not None]
    rows = [
        (name, _worst(r.stress, "stress", system), short(r.stress.case if r.stress else ""))
        for name, r in paired(known, lambda r: r.name, lambda r: r.stress.value if r.stress else 0)
    ]
    title = "Sheet metal of the joints, the worst of the same cases: for ranking only"
    return page.table(title, ("at", "stress", "governed by"), rows[:MOST], (1,))


def _top(answer: Answer) -> tuple[str, str]:
    top = max(answer.peaks, key=lambda p: p.utilisation, default=None)
    return (f"{100.0 * top.utilisation:.0f} %", top.member) if top else ("", "")


def short(case: str) -> str:
    """Return a case's name without what all road cases begin with."""
    return case.removeprefix(PREFIX).replace("_", " ")


def _worst(worst: Worst | None, kind: str, system: System) -> str:
    return units.show(worst.value, kind, system) if worst else ""


def weld_chapter(found: Contents) -> Markup:
    """Return welds, bolts and seams for the welder, and where to look for cracks."""
    title = "Welds and bolts"
    told = found.strength
    if isinstance(told, str):
        return page.chapter("welds", title, page.say(f"Not sized: {told}."))
    system = found.asked.system
    strength = units.show(told.wanted.electrode.strength, "stress", system)
    lead = (
        "Right and left as one, the worse of the two. Equal-legged fillets, legs as thick as the"
        f" thinner wall; electrode {strength}, 0.3 of it allowed on the throat. No fillet smaller"
        " than 3 mm (1/8 in), whatever little is needed."
    )
    return page.chapter(
        "welds",
        title,
        page.say(lead),
        _joints(told, system),
        _notes(told),
        _bolts(told, system),
        _seams(told, system),
        _cautions(told, system),
    )


def _name(item: JointStrength) -> str:
    return f"{item.force.joint.member} on {item.force.joint.onto}"


def _use(item: JointStrength) -> float:
    return item.force.size[0] if math.isnan(item.use) else item.use


def _joints(told: Strength, system: System) -> Markup:
    rows = []
    for name, item in paired([j for j in told.joints if j.weld], _name, _use):
        load = item.weld
        assert load is not None
        weak = load.required > load.weld.thinner
        rows.append(
            (
                name,
                load.weld.about,
                units.show(load.weld.line.length, "length", system),
                units.show(load.leg, "thickness", system, digits=2),
                units.show(load.required, "thickness", system, digits=2),
                f"{100.0 * load.use:.0f} %" + (" (!)" if weak else ""),
                short(item.case),
            )
        )
    heads = ("joint", "weld", "length", "leg", "leg needed", "used", "governed by")
    return page.table("Joints", heads, rows, (2, 3, 4, 5))


def _notes(told: Strength) -> Markup:
    lines = []
    weak = [_name(j) for j in told.joints if j.weld and j.weld.required > j.weld.weld.thinner]
    if weak:
        lines.append(
            "(!) needs a leg larger than the thinner wall, so the sheet itself is too weak: plate"
            f" or gusset it first. {', '.join(weak)}."
        )
    untold = [_name(j) for j in told.joints if j.weld is None and j.bolts is None]
    if untold:
        lines.append(f"Not sized, as the document does not say what holds it: {', '.join(untold)}.")
    return page.join(page.say(line, "warn") for line in lines)


def _bolts(told: Strength, system: System) -> Markup:
    rows = []
    for name, item in paired([j for j in told.joints if j.bolts], _name, _use):
        load = item.bolts
        assert load is not None
        rows.append(
            (
                name,
                f"{load.count} x {units.show(load.diameter, 'thickness', system)}",
                units.show(load.shear, "force", system),
                units.show(load.tension, "force", system),
                ("slips" if load.slip > 1.0 else "holds") + (", gapes" if load.gape > 1.0 else ""),
                f"{100.0 * load.use:.0f} %",
                short(item.case),
            )
        )
    heads = ("bolts of", "", "shear", "tension", "friction", "used", "governed by")
    return page.table("Worst bolt", heads, rows, (2, 3, 5))


def _seams(told: Strength, system: System) -> Markup:
    def name(item: SeamStrength) -> str:
        return f"{item.load.part or 'plate'} on {item.load.member}"

    rows = []
    for called, item in paired(told.seams, name, lambda s: s.load.use):
        load = item.load
        stitch = "all along"
        if load.stitch is not None:
            stitch = f"{load.stitch.weld:g} in {load.stitch.pitch:g} mm"
        rows.append(
            (
                called,
                f"{load.start:.0f} to {load.end:.0f}",
                units.show(load.leg, "thickness", system, digits=2),
                stitch,
                f"{math.ceil(load.weld_per(100.0)):.0f} mm in 100",
                f"{100.0 * load.use:.0f} %",
                short(item.case),
            )
        )
    heads = ("seams of", "stations, mm", "leg", "welded", "needs", "used", "governed by")
    return page.table("Seams of boxing plates (shear flow alone)", heads, rows, (1, 2, 4, 5))


def _cautions(told: Strength, system: System) -> Markup:
    def named(pair: tuple[int, str]) -> str:
        return pair[1]

    keyed = [(k, f"{c.where}|{c.detail.name}") for k, c in enumerate(told.cautions)]
    rows = []
    for name, (k, _) in paired(keyed, named, lambda pair: told.cautions[pair[0]].range):
        c = told.cautions[k]
        rows.append(
            (
                name.split("|")[0] + (", both sides" if name.endswith(", both sides") else ""),
                c.detail.name,
                f"{c.station:.0f}",
                units.show(c.range, "stress", system),
                units.show(c.detail.limit, "stress", system),
                "above" if c.ratio > 1.0 else "",
            )
        )
    if not rows:
        return Markup("")
    above = sum(bool(r[-1]) for r in rows)
    heads = ("at", "detail", "at, mm", "range", "limit", "")
    title = "Where to look for cracks: twist to and fro, beside EN 1993-1-9:2005 (from memory)"
    words = f"{above} of {len(rows)} details go above the limit. It says nothing of a life."
    return page.table(title, heads, rows[:MOST_CAUTIONS], (2, 3, 4)) + page.say(words, "quiet")
