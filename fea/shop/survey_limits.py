"""Tolerances of a survey: common practice, classes of welded constructions, or the user's own.

References
----------
.. [1] ISO 13920:1996, "General tolerances for welded constructions", tables 1 to 3: lengths A
   to D, angles (mm per metre of the shorter leg), straightness E to H.  Taken from a published
   copy of the tables; rows G and H are from memory.  Not compared with the 2023 edition.
"""

import bisect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import radians

from fea import units
from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError

PRACTICE: Mapping[str, float] = {
    "twist": radians(0.25),
    "diamond": 3.0,
    "square": 6.0,
    "sag": 3.0,
    "sidesway": 3.0,
    "mash": 3.0,
    "width": 3.0,
    "level_side": 5.0,
    "level_end": 10.0,
}
"""Common practice of good shops, mm and rad; no source.  Square: difference of a bay's diagonals,
about twice the shift of the rails."""

_LENGTHS = (30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0, 8000.0, 12000.0, 16000.0, 20000.0)
TABLE_1: Mapping[str, tuple[float, ...]] = {
    "A": (1, 1, 1, 2, 3, 4, 5, 6, 7, 8, 9),
    "B": (1, 2, 2, 3, 4, 6, 8, 10, 12, 14, 16),
    "C": (1, 3, 4, 6, 8, 11, 14, 18, 21, 24, 27),
    "D": (1, 4, 7, 9, 12, 16, 21, 27, 32, 36, 40),
}
"""Plus or minus mm by nominal length up to each of `_LENGTHS`, and beyond [1]."""
TABLE_2: Mapping[str, tuple[float, float, float]] = {
    "A": (6.0, 4.5, 3.0),
    "B": (13.0, 9.0, 6.0),
    "C": (18.0, 13.0, 9.0),
    "D": (26.0, 22.0, 18.0),
}
"""Mm per metre of the shorter leg, up to 400 and 1000 mm, and beyond [1]."""
TABLE_3: Mapping[str, tuple[float, ...]] = {
    "E": (0.5, 1, 1.5, 2, 3, 4, 5, 6, 7, 8),
    "F": (1, 1.5, 3, 4.5, 6, 8, 10, 12, 14, 16),
    "G": (1.5, 3, 5.5, 9, 11, 16, 20, 22, 25, 25),
    "H": (2.5, 5, 9, 14, 18, 26, 32, 36, 40, 40),
}
"""Mm by nominal length up to each of `_LENGTHS` from 120 mm on, and beyond [1]."""

LARGEST = {"angle": radians(10.0), "length": 200.0}


@dataclass(frozen=True)
class Limits:
    """Tolerances by measure, mm and rad; None in `own` means that it is not judged.

    `lengths` is a class of table 1 and 2, `straight` one of table 3, empty for practice.
    """

    own: Mapping[str, float | None] = field(default_factory=dict)
    lengths: str = ""
    straight: str = ""

    def at(self, key: str, nominal: float) -> float | None:
        """Return the tolerance of a measure over a nominal length in mm."""
        if key in self.own:
            return self.own[key]
        if self.lengths and key in ("width", "mash"):
            return float(TABLE_1[self.lengths][bisect.bisect_left(_LENGTHS, nominal)])
        if self.lengths and key == "diamond":
            row = TABLE_2[self.lengths]
            return row[bisect.bisect_left((400.0, 1000.0), nominal)] * nominal / 1e3
        if self.straight and key in ("sag", "sidesway"):
            return float(TABLE_3[self.straight][bisect.bisect_left(_LENGTHS[1:], nominal)])
        return PRACTICE[key]

    def source(self, key: str) -> str:
        """Say where a tolerance is from."""
        if key in self.own:
            return "yours"
        if self.lengths and key in ("width", "mash", "diamond"):
            return f"class {self.lengths}"
        if self.straight and key in ("sag", "sidesway"):
            return f"class {self.straight}"
        return "practice"

    @property
    def words(self) -> str:
        """Say what the tolerances rest on."""
        if not self.lengths:
            return "Tolerances: common practice, no source; set your own with --tolerance."
        memory = " (rows G and H from memory)" if self.straight in ("G", "H") else ""
        return (
            f"Tolerances: ISO 13920:1996 class {self.lengths}{self.straight} for width, mash and"
            f" diamond (tables 1, 2), sag and sidesway (table 3{memory}), from a copy of its"
            " tables, not checked against the standard; the others common practice, no source."
        )


def limits(own: Mapping[str, str], iso: str | None, options: Sequence[str] = ()) -> Limits:
    """Return the tolerances of a table and of options NAME=VALUE, which come last.

    Raises
    ------
    DocumentError
        With every one that makes no sense.
    """
    wrong: list[Complaint] = []
    found: dict[str, float | None] = {}
    asked = [(f'[survey], key "{k}"', k, v) for k, v in own.items()]
    for item in options:
        key, equals, value = item.partition("=")
        if not equals:
            do = "such as --tolerance twist=0.25deg"
            wrong.append(Complaint("a tolerance is NAME=VALUE", "--tolerance", item, do))
        else:
            asked.append(("--tolerance", key.strip(), value.strip()))
    for where, key, value in asked:
        if key not in PRACTICE:
            wrong.append(Complaint("unknown measure", where, key, choices(PRACTICE, key)))
            continue
        if value.lower() == "off":
            found[key] = None
            continue
        kind = "angle" if key == "twist" else "length"
        try:
            size = units.parse(value, kind)
        except DocumentError as error:
            wrong += [Complaint(f"{key} {c.rule}", where, value, c.do) for c in error.complaints]
            continue
        if not 0.0 < size <= LARGEST[kind]:
            most = "10 deg" if kind == "angle" else "200 mm"
            do = f'above zero, up to {most}; "off" leaves it out'
            wrong.append(Complaint(f"{key} must be a sensible tolerance", where, value, do))
        else:
            found[key] = size
    classes = (iso or "").upper()
    if classes and not (len(classes) == 2 and classes[0] in TABLE_1 and classes[1] in TABLE_3):
        do = "a class A to D for lengths and one E to H for straightness, such as BF"
        wrong.append(Complaint("unknown class of tolerance", "--iso", iso or "", do))
    if wrong:
        raise DocumentError(*wrong)
    return Limits(found, classes[:1], classes[1:])
