"""A full pallet as it can be drawn: how parts stand on it, how high, and what keeps it from holding more."""

from dataclasses import dataclass

from quoting.catalog import PackingRates
from quoting.costing.packing import Pattern, column_height, loaded_pallet

SLACK = 1e-9  # -, float rounding only


@dataclass(frozen=True)
class PalletLoad:
    """A full pallet. Lengths [m], masses [kg]. ``along`` x ``across`` places, of which ``per_layer`` are taken."""

    length: float
    width: float
    deck: float  # height of the pallet itself
    along: int
    across: int
    place_length: float  # the part's side along the pallet's length
    place_width: float
    per_layer: int
    per_column: int
    part_height: float
    pitch: float  # what each further part in a column adds, on average, interleaf included
    nested: bool
    height: float
    height_limit: float
    mass: float  # gross
    net_mass: float  # parts and interleaf
    mass_limit: float  # of parts and interleaf
    limited_by: str  # height or weight


def pallet_load(pattern: Pattern, rates: PackingRates) -> PalletLoad:
    """The drawing of a full pallet as numbers.

    Parameters
    ----------
    pattern : Pattern
        How the parts stand [m].
    rates : PackingRates
        Pallet and limits [m, kg].

    Returns
    -------
    load : PalletLoad
        [m, kg]
    """
    part, count = pattern.part, pattern.per_column
    full = loaded_pallet(pattern, pattern.capacity, rates)
    along, across, long, wide = _places(pattern)
    stack = column_height(part, count, rates)
    bare = rates.pallet_mass * pattern.area_factor + rates.wrap_mass
    one_more = rates.pallet_height + column_height(part, count + 1, rates)
    by_height = one_more > rates.highest_load + SLACK and pattern.per_layer == max(1, along * across)
    return PalletLoad(
        length=pattern.pallet_length,
        width=pattern.pallet_width,
        deck=rates.pallet_height,
        along=along,
        across=across,
        place_length=long,
        place_width=wide,
        per_layer=pattern.per_layer,
        per_column=count,
        part_height=part.height,
        pitch=(stack - part.height) / (count - 1) if count > 1 else part.height,
        nested=part.pitch is not None and part.pitch < part.height,
        height=full.height,
        height_limit=rates.highest_load,
        mass=full.mass,
        net_mass=full.mass - bare,
        mass_limit=rates.heaviest_load,
        limited_by="height" if by_height else "weight",
    )


def _places(pattern: Pattern) -> tuple[int, int, float, float]:
    """Places along and across the pallet, and the part's sides along and across, the way that holds more."""
    part = pattern.part
    ways = ((part.length, part.width), (part.width, part.length))
    found = [
        (int(pattern.pallet_length / long + SLACK), int(pattern.pallet_width / wide + SLACK), long, wide)
        for long, wide in ways
    ]
    return max(found, key=lambda way: way[0] * way[1])
