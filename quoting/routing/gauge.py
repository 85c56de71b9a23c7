"""Which gauge to start from: the given one, or the stocked one that leaves the wall asked for."""

from dataclasses import dataclass

from materials.sheet import STOCKED_GAUGES, SheetOffer
from quoting.intake.part import Part

# Thinnest wall (bottom corner of a female tool) over mean wall: common practice, no source; range .4 to .75.
CORNER_WALL_SHARE = 0.6
FUZZ = 1e-9  # m


@dataclass(frozen=True)
class Gauge:
    """``required`` by the wall asked for, ``starting`` the stocked gauge at or above it [m]."""

    required: float
    starting: float


def areal_draw_ratio(part: Part) -> float:
    """Formed surface of one skin over the plan area of the part [-]."""
    return part.surface_area / (part.length * part.width)


def starting_gauge(part: Part, offer: SheetOffer | None) -> Gauge:
    """Gauge for a part: as given, else ``minimum_wall * A / 0.6 * (1 + tolerance)``, up to a stocked gauge.

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
    required = (part.minimum_wall or 0.0) * areal_draw_ratio(part) / CORNER_WALL_SHARE * (1 + tolerance)
    return Gauge(required, next((step for step in STOCKED_GAUGES if step >= required - FUZZ), required))
