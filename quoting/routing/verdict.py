"""One rule's word on one candidate."""

from dataclasses import dataclass
from functools import lru_cache
from string import Formatter
from typing import NamedTuple

from quoting.words import Figure, Words

FITS, FITS_IF, FAILS, NOT_ASSESSED = "fits", "fits_if", "fails", "not_assessed"


class Sentences(NamedTuple):
    """What a verdict says. Most verdicts of an answer are never read, so its words are put together when asked for."""

    reason: str
    remedy: str
    condition: str | None
    figures: tuple[tuple[str, float, str], ...]  # name, value, SI unit; each for all the sentences

    def put(self, text: str) -> Words:
        """One of the sentences with the figures that it names."""
        known = {name: (value, unit) for name, value, unit in self.figures}
        return Words(text, tuple(Figure(name, float(known[name][0]), known[name][1]) for name in _names(text)))


@dataclass(frozen=True)
class Verdict:
    """``measured`` and ``limit`` are in ``unit`` (SI); ``reason`` carries them as {measured} and {limit}.

    ``status`` is one of fits, fits_if (its ``condition`` goes on the quote), fails, not_assessed.
    ``basis`` says on what the limit rests. ``referral`` names where a part that fails here belongs.
    """

    rule: str
    status: str
    measured: float
    limit: float
    unit: str
    says: Sentences
    basis: str
    referral: str | None = None

    # What is shown and stored of a verdict: its sentences as words.
    SHOWN = ("rule", "status", "measured", "limit", "unit", "reason", "remedy", "basis", "condition", "referral")

    @property
    def passed(self) -> bool:
        return self.status in (FITS, FITS_IF)

    @property
    def reason(self) -> Words:
        return self.says.put(self.says.reason)

    @property
    def remedy(self) -> Words:
        return self.says.put(self.says.remedy)

    @property
    def condition(self) -> Words | None:
        return self.says.put(self.says.condition) if self.says.condition else None


@lru_cache(maxsize=4096)
def _names(text: str) -> tuple[str, ...]:
    """Names of the figures in a sentence, each once; the sentences of all rules are few."""
    return tuple(dict.fromkeys(name for _, name, _, _ in Formatter().parse(text) if name))
