"""What paint and shielding coats cover: the side and area as typed, else from what is seen, said aloud."""

from quoting.intake.part import Coat, Secondary
from quoting.words import Words, words

# operation -> the group of fields about it
COATED = {"paint": "paint", "emi_coat": "shielding"}
ONE_SKIN = {"tool": 1, "free": 1, "both": 2}
SIDES = {"tool": "the tool side", "free": "the side away from the tool", "both": "both sides"}

Values = dict[str, object]
Said = tuple[object, Words | None, str]


def asked(filled: Values, operation: str) -> bool:
    """Whether the inquiry asks for this coat."""
    return any(one.operation == operation for one in filled.get("secondary", ()))


def painted_side(filled: Values) -> Said:
    """Paint goes on the side that is seen."""
    if not asked(filled, "paint"):
        return None, None, ""
    seen = filled["part.show_side"]
    side = seen if seen in ONE_SKIN else "tool"
    why = "the side that is seen" if seen in ONE_SKIN else "no side is said to be seen, and a show side can change it"
    return side, words(f"paint on {SIDES[side]}"), why


def shielded_side(filled: Values) -> Said:
    """A conductive coat goes where nobody looks: inside, where the electronics are."""
    if not asked(filled, "emi_coat"):
        return None, None, ""
    side = "tool" if filled["part.show_side"] == "free" else "free"
    return side, words(f"shielding coat on {SIDES[side]}"), "the side that is not seen, or is inside a cover"


def _area(filled: Values, operation: str) -> Said:
    if not asked(filled, operation):
        return None, None, ""
    skins = 2 if filled["part.enclosed"] else 1
    side = filled[f"coating.{COATED[operation]}_side"]
    area = filled["part.surface_area"] * ONE_SKIN[side] * skins
    why = "the formed surface of that side, or of both; openings are not taken off"
    return area, words("{area} to coat", area=(area, "m2")), why


def painted_area(filled: Values) -> Said:
    """All of the surface on the painted side."""
    return _area(filled, "paint")


def shielded_area(filled: Values) -> Said:
    """All of the surface on the shielded side."""
    return _area(filled, "emi_coat")


def with_coats(filled: Values) -> tuple[Secondary, ...]:
    """The operations asked for, each coat with what it covers.

    The edge that is masked is the trimmed edge, against overspray on the other side; where both sides are coated
    there is nothing to keep clean.

    Parameters
    ----------
    filled : dict
        Dotted field to value, defaults filled in [SI].

    Returns
    -------
    operations : tuple of Secondary
        [-]
    """
    return tuple(
        Secondary(one.operation, one.count, _coat(filled, COATED[one.operation])) if one.operation in COATED else one
        for one in filled["secondary"]
    )


def _coat(filled: Values, name: str) -> Coat:
    side = filled[f"coating.{name}_side"]
    edge = 0.0 if side == "both" else filled["part.trim_length"]
    return Coat(side, filled[f"coating.{name}_area"], edge, filled["part.length"] * filled["part.width"])
