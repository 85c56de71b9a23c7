"""What comes of reading an inquiry: a request, or what is missing, or errors by field."""

from dataclasses import dataclass

from quoting.intake.part import PartRequest
from quoting.words import Words


@dataclass(frozen=True)
class InputError:
    """One wrong field: what was given, and what is accepted. ``field`` is a dotted path such as part.length."""

    field: str
    given: str
    accepted: str  # "a length with its unit, such as 48 in or 1219 mm"

    @property
    def message(self) -> str:
        return f"{self.field or 'the inquiry'}: got {self.given}; accepted is {self.accepted}"


class InputErrors(ValueError):
    """The input is bad; ``errors`` lists every wrong field, in the order of the form."""

    def __init__(self, errors: tuple[InputError, ...]):
        self.errors = errors
        super().__init__("; ".join(error.message for error in errors))


@dataclass(frozen=True)
class Missing:
    """A fact without which no price may be given, and why it is needed."""

    field: str
    why: str


@dataclass(frozen=True)
class Assumption:
    """A value we put where the inquiry had none. ``value`` is ready words with figures."""

    field: str
    value: Words
    why: str


@dataclass(frozen=True)
class Doubt:
    """Something that may be a slip (inches for millimetres, say) but is no error."""

    field: str
    text: Words


@dataclass(frozen=True)
class Reading:
    """``request`` is None exactly when something is missing."""

    request: PartRequest | None
    missing: tuple[Missing, ...]
    assumptions: tuple[Assumption, ...]
    doubts: tuple[Doubt, ...]
