"""Work on the board: hours of a resource in a week; and many of them as columns, without an object for each."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import compress
from typing import NamedTuple

import numpy as np


class LoadError(ValueError):
    """A booking that cannot be: names it, its field, what was given and what is accepted."""

    def __init__(self, label: str, field: str, given: object, accepted: str) -> None:
        self.label, self.field, self.given, self.accepted = label, field, given, accepted
        super().__init__(f"{label}: {field}: got {given}; accepted is {accepted}")


class Load(NamedTuple):
    """Hours of one resource in one week. ``quote`` is the key to its chance of winning where it is not firm."""

    resource: str
    week: date  # any day of it
    hours: float
    firm: bool
    label: str = ""
    tool: str = ""
    quote: str = ""


@dataclass(frozen=True, eq=False)
class Loads:
    """Loads as columns of one length: a board has tens of thousands, of which a page names some dozen."""

    codes: tuple[str, ...]  # of resources, each once
    at: np.ndarray  # place of each load's resource among the codes
    day: np.ndarray  # ordinal of a day of its week
    hours: np.ndarray  # [h]
    firm: np.ndarray
    label: Sequence[str]
    tool: Sequence[str]
    quote: Sequence[str]

    @classmethod
    def of(cls, loads: Iterable[Load]) -> "Loads":
        """The columns of some loads.

        Parameters
        ----------
        loads : iterable of Load
            [h]

        Returns
        -------
        loads : Loads
            In their order [h].

        Examples
        --------
        >>> found = Loads.of([Load("F1", date(2026, 3, 9), 78, True), Load("F2", date(2026, 3, 9), 4, False)])
        >>> found.at.tolist(), found.hours.tolist(), [load.resource for load in found]
        ([0, 1], [78.0, 4.0], ['F1', 'F2'])
        """
        resource, week, hours, firm, label, tool, quote = list(zip(*loads, strict=True)) or [()] * len(Load._fields)
        days = [day.toordinal() for day in week]
        return cls.with_codes(resource, days, hours, firm, label, tool, quote)

    @classmethod
    def with_codes(
        cls, resource: Sequence[str], day: Sequence[int], hours: Sequence[float], firm: Sequence[bool],
        label: Sequence[str], tool: Sequence[str], quote: Sequence[str],
    ) -> "Loads":  # fmt: skip
        """The same from columns of which the first holds codes.

        Parameters
        ----------
        resource, label, tool, quote : sequence of str
            [-]
        day : sequence of int
            Ordinal of a day of the week [-].
        hours : sequence of float
            [h]
        firm : sequence of bool
            [-]

        Returns
        -------
        loads : Loads
            [h]
        """
        place: dict[str, int] = {}
        at = np.array([place.setdefault(code, len(place)) for code in resource], dtype=int)
        columns = np.array(day, dtype=int), np.array(hours, dtype=float), np.array(firm, dtype=bool)
        return cls(tuple(place), at, *columns, label, tool, quote)

    def __len__(self) -> int:
        return len(self.at)

    def __iter__(self) -> Iterator[Load]:
        return iter(self.named(np.arange(len(self))))

    def named(self, places: np.ndarray) -> tuple[Load, ...]:
        """The loads at these places of the columns, as such."""
        return tuple(
            Load(self.codes[at], date.fromordinal(day), hours, firm, self.label[one], self.tool[one], self.quote[one])
            for one, at, day, hours, firm in zip(
                places, self.at[places].tolist(), self.day[places].tolist(), self.hours[places].tolist(),
                self.firm[places].tolist(), strict=True,
            )
        )  # fmt: skip

    def where(self, chosen: np.ndarray) -> "Loads":
        """Those of which ``chosen`` holds, as columns."""
        kept = chosen.tolist()
        texts = (list(compress(column, kept)) for column in (self.label, self.tool, self.quote))
        return Loads(self.codes, self.at[chosen], self.day[chosen], self.hours[chosen], self.firm[chosen], *texts)
