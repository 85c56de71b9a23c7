"""Defaults for what an inquiry leaves open, each one said aloud with its reason."""

from collections.abc import Callable
from math import atan, radians

from materials.thinning import tapered_box_area
from quoting.intake.coatings import painted_area, painted_side, shielded_area, shielded_side
from quoting.intake.fields import BY_KEY
from quoting.intake.part import Part
from quoting.intake.reading_result import Assumption
from quoting.words import Words, words

USUAL_DRAFT = radians(3)  # common practice, no source: between the usual 2 for a female and 4 for a male tool
USUAL_MALE_DRAFT = radians(4)  # where a male tool is asked for, likewise
OPENING_TRIM = 0.2  # m of trim path for each opening of unknown size, common practice, no source
USUAL_SERVICE_TEMPERATURE = 333.15  # K: 60 degC, indoor use, common practice, no source

Values = dict[str, object]


def completed(values: Values) -> tuple[Values, tuple[Assumption, ...]]:
    """The values with every default filled in, and what was assumed, in the order of the form.

    Parameters
    ----------
    values : dict
        Dotted field to SI value of what was given or measured; the required facts are there [SI].

    Returns
    -------
    completed : tuple
        Values with defaults [SI], and the assumptions [-].
    """
    filled = dict(values)
    said: list[Assumption] = []
    if filled["part.length"] < filled["part.width"]:
        filled["part.length"], filled["part.width"] = filled["part.width"], filled["part.length"]
        said.append(_sides(filled))
    for key, default in _DEFAULTS:
        if key not in filled:
            value, spoken, why = default(filled)
            filled[key] = value
            if spoken is not None:
                said.append(Assumption(key, spoken, why))
    return filled, in_form_order([*said, *_priced_as_female(filled)])


def in_form_order(said: list[Assumption]) -> tuple[Assumption, ...]:
    """Assumptions sorted as their fields stand in the form; those of one field keep their order."""
    return tuple(sorted(said, key=lambda assumption: list(BY_KEY).index(assumption.field)))


def part_of(filled: Values) -> Part:
    """The part, from values in which every field of it is filled."""
    return Part(
        minimum_wall=filled.get("part.minimum_wall"),
        gauge=filled.get("part.gauge"),
        sharp_edges=filled.get("part.sharp_edges", 0.0),
        pocket=filled.get("part.pocket"),
        **{name: filled[f"part.{name}"] for name in _PART_FIELDS},
    )


_PART_FIELDS = (
    "name", "length", "width", "depth", "surface_area", "trim_length", "draft_angle", "smallest_radius",
    "undercut_depth", "texture_depth", "tolerance", "show_side", "enclosed", "openings", "holes", "service_temperature",
    "undercuts", "tool_side",
)  # fmt: skip

_Default = Callable[[Values], tuple[object, Words | None, str]]


def _sides(filled: Values) -> Assumption:
    return Assumption(
        "part.length",
        words("length {length}, width {width}", length=(filled["part.length"], "m"), width=(filled["part.width"], "m")),
        "the longer side is called the length; the part is the same",
    )


def _drawn_depth(filled: Values) -> float:
    """Each skin of a closed part is drawn half the depth."""
    return filled["part.depth"] / 2 if filled["part.enclosed"] else filled["part.depth"]


def _draft(filled: Values) -> tuple[object, Words, str]:
    widest = atan(filled["part.width"] / (4 * _drawn_depth(filled)))
    male = filled["part.tool_side"] == "male"
    usual = USUAL_MALE_DRAFT if male else USUAL_DRAFT
    draft = min(usual, widest)
    why = f"usual draft {'on a male tool ' if male else ''}where none is given"
    if widest < usual:
        why = "as much draft as leaves half the width at the base of so deep a part"
    return draft, words("draft of {draft} per side", draft=(draft, "rad")), why


def _surface(filled: Values) -> tuple[object, Words, str]:
    area = tapered_box_area(
        filled["part.length"], filled["part.width"], _drawn_depth(filled), filled["part.draft_angle"]
    )
    shape = "a tapered open box of the sizes given, with the draft in force"
    why = f"each skin is taken as {shape} and half the depth" if filled["part.enclosed"] else f"taken as {shape}"
    return area, words("formed surface of {area}", area=(area, "m2")), why


def _trim(filled: Values) -> tuple[object, Words, str]:
    perimeter = 2 * (filled["part.length"] + filled["part.width"])
    openings = filled["part.openings"]
    path = perimeter + openings * OPENING_TRIM
    if not openings:
        return path, words("trimmed length of {path}", path=(path, "m")), "the perimeter of the plan rectangle only"
    spoken = words(
        "trimmed length of {path}: the perimeter and {each} for each opening ({openings})",
        path=(path, "m"), each=(OPENING_TRIM, "m"), openings=(openings, "count"),
    )  # fmt: skip
    return path, spoken, "the sizes of the openings are not given"


def _show_side(filled: Values) -> tuple[object, Words, str]:
    if filled["part.texture_depth"]:
        return "tool", words("the tool side is seen"), "a texture comes from the tool"
    return "none", words("no side has to look good"), "no show side is given; a show side can change tool and price"


def _tool_side(filled: Values) -> tuple[object, Words, str]:
    """Female, whatever speaks for the other: that changes walls, blank and draft, so a person decides it."""
    why = "none is given"
    if filled["part.enclosed"]:
        why = "two sheets are drawn into two female tools"
    elif speaks := filled.get("part.suggests_male"):
        why = f"none is given; the model speaks for a male tool ({speaks}): say which"
    elif filled.get("part.show_side") == "free":
        why = (
            "none is given; the free side is seen, which is the inside here: if the outside is meant, a male tool "
            "leaves it with the sheet's own surface"
        )
    return "female", words("a female tool, into which the part is formed"), why


def _priced_as_female(filled: Values) -> tuple[Assumption, ...]:
    """Rates know one price for a tool of a size; a transferred tool has none."""
    if filled["part.tool_side"] == "female" or filled["tooling"] == "transfer":
        return ()
    priced = words("a male tool costs what a female one of the same size does")
    return (Assumption("part.tool_side", priced, "the rates hold no price for male tools"),)


def _undercuts(filled: Values) -> tuple[object, Words | None, str]:
    """Without an undercut nothing more needs saying: its depth was assumed or typed as none."""
    if not filled["part.undercut_depth"]:
        return 0, None, ""
    return 1, words("one undercut, so one moving section in the tool"), "a depth is given and no number"


def _fixed(value: object, spoken: Words, why: str) -> _Default:
    return lambda _: (value, spoken, why)


# In the order in which they depend on each other.
_DEFAULTS: tuple[tuple[str, _Default], ...] = (
    ("part.enclosed", _fixed(False, words("an open part with one skin"), "nothing says that it is a closed hollow")),
    ("part.openings", _fixed(0, words("priced without openings"), "none is given")),
    ("part.holes", _fixed(0, words("priced without holes"), "none is given")),
    ("part.tool_side", _tool_side),
    ("part.draft_angle", _draft),
    ("part.surface_area", _surface),
    ("part.trim_length", _trim),
    ("part.smallest_radius", _fixed(None, words("no radius sharper than the sheet's gauge"), "none is given")),
    ("part.undercut_depth", _fixed(0.0, words("no undercut"), "none is given")),
    ("part.undercuts", _undercuts),
    ("part.texture_depth", _fixed(0.0, words("no texture from the tool"), "none is given")),
    ("part.tolerance", _fixed(None, words("the shop's standard tolerance"), "none is given")),
    ("part.show_side", _show_side),
    (
        "part.service_temperature",
        _fixed(
            USUAL_SERVICE_TEMPERATURE,
            words("used at up to {highest}", highest=(USUAL_SERVICE_TEMPERATURE, "K")),
            "usual for indoor use where none is given",
        ),
    ),
    ("material.polymers", _fixed((), words("any polymer that meets the needs"), "none is named")),
    ("material.colour", _fixed("stock", words("a stock colour"), "no colour is given")),
    ("material.needs", _fixed((), words("no agency, flame, outdoor or impact needs"), "none is given")),
    ("tooling", _fixed("new", words("a new tool"), "nothing says that a tool is transferred")),
    ("secondary", _fixed((), words("no work after trimming"), "none is given")),
    ("coating.paint_side", painted_side),
    ("coating.paint_area", painted_area),
    ("coating.shielding_side", shielded_side),
    ("coating.shielding_area", shielded_area),
)
