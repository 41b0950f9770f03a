"""The packet's first chapters: what was asked, the answer in short, the frame, where it is soft."""

from collections.abc import Sequence

from fea import units
from fea.out import packet_html as page
from fea.out.frame_scene import scene
from fea.out.packet_contents import Contents
from fea.out.packet_drawing import curves, frame_drawing
from fea.out.packet_html import CAUTION, Cell, Markup
from fea.out.packet_pairs import paired
from fea.out.packet_picture import before_and_after, moving
from fea.result.answer import Answer
from fea.result.energy import Share
from fea.result.mass import masses
from fea.study.compare import WORSE, State, compare
from fea.study.compare_record import sentence
from fea.units import System

MOST_SHARES = 8
MOST_WORSE = 6
LEAST_SHARE = 0.005
"""Shares smaller than this tell nothing one by one."""

IN_METAL = (
    " The highest may be in the sheet metal of a joint: it hangs on how fine that is meshed, and"
    " serves to rank; tables of members leave it out."
)
BY_RULES = (
    "Joints by quick beam rules: good for comparing, but the figures may be well off where rails"
    " are closed or kinked. Before cutting steel, make this packet again with --joints sheet."
)
KINDS = (
    ("Twist stiffness", "twist_stiffness", "rotational_stiffness"),
    ("Bending stiffness", "bending_stiffness", "stiffness"),
)


def front(found: Contents) -> Markup:
    """Return the first page: title, the answer in large print, what was asked, the frame."""
    asked, frame = found.asked, found.asked.frame
    name = frame.title or frame.name
    return page.join(
        (
            Markup(f"<h1>{page.escaped(name)}: frame packet</h1>\n"),
            page.say(asked.document.about, "lead") if asked.document.about else Markup(""),
            page.boxes(_large(found)),
            page.figure(
                frame_drawing(frame),
                "From above (right side on top) and from the left; stations in mm behind the front"
                " axle. Grey: stock. Coloured: what parts bring. Circles: body mounts. Broken"
                " lines: axles.",
            ),
            page.chapter("asked", "What was asked", page.facts(_asked(found))),
            page.say(
                page.blank("Vehicle") + page.blank("Customer") + page.blank("Done by")
                + page.blank("Date")
            ),
            page.say(CAUTION, "warn"),
        )
    )  # fmt: skip


def _large(found: Contents) -> list[tuple[str, str, str]]:
    system = found.asked.system
    told = []
    for now, (words, key, kind) in zip(found.now, KINDS, strict=True):
        value = getattr(now, key)
        if value is None:
            continue
        base = _of_stock(found, key)
        shown = units.show(value, kind, system)
        if base:
            before = f"{shown}, stock {units.show(base, kind, system)}"
            told.append((f"{value / base:.2f} x stock", words.lower(), before))
        else:
            told.append((shown.split(" (")[0], words.lower(), shown))
    steel = found.now[0].mass.steel
    if found.stock:
        added = steel - found.stock[0].mass.steel
        shown = units.show(added, "mass", system) if abs(added) > 1e-9 else "0 kg"
        whole = f"frame steel {units.show(steel, 'mass', system)}"
        told.append((shown.split(" (")[0], "of steel added", whole))
    else:
        shown = units.show(steel, "mass", system)
        told.append((shown.split(" (")[0], "frame steel", shown))
    return told


def _of_stock(found: Contents, key: str) -> float | None:
    for answer in found.stock or ():
        value: float | None = getattr(answer, key)
        if value is not None:
            return value
    return None


def _asked(found: Contents) -> list[tuple[str, str]]:
    asked = found.asked
    frame = asked.frame
    off = [p.name for p in frame.parts if not p.fitted]
    rows = [
        ("Frame", f"{frame.title} ({frame.name})" if frame.title else frame.name),
        ("Parts fitted", ", ".join(frame.fitted) or "none: the stock frame"),
    ]
    if off:
        rows.append(("Parts left off", ", ".join(off)))
    if asked.positions:
        moved = [f"{n} at {units.show(s, 'length')}" for n, s in sorted(asked.positions.items())]
        rows.append(("Bolted elsewhere", ", ".join(moved)))
    rows.append(("Body on the frame", asked.body or "none"))
    if asked.mounts:
        rows.append(("Mounts", f"all of grade {asked.mounts}"))
    joints = "as sheet metal" if asked.sheet_joints else "by quick beam rules"
    titles = [c.title or c.name for c in asked.cases]
    return [
        *rows,
        ("Joints", joints),
        ("Stiffness from", f"{asked.twist.title or 'twist'}; {asked.bending.title or 'bending'}"),
        ("Strength over", f"{len(titles)} load cases: {'; '.join(titles)}"),
    ]


def frame_chapter(found: Contents) -> Markup:
    """Return the frame's members and parts, and the picture of it twisted."""
    asked, frame, system = found.asked, found.asked.frame, found.asked.system
    picture, scale = moving(found.now[0], system)
    twist = found.now[0]
    kinds = {
        m.name: [j.kind.replace("_", " ") for j in frame.joints if j.member == m.name]
        for m in frame.members
    }
    rows = [
        (
            name,
            f"{m.path[0, 0]:.0f}",
            units.show(m.runs[-1].end, "length", system),
            ", ".join(dict.fromkeys(r.section.name for r in m.runs)),
            " / ".join(dict.fromkeys(kinds[m.name])),
            m.part or ", ".join(dict.fromkeys(r.part for r in m.runs if r.part)),
        )
        for name, m in paired(frame.members, lambda m: m.name, lambda m: m.runs[-1].end)
    ]
    about = {p.name: p.about for p in asked.document.part}
    parts = [
        (p.name, "fitted" if p.fitted else "left off", p.about or about.get(p.name, ""))
        for p in frame.parts
    ]
    weight = masses(frame)
    carried = (
        f"Frame steel {units.show(weight.steel, 'mass', system)}; with all it carries, unladen,"
        f" {units.show(weight.kerb, 'mass', system)}."
    )
    heads = ("member", "from station, mm", "length", "sections", "joined by", "part")
    return page.chapter(
        "frame",
        "The frame and its parts",
        page.figure(
            picture,
            f"{twist.case.title or twist.case.name}: movements drawn {scale:g} times their size,"
            " coloured by stress." + (IN_METAL if twist.joint_peaks else ""),
        ),
        page.say(carried),
        page.table("Parts", ("part", "", "what it is"), parts),
        page.table("Members", heads, rows, (1, 2)),
    )


def stiffness_chapter(found: Contents) -> Markup:
    """Return stiffness before and after, the ratio first."""
    system = found.asked.system
    rows: list[tuple[Cell, ...]] = []
    for now, (words, key, kind) in zip(found.now, KINDS, strict=True):
        rows.append(_before_after(words, getattr(now, key), _of_stock(found, key), kind, system))
    top = [_peak(a) for a in found.now]
    base = [_peak(a) for a in found.stock or ()]
    for k, case in enumerate(("twist", "bending")):
        words = f"Highest stress {found.now[k].where_peaks}, {case}"
        rows.append(_before_after(words, top[k], base[k] if base else None, "stress", system))
    steel = [a.mass.steel for a in (found.now[0], *(found.stock or ())[:1])]
    rows.append(
        _before_after("Frame steel", steel[0], steel[1] if found.stock else None, "mass", system)
    )
    if found.stock:
        heads = ("", "x stock", "now", "stock", "stock over now")
        pieces = [page.table("", heads, rows, (1, 2, 3), kind="two"), *_side_by_side(found)]
    else:
        pieces = [page.table("", ("", "now"), [(r[0], r[2]) for r in rows], (1,))]
    pieces += [page.say(line, "quiet") for line in _bounds(found)]
    if not found.asked.sheet_joints:
        pieces.append(page.say(BY_RULES, "warn"))
    return page.chapter("stiffness", "Stiffness, before and after", *pieces)


def _peak(answer: Answer) -> float | None:
    return max((p.von_mises for p in answer.peaks), default=None)


def _before_after(
    words: str, value: float | None, base: float | None, kind: str, system: System
) -> tuple[Cell, ...]:
    def shown(figure: float | None) -> str:
        return "" if figure is None else units.show(figure, kind, system)

    if value is None or not base:
        return words, "", shown(value), shown(base), ""
    bars = page.two_bars(value, base)
    return words, f"{value / base:.3f}", shown(value), shown(base), bars


def _side_by_side(found: Contents) -> list[Markup]:
    """Return both states twisted, at one scale, and what is stressed more than in stock."""
    assert found.stock is not None
    system = found.asked.system
    both = compare(
        State("stock", found.stock[0].frame, found.stock),
        State("with parts", found.asked.frame, found.now),
    )
    picture, scale = before_and_after(both, system)
    case = found.now[0].case
    pieces = [
        page.figure(
            picture,
            f"Both under the same load ({case.title or case.name}), movements drawn {scale:g} times"
            " their size, one colour for one stress: nearer the stock frame, behind it the frame"
            " with its parts." + (IN_METAL if found.now[0].joint_peaks else ""),
        )
    ]
    worse = [sentence(p, system, case=True) for p in both.places]
    if worse:
        pieces.append(page.heading(f"Stressed more than in the stock frame, by over {WORSE:.0%}"))
        pieces.append(page.listed(worse[:MOST_WORSE]))
        if len(worse) > MOST_WORSE:
            more = f"{len(worse) - MOST_WORSE} lesser ones are left out: plumbrail compare has all."
            pieces.append(page.say(more, "quiet"))
    return pieces


def _bounds(found: Contents) -> list[str]:
    """Return what the joints' rules leave open."""
    lines = []
    for now, (words, key, kind) in zip(found.now, KINDS, strict=True):
        beside, value = now.beside, getattr(now, key)
        if value is None or beside is None or beside.soft is None or beside.stiff is None:
            continue
        soft, stiff = (units.show(v, kind, found.asked.system) for v in (beside.soft, beside.stiff))
        lines.append(f"{words} with the beam rules' softest and stiffest joints: {soft}, {stiff}.")
    return lines


def soft_chapter(found: Contents) -> Markup:
    """Return where the frame gives: curves along the stations, bays, strain energy."""
    axles = [a.station for a in found.asked.frame.axles]
    drawn = []
    bases: Sequence[Answer | None] = found.stock or (None, None)
    for answer, base in zip(found.now, bases, strict=True):
        shown = scene(answer, base, "stress", found.asked.system)
        if shown.profile:
            drawn.append(page.figure(curves(shown.profile_title, shown.profile, axles)))
    pieces = []
    if drawn:
        cells = "".join(f"<td>{d.text}</td>" for d in drawn)
        pieces.append(Markup(f'<table class="side whole"><tbody><tr>{cells}</tr></tbody></table>'))
        lines = "Upright lines: axles. Steep means soft: there the frame gives."
        if found.stock:
            lines = f"Full line: with the parts; broken line: stock. {lines}"
        pieces.append(page.say(lines, "quiet"))
    bays = [
        (b.words, f"{b.start:.0f} to {b.end:.0f}", _percent(b.share), page.bar(b.share))
        for b in found.now[0].bays
    ]
    heads = ("between", "stations, mm", "share of the twist", "")
    pieces.append(page.table("Where it twists", heads, bays, (2,), kind="bars"))
    for answer, words in zip(found.now, ("twist", "bending"), strict=True):
        title = f"Strain energy under {words}: what stores most gives most"
        pieces.append(
            page.table(title, ("member", "share", ""), _energy(answer), (1,), kind="bars")
        )
    return page.chapter("soft", "Where it is soft", *pieces)


def _energy(answer: Answer) -> list[tuple[str, str, Markup]]:
    """Return the largest shares, those of two sides together, and what is left."""
    whole: dict[str, float] = {}
    for share in answer.shares:
        name = _sides(share)
        whole[name] = whole.get(name, 0.0) + share.share
    order = sorted(whole.items(), key=lambda item: -item[1])
    telling = sum(share >= LEAST_SHARE for _, share in order[:MOST_SHARES])
    rows, rest = order[: max(telling, 1)], order[max(telling, 1) :]
    if rest:
        rows.append((f"{len(rest)} others", sum(share for _, share in rest)))
    return [(name, _percent(share), page.bar(share)) for name, share in rows]


def _sides(share: Share) -> str:
    for side in ("right", "left"):
        if share.name.endswith(f" {side}"):
            return share.name.removesuffix(f" {side}") + ", both sides"
    return share.name


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"
