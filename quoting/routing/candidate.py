"""One way to make the part, and the forming plan that was computed for it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from machines.cycle import Dwell
from machines.machine import Machine, Plant, Trimmer
from materials.polymer import Polymer
from materials.sheet import SheetOffer
from quoting.intake.part import PartRequest
from quoting.routing.verdict import Verdict

PROCESSES = ("vacuum", "pressure", "twin_sheet")


@dataclass(frozen=True)
class Layout:
    """Parts on one blank. ``turned``: the part's length lies across the platen. Blank along x across the platen [m]."""

    turned: bool
    along: int
    across: int
    blank_length: float  # along the platen length
    blank_width: float
    gap: float  # between cavities
    margin: float  # trim and clamp, each side
    part_along: float  # the part's side that lies along the platen
    part_across: float
    wider_along: float = 0.0  # beyond the least, at each gap and margin in that direction: for the frame to close on
    wider_across: float = 0.0

    @property
    def cavities(self) -> int:
        return self.along * self.across


@dataclass(frozen=True)
class Candidate:
    """Process x machine x polymer x sheet x layout. ``offer`` None: no mill offers such sheet today."""

    process: str
    plant: Plant
    machine: Machine
    polymer: Polymer
    offer: SheetOffer | None
    layout: Layout | None  # None: no blank was laid out, since the candidate was refused for what it is
    gauge: float  # starting gauge of (each) sheet [m]
    required_gauge: float  # before rounding up to a stocked gauge [m]

    @property
    def gauge_tolerance(self) -> float:
        """Share by which the sheet may run thin or thick [-]."""
        return self.offer.gauge_tolerance if self.offer else 0.0


@dataclass(frozen=True)
class CandidateGroup(Sequence[Candidate]):
    """Candidates that differ only in their layout, each made when it is asked for."""

    first: Candidate
    layouts: tuple[Layout, ...]

    def __len__(self) -> int:
        return len(self.layouts)

    def __getitem__(self, place: int) -> Candidate:
        one, layout = self.first, self.layouts[place]
        if layout is one.layout:
            return one
        return Candidate(
            one.process, one.plant, one.machine, one.polymer, one.offer, layout, one.gauge, one.required_gauge
        )


@dataclass(frozen=True)
class Thinning:
    """Walls at the places of the part [m]; what the sheet loses where it is stretched."""

    areal_draw_ratio: float
    mean_wall: float
    thinnest_wall: float
    thickest_wall: float
    method: str
    plug: bool
    rim: float
    side: float  # half way down
    base: float
    edge: float  # between wall and base
    corner: float
    pre_stretch: float = 1.0  # areal ratio of a bubble that is blown before the sheet meets its tool [-]


@dataclass(frozen=True)
class Heating:
    """The oven recipe. ``limited_by`` is '' when the window is reached, else skin, core, power or transfer.

    ``governed_by``: the pace of other stations, heaters at their hottest, a skin about to scorch, or the next hotter
    setting compared, which would scorch it before the core is ready; '' where the window is missed.
    What the sheet is like when it meets the tool is None where it does not reach its window.
    """

    time: float  # in all stations that heat together
    preheat_time: float  # of it in the stations before the oven
    oven_time: float
    wait: float  # at the first of these stations, before its heaters come on: other stations set the pace
    preheat_upper: float | None  # None where there is one heating station only
    preheat_lower: float | None
    upper_heater: float
    lower_heater: float
    surface_peak: float
    core_at_exit: float
    mean_at_exit: float
    transfer_time: float  # in open air, from the oven until the sheet meets the tool
    coldest_at_contact: float | None
    skin_at_contact: float | None  # the colder of the two faces
    mean_at_contact: float | None
    energy_per_area: float  # J/m2, into both faces together
    reaches_window: bool
    limited_by: str
    governed_by: str  # of one that reaches its window: pace, power, skin or core: why it is not faster
    thickest_gauge: float | None  # that would reach the window here; known when this one does not
    rule_of_thumb_time: float  # power law beside it, as a plausibility check
    thicker_gauge: float | None = None  # stocked, the thinnest to arrive where this one does not; None: none would


@dataclass(frozen=True)
class Cooling:
    time: float
    demould_temperature: float
    thickest_wall: float  # the wall that governed


@dataclass(frozen=True)
class Cycle:
    stations: tuple[Dwell, ...]
    index: float  # time between two blanks leaving the machine
    governing_station: str
    blanks_per_part: int  # 2 for twin-sheet
    parts_per_hour: float  # all cavities, at the machine's efficiency


@dataclass(frozen=True)
class Press:
    projected_area: float  # of all cavities along the draw
    box_area: float  # inside the seal: cavities with their gaps and moat, blank less clamps
    pressure: float
    force: float
    lock_force: float


@dataclass(frozen=True)
class Trim:
    """Which trimmer of which plant; ``plant`` differs from the forming plant when the part must move."""

    trimmer: Trimmer | None
    plant: str
    moves: bool


@dataclass(frozen=True)
class FormingPlan:
    thinning: Thinning
    heating: Heating
    sag: float  # m
    cooling: Cooling
    cycle: Cycle
    press: Press
    trim: Trim
    blank_energy: float  # J, heat into one blank
    blank_mass: float  # kg, one sheet
    part_mass: float  # kg, trimmed, all skins
    selvedge_fraction: float  # -, of the sheets that make one shot


@dataclass(frozen=True)
class WallsAlone:
    """What is known of a candidate before it is planned; whatever else is asked of it is refused."""

    thinning: Thinning


@dataclass(frozen=True)
class BlankAlone(WallsAlone):
    """The same once a blank is laid out, before any heat."""

    sag: float  # m
    press: Press


@dataclass(frozen=True)
class PlannedCandidate:
    request: PartRequest
    candidate: Candidate
    plan: FormingPlan | None  # None: refused for what it is, so that nothing was worked out
    on: date | None = None  # the day of the answer; without it no certificate can be judged


@dataclass(frozen=True, eq=False)
class JudgedCandidate:
    """A planned candidate and how many rules it fails. Most verdicts of an answer are never read, so they are put into
    words when somebody asks for them: ``said`` gives one for each rule that was asked."""

    planned: PlannedCandidate
    failures: int  # not assessed is not passed
    said: Callable[[], tuple[Verdict, ...]]

    # What is shown and stored of it.
    SHOWN = ("planned", "verdicts")

    @classmethod
    def of(cls, planned: PlannedCandidate, verdicts: tuple[Verdict, ...]) -> "JudgedCandidate":
        """With verdicts that are there already."""
        return cls(planned, sum([not one.passed for one in verdicts]), lambda: verdicts)

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        return self.said()

    @property
    def fits(self) -> bool:
        return self.failures == 0

    def __eq__(self, other: object) -> bool:
        return isinstance(other, JudgedCandidate) and (self.planned, self.verdicts) == (other.planned, other.verdicts)
