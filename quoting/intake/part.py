"""What was asked: the inquiry as values. Dataclasses only; every length [m], angle [rad], temperature [K]."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

SHOW_SIDES = ("tool", "free", "both", "none")
TOOL_SIDES = ("female", "male")  # the part is formed into the tool, or over it
TOOLING = ("new", "transfer")
TOOLING_OPTIONS = ("prototype",)
METALS = ("steel", "aluminium", "stainless")
SURPLUS = ("apart", "shared")  # who pays sheet that a mill's minimum order forces beyond the release, and how
COATED_SIDES = ("tool", "free", "both")
SECONDARY_OPERATIONS = (
    "fitting", "insert", "bonded_block", "solvent_bond", "hot_plate_weld", "weld_stud", "rivet", "gasket", "heat_bend",
    "paint", "emi_coat", "screen_print", "assembly", "inspection",
)  # fmt: skip
BEFORE_TRIM = frozenset({"fitting"})  # done on every piece that goes to the trimmer, so on those that it spoils too


# Facts of a part that a CAD model tells in place of what was typed.
MEASURED = ("surface_area", "trim_length", "draft_angle", "smallest_radius", "undercut_depth", "openings")


@dataclass(frozen=True)
class Customer:
    company: str
    contact: str
    email: str


@dataclass(frozen=True)
class Destination:
    postal_code: str
    country: str
    latitude: float  # degrees, found from the postal code
    longitude: float  # degrees
    place: str = ""  # city and state where known


@dataclass(frozen=True)
class Coat:
    """What a coat of paint or shielding covers of one part."""

    side: str  # tool, free, both
    area: float  # m2, of one coat
    masked_edge: float  # m, along which the other side is kept clean
    floor: float  # m2 that the part takes while it dries


@dataclass(frozen=True)
class Secondary:
    operation: str
    count: int  # on each part; of paint and shielding: coats
    coat: Coat | None = None


@dataclass(frozen=True)
class MetalPart:
    """The fabricated metal part to be replaced. What was not told of how it is put together is None."""

    metal: str
    thickness: float
    parts: int | None = None  # pieces that it is made of
    welds: int | None = None
    seam_length: float | None = None  # of all welded or sealed seams together


@dataclass(frozen=True)
class Pocket:
    """A place of the part, narrower than the part itself, that is deep for its opening."""

    depth: float
    width: float  # of the widest circle in the opening


@dataclass(frozen=True)
class CustomerTool:
    """The customer's tool with its base plate, as far as it is known. ``length`` is the longer side of the base."""

    length: float | None = None
    width: float | None = None
    height: float | None = None  # of each half of a twin-sheet pair
    mass: float | None = None


@dataclass(frozen=True)
class Part:
    """The formed part. Every field is filled: typed, measured, or assumed (see ``Reading.assumptions``)."""

    name: str
    length: float  # the longer plan side after reading
    width: float
    depth: float  # along the draw
    minimum_wall: float | None  # one of minimum_wall and gauge is given
    gauge: float | None
    surface_area: float  # m2, formed surface of one skin
    trim_length: float  # m
    draft_angle: float
    smallest_radius: float | None  # None: no sharper than the starting gauge
    undercut_depth: float
    texture_depth: float
    tolerance: float | None  # None: the shop's standard tolerance
    show_side: str
    enclosed: bool
    openings: int
    holes: int
    service_temperature: float
    sharp_edges: float = 0.0  # length of inside edges that a model draws without a radius; 0 where none is known
    pocket: Pocket | None = None  # of a model, where it is deeper for its opening than the part for its width
    undercuts: int = 0  # each is freed by one moving section
    tool_side: str = "female"  # of TOOL_SIDES


@dataclass(frozen=True)
class PartRequest:
    """A complete inquiry, ready to be routed and priced."""

    reference: str
    customer: Customer
    ship_to: Destination
    part: Part
    polymers: tuple[str, ...]  # accepted ones; empty: any that meets the needs
    colour: str
    needs: tuple[str, ...]
    annual: int
    releases: tuple[int, ...]  # ascending, no doubles
    tooling: str
    secondary: tuple[Secondary, ...]
    replaces_metal: MetalPart | None
    needed_by: date | None
    target_price: Decimal | None
    tool: CustomerTool = CustomerTool()  # noqa: RUF009 - frozen
    tooling_options: tuple[str, ...] = ()  # offered beside the tooling, on the customer's wish
    surplus: str = "apart"  # of SURPLUS
    amortise_over: int | None = None  # parts over which the tooling is paid in the part price; None: billed by itself
