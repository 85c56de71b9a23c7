"""The one time that a plan has, from its first figure to the last saving of a move, and how it is shared out."""

from dataclasses import dataclass, field
from time import monotonic

SECONDS = 20.0  # for all of a plan
BEFORE_SHARE = 0.1  # at most, for the figures of everything staying where it is
MOVES_SHARE = 0.1  # kept for what each move saves, or for what lacks where there is no plan; balancing has the rest
LEAST = 0.1  # s that a step is given however late it is


@dataclass
class PlanTime:
    """What is left of the time of one plan under way [s]."""

    seconds: float = SECONDS
    begin: float = field(default_factory=monotonic)

    @property
    def left(self) -> float:
        return max(LEAST, self.seconds - (monotonic() - self.begin))

    @property
    def before(self) -> float:
        return min(self.left, BEFORE_SHARE * self.seconds)

    @property
    def balancing(self) -> float:
        return max(LEAST, self.left - MOVES_SHARE * self.seconds)
