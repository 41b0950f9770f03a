"""Field types of the documents: text with a unit, read to base units, and plain numbers.

A value that is refused leaves as a pydantic error that carries our own words, so that
:mod:`fea.document.complain` can print them with the place; pydantic's never reach the user.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from fea import units
from fea.errors import DocumentError

#: The type of the errors raised here, and the keys of their context.
OURS = "ours"

# Beyond these, in base units, a figure is a slip of the unit: no vehicle is 100 m long.
_MOST = {
    "length": 1e5,
    "angle": math.pi,
    "thickness": 1e5,
    "stress": 1e7,
    "density": 1e-7,
    "mass": 1e3,
    "stiffness": 1e12,
    "rotational_stiffness": 1e18,
    "force": 1e9,
    "moment": 1e12,
    "force_per_length": 1e9,
    "share": 1.0,
}

# Below these a figure that must be greater than nothing is a slip too, or is left out.
_LEAST = {
    "length": 1e-3,
    "thickness": 1e-3,
    "stress": 1e-3,
    "density": 1e-15,
    "stiffness": 1e-6,
    "rotational_stiffness": 1e-3,
    "moment": 1e-3,
}

MOST_FACTOR = 1e6
"""Of a factor, or a fraction of a length."""


@dataclass(frozen=True)
class Spread:
    """A figure that may carry a tolerance: its mean and half width, in base units of its kind."""

    mean: float
    half: float = 0.0
    kind: str = "thickness"


def refuse(rule: str, *, do: str = "") -> PydanticCustomError:
    """Return an error for one value; the place and what was found are filled in later."""
    return PydanticCustomError(OURS, "{rule}", {"rule": rule, "do": do})


def _quantity(
    kind: str, *, least: float = -math.inf, above: float = -math.inf, words: tuple[str, ...] = ()
) -> Callable[[Any], float]:
    """Return a reader of one kind of quantity within limits in base units.

    Where a tolerance is given the mean is taken, and all within it must keep the limits.
    `words` may stand in place of a number: "rigid" is infinite and "free" is zero.
    """

    def read(value: Any) -> float:  # noqa: ANN401 - whatever the TOML file holds
        if isinstance(value, str) and value in words:
            return math.inf if value == "rigid" else 0.0
        return _spread(value, kind, least=least, above=above, words=words).mean

    return read


def _spread(
    value: Any,  # noqa: ANN401 - whatever the TOML file holds
    kind: str,
    *,
    least: float = -math.inf,
    above: float = -math.inf,
    words: tuple[str, ...] = (),
    do: str = "",
) -> Spread:
    """Return a figure with its tolerance; limits and `words` as in :func:`_quantity`.

    `do` is how it is written, if that is not as its kind's other quantities are.
    """
    asked = units.KINDS[kind]
    if not isinstance(value, str):
        number = isinstance(value, int | float) and not isinstance(value, bool)
        rule = f"must have a unit of {asked.name}" if number else "must be text"
        do = do or units.expected(kind)
        if number:
            unit = asked.examples[0].split(" ", 1)[1]
            do += f'; if it is in {unit}, write "{value} {unit}"'
        raise refuse(rule, do=do)
    try:
        mean, half = units.parse_spread(value, kind)
    except DocumentError as error:
        complaint = error.complaints[0]
        do = do or complaint.do + "".join(f', or "{word}"' for word in words)
        raise refuse(complaint.rule, do=do) from None
    if abs(mean) > _MOST[kind]:
        bound = f"{units.convert(_MOST[kind], kind, asked.si):g} {asked.si}"
        raise refuse(rule=f"must not be larger than {bound}", do="check figure and unit")
    limit, unit = max(least, above), asked.si
    if mean - half < least or mean - half <= above:
        bound = f"{units.convert(limit, kind, unit):g} {unit}"
        rule = "must not be less than" if least >= above else "must be greater than"
        raise refuse(rule=f"{rule} {bound}", do="give it as measured")
    if least < above and mean < _LEAST[kind]:
        bound = f"{units.convert(_LEAST[kind], kind, unit):g} {unit}"
        raise refuse(rule=f"must not be smaller than {bound}", do="check figure and unit")
    return Spread(mean, half, kind)


_LOSS = 'write what is lost in quotes, such as "0.6 mm", "12 %" or "5 % to 20 %"'


def _wall_loss(value: Any) -> Spread:  # noqa: ANN401 - whatever the TOML file holds
    """Read what walls have lost: a thickness, or a share of each of them."""
    kind = "share" if isinstance(value, str) and "%" in value else "thickness"
    if isinstance(value, int | float) and not isinstance(value, bool):
        raise refuse(rule="must have its unit, mm or %", do=_LOSS)
    if kind == "share" and {*re.findall(r"[A-Za-z]+", value)} & {*_THICKNESSES}:
        raise refuse(rule="must be in per cent or as a thickness, not in both", do=_LOSS)
    if kind == "share" and not value.rstrip().endswith("%"):
        raise refuse(rule="must have its unit at the end", do=_LOSS)
    found = _spread(value, kind, least=0.0, do=_LOSS)
    if kind == "share" and found.mean + found.half >= 1.0:
        raise refuse(rule="must be less than 100 %", do="no wall would be left: " + _LOSS)
    return found


def _wall_left(value: Any) -> Spread:  # noqa: ANN401 - whatever the TOML file holds
    if isinstance(value, str) and "%" in value:
        raise refuse(
            rule="must be a thickness, as measured",
            do='write what is left as "3.2 mm"; what is lost may be in per cent, loss = "12 %"',
        )
    return _spread(value, "thickness", above=0.0)


_THICKNESSES = (*units.KINDS["thickness"].units, "ga", "gauge", "gage", "GA")


def _schema(kind: str, *words: str) -> WithJsonSchema:
    examples = [*units.KINDS[kind].examples, *words]
    return WithJsonSchema({"type": "string", "examples": examples})


def _fraction(value: Any) -> float:  # noqa: ANN401 - whatever the TOML file holds
    """Read a plain number; pydantic's own limits then apply."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refuse(rule="must be a plain number", do="write a number without quotes or unit")
    if not abs(value) < math.inf:  # whole numbers beyond all floats too
        raise refuse(rule="must be a finite number", do="write a number without quotes or unit")
    return float(value)


def _factor(value: Any) -> float:  # noqa: ANN401 - whatever the TOML file holds
    """Read a factor: a plain number of a size that means something."""
    number = _fraction(value)
    if abs(number) > MOST_FACTOR:
        raise refuse(rule=f"must not be larger than {MOST_FACTOR:g}", do="check the figure")
    return number


def _between(least: float, most: float, do: str) -> Callable[[Any], float]:
    def read(value: Any) -> float:  # noqa: ANN401 - whatever the TOML file holds
        number = _fraction(value)
        if not least <= number <= most:
            raise refuse(rule=f"must be from {least:g} to {most:g}", do=do)
        return number

    return read


def _number_schema(**limits: float) -> WithJsonSchema:
    return WithJsonSchema({"type": "number", **limits})


# What an imposed motion is given in; warping has no unit of the trade and is only held.
_IMPOSED = {
    **dict.fromkeys(("station", "offset", "height"), ("length", "movement")),
    **dict.fromkeys(("roll", "pitch", "yaw"), ("angle", "rotation")),
}


def _imposed(value: Any, info: ValidationInfo) -> float:  # noqa: ANN401 - as in the TOML file
    """Read the value of a motion in the unit that the key `motion` beside it asks for."""
    motion = info.data.get("motion")
    if motion is None:  # not a motion at all: told of already
        return 0.0
    if motion not in _IMPOSED:
        raise refuse(
            rule=f'must be left out where motion is "{motion}"', do="it is held, never imposed"
        )
    kind, word = _IMPOSED[motion]
    try:
        return _quantity(kind)(value)
    except PydanticCustomError as error:
        told = error.context or {}
        do = f"{told['do']}; {motion} is a {word}"
        raise refuse(str(told["rule"]), do=do) from None


_LENGTH = _schema("length")

Length = Annotated[float, BeforeValidator(_quantity("length")), _LENGTH]
Size = Annotated[float, BeforeValidator(_quantity("length", above=0.0)), _LENGTH]
Distance = Annotated[float, BeforeValidator(_quantity("length", least=0.0)), _LENGTH]
Thickness = Annotated[
    float, BeforeValidator(_quantity("thickness", above=0.0)), _schema("thickness")
]
WallLoss = Annotated[
    Spread,
    BeforeValidator(_wall_loss),
    WithJsonSchema({"type": "string", "examples": ["0.6 mm", "12 %", "5 % to 20 %"]}),
]
WallLeft = Annotated[
    Spread,
    BeforeValidator(_wall_left),
    WithJsonSchema({"type": "string", "examples": ["3.2 mm", "3.2 +- 0.2 mm"]}),
]
Stress = Annotated[float, BeforeValidator(_quantity("stress", above=0.0)), _schema("stress")]
Density = Annotated[float, BeforeValidator(_quantity("density", above=0.0)), _schema("density")]
MassAmount = Annotated[float, BeforeValidator(_quantity("mass", least=0.0)), _schema("mass")]
Stiffness = Annotated[
    float, BeforeValidator(_quantity("stiffness", least=0.0)), _schema("stiffness")
]
RotationalStiffness = Annotated[
    float,
    BeforeValidator(_quantity("rotational_stiffness", least=0.0)),
    _schema("rotational_stiffness"),
]
JointStiffness = Annotated[
    float,
    BeforeValidator(_quantity("stiffness", least=0.0, words=("rigid", "free"))),
    _schema("stiffness", "rigid", "free"),
]
JointRotationalStiffness = Annotated[
    float,
    BeforeValidator(_quantity("rotational_stiffness", least=0.0, words=("rigid", "free"))),
    _schema("rotational_stiffness", "rigid", "free"),
]
BracketStiffness = Annotated[
    float,
    BeforeValidator(_quantity("stiffness", above=0.0, words=("rigid",))),
    _schema("stiffness", "rigid"),
]
FirmStiffness = Annotated[
    float, BeforeValidator(_quantity("stiffness", above=0.0)), _schema("stiffness")
]
FirmRotationalStiffness = Annotated[
    float,
    BeforeValidator(_quantity("rotational_stiffness", above=0.0)),
    _schema("rotational_stiffness"),
]
Torque = Annotated[float, BeforeValidator(_quantity("moment", above=0.0)), _schema("moment")]
ImposedMotion = Annotated[
    float,
    BeforeValidator(_imposed),
    WithJsonSchema(
        {
            "type": "string",
            "examples": [*units.KINDS["length"].examples, *units.KINDS["angle"].examples],
        }
    ),
]
Force = Annotated[float, BeforeValidator(_quantity("force")), _schema("force")]
Moment = Annotated[float, BeforeValidator(_quantity("moment")), _schema("moment")]
AngleAmount = Annotated[float, BeforeValidator(_quantity("angle")), _schema("angle")]
ForcePerLength = Annotated[
    float, BeforeValidator(_quantity("force_per_length")), _schema("force_per_length")
]
Number = Annotated[float, BeforeValidator(_fraction), _number_schema()]
Factor = Annotated[
    float, BeforeValidator(_factor), _number_schema(minimum=-MOST_FACTOR, maximum=MOST_FACTOR)
]
Share = Annotated[
    float,
    BeforeValidator(_between(0.0, 1.0, "the shares of a side's seats add up to 1")),
    _number_schema(minimum=0, maximum=1),
]
PartOfOne = Annotated[
    float,
    BeforeValidator(_between(0.0, 1.0, "0.6 is 60 %")),
    _number_schema(minimum=0, maximum=1),
]
# An isotropic metal: 0.5 does not change its volume, and then G alone says nothing of E.
PoissonRatio = Annotated[
    float,
    BeforeValidator(_between(0.0, 0.49, "for steel write 0.3, for aluminium 0.33")),
    _number_schema(minimum=0, maximum=0.49),
]
