"""The shipped frames as settings of studies, with beam joints."""

from fea.document.find import find_case, find_frame
from fea.document.read import read_case, read_frame
from fea.frame.build_case import build_case
from fea.study.variant import Setting


def setting(name: str, *, body: str | None = None) -> Setting:
    """Return a shipped frame with the cases of twist and bending."""
    cases = tuple(build_case(read_case(find_case(c))) for c in ("twist", "bending"))
    return Setting(read_frame(find_frame(name)), name, cases, body=body)
