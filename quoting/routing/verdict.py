"""One rule's word on one candidate."""

from dataclasses import dataclass

from quoting.words import Words

FITS, FITS_IF, FAILS, NOT_ASSESSED = "fits", "fits_if", "fails", "not_assessed"


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
    reason: Words
    remedy: Words
    basis: str
    condition: Words | None = None
    referral: str | None = None

    @property
    def passed(self) -> bool:
        return self.status in (FITS, FITS_IF)
