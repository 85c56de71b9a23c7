"""Work after trimming: inserts, bonding, painting, inspection and the like, by standard time and bought material."""

from dataclasses import dataclass
from decimal import Decimal

from quoting.catalog import OperationRate
from quoting.costing.formulas import bench_work, per_release
from quoting.costing.lines import CostLine, line
from quoting.costing.money import INQUIRY, PLANT_DATA, SECONDS_PER_HOUR, CannotPriceError, Sources, exact, given
from quoting.intake.part import Secondary


@dataclass(frozen=True)
class BenchInputs:
    """Hand work after trimming: who is paid how much, and good hours over clock hours."""

    labour_rate: Decimal
    efficiency: float


def bench_cost(seconds: Decimal, bench: BenchInputs) -> Decimal:
    """Labour of so many standard seconds: ``seconds / efficiency x rate / 3600``.

    Parameters
    ----------
    seconds : Decimal
        Standard time [s].
    bench : BenchInputs
        Rate [$/h] and efficiency [-].

    Returns
    -------
    cost : Decimal
        [$]

    Examples
    --------
    >>> round(bench_cost(Decimal(102), BenchInputs(Decimal(34), 0.85)), 3)
    Decimal('1.133')
    """
    return bench_work(seconds, exact(bench.efficiency), bench.labour_rate, SECONDS_PER_HOUR)


def operation_rate(operation: str, rates: tuple[OperationRate, ...]) -> OperationRate:
    """The standard of one operation.

    Parameters
    ----------
    operation : str
        Name of the operation [-].
    rates : tuple of OperationRate
        All standards in force [-].

    Returns
    -------
    rate : OperationRate
        [s, $]

    Raises
    ------
    CannotPriceError
        No standard for it.
    """
    for rate in rates:
        if rate.operation == operation:
            return rate
    raise CannotPriceError(f"no standard time and material for the operation {operation}")


def material_per_part(asked: tuple[Secondary, ...], rates: tuple[OperationRate, ...]) -> Decimal:
    """Bought material of all operations, per part.

    Parameters
    ----------
    asked : tuple of Secondary
        Operations and their count per part [-].
    rates : tuple of OperationRate
        Standards [$].

    Returns
    -------
    cost : Decimal
        [$]
    """
    return sum((each.count * operation_rate(each.operation, rates).material for each in asked), Decimal(0))


def seconds_per_part(asked: tuple[Secondary, ...], rates: tuple[OperationRate, ...]) -> Decimal:
    """Standard time of all operations, per part.

    Parameters
    ----------
    asked : tuple of Secondary
        Operations and their count per part [-].
    rates : tuple of OperationRate
        Standards [s].

    Returns
    -------
    time : Decimal
        [s]
    """
    return sum((each.count * operation_rate(each.operation, rates).seconds for each in asked), Decimal(0))


def secondary_line(
    quantity: int,
    asked: tuple[Secondary, ...],
    bench: BenchInputs,
    rates: tuple[OperationRate, ...],
    sources: Sources,
) -> CostLine:
    """Secondary operations of the parts shipped: ``count x (time/efficiency x labour + material)`` each.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    asked : tuple of Secondary
        Operations and their count per part [-].
    bench : BenchInputs
        Rate [$/h] and efficiency [-].
    rates : tuple of OperationRate
        Standards [s, $].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    line : CostLine
        [$]
    """
    seconds, material = seconds_per_part(asked, rates), material_per_part(asked, rates)
    inputs = [
        given("labour rate", bench.labour_rate, "$/h", PLANT_DATA),
        given("efficiency", bench.efficiency, "-", PLANT_DATA),
    ]
    for each in asked:
        rate, key = operation_rate(each.operation, rates), f"operations.{each.operation}"
        inputs += [
            given(f"{each.operation}, count", each.count, "-", INQUIRY),
            given(f"{each.operation}, time", rate.seconds, "s", sources.of(f"{key}.seconds")),
            given(f"{each.operation}, material", rate.material, "$", sources.of(f"{key}.material")),
        ]
    basis = "parts x (sum of count x time) / efficiency x labour + parts x (sum of count x material)"
    total = per_release(quantity, bench_cost(seconds, bench), material)
    return line(quantity, "secondary operations", total, basis, tuple(inputs))
