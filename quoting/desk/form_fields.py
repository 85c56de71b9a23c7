"""How each field of the inquiry looks on the form: section, label, help, control and width. What it accepts is intake's."""

from dataclasses import dataclass

from quoting.desk import labels


@dataclass(frozen=True)
class Shown:
    """``control``: text, count, counts, money, date, choice, choices, yes_no or operations. ``width`` in twelfths."""

    field: str
    label: str
    help: str = ""
    control: str = "text"
    width: int = 4
    choices: tuple[tuple[str, str], ...] = ()
    required: bool = False

    @property
    def name(self) -> str:
        """Name of the control: the dotted path with underscores."""
        return self.field.replace(".", "_")


def options(words: dict[str, str], unsaid: str = "not said") -> tuple[tuple[str, str], ...]:
    return (("", f"– {unsaid} –"), *words.items())


SECTIONS = (
    ("Customer and ship-to", "Who asks, and where the parts go.", (
        Shown("customer.company", "Company", required=True),
        Shown("customer.contact", "Contact person", required=True),
        Shown("customer.email", "Contact e-mail", "The questions and the quote go here.", required=True),
        Shown("ship_to.postal_code", "Ship-to postal code", "5 digits in the US, such as 60601.", width=3, required=True),
        Shown("ship_to.country", "Country", "Two letters: US, CA or MX.", width=2, required=True),
        Shown("reference", "Customer's reference", "Their inquiry or drawing number, with revision.", width=4),
    )),
    ("Part", "Outside size of the formed part. Write the unit: 48 in, 4 ft 6 in, 3/16 in, 1219 mm.", (
        Shown("part.name", "Part name", "As the customer calls it, such as equipment cover.", width=6, required=True),
        Shown("part.enclosed", "Closed hollow or double wall?", "Yes: two skins, such as a pallet or a door.", "yes_no", 6),
        Shown("part.length", "Length", "Such as 40 in or 1016 mm.", required=True),
        Shown("part.width", "Width", "Such as 28 in.", required=True),
        Shown("part.depth", "Depth along the draw", "How deep the part is formed, such as 8 in.", required=True),
        Shown("part.gauge", "Starting gauge", "Thickness of the sheet before forming, such as 3/16 in. "
              "Give this or the thinnest wall.", width=6),
        Shown("part.minimum_wall", "Thinnest wall allowed", "After forming, such as 0.080 in.", width=6),
        Shown("part.show_side", "Show side", "Which side the user sees.", "choice", 4, options(labels.SHOW_SIDES)),
        Shown("part.openings", "Openings", "Cut-outs beyond plain holes, a number.", "count", 2),
        Shown("part.holes", "Holes", "Drilled holes, a number.", "count", 2),
        Shown("part.service_temperature", "Hottest in use", "Such as 140 degF or 60 degC."),
    )),
    ("Part details", "Leave empty what the drawing does not say: each default is listed with the answer.", (
        Shown("part.draft_angle", "Draft angle", "Such as 3 deg.", width=3),
        Shown("part.smallest_radius", "Smallest radius", "Such as 1/4 in.", width=3),
        Shown("part.undercut_depth", "Undercut depth", "Such as 0.5 in.", width=3),
        Shown("part.texture_depth", "Texture depth", "Such as 0.004 in.", width=3),
        Shown("part.tolerance", "Tightest tolerance", "Plus or minus, such as 0.030 in.", width=3),
        Shown("part.surface_area", "Formed surface", "If the drawing says it, such as 12 ft^2.", width=3),
        Shown("part.trim_length", "Trim length", "Length of all cuts, such as 136 in.", width=3),
    )),
    ("Material and needs", "Tick what the part must stand, or the polymers the customer accepts.", (
        Shown("material.needs", "The part must be", "", "choices", 6, tuple(labels.NEEDS.items())),
        Shown("material.polymers", "Polymers accepted", "None ticked: any that meets the needs.", "choices", 6),
        Shown("material.colour", "Colour", "", "choice", 6, options(labels.COLOURS)),
    )),
    ("Quantities and dates", "Price breaks are worked out for each release.", (
        Shown("quantities.annual", "Parts a year", "A whole number, such as 1200.", "count", 3, required=True),
        Shown("quantities.releases", "Release sizes", "Parts shipped together, with a comma and a space between: "
              "100, 300, 1200", "counts", 5, required=True),
        Shown("needed_by", "First parts needed by", "", "date", 4),
        Shown("target_price", "Target price per part", "In dollars, such as 42.50.", "money"),
        Shown("tooling", "Tool", "", "choice", 4, options(labels.TOOLING, "new tool")),
    )),
    ("Extras", "Secondary work per part, and the metal part that this one replaces.", (
        Shown("secondary", "Secondary work", "How many per part; leave empty for none.", "operations", 12),
        Shown("replaces_metal.metal", "Replaces a part in", "", "choice", 6, options(labels.METALS, "no metal part")),
        Shown("replaces_metal.thickness", "Metal thickness", "Such as 0.060 in or 1.5 mm.", width=6),
    )),
)  # fmt: skip

SHOWN = {shown.field: shown for _, _, many in SECTIONS for shown in many}
LABELS = {field: shown.label for field, shown in SHOWN.items()}


def operation_name(operation: str) -> str:
    """Name of the control that counts one secondary operation."""
    return f"secondary_{operation}"
