"""Work beside forming and trimming: fittings, inserts, bonding, painting, inspection, by standard time and material."""

from dataclasses import dataclass
from decimal import Decimal

from quoting.catalog import OperationRate, Rates, Sources
from quoting.costing.coating import NOTHING, CoatWork, coat_inputs, coat_work
from quoting.costing.formulas import bench_work
from quoting.costing.learning import learning_factor
from quoting.costing.lines import CostLine, line
from quoting.costing.money import (
    INQUIRY,
    PLANT_DATA,
    SECONDS_PER_HOUR,
    CannotPriceError,
    Input,
    exact,
    given,
)
from quoting.intake.part import BEFORE_TRIM, Secondary

COATS = (
    "; a coat adds masking x edge + coats x spraying x area to the time, coats x area x dry film / (solids x share "
    "that lands) x price to the material, and coats x drying time x room rate x plan area / floor of the room"
)


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


@dataclass(frozen=True)
class Worked:
    """One operation in one release. ``done`` counts the pieces it is done on, ``factor`` is what learning makes of
    its standard time."""

    rate: OperationRate
    count: int
    done: int
    factor: Decimal
    coat: CoatWork = NOTHING  # by area, on each piece

    @property
    def seconds(self) -> Decimal:
        return self.done * (self.count * self.rate.seconds + self.coat.seconds) * self.factor

    @property
    def material(self) -> Decimal:
        return self.done * (self.count * self.rate.material + self.coat.material)

    @property
    def drying(self) -> Decimal:
        return self.done * self.coat.drying


def worked(quantity: int, pieces: int, asked: tuple[Secondary, ...], rates: Rates) -> tuple[Worked, ...]:
    """Each operation of a release with what learning makes of its time.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    pieces : int
        Pieces that are trimmed: what is done before trimming is done on those that trimming spoils too [count].
    asked : tuple of Secondary
        Operations and their count per part [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    worked : tuple of Worked
        In the order asked [-].

    Raises
    ------
    CannotPriceError
        No standard for an operation.
    """
    found = []
    for each in asked:
        rate = operation_rate(each.operation, rates.operations)
        done = pieces if each.operation in BEFORE_TRIM else quantity
        factor = learning_factor(done * each.count, float(rate.learning), rates.secondary.standard_at)
        found.append(Worked(rate, each.count, done, exact(factor), coat_work(each, rates)))
    return tuple(found)


def secondary_line(
    quantity: int,
    pieces: int,
    asked: tuple[Secondary, ...],
    bench: BenchInputs,
    rates: Rates,
    sources: Sources,
) -> CostLine:
    """Secondary operations of a release: ``pieces x count x (time x learning / efficiency x labour + material)`` each.

    Parameters
    ----------
    quantity, pieces : int
        Good parts, and pieces that are trimmed for them [count].
    asked : tuple of Secondary
        Operations and their count per part [-].
    bench : BenchInputs
        Rate [$/h] and efficiency [-].
    rates : Rates
        Rates in force [s, $].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    line : CostLine
        [$]
    """
    every = worked(quantity, pieces, asked, rates)
    basis = (
        "sum of pieces x count x standard time x learning / efficiency x labour, and of pieces x count x material; "
        "learning = mean of (n / standard's repetition)^b over the repetitions n of the release, 1 from the standard's "
        "repetition on; b = log2 of the learning rate"
    )
    total = bench_cost(sum((one.seconds for one in every), Decimal(0)), bench)
    total += sum((one.material + one.drying for one in every), Decimal(0))
    if any(each.coat for each in asked):
        basis += COATS

    def inputs() -> tuple[Input, ...]:
        return _inputs_of_work(every, asked, bench, rates, sources)

    return line(quantity, "secondary operations", total, basis, inputs)


def _inputs_of_work(
    every: tuple[Worked, ...], asked: tuple[Secondary, ...], bench: BenchInputs, rates: Rates, sources: Sources
) -> tuple[Input, ...]:
    inputs = [
        given("labour rate", bench.labour_rate, "$/h", PLANT_DATA),
        given("efficiency", bench.efficiency, "-", PLANT_DATA),
    ]
    for one, each in zip(every, asked, strict=True):
        inputs += [*_inputs_of(one, sources), *coat_inputs(each, rates, sources)]
    if any(one.rate.learning != 1 for one in every):
        standard_at = sources.of("secondary.standard_at")
        inputs.append(given("repetitions after which a standard holds", rates.secondary.standard_at, "-", standard_at))
    return tuple(inputs)


def _inputs_of(one: Worked, sources: Sources) -> list[Input]:
    name, key = one.rate.operation.replace("_", " "), f"operations.{one.rate.operation}"
    inputs = [
        given(f"{name}, count", one.count, "-", INQUIRY),
        given(f"{name}, standard time", one.rate.seconds, "s", sources.of(f"{key}.seconds")),
        given(f"{name}, material", one.rate.material, "$", sources.of(f"{key}.material")),
    ]
    if one.rate.learning != 1:
        inputs += [
            given(f"{name}, learning rate", one.rate.learning, "-", sources.of(f"{key}.learning")),
            given(f"{name}, repetitions", one.done * one.count, "-"),
            given(f"{name}, learning at this release", one.factor, "-"),
        ]
    if one.rate.operation in BEFORE_TRIM:
        inputs.append(given(f"{name}, pieces, before trim", one.done, "-"))
    return inputs
