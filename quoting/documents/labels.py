"""Trade words for the codes that a snapshot holds."""

PROCESSES = {"vacuum": "Vacuum forming", "pressure": "Pressure forming", "twin_sheet": "Twin-sheet forming"}
MACHINES = {
    "single_station_shuttle": "single-station shuttle",
    "three_station_rotary": "three-station rotary",
    "four_station_rotary": "four-station rotary",
    "twin_sheet_rotary": "twin-sheet rotary",
}
COLOURS = {"natural": "natural", "stock": "stock colour", "custom": "custom colour, matched to your chip"}
SHOW_SIDES = {
    "tool": "the side that touches the tool",
    "free": "the side away from the tool",
    "both": "both sides",
    "none": "neither side",
}
NEEDS = {
    "food_contact": "food contact",
    "flame_v0": "flame class V-0",
    "outdoor_uv": "outdoor use in sunlight",
    "impact": "high impact",
    "transparent": "transparent",
}
OPERATIONS = {
    "insert": "threaded inserts",
    "bonded_block": "bonded blocks",
    "weld_stud": "welded studs",
    "rivet": "rivets",
    "gasket": "gaskets",
    "heat_bend": "heat bends",
    "paint": "painted faces",
    "emi_coat": "shielding coats",
    "screen_print": "screen prints",
    "assembly": "assembly steps",
    "inspection": "inspections",
}
METALS = {"steel": "steel", "aluminium": "aluminium", "stainless": "stainless steel"}
MODES = {"ltl": "part load (LTL)", "truckload": "full truckload"}


def said(code: str, names: dict[str, str]) -> str:
    """The trade word for ``code``; a code that is not listed loses only its underscores.

    Examples
    --------
    >>> said("trim_fixture", {})
    'trim fixture'
    """
    return names.get(code) or code.replace("_", " ")


def field(path: str) -> str:
    """A dotted field as a reader would say it.

    Examples
    --------
    >>> field("part.draft_angle"), field("tooling")
    ('Part: draft angle', 'Tooling')
    """
    spoken = path.replace("_", " ").replace(".", ": ")
    return spoken[:1].upper() + spoken[1:]
