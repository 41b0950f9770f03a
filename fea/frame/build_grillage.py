"""The grillage of a body: its beams and panels on both sides, and that they hang together."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fea.document.spelling import choices
from fea.frame.body import BodyBeam, BodyPanel
from fea.frame.build_draft import Array, Draft, Loc, member_axes
from fea.frame.build_rails import SAME
from fea.frame.model import Material, Side

if TYPE_CHECKING:
    from fea.document.schema_body import BodyBeamEntry, BodyEntry, BodyPanelEntry

FLAT = 5.0
"""How far a panel's corners may lie off a plane, mm."""

MIRROR = np.array([1.0, -1.0, 1.0])
Place = tuple[float, float, float]


@dataclass(frozen=True)
class Grillage:
    """The beams and panels of one body of one kind in the making."""

    draft: Draft
    entry: "BodyEntry"
    loc: Loc
    kind: str

    def beams(self, metal: Material) -> list[BodyBeam]:
        """Return the beams of this kind, without those that are complained of."""
        return [
            beam
            for k, entry in enumerate(self.entry.beam)
            if entry.kind is None or self.kind in entry.kind
            for beam in self._beams(entry, (*self.loc, "beam", k), metal)
        ]

    def panels(self, metal: Material) -> list[BodyPanel]:
        """Return the panels of this kind, without those that are complained of."""
        return [
            panel
            for k, entry in enumerate(self.entry.panel)
            if entry.kind is None or self.kind in entry.kind
            for panel in self._panels(entry, (*self.loc, "panel", k), metal)
        ]

    def point(self, name: str, loc: Loc) -> Array | None:
        """Return a point on the right, shape (3,), None after a complaint."""
        point = self.entry.point.get(name)
        if point is None:
            rule = f'there is no point "{name}" in body "{self.entry.name}"'
            self.draft.complain(rule, loc, do=choices(self.entry.point, name))
            return None
        return np.array([point.station, point.offset, point.height])

    def _path(self, names: Sequence[str], loc: Loc) -> Array | None:
        """Return points on the right, shape (n, 3), None after a complaint."""
        points = [self.point(name, loc) for name in names]
        found = [point for point in points if point is not None]
        return np.array(found) if len(found) == len(names) else None

    def _across(self, names: Sequence[str], loc: Loc) -> Array | None:
        """Return points on the right that have one on the left, None after a complaint."""
        right = self._path(names, loc)
        if right is None:
            return None
        for name, offset in zip(names, right[:, 1], strict=True):
            if offset <= SAME:
                rule = f'point "{name}" lies on the centreline: nothing goes across from it'
                self.draft.complain(rule, loc, do="name a point with an offset")
                return None
        return right

    def _beams(self, entry: "BodyBeamEntry", loc: Loc, metal: Material) -> list[BodyBeam]:
        """Return the beam across, or the one of each side; none after a complaint."""
        if entry.across is not None:
            right = self._across([entry.across], (*loc, "across"))
            path = None if right is None else np.vstack([right, MIRROR * right])
        else:
            path = self._path(entry.path or [], (*loc, "path"))
        if not self.draft.has_section(entry.section, loc) or path is None:
            return []
        for k, step in enumerate(np.linalg.norm(np.diff(path, axis=0), axis=1)):
            if step <= SAME:
                self.draft.complain(
                    "a beam of a body must lead from each point to another place",
                    (*loc, "path"),
                    found=f'"{(entry.path or [])[k]}" and "{(entry.path or [])[k + 1]}"',
                    do="leave one of them out",
                )
                return []
        section = self.draft.section(entry.section, member_axes(path)[1], None)
        if entry.across is not None or not path[:, 1].any():
            return [BodyBeam(entry.name, "centre", path, section, metal, entry.floor)]
        mirrored = self.draft.mirrored(section)
        return [
            BodyBeam(f"{entry.name} right", "right", path, section, metal, entry.floor),
            BodyBeam(f"{entry.name} left", "left", MIRROR * path, mirrored, metal, entry.floor),
        ]

    def _panels(self, entry: "BodyPanelEntry", loc: Loc, metal: Material) -> list[BodyPanel]:
        """Return the panel across, or the one of each side; none after a complaint."""
        names = entry.across or entry.corners or []
        place: Loc = (*loc, "corners" if entry.across is None else "across")
        if entry.across is not None:
            right = self._across(names, place)
            corners = None if right is None else _round(right)
        else:
            corners = self._path(names, place)
        if corners is None or not self._is_flat(corners, entry.name, place):
            return []
        if entry.across is not None or not corners[:, 1].any():
            return [BodyPanel(entry.name, corners, entry.wall, metal)]
        return [
            BodyPanel(f"{entry.name} right", corners, entry.wall, metal),
            BodyPanel(f"{entry.name} left", MIRROR * corners, entry.wall, metal),
        ]

    def _is_flat(self, corners: Array, name: str, loc: Loc) -> bool:
        """Return whether corners go round a flat panel, with a complaint if not."""
        normal = np.linalg.svd(corners - corners.mean(axis=0))[2][2]
        off = float(np.abs((corners - corners.mean(axis=0)) @ normal).max())
        if off > FLAT:
            self.draft.complain(
                f"the corners of a panel must lie within {FLAT:g} mm of a plane",
                loc,
                found=f'panel "{name}", {off:.3g} mm off',
                do="correct its points, or split the panel",
            )
            return False
        edges = np.roll(corners, -1, axis=0) - corners
        turns = np.cross(edges, np.roll(edges, -1, axis=0)) @ normal
        # Twice the area of the triangle at a corner: a sliver of it is a corner on a line.
        least = 1e-3 * float(np.max(np.sum(edges**2, axis=1)))
        if not (np.all(turns > least) or np.all(turns < -least)):
            self.draft.complain(
                "the corners of a panel must go round it, each a corner of its own",
                loc,
                found=f'panel "{name}"',
                do="give them in order, and split a panel that is bent inward",
            )
            return False
        return True

    def check_whole(
        self,
        beams: Sequence[BodyBeam],
        panels: Sequence[BodyPanel],
        points: Mapping[tuple[str, Side], Place],
    ) -> None:
        """Refuse a body in pieces: its beams hang together, and all else hangs on them."""
        name = self.entry.name
        nets = [{_spot(p) for p in beam.path} for beam in beams]
        nets += [{_spot(p) for p in panel.corners} for panel in panels]
        on_beams = set().union(*nets[: len(beams)])
        loose = [p.name for p in panels if not {_spot(c) for c in p.corners} <= on_beams]
        for k, entry in enumerate(self.entry.panel):
            if entry.name in loose or f"{entry.name} right" in loose:
                self.draft.complain(
                    f'every corner of panel "{entry.name}" must be a point of a beam',
                    (*self.loc, "panel", k),
                    do="lead a beam through each of its corners",
                )
        for (mount, _), point in points.items():
            if _spot(point) not in on_beams:
                rule = f'mount "{mount}" must hold a point of a beam of the body'
                self.draft.complain(
                    rule, (*self.loc, "mounts", mount), do="lead a beam through that point"
                )
        apart = _apart(beams, nets)
        if apart:
            self.draft.complain(
                f'the beams of body "{name}" must hang together',
                self.loc,
                found=", ".join(f'"{word}"' for word in apart) + " apart from the first beam",
                do="let their paths share a point",
            )


@dataclass(frozen=True, eq=False)
class _Kept:
    """A body's beams and panels, with the tables that they were made from."""

    entry: "BodyEntry"
    sections: tuple[object, ...]
    metal: Material
    beams: list[BodyBeam]
    panels: list[BodyPanel]

    def made_of(self, entry: "BodyEntry", sections: Sequence[object], metal: Material) -> bool:
        """Whether it was made from these very tables."""
        same = zip(self.sections, sections, strict=True)
        return self.entry is entry and self.metal == metal and all(a is b for a, b in same)


_KEPT: dict[tuple[int, str], _Kept] = {}
_MOST_KEPT = 16


def beams_and_panels(
    grillage: Grillage, metal: Material
) -> tuple[Sequence[BodyBeam], Sequence[BodyPanel]]:
    """Return a body's beams and panels, those of an earlier frame if its tables are the same.

    Variants of one document share the tables that do not change, and mostly bodies do not.
    """
    entry, key = grillage.entry, (id(grillage.entry), grillage.kind)
    sections = tuple(grillage.draft.document.section.get(beam.section) for beam in entry.beam)
    kept = _KEPT.get(key)
    if kept is not None and kept.made_of(entry, sections, metal):
        return kept.beams, kept.panels
    before = len(grillage.draft.complaints)
    beams, panels = grillage.beams(metal), grillage.panels(metal)
    if len(grillage.draft.complaints) == before:
        _KEPT.pop(key, None)
        while len(_KEPT) >= _MOST_KEPT:
            del _KEPT[next(iter(_KEPT))]
        _KEPT[key] = _Kept(entry, sections, metal, beams, panels)
    return beams, panels


def _round(right: Array) -> Array:
    """Return two points on the right and their mirror images, in order round, shape (4, 3)."""
    one, other = right
    return np.array([one, MIRROR * one, MIRROR * other, other])


def _spot(point: Iterable[float]) -> tuple[int, ...]:
    """Return where a point is, the same for points that are one."""
    return tuple(round(float(value) / SAME) for value in point)


def _apart(beams: Sequence[BodyBeam], nets: Sequence[set[tuple[int, ...]]]) -> list[str]:
    """Return the names of beams that nothing leads to from the first one."""
    reached = set(nets[0]) if nets else set()
    left = list(nets[1:])
    grown = True
    while grown:
        touched = [net for net in left if net & reached]
        left = [net for net in left if not net & reached]
        reached.update(*touched)
        grown = bool(touched)
    return [b.name for b, net in zip(beams, nets, strict=False) if not net & reached]
