"""Which gauge to start from: the given one, or the stocked one that leaves the wall asked for."""

from dataclasses import dataclass

from materials.cavity import FormingMethod
from materials.sheet import STOCKED_GAUGES, SheetOffer
from materials.thinning import required_gauge, stocked_gauge
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
    return gauge_for_wall(part, process, offer.gauge_tolerance if offer else 0.0)


def gauge_for_wall(part: Part, process: str, offer_tolerance: float, method: FormingMethod | None = None) -> Gauge:
    """Gauge that leaves the wall asked for.

    Parameters
    ----------
    part : Part
        With a minimum wall [m].
    process : str
        vacuum, pressure or twin_sheet [-].
    offer_tolerance : float
        Share by which sheet may run thin [-], 0 or more.
    method : FormingMethod, optional
        Another way of forming than that of the part.

    Returns
    -------
    gauge : Gauge
        [m]
    """
    required = required_gauge_of(part, process, part.minimum_wall, offer_tolerance, method)
    return Gauge(required, stocked_gauge(required, STOCKED_GAUGES))


def gauge_by_share(minimum_wall: float, share: float, offer_tolerance: float) -> Gauge:
    """Gauge for a wall where the wall over gauge is known already, as from a thickness map.

    Parameters
    ----------
    minimum_wall : float
        Asked for [m], above 0.
    share : float
        Wall over gauge at the place that must hold it [-], above 0 and at most 1.
    offer_tolerance : float
        Share by which sheet may run thin [-], 0 or more.

    Returns
    -------
    gauge : Gauge
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    Examples
    --------
    >>> found = gauge_by_share(0.001, 0.25, 0.1)
    >>> round(found.required, 6), round(found.starting, 6)
    (0.004444, 0.00475)
    """
    required = required_gauge(minimum_wall, share, offer_tolerance)
    return Gauge(required, stocked_gauge(required, STOCKED_GAUGES))
