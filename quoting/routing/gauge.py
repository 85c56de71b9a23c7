"""Which gauge to start from: the given one, or the stocked one that leaves the wall asked for."""

from dataclasses import dataclass

from materials.sheet import STOCKED_GAUGES, SheetOffer
from materials.thinning import stocked_gauge
from quoting.intake.part import Part
from quoting.routing.wall_plan import required_gauge_of


@dataclass(frozen=True)
class Gauge:
    """``required`` by the wall asked for, ``starting`` the stocked gauge at or above it [m]."""

    required: float
    starting: float


def starting_gauge(part: Part, process: str, offer: SheetOffer | None) -> Gauge:
    """Gauge for a part: as given, else what leaves the wall asked for on thin-running sheet, up to a stocked gauge.

    Beyond the thickest stocked gauge the required one is kept, so that the rules can say by how much it is too thick.

    Parameters
    ----------
    part : Part
        With a gauge or a minimum wall [m].
    process : str
        vacuum, pressure or twin_sheet [-].
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
    required = required_gauge_of(part, process, part.minimum_wall, tolerance)
    return Gauge(required, stocked_gauge(required, STOCKED_GAUGES))
