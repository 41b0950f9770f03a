"""Right and left as one line, for the worse of the two."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Row = TypeVar("Row")


def paired(
    items: Sequence[Row],
    name: Callable[[Row], str],
    size: Callable[[Row], float],
) -> Iterator[tuple[str, Row]]:
    """Yield what each line is called and its item, in their order; twins once, the worse one."""
    left = list(items)
    while left:
        item = left.pop(0)
        called = name(item)
        twin = next((o for o in left if _twins(called, name(o))), None)
        if twin is not None:
            left.remove(twin)
            called = both(called)
            item = max(item, twin, key=size)
        yield called, item


def both(called: str) -> str:
    """Return the name of a twin for both sides.

    >>> both("X3 on rail left"), both("M2 right"), both("rail right")
    ('X3 on both rails', 'M2, both sides', 'rail, both sides')
    """
    for side in ("right", "left"):
        if called.endswith(f" on rail {side}"):
            return called.removesuffix(f"rail {side}") + "both rails"
        if called.endswith(f" {side}"):
            return called.removesuffix(f" {side}") + ", both sides"
    return called.replace(" right", "").replace(" left", "") + ", both sides"


def _twins(one: str, other: str) -> bool:
    return one != other and sideless(one) == sideless(other)


def sideless(name: str) -> str:
    """Return a member's name without its side."""
    return name.replace(" right", "").replace(" left", "")
