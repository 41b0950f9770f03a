"""What all kinds of validation case have in common: who says so, and a known answer."""

from decimal import Decimal, InvalidOperation
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, model_validator

from fea.document.entry import Entry, key
from fea.document.origin import Sourced
from fea.document.quantity import Number, refuse

Certainty = Literal["found", "memory", "derived"]


def _positive(value: float) -> float:
    if not value > 0.0:
        raise refuse("must be greater than 0")
    return value


def _figures(text: str) -> str:
    try:
        finite = Decimal(text).is_finite()
    except InvalidOperation:
        finite = False
    if not finite or float(text) == 0.0:
        raise refuse("must be a number other than 0", do="write it in quotes, as it is printed")
    return text


Positive = Annotated[Number, AfterValidator(_positive)]
Printed = Annotated[str, AfterValidator(_figures)]


class ExpectEntry(Entry):
    """A known answer: our own closed form, a printed figure, or both."""

    name: str = key("Name of the answer, unique in the case.")
    value: Number | None = key("What the model must give, from the formula.", default=None)
    unit: str = key("Unit, in the case's system; may be left out with a scale.", default="")
    tolerance: Positive = key(
        "Relative error allowed against value; absolute where the value is 0.", default=1e-9
    )
    reason: str = key("Why this tolerance; exact element and round-off if left out.", default="")
    formula: str = key("The value again, as arithmetic over the given numbers.", default="")
    printed: Printed | None = key("The figure as its source prints it, in quotes.", default=None)
    within: Positive | None = key(
        "Relative deviation allowed from the printed figure; half its last digit if left out.",
        default=None,
    )
    why: str = key("Why the printed figure deviates by more than its last digit.", default="")
    certainty: Certainty | None = key(
        "How the printed figure is known; as the case's if left out.", default=None
    )
    scale: Number = key("Factor on what is read, to compare coefficients.", default=1.0)

    @model_validator(mode="after")
    def _answers(self) -> Self:
        if self.value is None and self.printed is None:
            raise refuse("an answer needs a value or a printed figure", do="give one or both")
        if self.within is not None and not self.why:
            raise refuse("a deviation from a printed figure must be explained", do="add why")
        return self


class Told(Sourced):
    """What every validation case says of itself."""

    id: str = key("Short name of the case, unique among all.")
    title: str = key("What the case is, one line.")
    source: str = key("Author, title, edition of the source.")
    where: str = key("Page, table, example or equation in the source.", default="")
    certainty: Certainty = key(
        "found: the printed figures were seen; memory: recalled; derived: a closed form alone."
    )
    note: str = key("Whatever else a reader should know.", default="")
    given: dict[str, Number] = key("Numbers that the formulas use.", default={})
