"""The packet's chapters on what each part buys and where one more body tie would matter."""

from fea import units
from fea.out import packet_html as page
from fea.out.packet_contents import Contents
from fea.out.packet_html import Markup
from fea.study.parts import Measure, PartStudy, figure
from fea.study.parts_record import paragraph
from fea.study.tie_record import brackets
from fea.study.ties import Outcome, TieStudy
from fea.study.verdict import Thresholds, against_practice, over_neighbours, ranking, verdict

MOST_TIES = 8
MOST_VERDICTS = 2


def parts_chapter(found: Contents) -> Markup:
    """Return what each part buys, in short."""
    title = "What each part buys"
    study = found.parts
    if isinstance(study, str):
        return page.chapter("parts", title, page.say(f"Not told: {study}."))
    fitted = found.asked.frame.fitted
    rows = [
        (
            name,
            "fitted" if name in fitted else "",
            units.show(study.mass(k), "mass", found.asked.system),
            f"{study.ratio(1 << k, 'twist'):.3f}",
            _signed(study.loss(k, "twist")),
            _signed(study.share(k, "twist")[0]),
            f"{study.ratio(1 << k, 'bending'):.3f}",
            _signed(study.share(k, "bending")[0]),
        )
        for k, name in enumerate(study.names)
    ]
    heads = (
        "part", "", "adds", "twist alone, x stock", "twist lost without it",
        "fair share, twist", "bending alone, x stock", "fair share, bending",
    )  # fmt: skip
    pieces = [
        page.table("", heads, rows, range(2, 8)),
        page.say(
            "Alone: that part by itself on the stock frame. Lost without it: all parts of the table"
            " but this one, against all of them. Fair share: the part's step averaged over all"
            " orders of fitting (L. S. Shapley, 1953), as a share of the stock frame's stiffness;"
            " the shares add up to the whole gain.",
            "quiet",
        ),
        page.say(_all_of_them(found, study)),
        *(page.say(f"Not in the table: {d.name}; {d.because}.") for d in study.dropped),
        page.say(paragraph(study)),
    ]
    if found.asked.sheet_joints:
        pieces.append(
            page.say(
                "For this table sheet metal is meshed coarser than elsewhere"
                + (", and fair shares go by beam rules" if _simpler(study) else "")
                + ": it ranks the parts.",
                "quiet",
            )
        )
    return page.chapter("parts", title, *pieces)


def _simpler(study: PartStudy) -> bool:
    return study.division.setting.sheet_joints != study.setting.sheet_joints


def _all_of_them(found: Contents, study: PartStudy) -> str:
    system = found.asked.system
    kinds: tuple[tuple[Measure, str], ...] = (
        ("twist", "rotational_stiffness"),
        ("bending", "stiffness"),
    )
    told = [
        f"{study.ratio(study.full, m):.3f} x stock in {m}"
        f" ({units.show(figure(study.figures[study.full], m), k, system)})"
        for m, k in kinds
    ]
    return f"All parts of the table together: {' and '.join(told)}."


def _signed(share: float) -> str:
    text = f"{100.0 * share:+.1f} %"
    return "0.0 %" if text[1:] == "0.0 %" else text


def ties_chapter(found: Contents) -> Markup:
    """Return where one more tie between body and frame matters."""
    title = "One more tie between body and frame"
    study = found.ties
    if isinstance(study, str):
        return page.chapter("ties", title, page.say(f"Not told: {study}."))
    order = ranking(study)
    limits = Thresholds()
    rows = [
        (
            study.candidates[n].name,
            f"{study.candidates[n].station:.0f}",
            *(_cell(g.outcomes[n]) for g in study.grades),
        )
        for n in order[:MOST_TIES]
    ]
    heads = ("tie at", "station, mm", *(f"on {g.name} mounts" for g in study.grades))
    pieces = [
        page.table("Candidates, the best first", heads, rows, range(1, len(heads))),
        page.say(
            "Twist stiffness gained, load per degree of twist, and that load over the more loaded"
            " mount's beside it. Right and left are fitted together.",
            "quiet",
        ),
        *(page.say(verdict(study, n, limits)) for n in order[:MOST_VERDICTS]),
        page.say(against_practice(study, limits)),
        _bolts(study, order[0], found),
    ]
    if len(order) > MOST_TIES:
        pieces.insert(1, page.say(f"{len(order) - MOST_TIES} weaker ones are left out.", "quiet"))
    return page.chapter("ties", title, *pieces)


def _cell(outcome: Outcome) -> str:
    ratio = over_neighbours(outcome)
    beside = "" if ratio is None else f", {ratio:.1f} x"
    return f"{100.0 * outcome.twist_gain:+.1f} %, {outcome.force / 1000.0:.2f} kN{beside}"


def _bolts(study: TieStudy, number: int, found: Contents) -> Markup:
    """Return what bolts and bracket of the best tie carry under one degree of twist."""
    system, candidate = found.asked.system, study.candidates[number]
    rows = []
    for grade in study.grades:
        loads = [load for _, load in brackets(candidate, grade.outcomes[number])]
        if not loads:
            continue
        worst = max(loads, key=lambda load: load.use)
        ends = (worst.frame, worst.body)
        rows.append(
            (
                grade.name,
                units.show(max(e.shear for e in ends), "force", system),
                units.show(max(e.tension for e in ends), "force", system),
                f"{100.0 * worst.use:.0f} %",
                "slips" if max(e.slip for e in ends) > 1.0 else "holds",
            )
        )
    heads = ("mounts", "bolt shear", "bolt tension", "used", "friction")
    title = f"Bolts and bracket of the tie at {candidate.name}, one degree of twist"
    return page.table(title, heads, rows, (1, 2, 3))
