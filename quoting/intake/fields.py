"""The fields of an inquiry, one entry each, in the order of the form.

The reader, the browser form and the overrides all work from this table: a field's name, kind, range, choices and
wording stand here and nowhere else. Ranges are SI and inclusive.
"""

from dataclasses import dataclass
from math import radians

from materials.polymer import NEEDS
from materials.sheet import COLOURS
from quoting.geometry.files.file_units import UNITS
from quoting.intake.part import (
    COATED_SIDES,
    MEASURED,
    METALS,
    SECONDARY_OPERATIONS,
    SHOW_SIDES,
    SURPLUS,
    TOOL_SIDES,
    TOOLING,
    TOOLING_OPTIONS,
)

# Bounds of what is read at all, common practice, no source. They catch slips; whether a part fits is routing's word.
SHORTEST_SIDE, LONGEST_SIDE = 0.005, 10.0  # m: larger than any sheet, so that too large is answered, not refused
THINNEST, THICKEST = 0.0001, 0.050  # m
DEEPEST_TEXTURE = 0.002  # m
STEEPEST_DRAFT = radians(45)
COLDEST, HOTTEST = 213.15, 673.15  # K: -60 and 400 degC
MOST_PARTS = 10_000_000
MOST_RELEASES = 12
MOST_BODIES = 100  # of a model; more are not read
MOST_UNDERCUTS = 50
LIGHTEST_TOOL, HEAVIEST_TOOL = 1.0, 20_000.0  # kg

YES, NO, UNLESS_MODEL, ONE_OF_TWO = "yes", "no", "unless part.model", "wall or gauge"


@dataclass(frozen=True)
class Field:
    """One field. ``key`` is its dotted place in the inquiry; ``why`` says what it is needed for."""

    key: str
    kind: str  # text email postal_code country file direction length area angle temperature mass count flag ...
    label: str
    required: str = NO  # of YES, NO, UNLESS_MODEL, ONE_OF_TWO
    why: str = ""
    help: str = ""
    example: str = ""
    low: float | None = None
    high: float | None = None
    unit: str = ""  # SI unit of low and high, as in quoting.words.Figure
    choices: tuple[str, ...] = ()
    longest: int = 200  # characters, for texts

    @property
    def group(self) -> str:
        """The part of the inquiry where the field stands; empty at the top."""
        return self.key.rpartition(".")[0]


def _length(key: str, label: str, low: float, high: float, **more) -> Field:
    return Field(key, "length", label, low=low, high=high, unit="m", **more)


def _side(key: str, label: str, why: str, example: str) -> Field:
    return _length(
        key, label, SHORTEST_SIDE, LONGEST_SIDE, required=UNLESS_MODEL, why=why, example=example,
        help="Outside size of the formed part, with its unit.",
    )  # fmt: skip


def _tool_side(key: str, label: str, example: str) -> Field:
    return _length(
        key, label, SHORTEST_SIDE, LONGEST_SIDE, example=example, help="Left empty: its fit is not assessed.",
    )  # fmt: skip


def _coated(key: str, label: str) -> Field:
    return Field(
        key, "area", label, low=SHORTEST_SIDE**2, high=20 * LONGEST_SIDE**2, unit="m2", example="14.5 ft2",
        help="Of one coat. Left empty: all of that side.",
    )  # fmt: skip


FIELDS = (
    Field("reference", "text", "Your reference", example="RFQ 2231", longest=100),
    Field("customer.company", "text", "Company", YES, "the quote is made out to a company"),
    Field("customer.contact", "text", "Contact", YES, "somebody must be able to answer questions"),
    Field("customer.email", "email", "E-mail", YES, "the quote is sent there", example="buyer@firm.example"),
    Field(
        "ship_to.postal_code", "postal_code", "Ship-to postal code", YES,
        "freight is part of the landed price", "Five-digit ZIP code, or ZIP+4.", "44114",
    ),
    Field(
        "ship_to.country", "country", "Ship-to country", YES,
        "freight is part of the landed price", "Two letters. Freight is priced inside the US only.", "US",
    ),
    Field("part.name", "text", "Part name and revision", YES, "the quote must say which part it prices"),
    Field(
        "part.model", "file", "CAD model",
        help="STEP, STL, OBJ or 3MF, at most 50 MB. Its measures take the place of what is typed.",
        example="cover.step",
    ),
    Field(
        "part.model_unit", "choice", "Unit of the model", choices=tuple(UNITS), example="mm",
        help="The unit it was drawn in, once somebody knows it; it goes before what the file says.",
    ),
    Field(
        "part.model_body", "count", "Body of the model", low=1, high=MOST_BODIES, unit="count", example="1",
        help="Which body is the part, from the largest. Left empty: the first.",
    ),
    Field(
        "part.model_draw", "direction", "Draw of the model", example="+z",
        help="Out of the cavity: an axis of the file, or three numbers such as 0 0.5 1. Left empty: the best found.",
    ),
    Field(
        "part.keep_typed", "choices", "Typed values that stand", choices=MEASURED,
        help="Where the typed value counts though the model has another.",
    ),
    _side("part.length", "Length", "the blank, the machine and the tool follow from it", "40 in"),
    _side("part.width", "Width", "the blank, the machine and the tool follow from it", "28 in"),
    _side("part.depth", "Depth of draw", "stretching and the tool's height follow from it", "8 in"),
    _length(
        "part.minimum_wall", "Thinnest wall after forming", THINNEST, THICKEST, required=ONE_OF_TWO,
        why="the sheet's gauge follows from it; the starting sheet gauge will do instead",
        help="Give this or the starting gauge, not both.", example="0.090 in",
    ),
    _length(
        "part.gauge", "Starting sheet gauge", THINNEST, THICKEST, required=ONE_OF_TWO,
        why="the sheet's gauge, or the wall it must leave, decides material, heating and price",
        help="Give this or the thinnest wall, not both.", example="0.187 in",
    ),
    Field(
        "part.surface_area", "area", "Formed surface of one skin", low=SHORTEST_SIDE**2, high=10 * LONGEST_SIDE**2,
        unit="m2", help="Left empty: a tapered box of the sizes above.", example="14.5 ft2",
    ),
    _length(
        "part.trim_length", "Length of trimmed edges", 4 * SHORTEST_SIDE, 40 * LONGEST_SIDE,
        help="Left empty: the perimeter, and an allowance for each opening.", example="136 in",
    ),
    Field("part.draft_angle", "angle", "Draft per side", low=0.0, high=STEEPEST_DRAFT, unit="rad", example="4 deg"),
    _length("part.smallest_radius", "Smallest inside radius", 0.0, LONGEST_SIDE / 2, example="0.25 in"),
    _length("part.undercut_depth", "Deepest undercut", 0.0, LONGEST_SIDE / 2, example="0.5 in"),
    Field(
        "part.undercuts", "count", "Number of undercuts", low=0, high=MOST_UNDERCUTS, unit="count", example="2",
        help="Each takes one moving section in the tool. Left empty: one where an undercut has a depth.",
    ),
    _length("part.texture_depth", "Depth of texture from the tool", 0.0, DEEPEST_TEXTURE, example="0.004 in"),
    _length("part.tolerance", "Tightest tolerance, plus or minus", 0.00001, 0.1, example="0.060 in"),
    Field("part.show_side", "choice", "Side that is seen", choices=SHOW_SIDES, example="tool"),
    Field(
        "part.tool_side", "choice", "Formed into or over the tool", choices=TOOL_SIDES, example="male",
        help="Left empty: into a female tool.",
    ),
    Field("part.enclosed", "flag", "Closed hollow or two skins"),
    Field("part.openings", "count", "Trimmed openings", low=0, high=1000, unit="count", example="2"),
    Field("part.holes", "count", "Drilled holes", low=0, high=10_000, unit="count", example="12"),
    Field(
        "part.service_temperature", "temperature", "Highest temperature in use", low=COLDEST, high=HOTTEST, unit="K",
        example="140 degF",
    ),
    Field(
        "material.polymers", "polymers", "Accepted polymers", help="Left empty: any that meets the needs.",
        example="ABS",
    ),
    Field("material.colour", "choice", "Colour", choices=COLOURS, example="stock"),
    Field(
        "material.surplus", "choice", "Sheet beyond the release", choices=SURPLUS, example="shared",
        help="What a mill's minimum order forces beyond a release. Left empty: it stays out of the price and is told.",
    ),
    Field("material.needs", "choices", "What the material must do", choices=NEEDS, example="impact"),
    Field(
        "quantities.annual", "count", "Parts a year", YES, "tooling and machine choice rest on it",
        low=1, high=MOST_PARTS, unit="count", example="2400",
    ),
    Field(
        "quantities.releases", "counts", "Release sizes to price", YES, "set-up and freight are paid once a release",
        "How many parts are called off at a time; up to 12 sizes.", "100, 300, 1200",
        low=1, high=MOST_PARTS, unit="count",
    ),
    Field("tooling", "choice", "Tool", choices=TOOLING, example="transfer"),
    _tool_side("tool.length", "Customer's tool: base, longer side", "46 in"),
    _tool_side("tool.width", "Customer's tool: base, shorter side", "34 in"),
    _tool_side("tool.height", "Customer's tool: height with base", "13 in"),
    Field(
        "tool.mass", "mass", "Customer's tool: weight", low=LIGHTEST_TOOL, high=HEAVIEST_TOOL, unit="kg",
        example="850 lb",
    ),
    Field(
        "tooling_options", "choices", "Offer beside the tool", choices=TOOLING_OPTIONS, example="prototype",
        help="Shown beside the quote and not added to it.",
    ),
    Field(
        "amortise_over", "count", "Spread the tooling over so many parts", low=1, high=MOST_PARTS,
        unit="count", example="2400", help="They pay it in their price. Left empty: it is billed by itself.",
    ),
    Field(
        "secondary", "operations", "Work after trimming",
        help="Operation and its count on each part; of paint and shielding the number of coats.",
        choices=SECONDARY_OPERATIONS, example="insert 6, paint 2, emi_coat 1", low=1, high=10_000, unit="count",
    ),
    Field(
        "coating.paint_side", "choice", "Painted side", choices=COATED_SIDES, example="tool",
        help="Left empty: the side that is seen.",
    ),
    _coated("coating.paint_area", "Painted area"),
    Field(
        "coating.shielding_side", "choice", "Shielded side", choices=COATED_SIDES, example="free",
        help="Left empty: the side that is not seen.",
    ),
    _coated("coating.shielding_area", "Shielded area"),
    Field("replaces_metal.metal", "choice", "Replaces a part in", choices=METALS, example="steel"),
    _length("replaces_metal.thickness", "Metal thickness", THINNEST, THICKEST, example="0.060 in"),
    Field(
        "replaces_metal.parts", "count", "Pieces of the metal part", low=1, high=10_000, unit="count", example="7",
        help="Panels, brackets and fasteners, if known.",
    ),
    Field("replaces_metal.welds", "count", "Welds in it", low=0, high=10_000, unit="count", example="12"),
    _length(
        "replaces_metal.seam_length", "Length of its welded or sealed seams", SHORTEST_SIDE, 100 * LONGEST_SIDE,
        example="14 ft",
    ),
    Field("needed_by", "date", "First parts needed by", example="2027-04-30"),
    Field("target_price", "money", "Target price per part, $", example="58.00"),
)  # fmt: skip

BY_KEY = {field.key: field for field in FIELDS}
GROUPS = tuple(dict.fromkeys(field.group for field in FIELDS if field.group))
_LISTS = ("polymers", "choices", "counts")


def from_text(field: Field, text: str) -> object:
    """The JSON value that a typed text stands for; what cannot be turned is left as text for the reader to refuse.

    Lists are parted by commas, operations are written ``insert 6, inspection 1``.

    >>> from_text(BY_KEY["quantities.releases"], "100, 300"), from_text(BY_KEY["part.length"], "40 in")
    ([100, 300], '40 in')
    """
    text = text.strip()
    if not text:
        return None
    if field.kind == "count":
        return _whole(text)
    if field.kind == "flag":
        return {"true": True, "yes": True, "on": True, "false": False, "no": False}.get(text.lower(), text)
    if field.kind in _LISTS:
        items = [item.strip() for item in text.split(",")]
        return [_whole(item) for item in items] if field.kind == "counts" else items
    if field.kind == "operations":
        return [_operation(item.strip()) for item in text.split(",")]
    return text


def _whole(text: str) -> object:
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 12 else text


def _operation(text: str) -> dict[str, object]:
    name, _, count = text.rpartition(" ")
    return {"operation": name.strip(), "count": _whole(count)} if name else {"operation": text, "count": 1}
