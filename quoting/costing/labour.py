"""What machines and people cost: set-up, forming and trimming."""

from dataclasses import dataclass
from decimal import Decimal

from machines.trim import TrimTime
from quoting.catalog import Rates, Sources
from quoting.costing.correcting import RUN_CORRECTION, SETUP_CORRECTION, TRIM_CORRECTION, Corrected, shown, times, told
from quoting.costing.formulas import hourly, setup_cost, work_cost
from quoting.costing.lines import CostLine, line
from quoting.costing.money import PLANT_DATA, SECONDS_PER_HOUR, Input, exact, given

TRIM_STANDARDS = (
    ("hole_time", "time of a hole", "s"),
    ("hand_hole_time", "time of a hole by hand", "s"),
    ("opening_time", "time of an opening", "s"),
    ("tool_changes", "tool changes", "-"),
    ("tool_change_time", "time of a tool change", "s"),
    ("rapid_time", "time of rapid moves", "s"),
    ("load_time", "load time", "s"),
    ("swap_time", "swap time", "s"),
    ("deburr_time_per_metre", "deburr time", "s/m"),
)


@dataclass(frozen=True)
class PressInputs:
    """The forming machine at work on this part. ``parts_per_hour`` counts all cavities, at efficiency."""

    parts_per_hour: float
    cavities: int
    hour_rate: Decimal
    crew: float
    setup_hours: float
    setup_crew: float
    labour_rate: Decimal
    run: Corrected | None = None
    setup: Corrected | None = None

    @property
    def stated_shots_per_hour(self) -> Decimal:
        """As the cycle has it. A shot is one closing that yields all cavities; in twin-sheet it takes two blanks."""
        return exact(self.parts_per_hour) / self.cavities

    @property
    def shots_per_hour(self) -> Decimal:
        """As recorded runs have it, where they correct the hours of a run."""
        stated = self.stated_shots_per_hour
        return stated if self.run is None else stated / exact(self.run.factor)

    @property
    def hours_of_setup(self) -> Decimal:
        """As recorded runs have it, where they correct set-up [h]."""
        return times(exact(self.setup_hours), self.setup)

    @property
    def hourly(self) -> Decimal:
        return hourly(self.hour_rate, exact(self.crew), self.labour_rate)


@dataclass(frozen=True)
class SetupInputs:
    """Setting up a forming machine; the same for whatever it forms, but for what recorded runs correct."""

    hours: float
    hour_rate: Decimal
    crew: float
    labour_rate: Decimal
    corrected: Corrected | None = None

    @property
    def cost(self) -> Decimal:
        """Setting up the forming machine, once [$]."""
        return times(exact(self.hours), self.corrected) * hourly(self.hour_rate, exact(self.crew), self.labour_rate)


@dataclass(frozen=True)
class TrimInputs:
    """The trimmer at work on this part; ``labour_rate`` is that of the plant where the trimmer stands."""

    time: TrimTime
    hour_rate: Decimal
    crew: float
    setup_hours: float
    efficiency: float
    labour_rate: Decimal
    corrected: Corrected | None = None

    @property
    def pieces_per_hour(self) -> Decimal:
        stated = SECONDS_PER_HOUR * exact(self.efficiency) / exact(self.time.cycle)
        return stated if self.corrected is None else stated / exact(self.corrected.factor)

    @property
    def hourly(self) -> Decimal:
        return hourly(self.hour_rate, exact(self.crew), self.labour_rate)

    @property
    def setup(self) -> Decimal:
        """Setting up the trimmer, once [$]."""
        return exact(self.setup_hours) * self.hourly


def setup_line(quantity: int, press: SetupInputs, trim: TrimInputs, rates: Rates, sources: Sources) -> CostLine:
    """Set-up of press and trimmer, once per release, and the check of its first article.

    ``press hours x (rate + set-up crew x labour) + trim hours x (rate + crew x labour) + inspection``.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    press : SetupInputs
        The forming machine [h, $/h].
    trim : TrimInputs
        The trimmer [h, $/h].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    line : CostLine
        [$]
    """
    inspection = rates.forming.setup_inspection

    def inputs() -> tuple[Input, ...]:
        return (
            given("press set-up", press.hours, "h", PLANT_DATA),
            *shown(press.corrected, SETUP_CORRECTION),
            given("press rate", press.hour_rate, "$/h", PLANT_DATA),
            given("set-up crew", press.crew, "people", PLANT_DATA),
            given("labour rate at the press", press.labour_rate, "$/h", PLANT_DATA),
            given("trim set-up", trim.setup_hours, "h", PLANT_DATA),
            given("trimmer rate", trim.hour_rate, "$/h", PLANT_DATA),
            given("trim crew", trim.crew, "people", PLANT_DATA),
            given("labour rate at the trimmer", trim.labour_rate, "$/h", PLANT_DATA),
            given("set-up inspection", inspection, "$", sources.of("forming.setup_inspection")),
        )

    basis = "press set-up x (press + crew x labour) + trim set-up x (trimmer + crew x labour) + set-up inspection"
    return line(
        quantity, "set-up", setup_cost(press.cost, trim.setup, inspection), told(basis, press.corrected), inputs
    )


def forming_cost(shots: int, press: PressInputs) -> Decimal:
    """Forming of a release: ``shots x (machine rate + crew x labour) / shots per hour``.

    Parameters
    ----------
    shots : int
        Shots with scrap and start-up [count].
    press : PressInputs
        The forming machine [$/h, 1/h].

    Returns
    -------
    cost : Decimal
        [$]
    """
    return work_cost(shots, press.hourly, press.shots_per_hour)


def forming_line(quantity: int, shots: int, press: PressInputs) -> CostLine:
    """Forming, as in ``forming_cost``.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    shots : int
        Shots with scrap and start-up [count].
    press : PressInputs
        The forming machine [$/h, 1/h].

    Returns
    -------
    line : CostLine
        [$]
    """

    def inputs() -> tuple[Input, ...]:
        return (
            given("shots", shots, "-"),
            given("shots per hour", press.stated_shots_per_hour, "1/h"),
            *shown(press.run, RUN_CORRECTION),
            given("press rate", press.hour_rate, "$/h", PLANT_DATA),
            given("crew", press.crew, "people", PLANT_DATA),
            given("labour rate", press.labour_rate, "$/h", PLANT_DATA),
        )

    basis = "shots x (press + crew x labour) / shots per hour at the machine's efficiency"
    return line(quantity, "forming", forming_cost(shots, press), told(basis, press.run), inputs)


def trim_line(quantity: int, pieces: int, trim: TrimInputs, rates: Rates, sources: Sources) -> CostLine:
    """Trimming: ``pieces x (trimmer rate + crew x labour) / pieces per hour``.

    Parameters
    ----------
    quantity : int
        Good parts [count].
    pieces : int
        Pieces trimmed, with trim scrap [count].
    trim : TrimInputs
        The trimmer [$/h, s].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    line : CostLine
        [$]
    """

    def inputs() -> tuple[Input, ...]:
        return (
            given("pieces trimmed", pieces, "-"),
            given("path", trim.time.path, "s"),
            given("openings", trim.time.openings, "s"),
            given("holes", trim.time.holes, "s"),
            given("tool changes", trim.time.tool_changes, "s"),
            given("rapid moves", trim.time.rapid, "s"),
            given("time at the cutter", trim.time.cutting, "s"),
            given("time of the operator", trim.time.operator, "s"),
            given("piece-to-piece time", trim.time.cycle, "s"),
            *shown(trim.corrected, TRIM_CORRECTION),
            given("efficiency", trim.efficiency, "-", PLANT_DATA),
            given("trimmer rate", trim.hour_rate, "$/h", PLANT_DATA),
            given("crew", trim.crew, "people", PLANT_DATA),
            given("labour rate", trim.labour_rate, "$/h", PLANT_DATA),
            *(
                given(f"standard {name}", getattr(rates.trim, key), unit, sources.of(f"trim.{key}"))
                for key, name, unit in TRIM_STANDARDS
            ),
        )

    basis = "pieces x piece-to-piece time / efficiency x (trimmer + crew x labour)"
    return line(
        quantity, "trimming", work_cost(pieces, trim.hourly, trim.pieces_per_hour), told(basis, trim.corrected), inputs
    )


def press_hours(shots: int, press: PressInputs) -> Decimal:
    """Hours of the forming machine: run and set-up.

    Parameters
    ----------
    shots : int
        Shots of the release [count].
    press : PressInputs
        The forming machine [h, 1/h].

    Returns
    -------
    hours : Decimal
        [h]
    """
    return shots / press.shots_per_hour + press.hours_of_setup


def trim_hours(pieces: int, trim: TrimInputs) -> Decimal:
    """Hours of the trimmer: run and set-up.

    Parameters
    ----------
    pieces : int
        Pieces trimmed [count].
    trim : TrimInputs
        The trimmer [h, 1/h].

    Returns
    -------
    hours : Decimal
        [h]
    """
    return pieces / trim.pieces_per_hour + exact(trim.setup_hours)
