"""Where the highest stress is, in words and as plain data, and where its derivative turns."""

from collections.abc import Sequence
from typing import Any

from fea.frame.case import Case
from fea.study.sensitivity import Slope
from fea.study.sensitivity_peak import PeakPlace
from fea.study.sensitivity_record import step_of

OTHERWISE = 1e-6
"""Places move otherwise whose utilisations part by more than this, of themselves, in one more
step: mirror images part by round-off only."""


def one_sided(slope: Slope, places: Sequence[PeakPlace]) -> bool:
    """Say whether within one more step, up or down, another place takes over from the highest."""
    if slope.peak is None:
        return False
    first, step = places[0], step_of(slope.key)
    for place, its in zip(places[1:], slope.rivals, strict=True):
        if its is None:
            return True
        gained = abs(its / place.von_mises - slope.peak / first.von_mises) * step
        if gained > OTHERWISE and gained > 1.0 - place.utilisation / first.utilisation:
            return True
    return False


def words(place: PeakPlace, cases: Sequence[Case]) -> str:
    """Return where a place is, in words."""
    x, y, z = place.corner
    at = f"station {x:.0f}, offset {y:.0f}, height {z:.0f} mm"
    return f"{place.member}, {at} ({cases[place.case].name}; {place.sits})"


def with_peaks(
    record: dict[str, Any],
    slopes: Sequence[Slope],
    places: Sequence[PeakPlace],
    cases: Sequence[Case],
) -> dict[str, Any]:
    """Return the record of derivatives with the places of high stress, highest first."""
    if not places:
        return record
    sided = {s.key.path: one_sided(s, places) for s in slopes}
    keys = [k | {"peak_one_sided": sided[k["path"]]} for k in record["keys"]]
    first, *others = (_place(p, cases) for p in places)
    return record | {"keys": keys, "peak": first | {"within_one_percent": others}}


def _place(place: PeakPlace, cases: Sequence[Case]) -> dict[str, Any]:
    x, y, z = place.corner
    return {
        "stress_mpa": place.von_mises,
        "utilisation": place.utilisation,
        "case": cases[place.case].name,
        "member": place.member,
        "section": place.section,
        "station_mm": x,
        "offset_mm": y,
        "height_mm": z,
        "sits": place.sits,
    }
