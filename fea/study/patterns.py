"""The designs of one choice of parts, and which of them are ruled out, and by what."""

from dataclasses import dataclass, field
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from fea.errors import FeaError
from fea.frame.build import build_frame
from fea.study.gauges import Levels, Space
from fea.study.relaxed import Pattern, Tangent

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(eq=False)
class Block:
    """All gauges of the walls that are on in one choice of parts.

    Attributes
    ----------
    steel : (n_gauges,) * n_on, tonne
    spent : designs that were solved
    under : designs no thicker anywhere than one that misses a target: they miss it too
    beyond : designs that a tangent tells to miss a target
    """

    space: Space
    pattern: Pattern
    on: tuple[int, ...]
    steel: Array
    spent: Mask
    under: Mask
    beyond: Mask
    tangents: list[Tangent] = field(default_factory=list)

    def lightest(self, ruled: Mask) -> tuple[Levels, float] | None:
        """Return the lightest design that is not ruled out, by its gauges, and its steel."""
        left = np.where(ruled, np.inf, self.steel)
        at = np.unravel_index(int(np.argmin(left)), left.shape)
        value = float(left[at])
        return None if np.isinf(value) else (tuple(int(k) for k in at), value)

    def levels(self, at: Levels) -> Levels:
        """Return a design of the block as one of all designs."""
        out = [0] * len(self.pattern)
        for wall, k in zip(self.on, at, strict=True):
            out[wall] = k + 1
        return tuple(out)

    def thickness(self, at: Levels) -> Array:
        """Return the thicknesses of a design, mm, (n_on,)."""
        return np.array([self.space.thickness[k + 1] for k in at])

    def spend(self, at: Levels) -> None:
        """Count a design as solved."""
        self.spent[at] = True

    def miss(self, at: Levels) -> None:
        """Rule out all designs that are nowhere thicker than one that misses a target."""
        self.spent[at] = True
        self.under[tuple(slice(0, k + 1) for k in at)] = True

    def cut(self, tangent: Tangent, margin: float) -> None:
        """Rule out all designs that a tangent tells to miss its target by a margin."""
        self.tangents.append(tangent)
        self.beyond |= self.told(tangent) > 1.0 + margin

    def told(self, tangent: Tangent) -> Array:
        """Return the compliance a tangent tells of every design, over that of its target."""
        out = np.full(self.steel.shape, tangent.value)
        for axis, (slope, point) in enumerate(zip(tangent.slope, tangent.point, strict=True)):
            shape = [1] * self.steel.ndim
            shape[axis] = -1
            out = out + (slope * (self.space.thickness[1:] - point)).reshape(shape)
        return out * tangent.target.value


def block(space: Space, pattern: Pattern) -> Block:
    """Return the designs of a choice of parts, none ruled out."""
    on = tuple(k for k, is_on in enumerate(pattern) if is_on)
    shape = (len(space.gauges),) * len(on)
    steel = np.full(shape, space.mass[0])
    for axis, wall in enumerate(on):
        size = [1] * len(on)
        size[axis] = -1
        steel = steel + space.mass[1][wall][1:].reshape(size)
    spent, under, beyond = (np.zeros(shape, dtype=bool) for _ in range(3))
    return Block(space, pattern, on, steel, spent, under, beyond)


def patterns(space: Space) -> list[Pattern]:
    """Return every choice of parts that can be fitted together, the lightest first."""
    clash = _clashes(space)
    found = []
    for fitted in product((False, True), repeat=len(space.parts)):
        chosen = {p for p, on in zip(space.parts, fitted, strict=True) if on}
        if not any(pair <= chosen for pair in clash):
            found.append(tuple(w.part in chosen for w in space.walls))
    return sorted(found, key=lambda p: space.steel([int(on) for on in p]))


def within(small: Pattern, large: Pattern, space: Space) -> bool:
    """Say whether a choice is another one less parts that only add.

    Then it is no stiffer.  A part that replaces stock pieces must be in both or in neither.
    """
    return all(
        a == b if wall.replaces else b or not a
        for a, b, wall in zip(small, large, space.walls, strict=True)
    )


def _clashes(space: Space) -> list[set[str]]:
    """Return the pairs of parts that cannot be fitted together."""

    def builds(*parts: str) -> bool:
        try:
            build_frame(
                space.setting.document,
                source=space.setting.source,
                stock=True,
                fit=[*space.always, *parts],
            )
        except FeaError:
            return False
        return True

    if builds(*space.parts):
        return []
    return [{a, b} for a, b in combinations(space.parts, 2) if not builds(a, b)]
