"""The packet's pages for the shop: the form for measuring, and the chapters at the end."""

from collections.abc import Sequence

from fea.out import packet_html as page
from fea.out.packet_contents import GRADES, Contents, release
from fea.out.packet_html import CAUTION, Markup
from fea.out.survey_sheet import blocks
from fea.result.answer import Answer
from fea.shop.survey_plan import plan
from fea.shop.weld_words import assumed

FOR_ALL = (
    "Figures are for the frame as the document draws it: what was not measured or not told"
    " (rust, cracks, old repairs, thinner walls) is not in them. Measure first.",
    "Steel within its yield, small movements; no weld distortion, residual stress or rust to come.",
    "Ratios between two states of one frame are surer than the figures themselves.",
    "Boxed and welded-up hollows rust from inside: leave drains, and wax them.",
    "Fuel lines, brake lines, wiring and fuel out or shielded before any welding.",
)


def survey_chapter(found: Contents) -> Markup:
    """Return the form for measuring the frame, to be filled in by hand."""
    frame, title = found.asked.frame, "Measuring the frame: form"
    planned = plan(frame)
    if not planned.pairs:
        words = "Not told: the frame has no rails on both sides to measure between."
        return page.chapter("survey", title, page.say(words))
    form = page.join(
        (page.heading(b.title) if b.title else Markup("")) + Markup(f"{b.body}\n")
        for b in blocks(frame, planned)
    )
    return page.chapter("survey", title, Markup(f'<div class="form">{form.text}</div>'), fresh=True)


def checks_chapter(found: Contents) -> Markup:
    """Return assumptions, cautions, checks, and what the packet was made from."""
    asked = found.asked
    lines = list(dict.fromkeys(line for a in found.now for line in a.assumed))
    if not isinstance(found.loaded, str):
        lines += [n for n in found.loaded.answers[0].assumed if n not in lines]
    if not isinstance(found.ties, str):
        lines.append(f"ties were tried with {', '.join(GRADES)} mounts; a loose tie's play is not")
    pieces = [
        page.heading("Assumed for this frame"),
        page.listed(f"{line[:1].upper()}{line[1:]}." for line in lines),
        *_of_welding(found),
        page.heading("Cautions"),
        page.listed((*FOR_ALL, CAUTION)),
    ]
    if asked.frame.notes:
        pieces += [page.heading("Notes of the document"), page.listed(asked.frame.notes)]
    pieces += [
        *_balances(found),
        page.say(
            f"{found.validation} validation cases, most against published figures, come with this"
            " version; plumbrail verify runs them and shows computed beside expected."
        ),
        page.say(
            "The same document, options and version give the same packet, byte for byte; a packet"
            " with another fingerprint is of another frame or another choice.",
            "quiet",
        ),
        page.table("Made from", ("", ""), _origin(found), kind="print"),
    ]
    return page.chapter("checks", "Assumptions, cautions, checks", *pieces, fresh=True)


def _balances(found: Contents) -> list[Markup]:
    """Return what is out of balance in every case that was solved, and what arithmetic may do."""
    kinds: list[tuple[Sequence[Answer], str]] = [
        (found.now, "as chosen"),
        (found.stock or (), "stock"),
    ]
    if not isinstance(found.loaded, str):
        kinds.append((found.loaded.answers, "as chosen"))
    rows = [
        (
            answer.case.title or answer.case.name,
            words,
            *(
                f"{size:.0e}" if size else "0"
                for size in (
                    answer.checks.residual,
                    answer.checks.force_balance,
                    answer.checks.moment_balance,
                    answer.checks.energy_balance,
                )
            ),
            "" if answer.condition is None else f"{answer.condition:.0e}",
            "" if answer.round_off is None else f"{answer.round_off:.0e}",
        )
        for answers, words in kinds
        for answer in answers
    ]
    heads = (
        "case", "frame", "residual", "forces", "moments", "energy", "condition", "round-off",
    )  # fmt: skip
    return [
        page.table("Checks: what is out of balance, as a share", heads, rows, range(2, 8)),
        page.say(
            "Condition: the condition number of what was solved, estimated. Round-off: by what"
            " share of itself the computer's arithmetic can have moved the stiffness, at most.",
            "quiet",
        ),
    ]


def _of_welding(found: Contents) -> list[Markup]:
    """Return what the order of welding rests on."""
    told = found.welding
    if isinstance(told, str):
        return []
    lines = assumed(told.orders, told.schedule.process)
    return [page.heading("Assumed for the order of welding"), page.listed(lines)]


def _origin(found: Contents) -> list[tuple[str, str]]:
    asked = found.asked
    rows = [("Plumbrail", release()), ("fingerprint (SHA-256)", asked.fingerprint)]
    return rows + [(name, told) for name, told in asked.options.items() if told]
