"""Solving for the commands: with kept joints, a sign of life, and beam rules beside."""

from collections.abc import Sequence

from fea.analyse import analyse
from fea.cli.busy import busy
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.result.answer import Answer, Beside, answers


def answer_all(
    frame: Frame, stock: Frame | None, cases: Sequence[Case], *, sheet_joints: bool, backend: str
) -> tuple[list[Answer], list[Answer] | None]:
    """Return the answers of a frame, and of its stock form if there is one.

    Beside each stands what the quick beam rules say, with their soft and stiff bounds.
    """
    with busy("solving"):
        kept = None
        if sheet_joints:
            from fea.store import store

            kept = store()
        found = [
            answers(analyse(f, cases, backend=backend, sheet_joints=sheet_joints, store=kept))
            for f in (frame, stock)
            if f is not None
        ]
        by_rule = answers(analyse(frame, cases)) if sheet_joints else found[0]
        strips = any("web strip" in name for name in by_rule[0].solution.mesh.springs.label)
        # Without a web strip there is nothing for the soft bound to leave out.
        soft = answers(analyse(frame, cases, joint_bound="soft")) if strips else by_rule
        stiff = answers(analyse(frame, cases, joint_bound="stiff"))
    mine = [
        a.with_beside(Beside(*(one[k].stiffness for one in (by_rule, soft, stiff))))
        for k, a in enumerate(found[0])
    ]
    return mine, found[1] if stock is not None else None
