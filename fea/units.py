"""Units: text with a unit to base units on the way in, base units to text on the way out.

Base units are millimetre, newton, megapascal, tonne, second and radian.  This is the only
place where conversion factors stand.  The units of the trade are in a table; anything else
goes to pint, which is imported only then because it costs more time than reading a frame.

References
----------
.. [1] NIST Special Publication 811, 2008, appendix B.8: inch, pound, pound-force exact.
.. [2] Manufacturers' Standard Gauge for sheet steel, from 41.82 lb/ft2 per inch of
   thickness; published gauge tables, four decimals of an inch.
"""

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from collections.abc import Mapping

System = Literal["si", "us"]

_IN = 25.4  # mm, exact [1]
_FT = 12.0 * _IN
_LB = 4.5359237e-4  # tonne, exact [1]
_G0 = 9806.65  # mm/s2, exact: standard acceleration of free fall [1]
_LBF = _LB * _G0  # N
_KGF = 1e-3 * _G0  # N
_DEG = math.pi / 180.0

#: Thickness in inches by gauge number [2].
GAUGE: "Mapping[int, float]" = {
    3: 0.2391, 4: 0.2242, 5: 0.2092, 6: 0.1943, 7: 0.1793, 8: 0.1644, 9: 0.1495, 10: 0.1345,
    11: 0.1196, 12: 0.1046, 13: 0.0897, 14: 0.0747, 15: 0.0673, 16: 0.0598, 17: 0.0538,
    18: 0.0478, 19: 0.0418, 20: 0.0359, 22: 0.0299, 24: 0.0239,
}  # fmt: skip

_LENGTH = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": _IN, "inch": _IN, "ft": _FT}
_FORCE = {"N": 1.0, "kN": 1e3, "MN": 1e6, "lbf": _LBF, "kip": 1e3 * _LBF, "kgf": _KGF}
_STRESS = {"Pa": 1e-6, "kPa": 1e-3, "MPa": 1.0, "GPa": 1e3, "N/mm2": 1.0, "kN/mm2": 1e3,
           "psi": _LBF / _IN**2, "ksi": 1e3 * _LBF / _IN**2, "lbf/in2": _LBF / _IN**2}  # fmt: skip
_DENSITY = {"kg/m3": 1e-12, "g/cm3": 1e-9, "t/m3": 1e-9, "lb/in3": _LB / _IN**3,
            "lb/ft3": _LB / _FT**3}  # fmt: skip
_MASS = {"kg": 1e-3, "g": 1e-6, "t": 1.0, "tonne": 1.0, "lb": _LB}
_PER_LENGTH = {f"{force}/{length}": f / _LENGTH[length] for force, f in _FORCE.items()
               for length in _LENGTH}  # fmt: skip
_MOMENT = {text: f * _LENGTH[length] for force, f in _FORCE.items() for length in _LENGTH
           for text in (f"{force} {length}", f"{length} {force}")}  # fmt: skip
_ANGLE = {"rad": 1.0, "mrad": 1e-3, "deg": _DEG}
_ROTATIONAL = {f"{moment}/{angle}": f / _ANGLE[angle] for moment, f in _MOMENT.items()
               for angle in ("rad", "deg")}  # fmt: skip
_ACCELERATION = {"m/s2": 1e3, "mm/s2": 1.0, "ft/s2": _FT, "g": _G0}
_TIME = {"s": 1.0, "ms": 1e-3, "min": 60.0}
_SPEED = {"mm/s": 1.0, "m/s": 1e3, "km/h": 1e6 / 3600.0, "mph": 5280.0 * _FT / 3600.0}
_FREQUENCY = {"Hz": 1.0, "1/s": 1.0}
_SHARE = {"%": 0.01}
_AREA = {"mm2": 1.0, "cm2": 100.0, "m2": 1e6, "in2": _IN**2}


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its units, and how it is asked for and shown.

    `base` is the base unit as pint spells it; `per_angle` the power of angle in it.
    `si` and `us` are the units it is shown in.
    """

    name: str
    base: str
    units: "Mapping[str, float]"
    examples: tuple[str, ...]
    si: str
    us: str = ""
    per_angle: int = 0
    digits: int = 3


KINDS: "Mapping[str, Kind]" = {
    "length": Kind("length", "mm", _LENGTH, ("120 mm", "4.75 in"), "mm", "in", digits=4),
    "thickness": Kind(
        "thickness", "mm", _LENGTH, ("3 mm", "1/8 in", "11 ga"), "mm", "in", digits=3
    ),
    "area": Kind("area", "mm**2", _AREA, ("780 mm2", "1.2 in2"), "mm2", "in2"),
    "force": Kind("force", "N", _FORCE, ("1000 N", "225 lbf"), "N", "lbf"),
    "stress": Kind("stress", "MPa", _STRESS, ("206 GPa", "36 ksi"), "MPa", "ksi"),
    "density": Kind(
        "density", "tonne/mm**3", _DENSITY, ("7850 kg/m3", "0.284 lb/in3"), "kg/m3", "lb/in3"
    ),
    "mass": Kind("mass", "tonne", _MASS, ("190 kg", "420 lb"), "kg", "lb"),
    "stiffness": Kind(
        "stiffness", "N/mm", _PER_LENGTH, ("350 N/mm", "2000 lbf/in"), "N/mm", "lbf/in"
    ),
    "rotational_stiffness": Kind(
        "stiffness in rotation", "N*mm/rad", _ROTATIONAL, ("250 N m/deg", "3e8 N mm/rad"),
        "N m/deg", "ft lbf/deg", per_angle=-1,
    ),
    "moment": Kind("moment", "N*mm", _MOMENT, ("1000 N m", "1000 ft lbf"), "N m", "ft lbf"),
    "force_per_length": Kind(
        "force per length", "N/mm", _PER_LENGTH, ("2 N/mm", "12 lbf/in"), "N/mm", "lbf/in"
    ),
    "angle": Kind("angle", "rad", _ANGLE, ("3 deg",), "deg", per_angle=1),
    "acceleration": Kind(
        "acceleration", "mm/s**2", _ACCELERATION, ("9.81 m/s2", "1.5 g"), "m/s2", "g"
    ),
    "time": Kind("time", "s", _TIME, ("0.5 s",), "s"),
    "speed": Kind("speed", "mm/s", _SPEED, ("10 m/s", "30 mph"), "m/s", "mph"),
    "frequency": Kind("frequency", "Hz", _FREQUENCY, ("12 Hz",), "Hz"),
    "share": Kind("share", "", _SHARE, ("12 %",), "%"),
}  # fmt: skip

_QUANTITY = re.compile(
    r"""\s* (?P<sign>[+-]?) \s*
    (?: (?:(?P<whole>[0-9]+)(?:\s+|-))? (?P<top>[0-9]+)/(?P<bottom>[0-9]+)
      | (?P<number>(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?) )
    \s* (?P<unit>.*?) \s* $""",
    re.VERBOSE | re.DOTALL,
)
_SPREAD = re.compile(r"(.+?)(\+-|\+/-|±|(?<=\s)to(?=\s))(.+)", re.DOTALL)
_BARE = re.compile(r"[+-]?\s*(?:[0-9.]+(?:[eE][+-]?[0-9]+)?|(?:[0-9]+(?:\s+|-))?[0-9]+/[0-9]+)")
# One digit to a power and no brackets: nothing that pint could take long over.
_WORD = r"[A-Za-z\u00b5\u03bc_]+(?:-?[0-9])?"  # with micro and mu
_UNIT = re.compile(rf"(?:1/)?{_WORD}(?:[ /]{_WORD})*")
_MOST_CHARACTERS = 80
"""Of a quantity: nobody writes a longer one, and it is read in no time."""
_ANGLES = frozenset(
    {"radian", "degree", "milliradian", "microradian", "arcminute", "arcsecond", "turn", "grade"}
)


def parse(text: str, kind: str) -> float:
    """Return a quantity given as text, such as ``"4.75 in"``, in base units.

    Parameters
    ----------
    text : str
        A number (also ``3/16`` or ``1 3/16``), a blank if you like, and a unit.
    kind : str
        A key of `KINDS`; ``"thickness"`` also takes a gauge number, ``"11 ga"``.

    Returns
    -------
    float, in mm, N, MPa, tonne, s, rad and products of them

    Raises
    ------
    DocumentError
        If the unit is missing, unknown or of another kind, or the number is not finite.

    Examples
    --------
    >>> parse("4.75 in", "length")
    120.64999999999999
    >>> parse("206 GPa", "stress")
    206000.0
    """
    asked = KINDS[kind]
    number, unit = _split(text, asked)
    if re.fullmatch(r"ga|gauge|gage|GA", unit):
        return _gauge(number, text, kind)
    factor = asked.units.get(unit)
    if factor is None:
        factor = _look_up(unit, text, asked)
    value = number * factor
    if not math.isfinite(value):
        raise _refuse(asked, text, "must be a finite number")
    return value


def parse_spread(text: str, kind: str) -> tuple[float, float]:
    """Return the mean and the half width of a quantity that may carry a tolerance.

    Parameters
    ----------
    text : str
        A plain quantity, whose half width is zero; ``"3.0 +- 0.2 mm"`` or
        ``"3.0 ± 0.2 mm"``; or a range, ``"400 to 600 N/mm"``.  One unit may stand at the
        end for both figures.
    kind : str
        As in :func:`parse`.

    Raises
    ------
    DocumentError
        If a figure is refused by :func:`parse`, a tolerance is negative, or a range falls.

    Examples
    --------
    >>> parse_spread("400 to 600 N/mm", "stiffness")
    (500.0, 100.0)
    """
    match = _SPREAD.match(text) if len(text) <= 2 * _MOST_CHARACTERS else None
    if match is None:
        return parse(text, kind), 0.0
    first, word, second = (part.strip() for part in match.groups())
    last = _QUANTITY.match(second)
    if last is not None and _BARE.fullmatch(first):
        first = f"{first} {last['unit']}"
    a, b = parse(first, kind), parse(second, kind)
    if word != "to":
        if b < 0.0:
            raise _refuse(KINDS[kind], text, "must not have a negative tolerance")
        return a, b
    if b < a:
        raise _refuse(KINDS[kind], text, "must be a range that rises")
    return 0.5 * (a + b), 0.5 * (b - a)


def convert(value: float, kind: str, unit: str) -> float:
    """Return a value in base units converted to `unit`, a key of the kind's unit table."""
    return value / KINDS[kind].units[unit]


def show(value: float, kind: str, system: System = "si", *, digits: int | None = None) -> str:
    """Return a value in base units as text, the other system beside it in brackets.

    Whole numbers are never rounded; below that `digits` significant figures are kept.

    Examples
    --------
    >>> show(1.787e6, "rotational_stiffness")
    '31.2 N m/deg (23.0 ft lbf/deg)'
    >>> show(120.65, "length", "us")
    '4.75 in (120.7 mm)'
    """
    asked = KINDS[kind]
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "rigid" if "stiffness" in kind else f"unlimited {asked.name}"
    texts = []
    for unit in filter(None, (asked.si, asked.us)):
        figures = _figures(convert(value, kind, unit), digits or asked.digits)
        if kind in {"length", "thickness"}:  # as on a tape: 120 mm, not 120.0 mm
            figures = figures.rstrip("0").rstrip(".") if "." in figures else figures
        texts.append(f"{figures} {unit}")
    if system == "us":
        texts.reverse()
    return texts[0] if len(texts) == 1 else f"{texts[0]} ({texts[1]})"


def expected(kind: str) -> str:
    """Return how a quantity of this kind is written, with examples, for a message."""
    asked = KINDS[kind]
    quoted = " or ".join(f'"{example}"' for example in asked.examples)
    return f"write the {asked.name} with its unit in quotes, such as {quoted}"


def _figures(value: float, digits: int) -> str:
    """Round to significant figures, but keep all figures before the point."""
    if value == 0.0:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    if decimals > 6:
        return f"{value:.{digits - 1}e}"
    return f"{value:.{decimals}f}"


def _split(text: str, asked: Kind) -> tuple[float, str]:
    match = _QUANTITY.match(text) if len(text) <= _MOST_CHARACTERS else None
    if match is None:
        if re.match(r"\s*[+-]?(nan|inf)", text, re.IGNORECASE):
            raise _refuse(asked, text, "must be a finite number")
        raise _refuse(asked, text, "must be a number with a unit")
    if match["number"] is not None:
        number = float(match["number"])
    else:
        top, bottom = int(match["top"]), int(match["bottom"])
        if bottom == 0:
            raise _refuse(asked, text, "must be a number with a unit")
        number = int(match["whole"] or 0) + top / bottom
    unit = _tidy(match["unit"])
    if not unit:
        raise _refuse(asked, text, f"must have a unit of {asked.name}")
    return (-number if match["sign"] == "-" else number), unit


def _tidy(unit: str) -> str:
    """Bring the spellings of one unit together: ``N*m``, ``N·m``, ``Nm`` are ``N m``."""
    unit = unit.replace("**", "^").replace("²", "2").replace("³", "3")
    unit = re.sub(r"[*·⋅]|(?<=[A-Za-z])-(?=[A-Za-z])", " ", unit)
    unit = re.sub(r"\s*/\s*", "/", " ".join(unit.split()))
    unit = re.sub(r"\b([kM]?N)(mm?)\b", r"\1 \2", unit)
    return unit.replace("°", "deg").replace("^", "")


def _gauge(number: float, text: str, kind: str) -> float:
    if kind != "thickness":
        raise _refuse(KINDS[kind], text, f"must have a unit of {KINDS[kind].name}, not a gauge")
    inches = GAUGE.get(int(number)) if number in GAUGE else None
    if inches is None:
        raise DocumentError(
            Complaint(
                "must be a gauge of the Manufacturers' Standard Gauge for sheet steel",
                found=text,
                do="give a gauge from 3 to 20, 22 or 24, or the thickness as measured",
            )
        )
    return inches * _IN


def show_sheet(thickness: float) -> str:
    """Return a sheet's thickness in mm to a hundredth, with its gauge where it has one.

    Examples
    --------
    >>> show_sheet(4.17576)
    '4.18 mm (8 ga)'
    >>> show_sheet(3.0)
    '3 mm'
    """
    text = f"{round(thickness, 2):g} mm"
    name = next((n for n, inches in GAUGE.items() if math.isclose(inches * _IN, thickness)), None)
    return text if name is None else f"{text} ({name} ga)"


def _look_up(unit: str, text: str, asked: Kind) -> float:
    """Return the factor of a unit that is not in the kind's own table."""
    other = next((k for k in KINDS.values() if unit in k.units), None)
    if other is None:
        if len(unit) > 40 or _UNIT.fullmatch(unit) is None:
            raise _refuse(asked, text, f"must have a unit of {asked.name}")
        factor = _ask_pint(unit, asked.base, asked.per_angle)
        if factor is not None:
            return factor
        raise _refuse(asked, text, f"must have a unit of {asked.name}")
    raise _refuse(asked, text, f"must be given as {_a(asked.name)}, not as {_a(other.name)}")


@lru_cache(maxsize=256)
def _ask_pint(unit: str, base: str, per_angle: int) -> float | None:
    """Return pint's factor from `unit` to `base`, None if unknown or of another kind."""
    import pint  # 100 ms

    registry = _registry()
    # Powers without a sign, "m3", are how the trade writes them; pint wants "m**3".
    spelled = re.sub(r"(?<=[^\W\d])(-?\d)", r"**\1", unit).replace(" ", "*")
    try:
        quantity = 1.0 * registry.Quantity(1.0, spelled.removeprefix("1/"))
        if spelled.startswith("1/"):
            quantity = 1.0 / quantity
        # An angle has no dimension in pint: count it here, or N m would pass for N m/rad.
        powers = registry.Quantity(1.0, quantity.units).unit_items()
        if sum(power for name, power in powers if name in _ANGLES) != per_angle:
            return None
        return float(quantity.to(base).magnitude)
    except (pint.PintError, AttributeError, TypeError, ValueError):
        return None


@lru_cache(maxsize=1)
def _registry() -> Any:  # noqa: ANN401 - pint builds its registry class at run time
    import pint

    return pint.UnitRegistry()


def _a(name: str) -> str:
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


def _refuse(asked: Kind, text: str, rule: str) -> DocumentError:
    do = expected(next(key for key, value in KINDS.items() if value is asked))
    if "," in text:
        do += "; write a decimal point, and no commas"
    elif re.search(r"\blbs?\b|#", text) and "lbf" in "".join(asked.examples):
        do += '; "lb" is a mass, a pound of force is "lbf"'
    return DocumentError(Complaint(rule, found=text, do=do))
