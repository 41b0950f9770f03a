"""Options that several commands share, and what they lead to."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fea.errors import Complaint, DocumentError, ModelError

if TYPE_CHECKING:
    from fea.document.schema import FrameDocument
    from fea.frame.case import Case
    from fea.frame.model import Frame
    from fea.units import System

FrameName = Annotated[
    str,
    typer.Argument(
        metavar="FRAME", help="A frame document of yours, by path, or a shipped one, by name."
    ),
]
CaseNames = Annotated[
    list[str] | None,
    typer.Option("--case", metavar="CASE", help="A load case, by name or path; may be repeated."),
]
With = Annotated[
    list[str] | None,
    typer.Option("--with", metavar="PART", help="Fit this part; may be repeated."),
]
Without = Annotated[
    list[str] | None,
    typer.Option("--without", metavar="PART", help="Leave this part off; may be repeated."),
]
Stock = Annotated[bool, typer.Option("--stock", help="Leave off every added part.")]
At = Annotated[
    list[str] | None,
    typer.Option(
        "--at",
        metavar="NAME=STATION",
        help='Bolt a crossmember in another of its positions, as in --at "X3=1200 mm".',
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
Joints = Annotated[
    str,
    typer.Option(
        "--joints",
        metavar="sheet|beam",
        help="Joints as sheet metal (slow the first time, then kept), or by quick beam rules.",
    ),
]
Body = Annotated[
    str | None,
    typer.Option(
        "--body", metavar="KIND", help="Which of the document's bodies stands on the frame; none."
    ),
]
Mounts = Annotated[
    str | None,
    typer.Option(
        "--mounts",
        metavar="GRADE",
        help='Pads of one grade in all mounts: "rubber", "urethane", "solid" and more.',
    ),
]
Units = Annotated[
    str, typer.Option("--units", metavar="si|us", help="Which units come first in the tables.")
]


@dataclass(frozen=True)
class Choice:
    """A frame document with the user's choice of parts."""

    path: Path
    document: "FrameDocument"
    fit: tuple[str, ...]
    leave: tuple[str, ...]
    stock: bool
    positions: dict[str, float]
    body: str | None = None
    mounts: str | None = None

    def frame(self) -> "Frame":
        """Return the frame with the chosen parts."""
        from fea.frame.build import build_frame

        return build_frame(
            self.document,
            source=str(self.path),
            fit=self.fit,
            leave=self.leave,
            stock=self.stock,
            positions=self.positions,
            body=self.body,
            mounts=self.mounts,
        )

    def stock_frame(self) -> "Frame":
        """Return the frame with no part fitted."""
        from fea.frame.build import build_frame

        return build_frame(
            self.document,
            source=str(self.path),
            stock=True,
            positions=self.positions,
            body=self.body,
            mounts=self.mounts,
        )


def choose(
    name: str,
    fit: Sequence[str] | None = None,
    leave: Sequence[str] | None = None,
    at: Sequence[str] | None = None,
    *,
    stock: bool = False,
    body: str | None = None,
    mounts: str | None = None,
) -> Choice:
    """Read a frame document and keep the choice of parts with it."""
    from fea.document.find import find_frame
    from fea.document.read import read_frame

    path = find_frame(name)
    return Choice(
        path,
        read_frame(path),
        tuple(fit or ()),
        tuple(leave or ()),
        stock,
        positions_of(at or ()),
        body,
        mounts,
    )


def positions_of(items: Sequence[str]) -> dict[str, float]:
    """Return the stations, mm, of crossmembers bolted elsewhere."""
    from fea import units

    found = {}
    for item in items:
        name, equals, station = item.partition("=")
        if not equals:
            raise ModelError(
                Complaint(
                    "a position is written NAME=STATION", "--at", item, 'such as --at "X3=1200 mm"'
                )
            )
        try:
            found[name.strip()] = units.parse(station.strip(), "length")
        except ValueError as error:
            raise ModelError(Complaint(str(error), "--at", item)) from None
    return found


def load_cases(names: Sequence[str] | None) -> "list[Case]":
    """Read the load cases named; twist and bending when none is."""
    from fea.document.find import find_case
    from fea.document.read import read_case
    from fea.frame.build_case import build_case

    found = [build_case(read_case(find_case(name))) for name in names or ("twist", "bending")]
    twice = {c.name for c in found if sum(c.name == d.name for d in found) > 1}
    if twice:
        raise DocumentError(
            Complaint("each load case can be asked for once", "--case", ", ".join(sorted(twice)))
        )
    return found


def system(units: str) -> "System":
    """Return the unit system asked for; refuse one that is not known."""
    if units == "si" or units == "us":
        return "si" if units == "si" else "us"
    raise ModelError(Complaint("unknown unit system", "--units", units, "si or us"))
