"""A validation case of a whole frame: a frame document, a load case document, known answers.

Both documents keep their own units; the answers come in those that `run` prints.
"""

from typing import Literal, Self

from pydantic import model_validator

from fea.document.entry import Name, key
from fea.document.quantity import Number, refuse
from fea.document.validation_entry import ExpectEntry, Told

FrameWord = Literal["reading", "twist_stiffness", "bending_stiffness", "twist_angle"]

_KEYS = {"reading": ("reading", "side"), "twist_angle": ("station", "over")}
"""The keys that go with a word, and with no other."""


class FrameExpectEntry(ExpectEntry):
    """An answer of a frame under its load case."""

    read: FrameWord = key(
        "reading: a motion that the case reads; twist_stiffness, N m/deg; bending_stiffness, "
        "N/mm; twist_angle: of the pair of rails at a station, deg."
    )
    reading: str | None = key("Name of the reading in the load case.", default=None)
    side: Literal["right", "left", "centre"] | None = key(
        "Side of the reading, where it has two.", default=None
    )
    station: Number | None = key("Station of the twist angle, mm.", default=None)
    over: Number | None = key(
        "Station, mm, whose twist angle the other is told as a part of: the common factor "
        "drops out, and so does the unit.",
        default=None,
    )

    @model_validator(mode="after")
    def _place(self) -> Self:
        for word, (main, more) in _KEYS.items():
            mine = self.read == word
            if mine and getattr(self, main) is None:
                raise refuse(rule=f"a {word} needs its {main}", do=f"add {main}")
            given = [k for k in (main, more) if getattr(self, k) is not None]
            if given and not mine:
                raise refuse(
                    rule=f'{given[0]} goes with read = "{word}", and with nothing else',
                    do=f"leave out {given[0]}",
                )
        return self


class FrameCheck(Told):
    """A frame document under a load case document."""

    kind: Literal["frame"] = key("A whole frame.")
    frame: Name = key("Frame document: path from this file's folder, or a shipped one by name.")
    case: Name = key("Load case document, likewise.")
    joints: Literal["sheet", "beam"] = key(
        "sheet: joints and plate ends as condensed sheet metal; beam: by the quick rules."
    )
    fit: list[str] = key("Parts to fit.", default=[], alias="with")
    leave: list[str] = key("Parts to leave off.", default=[], alias="without")
    expect: list[FrameExpectEntry] = key("Known answers.", min_length=1)
