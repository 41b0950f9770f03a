"""Plain orders of welding: which run comes after which, by rules a welder can keep in mind.

one side first
    all of the right side, then the left: crossmember ends, top seams front to rear, bottom seams.
end to end
    from front to rear, whatever lies there: right before left, top before bottom.
equal and opposite
    crossmember ends first, each run followed by its opposite; then the seams, top right, bottom
    left, top left, bottom right, at places spread over the length so that neighbours come late.
back-step
    crossmember ends first; then from front to rear in blocks of three runs, each block from its
    rear end forward, the four seams in turn.  Which way the arc travels within a run makes no
    difference to the model.
"""

from collections.abc import Sequence

from fea.shop.weld_runs import ROUND, WeldRun

BLOCK = 3
"""Runs in a block of the back-step order."""

_SIDES = ("right", "left", "centre")
_EDGES = ("top", "bottom", "right", "left", "rear", "front", ROUND)


def one_side_first(runs: Sequence[WeldRun]) -> list[int]:
    """Return the order of that name."""

    def key(k: int) -> tuple[int, bool, int, float]:
        r = runs[k]
        return (
            _SIDES.index(r.side),
            r.kind == "seam",
            _EDGES.index(r.edge.split(",")[0]),
            float(r.middle[0]),
        )

    return sorted(range(len(runs)), key=key)


def end_to_end(runs: Sequence[WeldRun]) -> list[int]:
    """Return the order of that name."""

    def key(k: int) -> tuple[float, int, int]:
        r = runs[k]
        return (
            round(float(r.middle[0]), 1),
            _SIDES.index(r.side),
            _EDGES.index(r.edge.split(",")[0]),
        )

    return sorted(range(len(runs)), key=key)


def equal_and_opposite(runs: Sequence[WeldRun]) -> list[int]:
    """Return the order of that name."""
    places = _places(runs)
    four = {("right", "top"): 0, ("left", "bottom"): 1, ("left", "top"): 2, ("right", "bottom"): 3}
    out = _ends(runs)
    for k in spread(len(places)):
        out += sorted(places[k], key=lambda n: (four.get((runs[n].side, runs[n].edge), 4), n))
    return out


def back_step(runs: Sequence[WeldRun]) -> list[int]:
    """Return the order of that name."""
    places = _places(runs)
    seams = [("right", "top"), ("left", "top"), ("right", "bottom"), ("left", "bottom")]
    rest = {(runs[n].side, runs[n].edge) for p in places for n in p} - set(seams)
    out = _ends(runs)
    for first in range(0, len(places), BLOCK):
        block = places[first : first + BLOCK][::-1]
        for seam in (*seams, *sorted(rest)):
            out += [n for p in block for n in p if (runs[n].side, runs[n].edge) == seam]
    return out


def _places(runs: Sequence[WeldRun]) -> list[list[int]]:
    """Return the runs of seams by their station, front to rear."""
    found: dict[float, list[int]] = {}
    for k, r in enumerate(runs):
        if r.kind == "seam":
            found.setdefault(round(float(r.middle[0]), 1), []).append(k)
    return [found[x] for x in sorted(found)]


def _ends(runs: Sequence[WeldRun]) -> list[int]:
    """Return the runs of members' ends: one of each end in turn, and then its opposite."""
    ends: dict[int, list[int]] = {}
    for k, r in enumerate(runs):
        if r.kind == "end":
            ends.setdefault(r.stretch, []).append(k)
    turned = [[mine[i] for i in _opposites(len(mine))] for mine in ends.values()]
    longest = max(map(len, turned), default=0)
    return [mine[i] for i in range(longest) for mine in turned if i < len(mine)]


def _opposites(n: int) -> list[int]:
    """Return 0, half way round, the next, half way round from it, ..."""
    half = (n + 1) // 2
    both = [k for i in range(half) for k in (i, i + half)]
    return [k for k in both if k < n]


def spread(n: int) -> list[int]:
    """Return 0 to n - 1 so that neighbours come far apart: binary digits reversed.

    Examples
    --------
    >>> spread(6)
    [0, 4, 2, 1, 5, 3]
    """
    bits = max(1, (n - 1).bit_length())
    turned = (int(format(k, f"0{bits}b")[::-1], 2) for k in range(2**bits))
    return [k for k in turned if k < n]
