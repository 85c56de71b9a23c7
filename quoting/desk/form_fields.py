"""Where each field of the inquiry stands on the form. What it is called and accepts stands in intake's table."""

from quoting.desk import labels
from quoting.intake.fields import BY_KEY, YES, Field

# title, lead, ((key, width in twelfths), ...)
SECTIONS = (
    ("Customer and ship-to", "Who asks, and where the parts go.", (
        ("customer.company", 4), ("customer.contact", 4), ("customer.email", 4),
        ("ship_to.postal_code", 4), ("ship_to.country", 4), ("reference", 4),
    )),
    ("Part", "Type sizes with their unit: 48 in, 4 ft 6 in, 3/16 in, 1219 mm.", (
        ("part.name", 8), ("part.enclosed", 4), ("part.model", 12),
        ("part.model_unit", 4), ("part.model_draw", 4), ("part.model_body", 4),
        ("part.length", 4), ("part.width", 4), ("part.depth", 4),
        ("part.gauge", 6), ("part.minimum_wall", 6),
        ("part.tool_side", 4), ("part.show_side", 4), ("part.service_temperature", 4),
        ("part.openings", 4), ("part.holes", 4),
    )),
    ("Part details", "Leave empty what the drawing does not say: each value assumed is listed with the answer.", (
        ("part.draft_angle", 4), ("part.smallest_radius", 4), ("part.undercut_depth", 4), ("part.undercuts", 4),
        ("part.texture_depth", 4), ("part.tolerance", 4), ("part.trim_length", 4), ("part.surface_area", 4),
        ("part.keep_typed", 8),
    )),
    ("Material and needs", "Tick what the part must stand, or the polymers that the customer accepts.", (
        ("material.needs", 4), ("material.polymers", 4), ("material.colour", 4), ("material.surplus", 6),
    )),
    ("Quantities and dates", "A price is worked out for each release.", (
        ("quantities.annual", 4), ("quantities.releases", 4), ("needed_by", 4), ("target_price", 4),
    )),
    ("Tooling", "A new tool, or the customer's own: then its size says whether it fits a machine of ours.", (
        ("tooling", 4), ("amortise_over", 4), ("tooling_options", 4),
        ("tool.length", 3), ("tool.width", 3), ("tool.height", 3), ("tool.mass", 3),
    )),
    ("Extras", "Work after trimming, counted per part; paint and shielding are counted in coats.", (
        ("secondary", 12),
    )),
    ("Paint and shielding", "Where the coats go. Left empty, what is assumed is listed with the answer.", (
        ("coating.paint_side", 3), ("coating.paint_area", 3),
        ("coating.shielding_side", 3), ("coating.shielding_area", 3),
    )),
    ("Metal part", "The part that this one replaces: weight, stiffness and joints are compared.", (
        ("replaces_metal.metal", 6), ("replaces_metal.thickness", 6),
        ("replaces_metal.parts", 4), ("replaces_metal.welds", 4), ("replaces_metal.seam_length", 4),
    )),
)  # fmt: skip
KEYS = tuple(key for _, _, many in SECTIONS for key, _ in many)
LABELS = {key: field.label for key, field in BY_KEY.items()}
LABELS["reference"] = "Customer's reference"
WORDS_OF = {
    "part.show_side": labels.SHOW_SIDES,
    "part.tool_side": labels.TOOL_SIDES,
    "part.model_unit": labels.MODEL_UNITS,
    "part.keep_typed": labels.MEASURED,
    "material.colour": labels.COLOURS,
    "material.surplus": labels.SURPLUS,
    "coating.paint_side": labels.COATED_SIDES,
    "coating.shielding_side": labels.COATED_SIDES,
    "material.needs": labels.NEEDS,
    "tooling": labels.TOOLING,
    "tooling_options": labels.TOOLING_OPTIONS,
    "replaces_metal.metal": labels.METALS,
}
UNSAID = {
    "material.surplus": "charged apart, as a remainder", "coating.paint_side": "as assumed",
    "coating.shielding_side": "as assumed", "tooling": "new tool", "replaces_metal.metal": "no metal part",
    "part.model_unit": "as the file says", "part.tool_side": "into a female tool, unless said",
}  # fmt: skip


def control_name(key: str) -> str:
    """Name of the control: the dotted key with underscores."""
    return key.replace(".", "_")


def operation_name(operation: str) -> str:
    """Name of the control that counts one secondary operation."""
    return f"secondary_{operation}"


def choices_of(field: Field) -> tuple[tuple[str, str], ...]:
    words = WORDS_OF.get(field.key, {})
    return tuple((choice, words.get(choice) or labels.said(choice)) for choice in field.choices)


def help_of(field: Field) -> str:
    example = f"Such as {field.example}." if field.example and field.kind not in ("choice", "choices", "date") else ""
    return f"{field.help} {example}".strip()


def is_required(field: Field) -> bool:
    return field.required == YES or field.key in ("part.length", "part.width", "part.depth")
