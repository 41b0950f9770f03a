"""Stock thicknesses, and the walls of a document's parts that may take them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.document.schema import FrameDocument
from fea.document.split import Split, shared_sections, with_splits
from fea.errors import Complaint, DocumentError, ModelError
from fea.result.mass import masses
from fea.study.keys import as_text
from fea.study.variant import Setting, Variant, frame_of

Array = NDArray[np.float64]
Levels = tuple[int, ...]
"""One number per wall: 0 where its part is off, k for the k-th gauge."""

METRIC = ("2 mm", "2.5 mm", "3 mm", "4 mm", "5 mm", "6 mm")
"""Sheet and plate that steel merchants keep, metric."""

SHEET = ("7 ga", "8 ga", "10 ga", "11 ga", "12 ga", "14 ga")
"""Manufacturers' Standard Gauge for sheet steel: those sold as sheet, 4.6 to 1.9 mm."""

LISTS: Mapping[str, tuple[str, ...]] = {"metric": METRIC, "msg": SHEET}

MOST_DESIGNS = 20_000_000
"""Designs beyond which the search is refused: it keeps a figure for each."""


@dataclass(frozen=True)
class Wall:
    """One thickness to be chosen: a path, the part it belongs to, its name for people.

    `replaces`: whether the part stands in the place of stock pieces, so that fitting it
    need not stiffen.
    """

    path: str
    part: str
    words: str
    replaces: bool


@dataclass(frozen=True, eq=False)
class Space:
    """All designs: every wall at every gauge, every part on or off.

    Attributes
    ----------
    setting : with a document in which the parts share no section with others
    always : parts that stay fitted whatever is chosen
    gauges : texts, rising
    positions : stations of crossmembers bolted elsewhere, mm
    """

    setting: Setting
    splits: tuple[Split, ...]
    always: tuple[str, ...]
    walls: tuple[Wall, ...]
    gauges: tuple[str, ...]
    positions: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def thickness(self) -> Array:
        """Thickness of every level, mm, (n_gauges + 1,); off counts as nothing."""
        return np.array([0.0, *(units.parse(g, "thickness") for g in self.gauges)])

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """The parts that are on or off."""
        return tuple(dict.fromkeys(w.part for w in self.walls))

    @property
    def shape(self) -> tuple[int, ...]:
        """Levels of every wall."""
        return (len(self.gauges) + 1,) * len(self.walls)

    def fitted(self, levels: Sequence[int]) -> dict[str, bool]:
        """Return of every part whether a design has it."""
        return {w.part: bool(k) for w, k in zip(self.walls, levels, strict=True)}

    def edits(self, levels: Sequence[int]) -> dict[str, str]:
        """Return the gauges of a design by path; nothing of the parts that are off."""
        return {w.path: self.gauges[k - 1] for w, k in zip(self.walls, levels, strict=True) if k}

    def variant(self, levels: Sequence[int]) -> Variant:
        """Return the variant of a design."""
        on = [p for p, is_on in self.fitted(levels).items() if is_on]
        return Variant.of((*self.always, *on), self.positions, self.edits(levels))

    def between(self, thickness: Sequence[float], on: Sequence[bool]) -> Variant:
        """Return the variant of any thicknesses, mm, of the walls that are on."""
        chosen = [(w, t) for w, t, fit in zip(self.walls, thickness, on, strict=True) if fit]
        return Variant.of(
            (*self.always, *dict.fromkeys(w.part for w, _ in chosen)),
            self.positions,
            {w.path: as_text(float(t), "thickness") for w, t in chosen},
        )

    @cached_property
    def stock(self) -> Variant:
        """The variant without any of the parts to be chosen."""
        return Variant.of(self.always, self.positions)

    @cached_property
    def bare(self) -> Variant:
        """The variant without any part at all, over which gains are told."""
        return Variant.of((), self.positions)

    @cached_property
    def mass(self) -> tuple[float, tuple[Array, ...]]:
        """Steel without the parts, tonne, and what each level of each wall adds.

        Steel adds up wall by wall; a part's own fixed steel counts with its first wall.
        """
        bare = self._steel(self.stock)
        tables: list[Array] = []
        for number, wall in enumerate(self.walls):
            mine = [w.part == wall.part for w in self.walls]
            first = mine.index(True) == number
            rows = []
            for k in range(1, len(self.gauges) + 1):
                levels = [int(m) for m in mine]
                levels[number] = k
                rows.append(self._steel(self.variant(levels)))
            least = bare if first else self._steel(self.variant([int(m) for m in mine]))
            tables.append(np.array([0.0, *(r - least for r in rows)]))
        return bare, tuple(tables)

    def steel(self, levels: Sequence[int]) -> float:
        """Return the steel of a design, tonne."""
        bare, tables = self.mass
        return bare + sum(float(t[k]) for t, k in zip(tables, levels, strict=True))

    def _steel(self, variant: Variant) -> float:
        return float(masses(frame_of(self.setting, variant)).steel)


def thicknesses(names: Sequence[str]) -> tuple[str, ...]:
    """Return stock thicknesses, rising: lists by name, or texts such as "3 mm" and "11 ga".

    Raises
    ------
    DocumentError
        If a text is neither a list nor a thickness.
    """
    found: dict[float, str] = {}
    for name in names or ("metric",):
        for text in LISTS.get(name, (name,)):
            try:
                value = units.parse(text, "thickness")
            except DocumentError as error:
                rule = error.complaints[0].rule
                do = f"{error.complaints[0].do}, or a list: {', '.join(LISTS)}"
                raise DocumentError(Complaint(rule, "--gauges", text, do)) from None
            if value <= 0.0:
                raise DocumentError(Complaint("must be greater than 0 mm", "--gauges", text))
            found.setdefault(value, text)
    return tuple(found[v] for v in sorted(found))


def space(
    setting: Setting,
    gauges: Sequence[str],
    paths: Sequence[str] = (),
    always: Sequence[str] = (),
    positions: Mapping[str, float] | None = None,
) -> Space:
    """Return the designs over some walls; over all plates and walls of parts if none is named.

    Parameters
    ----------
    paths : of plates and walls, by :mod:`fea.document.edit`; or names of parts
    always : parts that stay fitted, if none of their walls is varied

    Raises
    ------
    ModelError
        If there is no such wall, it belongs to no part, or there are too many designs.
    """
    splits = shared_sections(setting.document, [p.name for p in setting.document.part])
    document = with_splits(setting.document, splits)
    every = _walls(document)
    chosen = tuple(w for w in every if not paths or _is_named(w, paths, splits))
    for path in paths:
        if not any(_is_named(w, [path], splits) for w in every):
            raise ModelError(
                Complaint(
                    "must be a part, or a plate or wall of one",
                    "--vary",
                    path,
                    ", ".join(dict.fromkeys([w.part for w in every] + [w.path for w in every])),
                )
            )
    if not chosen:
        raise ModelError(
            Complaint(
                "no part has a plate or a wall to be chosen",
                setting.source,
                do="describe boxing plates or crossmembers in [[part]]",
            )
        )
    if (len(gauges) + 1.0) ** len(chosen) > MOST_DESIGNS:
        raise ModelError(
            Complaint(
                f"must be no more than {MOST_DESIGNS:.0e} designs",
                found=f"{len(gauges)} gauges in {len(chosen)} walls",
                do="name fewer gauges with --gauges, or fewer walls with --vary",
            )
        )
    mine = {w.part for w in chosen}
    return Space(
        replace(setting, document=document),
        splits,
        tuple(p for p in always if p not in mine),
        chosen,
        tuple(gauges),
        positions or {},
    )


def _is_named(wall: Wall, names: Sequence[str], splits: Sequence[Split]) -> bool:
    """Say whether a wall is meant by a part's name or a path, that of a shared section too."""
    old = {f"section.{s.name}.wall": f"section.{s.section}.wall" for s in splits}
    return any(n in (wall.part, wall.path, old.get(wall.path)) for n in names)


def _walls(document: FrameDocument) -> tuple[Wall, ...]:
    """Return the plates and the members' walls of all parts."""
    data = document.origin.data
    found: dict[str, Wall] = {}
    for part in data.get("part", ()):
        name, replaces = part["name"], bool(part.get("replaces"))
        plates = part.get("boxing", ())
        for number in range(1, len(plates) + 1):
            words = f"{name}, plate" + (f" {number}" if len(plates) > 1 else "")
            path = f"part.{name}.boxing.{number}.plate"
            found[path] = Wall(path, name, words, replaces)
        for kind in ("crossmember", "brace"):
            for member in part.get(kind, ()):
                if "wall" in data["section"].get(member["section"], {}):
                    path = f"section.{member['section']}.wall"
                    words = f"{name}, wall of {member['section']}"
                    found.setdefault(path, Wall(path, name, words, replaces))
    return tuple(found.values())
