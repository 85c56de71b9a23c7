"""The last step of each sheet in a march: its profiles, and after which share of it the sheet was done."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from materials.heat_content import Array, columns

ROOT_STEPS = 6  # of false position in the last step: ends within a hundredth of a kelvin


@dataclass(frozen=True)
class Ends:
    """The step in which each sheet came to its end, in the order in which the sheets were given."""

    began: Array  # time, s
    step_before: Array
    step: Array
    before: Array  # profiles, the last of them at the end of the step
    now: Array
    after: Array
    hottest: Array
    absorbed: Array
    absorbed_after: Array
    done: Array  # bool


@dataclass(frozen=True)
class Parabola:
    """Through the last three profiles of each sheet; ``at`` a share of the last step."""

    now: Array
    chord: Array
    bend: Array

    @classmethod
    def of(cls, ends: Ends) -> "Parabola":
        chord = ends.after - ends.now
        # Divided differences; a first step has no past (an infinite step before it), and goes straight.
        bend = ends.now - ends.before
        bend *= -ends.step / ends.step_before
        bend += chord
        bend *= ends.step / (ends.step + ends.step_before)
        return cls(ends.now, chord, bend)

    def at(self, share: Array) -> Array:
        found = (share - 1.0) * self.bend
        found += self.chord
        found *= share
        found += self.now
        return found

    def taken(self, which: Array) -> "Parabola":
        return Parabola(*(columns(part, which) for part in (self.now, self.chord, self.bend)))


def share_of_step(ends: Ends, between: Parabola, short_of: Callable[[Array, Array], Array]) -> Array:
    """Share of the last step after which the last condition is met, by false position (Illinois)."""
    which = np.flatnonzero(ends.done)
    share_of_all = np.ones(ends.done.size)
    if not which.size:
        return share_of_all
    if which.size < ends.done.size:
        between = between.taken(which)
    low, high = np.zeros(which.size), np.ones(which.size)
    missing, spare = (short_of(profile, which).max(axis=0) for profile in (between.now, columns(ends.after, which)))
    already = missing <= 0.0
    side = np.zeros_like(low)
    for _ in range(ROOT_STEPS):
        fall = missing - spare
        share = low + (high - low) * np.where(already, 0.0, missing / np.where(fall == 0.0, 1.0, fall))
        value = short_of(between.at(share), which).max(axis=0)
        late = value > 0.0
        spare = np.where(late, np.where(side > 0, 0.5 * spare, spare), value)
        missing = np.where(late, value, np.where(side < 0, 0.5 * missing, missing))
        low, high = np.where(late, share, low), np.where(late, high, share)
        side = np.where(late, 1.0, -1.0)
    share_of_all[which] = np.where(already, 0.0, high)
    return share_of_all
