"""Which gauge to start from: the given one, or the stocked one that leaves the wall asked for."""

from dataclasses import dataclass

from materials.sheet import STOCKED_GAUGES, SheetOffer
from materials.thinning import required_gauge, stocked_gauge
from quoting.intake.part import Part


@dataclass(frozen=True)
class Gauge:
    """``required`` by the wall asked for, ``starting`` the stocked gauge at or above it [m]."""

    required: float
    starting: float


def areal_draw_of(part: Part) -> float:
    """Formed surface of one skin over the plan area of the part.

    A stated surface below the plan area (large openings left out of it) counts as flat: sheet is not gathered.

    Parameters
    ----------
    part : Part
        Surface area [m2], length and width [m].

    Returns
    -------
    ratio : float
        [-], 1 or more.
    """
    return max(part.surface_area / (part.length * part.width), 1.0)


def starting_gauge(part: Part, offer: SheetOffer | None) -> Gauge:
    """Gauge for a part: as given, else what leaves the wall asked for on thin-running sheet, up to a stocked gauge.

    Beyond the thickest stocked gauge the required one is kept, so that the rules can say by how much it is too thick.

    Parameters
    ----------
    part : Part
        With a gauge or a minimum wall [m].
    offer : SheetOffer or None
        Its ``gauge_tolerance`` [-] is the share by which sheet may run thin; None counts as 0.

    Returns
    -------
    gauge : Gauge
        [m]
    """
    if part.gauge is not None:
        return Gauge(part.gauge, part.gauge)
    tolerance = offer.gauge_tolerance if offer else 0.0
    required = required_gauge(part.minimum_wall, areal_draw_of(part), tolerance)
    return Gauge(required, stocked_gauge(required, STOCKED_GAUGES))
