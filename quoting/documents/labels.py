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
TOOL_SIDES = {"female": "into a female tool", "male": "over a male tool"}
NEEDS = {
    "food_contact": "food contact",
    "flame_v0": "flame class V-0",
    "outdoor_uv": "outdoor use in sunlight",
    "impact": "high impact",
    "transparent": "transparent",
}
OPERATIONS = {
    "fitting": "fittings fixed before trim",
    "insert": "threaded inserts",
    "bonded_block": "bonded blocks",
    "solvent_bond": "solvent bonds",
    "hot_plate_weld": "hot-plate welds",
    "weld_stud": "welded studs",
    "rivet": "rivets",
    "gasket": "gaskets",
    "heat_bend": "heat bends",
    "paint": "coats of paint",
    "emi_coat": "shielding coats",
    "screen_print": "screen prints",
    "assembly": "assembly steps",
    "inspection": "inspections",
}
TRIMMERS = {"five_axis": "five-axis router", "hand": "hand bench"}
METALS = {"steel": "steel", "aluminium": "aluminium", "stainless": "stainless steel"}
MODES = {"ltl": "part load (LTL)", "truckload": "full truckload"}

# What keeps a recipe from being faster.
GOVERNS = {
    "pace": "other stations set the pace; this is the gentlest heat that keeps up with it",
    "power": "the heaters are at their hottest",
    "skin": "hotter heaters would scorch the skin before the core is ready",
    "core": "of the settings compared, the next hotter one would scorch the skin while the core is still cold",
}

# What the other trades do well: common practice, no source, but for injection and foam, where pages on large parts and
# on structural foam capability were seen.
STRENGTHS = {
    "injection moulding": "Its tool costs more and its parts less; it holds fine detail, ribs, bosses and both faces.",
    "structural foam": "It makes large stiff parts with ribs and thick walls, usually painted, in thousands a year.",
    "rotational moulding": "It makes closed hollows in one piece without a flange, mostly in polyethylene.",
    "blow moulding": "It makes closed hollows fast, where the yearly number pays for its tool.",
    "reaction injection moulding": "It makes large parts with thick and thin walls and moulded-in inserts, painted.",
    "FRP lay-up": "It makes very large or structural parts on a cheap tool, with much hand work, in small numbers.",
    "sheet metal": "It needs no tool and stands heat and load where plastic does not.",
    "fabricated plastic sheet": "It bends, welds and glues sheet without a tool, for a few dozen parts.",
    "thin-gauge roll-fed thermoforming": "Its machines form thin sheet from a roll, at a pace that ours cannot.",
    "compression-moulded composite": "It stands heat and load that formed sheet does not.",
}


def said(code: str, names: dict[str, str]) -> str:
    """The trade word for ``code``; a code that is not listed loses only its underscores.

    Examples
    --------
    >>> said("trim_fixture", {})
    'trim fixture'
    """
    return names.get(code) or code.replace("_", " ")


def over_male_tool(planned: dict) -> bool:
    """Whether a stored candidate is formed over a male tool; answers from before there was a choice do not say."""
    is_twin = planned["candidate"]["process"] == "twin_sheet"  # two female tools, whatever is asked for
    return not is_twin and planned["request"]["part"].get("tool_side") == "male"


def way_of_forming(planned: dict) -> str:
    """The process of a stored candidate, and that it goes over a male tool where it does."""
    process = said(planned["candidate"]["process"], PROCESSES)
    return f"{process} {TOOL_SIDES['male']}" if over_male_tool(planned) else process


def listed(names: list[str]) -> str:
    """Names as a sentence lists them.

    Examples
    --------
    >>> listed(["vacuum", "pressure", "twin-sheet"])
    'vacuum, pressure and twin-sheet'
    """
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def field(path: str) -> str:
    """A dotted field as a reader would say it.

    Examples
    --------
    >>> field("part.draft_angle"), field("tooling")
    ('Part: draft angle', 'Tooling')
    """
    spoken = path.replace("_", " ").replace(".", ": ")
    return spoken[:1].upper() + spoken[1:]
