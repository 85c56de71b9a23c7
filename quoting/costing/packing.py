"""How parts stand on a pallet: per layer, nested in columns or stacked on tiers, and what a loaded pallet is.

Load does not overhang the pallet; a part larger than the pallet gets a pallet of its own size, whose mass and cost
grow with its area.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from math import floor, inf, sin

from quoting.catalog import PackingRates, Rates, Sources
from quoting.costing.formulas import per_release
from quoting.costing.lines import CostLine, line
from quoting.costing.money import Input, exact, given
from quoting.costing.secondary import BenchInputs, bench_cost

SLACK = 1e-9  # -, so that 90.5 in of height hold what adds up to 90.5 in; float rounding only


@dataclass(frozen=True)
class PackedPart:
    """A part as it is packed. ``pitch`` is what each further nested part adds [m]; None: it does not nest."""

    length: float
    width: float
    height: float
    mass: float
    pitch: float | None
    cosmetic: bool = False  # a side of it is seen, so that no two parts may rub


@dataclass(frozen=True)
class Pattern:
    """Columns on a pallet and the most parts one column may hold. ``area_factor``: grown pallet over the standard."""

    part: PackedPart
    pallet_length: float
    pallet_width: float
    area_factor: float
    per_layer: int
    per_column: int

    @property
    def capacity(self) -> int:
        return self.per_layer * self.per_column


@dataclass(frozen=True)
class LoadedPallet:
    """One handling unit as it is weighed and measured: pallet, parts, interleaf and wrap."""

    parts: int
    length: float
    width: float
    height: float
    mass: float  # kg gross

    @property
    def volume(self) -> float:
        return self.length * self.width * self.height


def nesting_pitch(wall: float, draft: float, height: float, least: float) -> float:
    """Height that each further nested part adds: ``wall / sin(draft)``, at least ``least``, at most the part's height.

    Geometry of straight walls of one thickness; a measured pitch is better.

    Parameters
    ----------
    wall : float
        Mean wall [m], above 0.
    draft : float
        Draft angle [rad], 0 to pi/2; at 0 the parts do not enter one another.
    height : float
        Height of the part [m].
    least : float
        Least pitch, from spacing lugs and handling [m].

    Returns
    -------
    pitch : float
        [m]

    References
    ----------
    From memory, unverified.

    Examples
    --------
    >>> round(nesting_pitch(0.0024, 0.0524, 0.2, 0.02), 4)
    0.0458
    """
    by_draft = wall / sin(draft) if sin(draft) > 0 else inf
    return min(height, max(least, by_draft))


def column_height(part: PackedPart, count: int, rates: PackingRates) -> float:
    """Height of a column of ``count`` parts with its interleaf.

    Nested ``h + (n-1) pitch + floor((n-1)/k) t``; tiers ``n h + (n-1) t``.

    Parameters
    ----------
    part : PackedPart
        The part [m].
    count : int
        Parts in the column [count], above 0.
    rates : PackingRates
        Interleaf thickness t [m] and parts per interleaf k [count].

    Returns
    -------
    height : float
        [m]
    """
    further = count - 1
    if part.pitch is None:
        return count * part.height + further * rates.interleaf_thickness
    return part.height + further * part.pitch + interleaves(part, count, rates) * rates.interleaf_thickness


def interleaves(part: PackedPart, count: int, rates: PackingRates) -> int:
    """Interleaf sheets in a column: one between any two tiers or cosmetic parts, else one per k nested parts.

    Parameters
    ----------
    part : PackedPart
        The part [-].
    count : int
        Parts in the column [count].
    rates : PackingRates
        Parts per interleaf [count].

    Returns
    -------
    sheets : int
        [count]
    """
    return max(0, count - 1) // parts_to_interleaf(part, rates)


def parts_to_interleaf(part: PackedPart, rates: PackingRates) -> int:
    """Parts to one interleaf [count]: 1 for parts that are seen or stand on tiers, else as nested parts are packed."""
    return 1 if part.cosmetic or part.pitch is None else rates.parts_per_interleaf


def pack(part: PackedPart, rates: PackingRates) -> Pattern:
    """The pattern of a full pallet: best rotation per layer, columns up to the height and the weight limit.

    ``highest_load`` counts from the floor, pallet included; ``heaviest_load`` counts parts and interleaf.
    At least one part goes on a pallet, whatever its height or mass.

    Parameters
    ----------
    part : PackedPart
        The part [m, kg].
    rates : PackingRates
        Pallet, limits and interleaf [m, kg].

    Returns
    -------
    pattern : Pattern
        [-]
    """
    length, width = rates.pallet_length, rates.pallet_width
    per_layer = max(_grid(length, width, part.length, part.width), _grid(length, width, part.width, part.length))
    if per_layer == 0:
        length = max(length, part.length, part.width)
        width = max(width, min(part.length, part.width))
        per_layer = 1
    grown = length * width / (rates.pallet_length * rates.pallet_width)
    one = Pattern(part, length, width, grown, per_layer, 1)
    return _lighten(replace(one, per_column=_tallest(part, rates)), rates)


def _grid(length: float, width: float, part_length: float, part_width: float) -> int:
    """Rectangles in a rectangle, all lying the same way [count]."""
    return floor(length / part_length + SLACK) * floor(width / part_width + SLACK)


def _tallest(part: PackedPart, rates: PackingRates) -> int:
    """Most parts in a column below the height limit [count], at least 1."""
    available = rates.highest_load - rates.pallet_height + SLACK
    count = 1
    while column_height(part, count + 1, rates) <= available:
        count += 1
    return count


def _lighten(pattern: Pattern, rates: PackingRates) -> Pattern:
    """The pattern with columns short enough, then few enough, for the weight limit."""
    limit = rates.heaviest_load + SLACK
    while pattern.per_column > 1 and _net(pattern, pattern.capacity, rates) > limit:
        pattern = replace(pattern, per_column=pattern.per_column - 1)
    while pattern.per_layer > 1 and _net(pattern, pattern.capacity, rates) > limit:
        pattern = replace(pattern, per_layer=pattern.per_layer - 1)
    return pattern


def _columns(pattern: Pattern, parts: int) -> tuple[int, ...]:
    """``parts`` spread over the columns as evenly as they go."""
    low, extra = divmod(parts, pattern.per_layer)
    return tuple(low + 1 if column < extra else low for column in range(pattern.per_layer))


def _net(pattern: Pattern, parts: int, rates: PackingRates) -> float:
    """Mass of parts and interleaf [kg]."""
    low, taller = divmod(parts, pattern.per_layer)  # columns differ by one part at most
    sheets = taller * interleaves(pattern.part, low + 1, rates)
    sheets += (pattern.per_layer - taller) * interleaves(pattern.part, low, rates)
    return parts * pattern.part.mass + sheets * rates.interleaf_mass


def loaded_pallet(pattern: Pattern, parts: int, rates: PackingRates) -> LoadedPallet:
    """One pallet with so many parts on it.

    Parameters
    ----------
    pattern : Pattern
        How the parts stand [-].
    parts : int
        Parts on this pallet [count], 1 to the pattern's capacity.
    rates : PackingRates
        Pallet, wrap and interleaf [m, kg].

    Returns
    -------
    pallet : LoadedPallet
        [m, kg]
    """
    height = rates.pallet_height + column_height(pattern.part, max(_columns(pattern, parts)), rates)
    mass = _net(pattern, parts, rates) + rates.pallet_mass * pattern.area_factor + rates.wrap_mass
    return LoadedPallet(parts, pattern.pallet_length, pattern.pallet_width, height, mass)


def loaded_pallets(pattern: Pattern, quantity: int, rates: PackingRates) -> tuple[LoadedPallet, ...]:
    """All pallets of a release: full ones, then the one that is left.

    Parameters
    ----------
    pattern : Pattern
        How the parts stand [-].
    quantity : int
        Parts of the release [count], above 0.
    rates : PackingRates
        Pallet, wrap and interleaf [m, kg].

    Returns
    -------
    pallets : tuple of LoadedPallet
        The fullest first [-].
    """
    full, left = divmod(quantity, pattern.capacity)
    pallets = (loaded_pallet(pattern, pattern.capacity, rates),) * full if full else ()
    return pallets + ((loaded_pallet(pattern, left, rates),) if left else ())


@dataclass(frozen=True)
class PackInputs:
    """What the packing line needs: the pattern's capacity, the pallet's growth, the bench, and whether it rides LTL."""

    parts_per_pallet: int
    area_factor: float
    bench: BenchInputs
    foam: bool
    parts_per_interleaf: int = 1  # 1 where each part has its own, as every cosmetic one


def material_of_packing(pack_inputs: PackInputs, rates: PackingRates) -> Decimal:
    """Bought packing material per part: interleaf, its share of pallet, wrap and label, foam where it rides LTL.

    Parameters
    ----------
    pack_inputs : PackInputs
        Parts per pallet and foam [-].
    rates : PackingRates
        Prices [$].

    Returns
    -------
    cost : Decimal
        [$]
    """
    pallet = rates.pallet_cost * exact(pack_inputs.area_factor) + rates.wrap_and_label_cost
    foam = rates.ltl_foam_cost if pack_inputs.foam else Decimal(0)
    interleaf = rates.interleaf_cost / pack_inputs.parts_per_interleaf
    return interleaf + pallet / pack_inputs.parts_per_pallet + foam


def packing_line(quantity: int, pack_inputs: PackInputs, rates: Rates, sources: Sources) -> CostLine:
    """Packing: labour, interleaf, the share of a full pallet, and foam where the release rides LTL.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    pack_inputs : PackInputs
        Parts per pallet, bench and foam [-].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    line : CostLine
        [$]
    """
    packing = rates.packing
    basis = "parts x (pack time / efficiency x labour + interleaf / parts on it + (pallet, wrap, label) / parts on it"
    basis += " + foam, because it rides LTL)" if pack_inputs.foam else ")"
    work, material = bench_cost(packing.pack_time, pack_inputs.bench), material_of_packing(pack_inputs, packing)

    def inputs() -> tuple[Input, ...]:
        return _inputs_of_packing(pack_inputs, packing, sources)

    return line(quantity, "packing", per_release(quantity, work, material), basis, inputs)


def _inputs_of_packing(pack_inputs: PackInputs, packing: PackingRates, sources: Sources) -> tuple[Input, ...]:
    inputs = [
        given("pack time", packing.pack_time, "s", sources.of("packing.pack_time")),
        given("labour rate", pack_inputs.bench.labour_rate, "$/h", "plant data"),
        given("efficiency", pack_inputs.bench.efficiency, "-", "plant data"),
        given("interleaf", packing.interleaf_cost, "$", sources.of("packing.interleaf_cost")),
        given("parts to an interleaf; 1 for every part that is seen", pack_inputs.parts_per_interleaf, "-"),
        given("pallet", packing.pallet_cost, "$", sources.of("packing.pallet_cost")),
        given("pallet area over the standard pallet", pack_inputs.area_factor, "-"),
        given("wrap and label", packing.wrap_and_label_cost, "$", sources.of("packing.wrap_and_label_cost")),
        given("parts per pallet", pack_inputs.parts_per_pallet, "-"),
    ]
    if pack_inputs.foam:
        inputs.append(given("foam for LTL", packing.ltl_foam_cost, "$", sources.of("packing.ltl_foam_cost")))
    return tuple(inputs)
