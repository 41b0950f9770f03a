"""Bodies: beams and panels on both sides from points of the right one, and their mounts.

Every body is built for each kind that it is listed under, chosen or not, so that a slip
shows at once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from fea.document.spelling import choices
from fea.errors import Complaint, ModelError
from fea.frame.body import Body, BodyFigure
from fea.frame.build_draft import Array, Draft, Loc
from fea.frame.build_grillage import MIRROR, Grillage, Place, beams_and_panels
from fea.frame.build_rails import SAME
from fea.frame.model import Mount, Side

if TYPE_CHECKING:
    from fea.document.schema import FrameDocument
    from fea.document.schema_body import (
        BendingEntry,
        BodyBeamEntry,
        BodyEntry,
        BodyPanelEntry,
        TwistEntry,
    )

    Named: TypeAlias = BodyBeamEntry | BodyPanelEntry

#: What stands for no body where a kind of body is asked for.
NONE = "none"


@dataclass(frozen=True)
class Standing:
    """The document's mounts: those that are there, by name, and why others are not.

    `known` are all names, `failed` those complained of already; `stand_ins` maps a stock
    mount that a fitted part replaces to the mounts of that part.
    """

    known: tuple[str, ...]
    fitted: Mapping[str, tuple[Mount, ...]]
    failed: frozenset[str]
    stand_ins: Mapping[str, tuple[str, ...]]


def body_kinds(document: "FrameDocument") -> tuple[str, ...]:
    """Return the words a body of the document can be chosen by, in the order of the file."""
    return tuple(dict.fromkeys(kind for body in document.body for kind in body.kind))


def choose_body(document: "FrameDocument", source: str, body: str | None) -> str | None:
    """Return the kind of body that is chosen, None for no body.

    Raises
    ------
    ModelError
        If no body of the document is of that kind.
    """
    kinds = body_kinds(document)
    if body is None or body == NONE:
        return None
    if body not in kinds:
        do = choices((*kinds, NONE), body) if kinds else "this frame's document has no body"
        raise ModelError(Complaint(f'there is no kind of body "{body}"', source, do=do))
    return body


def build_bodies(draft: Draft, standing: Standing) -> dict[str, tuple[Body, ...]]:
    """Return the bodies of each kind; complain of what is wrong with them, each slip once."""
    document = draft.document
    told = len(draft.complaints)
    _check_bodies(draft)
    sound = len(draft.complaints) == told
    kinds: dict[str, tuple[Body, ...]] = {}
    for kind in body_kinds(document):
        made = [
            _Maker(draft, entry, ("body", number), kind, sound).body(standing)
            for number, entry in enumerate(document.body)
            if kind in entry.kind
        ]
        kinds[kind] = tuple(body for body in made if body is not None)
    draft.complaints[told:] = dict.fromkeys(draft.complaints[told:])
    return kinds


def _check_bodies(draft: Draft) -> None:
    """Refuse kinds that no body is listed under, and names given twice."""
    for number, body in enumerate(draft.document.body):
        loc: Loc = ("body", number)
        if NONE in body.kind:
            draft.complain(f'"{NONE}" stands for no body', (*loc, "kind"), do="use another word")
        tables: tuple[tuple[str, Sequence[Named]], ...] = (
            ("beam", body.beam),
            ("panel", body.panel),
        )
        for table, entries in tables:
            first: set[str] = set()
            for k, entry in enumerate(entries):
                _check_kind(draft, body, entry.kind, (*loc, table, k))
                if entry.name in first:
                    draft.complain(
                        f"the name of a body's {table} must be given only once",
                        (*loc, table, k),
                        found=f'"{entry.name}"',
                        do="give one of them another name",
                    )
                first.add(entry.name)
        for key, given in (("twist", body.twist), ("bending", body.bending)):
            for place, figure in _listed(given, (*loc, key)):
                _check_kind(draft, body, figure.kind, place)


def _check_kind(draft: Draft, body: "BodyEntry", kinds: Sequence[str] | None, loc: Loc) -> None:
    for word in kinds or ():
        if word not in body.kind:
            rule = f'body "{body.name}" is not of kind "{word}"'
            draft.complain(rule, (*loc, "kind"), do=choices(body.kind, word))


def _listed(
    given: "TwistEntry | BendingEntry | Sequence[TwistEntry | BendingEntry] | None", loc: Loc
) -> "list[tuple[Loc, TwistEntry | BendingEntry]]":
    """Return figures with their places, whether there is one or a list of them."""
    if given is None:
        return []
    if isinstance(given, Sequence):
        return [((*loc, k), figure) for k, figure in enumerate(given)]
    return [(loc, given)]


@dataclass(frozen=True)
class _Maker:
    """One body of one kind in the making."""

    draft: Draft
    entry: "BodyEntry"
    loc: Loc
    kind: str
    sound: bool
    """Nothing is wrong with the kinds, so that what belongs to this one is known."""

    @property
    def grillage(self) -> Grillage:
        """Its beams, panels and points."""
        return Grillage(self.draft, self.entry, self.loc, self.kind)

    def body(self, standing: Standing) -> Body | None:
        """Return the body, None after a complaint."""
        before = len(self.draft.complaints)
        metal = self.draft.material(self.entry.material, self.loc)
        beams, panels = beams_and_panels(self.grillage, metal)
        points = self._mounts(standing)
        if not points and not standing.failed & set(self.entry.mounts):
            rule = f'no mount that body "{self.entry.name}" stands on is fitted'
            self.draft.complain(rule, (*self.loc, "mounts"), do="name mounts that are there")
        if self.sound and len(self.draft.complaints) == before:
            # Only then: a beam that is refused would leave its corners hanging in the air.
            self.grillage.check_whole(beams, panels, points)
        twist, bending = (self._figure(key, points, standing) for key in ("twist", "bending"))
        if len(self.draft.complaints) > before:
            return None
        name = self.entry.name
        return Body(name, tuple(beams), tuple(panels), points, twist, bending)

    def _mounts(self, standing: Standing) -> dict[tuple[str, Side], Place]:
        """Return the body's point above each mount that is there."""
        points: dict[tuple[str, Side], Place] = {}
        for name, point in self.entry.mounts.items():
            loc: Loc = (*self.loc, "mounts", name)
            right = self.grillage.point(point, loc)
            if name not in standing.known:
                rule = f'there is no mount "{name}"'
                self.draft.complain(rule, loc, do=choices(standing.known, name))
            self._check_stand_in(name, standing, loc)
            if right is None:
                continue
            for mount in standing.fitted.get(name, ()):
                if mount.side == "centre" and right[1] > SAME:
                    rule = f'mount "{name}" on the centreline needs a point of the body there'
                    self.draft.complain(rule, loc, do="name a point with offset 0 mm")
                    continue
                x, y, z = (MIRROR * right if mount.side == "left" else right).tolist()
                points[name, mount.side] = (x, y, z)
        return points

    def _is_lost(self, name: str, standing: Standing) -> bool:
        instead = standing.stand_ins.get(name, ())
        return bool(instead) and not set(instead) & set(self.entry.mounts)

    def _check_stand_in(self, name: str, standing: Standing, loc: Loc) -> None:
        """Refuse to lose a mount to a part whose own mounts the body does not stand on."""
        if self._is_lost(name, standing):
            instead = standing.stand_ins[name]
            self.draft.complain(
                f'mount "{name}" of body "{self.entry.name}" is not fitted: a part replaces it',
                loc,
                found=", ".join(f'"{other}"' for other in instead) + " in its place",
                do="add the part's mount to the body's mounts as well",
            )

    def _figure(
        self, key: str, points: Mapping[tuple[str, Side], Place], standing: Standing
    ) -> BodyFigure | None:
        """Return the body's own stiffness in this kind, None if it is not told."""
        given = self.entry.twist if key == "twist" else self.entry.bending
        here = [
            (loc, figure)
            for loc, figure in _listed(given, (*self.loc, key))
            if figure.kind is None or self.kind in figure.kind
        ]
        if len(here) > 1:
            rule = f'body "{self.entry.name}" has more than one {key} as "{self.kind}"'
            self.draft.complain(rule, here[1][0], do="give each of them its own kind")
        made = [self._measured(key, loc, figure, points, standing) for loc, figure in here]
        return made[0] if made else None

    def _measured(
        self,
        key: str,
        loc: Loc,
        figure: "TwistEntry | BendingEntry",
        points: Mapping[tuple[str, Side], Place],
        standing: Standing,
    ) -> BodyFigure | None:
        """Return one stiffness of the body, None after a complaint."""
        front, rear = (
            self._pair(name, points, standing, (*loc, "between", k))
            for k, name in enumerate(figure.between)
        )
        at: tuple[Place, ...] = ()
        pushed = getattr(figure, "at", None)
        if pushed is not None:
            right = self.grillage.point(pushed, (*loc, "at"))
            if right is not None:
                at = _both(right)
        if front is None or rear is None:
            return None
        if front == rear:
            self.draft.complain(
                f"the {key} of a body is measured between two pairs of mounts",
                (*loc, "between"),
                found=f'"{front}" twice',
                do="name two pairs, front first",
            )
        held = {points[front, "right"], points[rear, "right"]}
        if at and at[0] in held:
            self.draft.complain(
                "a body is pushed down away from the mounts that its bending is measured between",
                (*loc, "at"),
                do="name another point",
            )
        return BodyFigure(figure.stiffness, (front, rear), at)

    def _pair(
        self,
        name: str,
        points: Mapping[tuple[str, Side], Place],
        standing: Standing,
        loc: Loc,
    ) -> str | None:
        """Return a pair of mounts by name, or the pair that stands in for it at its point."""
        if name not in self.entry.mounts:
            rule = f'body "{self.entry.name}" does not stand on a mount "{name}"'
            self.draft.complain(rule, loc, do=choices(self.entry.mounts, name))
            return None
        point = self.entry.mounts[name]
        same = [other for other, at in self.entry.mounts.items() if at == point]
        for other in (name, *same):
            if {(other, "right"), (other, "left")} <= points.keys():
                return other
        told = (
            point not in self.entry.point
            or name not in standing.known
            or name in standing.failed
            or self._is_lost(name, standing)
        )
        if not told:
            self.draft.complain(
                "a body's own stiffness is measured between pairs of mounts that are fitted",
                loc,
                found=f'"{name}"',
                do="name a pair that is there",
            )
        return None


def _both(right: Array) -> tuple[Place, ...]:
    """Return a point with its mirror image, alone if it is on the centreline."""
    x, y, z = right.tolist()
    return ((x, y, z), (x, -y, z)) if abs(y) > SAME else ((x, y, z),)
