"""Facts of one inquiry that cannot all be true (errors), and facts that look like a slip (doubts)."""

from collections.abc import Callable, Iterator
from math import degrees, tan

from quoting import units
from quoting.intake.coatings import COATED
from quoting.intake.reading_result import Doubt, InputError
from quoting.words import words

HAIR = 1e-6  # relative slack, so that a rounded figure is no contradiction
MOST_FOLDED = 10.0  # a typed surface of more than so many times the plain box is a slip, common practice, no source
LONGEST_TRIM = 10.0  # perimeters, and ...
LONGEST_OPENING_TRIM = 10.0  # ... m for each opening, common practice, no source

# Sizes beyond these are read, but asked about, common practice, no source.
UNUSUALLY_SHORT, UNUSUALLY_LONG = 0.10, 3.6  # m, longest plan side: below 4 in, above 12 ft
UNUSUALLY_THIN, UNUSUALLY_THICK = 0.0005, 0.020  # m

TOOL_KEYS = ("tool.length", "tool.width", "tool.height", "tool.mass")

Values = dict[str, object]
Complaint = Callable[[str, str], InputError]


def contradictions(values: Values, typed: dict[str, object]) -> tuple[InputError, ...]:
    """Every contradiction among the values that were given.

    Parameters
    ----------
    values : dict
        Dotted field to SI value; only what was given or measured [SI].
    typed : dict
        Dotted field to what was typed, for the message [-].

    Returns
    -------
    errors : tuple of InputError
        [-]
    """

    def wrong(key: str, accepted: str) -> InputError:
        return InputError(key, units.shortened(typed.get(key, "")), accepted)

    looked_at = (_wall, _box, _details, _metal, _tooling, _coats)
    return tuple(error for look in looked_at for error in look(values, wrong))


def _wall(values: Values, wrong: Complaint) -> Iterator[InputError]:
    if "part.minimum_wall" in values and "part.gauge" in values:
        yield wrong("part.gauge", "either part.minimum_wall or part.gauge, not both")
    thinnest = _smallest(values, "part.length", "part.width", "part.depth")
    for key in ("part.minimum_wall", "part.gauge"):
        if thinnest and values.get(key, 0.0) > thinnest * (1 + HAIR):
            yield wrong(key, f"no more than the smallest side of the part, {_shown(thinnest)}")


def _box(values: Values, wrong: Complaint) -> Iterator[InputError]:
    length, width = values.get("part.length"), values.get("part.width")
    if not (length and width):
        return
    depth = values.get("part.depth", 0.0)
    if area := values.get("part.surface_area"):
        box = length * width + 2 * depth * (length + width)
        if area < length * width * (1 - HAIR):
            yield wrong("part.surface_area", f"at least length x width, {units.show(length * width, 'm2', 'both')}")
        elif depth and area > MOST_FOLDED * box:
            yield wrong("part.surface_area", f"less than 10 times the plain box, {units.show(10 * box, 'm2', 'both')}")
    if trim := values.get("part.trim_length"):
        least, perimeter = 2 * max(length, width), 2 * (length + width)
        most = LONGEST_TRIM * perimeter + LONGEST_OPENING_TRIM * values.get("part.openings", 0)
        if not least * (1 - HAIR) <= trim <= most:
            yield wrong("part.trim_length", f"from twice the longest side, {_shown(least)}, to {_shown(most)}")
    draft = values.get("part.draft_angle", 0.0)
    drawn = depth / 2 if values.get("part.enclosed") else depth
    if 2 * drawn * tan(draft) >= min(length, width):
        yield wrong(
            "part.draft_angle", f"a draft at which the walls do not meet: at {degrees(draft):.1f} deg no base is left"
        )


def _details(values: Values, wrong: Complaint) -> Iterator[InputError]:
    half = _smallest(values, "part.length", "part.width") / 2
    if half and values.get("part.smallest_radius", 0.0) > half * (1 + HAIR):
        yield wrong("part.smallest_radius", f"at most half the smaller plan side, {_shown(half)}")
    if half and values.get("part.undercut_depth", 0.0) >= half:
        yield wrong("part.undercut_depth", f"less than half the smaller plan side, {_shown(half)}")
    wall = values.get("part.minimum_wall", values.get("part.gauge", 0.0))
    if wall and values.get("part.texture_depth", 0.0) >= wall:
        yield wrong("part.texture_depth", f"less than the wall or gauge, {_shown(wall)}")


def _metal(values: Values, wrong: Complaint) -> Iterator[InputError]:
    keys = ("replaces_metal.metal", "replaces_metal.thickness")
    for absent, present in (keys, keys[::-1]):
        if present in values and absent not in values:
            yield InputError(absent, "nothing", f"a value, because {present} is given")
    further = [key for key in values if key.startswith("replaces_metal.") and key not in keys]
    if further and not any(key in values for key in keys):
        yield InputError(keys[0], "nothing", f"a value, because {further[0]} is given")
    if values.get("replaces_metal.welds") == 0 and "replaces_metal.seam_length" in values:
        yield wrong("replaces_metal.welds", "1 or more, because a length of seams is given")


def _tooling(values: Values, wrong: Complaint) -> Iterator[InputError]:
    if values.get("part.undercuts") and not values.get("part.undercut_depth"):
        yield InputError("part.undercut_depth", "nothing", "a depth above zero, because part.undercuts is given")
    if values.get("part.undercuts") == 0 and values.get("part.undercut_depth"):
        yield wrong("part.undercuts", "one or more, because part.undercut_depth is given")
    if values.get("tooling", "new") != "transfer":
        for key in TOOL_KEYS:
            if key in values:
                yield wrong(key, "nothing, or tooling transfer: the size of a new tool follows from the part")
    releases = values.get("quantities.releases")
    if releases and "amortise_over" in values and values["amortise_over"] < releases[-1]:
        yield wrong("amortise_over", f"a number of parts not below the largest release, {releases[-1]}")


def _smallest(values: Values, *keys: str) -> float:
    return min((values[key] for key in keys if key in values), default=0.0)


def _shown(length: float) -> str:
    return units.show(length, "m", "both")


def doubts(values: Values, typed: dict[str, object]) -> tuple[Doubt, ...]:
    """What may be a slip: inches taken for millimetres, a release larger than a year's need, texture nobody sees.

    Parameters
    ----------
    values : dict
        Dotted field to SI value; only what was given or measured [SI].
    typed : dict
        Dotted field to what was typed; its unit tells which slip is likely [-].

    Returns
    -------
    doubts : tuple of Doubt
        [-]
    """
    return (*_odd_sizes(values, typed), *_odd_quantities(values), *_odd_tool(values))


def _odd_sizes(values: Values, typed: dict[str, object]) -> Iterator[Doubt]:
    plan = {key: values[key] for key in ("part.length", "part.width") if key in values}
    if plan:
        key = max(plan, key=plan.get)
        yield from _unit_slip(key, plan[key], typed.get(key), UNUSUALLY_SHORT, UNUSUALLY_LONG)
    yield from _odd_details(values, typed)
    for key in ("part.minimum_wall", "part.gauge"):
        if key in values:
            yield from _unit_slip(key, values[key], typed.get(key), UNUSUALLY_THIN, UNUSUALLY_THICK)


def _odd_details(values: Values, typed: dict[str, object]) -> Iterator[Doubt]:
    """An inside corner is no rounder than the part has room for."""
    key, sizes = "part.smallest_radius", [values.get(f"part.{side}") for side in ("length", "width", "depth")]
    if None in sizes or key not in typed or key not in values:
        return
    room = min(min(sizes[:2]) / 2, sizes[2])
    if values[key] > room * (1 + HAIR):
        text = "the smallest inside radius is {typed} and the part leaves {room} for one at most"
        yield Doubt(key, words(text, typed=(values[key], "m"), room=(room, "m")))


def _coats(values: Values, wrong: Complaint) -> Iterator[InputError]:
    """A side or an area without the coat that it is for would change no price, so it is a slip."""
    named = {one.operation for one in values.get("secondary", ())}
    for operation, group in COATED.items():
        for key in (f"coating.{group}_side", f"coating.{group}_area"):
            if key in values and operation not in named:
                yield wrong(key, f"nothing, since no {operation} is among the work after trimming")


def _unit_slip(key: str, value: float, typed: object, small: float, large: float) -> Iterator[Doubt]:
    """Typed in mm and very small: were inches meant? In inches and very large: mm? A model has its own questions."""
    text = typed if isinstance(typed, str) else ""
    if value < small and "mm" in text:
        meant, unit, other = value * 25.4, "inches", "millimetres"
    elif value > large and ("in" in text or '"' in text) and "f" not in text and "'" not in text:
        meant, unit, other = value / 25.4, "millimetres", "inches"
    else:
        return
    yield Doubt(
        key,
        words(
            f"{{read}} is unusual here: were {unit} meant instead of {other}? That would be {{meant}}",
            read=(value, "m"), meant=(meant, "m"),
        ),
    )  # fmt: skip


def _odd_quantities(values: Values) -> Iterator[Doubt]:
    annual, releases = values.get("quantities.annual"), values.get("quantities.releases")
    if annual and releases and releases[-1] > annual:
        yield Doubt(
            "quantities.releases",
            words(
                "a release of {release} is more than the {annual} parts a year",
                release=(releases[-1], "count"), annual=(annual, "count"),
            ),
        )  # fmt: skip
    if values.get("part.texture_depth") and values.get("part.show_side") == "none":
        yield Doubt("part.show_side", words("a texture is asked for, but no side is said to be seen"))


def _odd_tool(values: Values) -> Iterator[Doubt]:
    """A tool is no smaller than the part that it forms."""
    for ours, parts in (("length", max), ("width", min)):
        sides = [values.get(f"{group}.{side}") for group in ("tool", "part") for side in ("length", "width")]
        if None in sides:
            break
        base, part = parts(sides[:2]), parts(sides[2:])
        if base < part * (1 - HAIR):
            yield Doubt(
                f"tool.{ours}",
                words("the tool's base is {base} and the part {part} there", base=(base, "m"), part=(part, "m")),
            )
