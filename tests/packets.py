"""The packet that several tests look at, made once for each process: a demo with beam joints."""

from dataclasses import replace
from functools import cache

import pytest
from handmade import case

from fea.analyse import analyse
from fea.document.find import find_frame, shipped_cases
from fea.document.read import read_frame, read_text
from fea.frame.build import build_frame
from fea.out import packet_picture
from fea.out.packet import packet
from fea.out.packet_contents import Asked, Contents, gather
from fea.result.answer import answers
from fea.shop import weld_order

DEMO, LADDER = "harbour_tourer", "ladder_flange_welded_boxed"


def asked(name: str = DEMO, body: str | None = "open", roads: int = 3) -> Asked:
    """Return what the packet of a shipped frame is asked for."""
    path = find_frame(name)
    document = read_frame(path)
    # A part less halves the sets of parts that are tried.
    few = [part for part in document.part if part.name != "x_member"]
    document = document.model_copy(update={"part": few})
    frame = build_frame(document, source=str(path), body=body)
    stock = build_frame(document, source=str(path), body=body, stock=True)
    cases = [case(n) for n in sorted(shipped_cases()) if n.startswith("road_")][:roads]
    tests = (case("twist"), case("bending"))
    return Asked(
        document, read_text(path), frame, stock, *tests, tuple(cases) or tests,
        {"joints": "beam"}, {}, body, None, sheet_joints=False, system="si", stitches={},
    )  # fmt: skip


def gathered(wanted: Asked) -> Contents:
    """Return what a packet tells; few orders of welding are tried, which takes long."""
    tests = (wanted.twist, wanted.bending)
    stock = answers(analyse(wanted.stock, tests)) if wanted.stock else None
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(weld_order, "TRIES", (4, 8))
        return gather(wanted, answers(analyse(wanted.frame, tests)), stock)


def made(found: Contents, dots: float = 55.0) -> str:
    """Return a packet with small pictures: they take most of its time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(packet_picture, "DOTS", dots)
        return packet(found)


@cache
def contents() -> Contents:
    """Return all that the demo's packet tells."""
    return gathered(asked())


@cache
def text() -> str:
    """Return the demo's packet."""
    return made(contents())


@cache
def bare() -> str:
    """Return the packet of a ladder without its part, without a body, axle loads or masses."""
    wanted = asked(LADDER, None, 0)
    assert wanted.stock is not None
    document = wanted.document.model_copy(update={"part": []})
    return made(gathered(replace(wanted, frame=wanted.stock, stock=None, document=document)))
