"""Plumbrail: stiffness of ladder and perimeter frames, and what added parts buy.

For notebooks and scripts (:mod:`fea.api`), loaded when first asked for::

    import fea

    frame = fea.load_frame("orchard_pickup", joints="beam")
    frame.twist, frame.stock().twist  # N m/deg
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fea.api import Answers, FrameModel, Picture, load_frame
    from fea.errors import FeaError

__all__ = ["Answers", "FeaError", "FrameModel", "Picture", "load_frame"]


def __getattr__(name: str) -> object:
    """Return a name of :mod:`fea.api`, which is imported only now."""
    if name not in __all__:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    if name == "FeaError":
        from fea.errors import FeaError

        return FeaError
    from fea import api

    return getattr(api, name)


def __dir__() -> list[str]:
    """Return what is there, loaded or not."""
    return sorted({*globals(), *__all__})
