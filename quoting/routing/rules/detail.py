"""What the part looks like: radii, texture, draft, undercuts, sides that show, tolerance."""

from math import floor, radians

from machines.press import PRESSURE_WITH_TEXTURE
from materials.sheet import INCH
from quoting.intake.assumptions import USUAL_MALE_DRAFT
from quoting.intake.fields import STEEPEST_DRAFT
from quoting.routing.blank_plan import pressure_on_sheet
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import CLOSE, COMMON, at_least, at_most, either, reaches, verdict
from quoting.routing.rules.referring import BLOW, BLOW_LEAST, INJECTION, ROTATIONAL, moulding_for
from quoting.routing.verdict import Verdict
from quoting.routing.wall_plan import tool_side_of

PRESSURE_RADIUS = 0.030 * INCH  # "Design Guidelines", a thermoformer
RADIUS_BASIS = '"Design Guidelines", a thermoformer; twin-sheet: common practice, no source'
DRAFT_STOP, DRAFT_SAFE = radians(0.5), radians(2.0)  # female tool
# Male tool: pages say 1.5 to 7; stop and usual are common practice, no source. Semi-crystalline sheet grips it more.
MALE_DRAFT_STOP, MALE_DRAFT_USUAL = radians(1.5), USUAL_MALE_DRAFT
GRIP_STOP, GRIP_USUAL = radians(1.0), radians(2.0)  # common practice, no source
TEXTURE_STEP = 0.001 * INCH  # in which the rule counts; textures are offered in whole ones, a finer one not at all
DRAFT_PER_TEXTURE = radians(1.0) / TEXTURE_STEP  # rad per m of texture depth
DRAFT_BASIS = '"Design Guidelines", a thermoformer (2 deg female); the stop at 0.5 deg is common practice, no source'
MALE_DRAFT_BASIS = (
    '"Design Guidelines", a thermoformer (3 deg male at the least); the usual 4, the stop at 1.5 and 1 to 2 more for '
    "semi-crystalline sheet, which grips the tool: common practice, no source"
)
TEXTURE_BASIS = '"SPI Texture Draft Angle", a weak aggregator page: 1 deg for each .001 in of texture'
UNDERCUT_LIMIT = {"vacuum": 0.5 * INCH, "pressure": 1.0 * INCH, "twin_sheet": 0.0}  # common practice, no source
SIDES_CONTROLLED = {"vacuum": 1, "pressure": 1, "twin_sheet": 2}  # twin-sheet: the outside of both skins
SIDES_SHOWN = {"none": 0, "tool": 1, "free": 1, "both": 2}
SKINS = {"vacuum": 1, "pressure": 1, "twin_sheet": 2}

# Formed feature, first 12 in and each further inch: "Thermoforming Dimensions and Tolerances", a thermoformer.
MACHINED_TOOL, CAST_TOOL, TOLERANCE_REACH, TOLERANCE_RISE = 0.020 * INCH, 0.030 * INCH, 12 * INCH, 0.001
SHRINKING_FACTOR = 2.0  # polyolefins and other semi-crystalline sheet: common practice, no source
TOLERANCE_BASIS = (
    '"Thermoforming Dimensions and Tolerances", a thermoformer; doubled for semi-crystalline sheet: '
    "common practice, no source"
)


def smallest_radius(planned: PlannedCandidate) -> Verdict:
    """Vacuum cannot press a sheet into a corner sharper than its own gauge; over a male tool pressure cannot either."""
    gauge, asked = planned.candidate.gauge, planned.request.part.smallest_radius
    sharp, over = planned.request.part.sharp_edges, is_draped(planned)
    into = planned.candidate.process == "pressure" and not over
    return at_least(
        "smallest radius",
        gauge if asked is None else asked,
        PRESSURE_RADIUS if into else gauge,
        "m",
        reason="the smallest radius on the male tool is {measured}; {limit} is formed, and outside it is rounder by "
        "the wall"
        if over
        else "the smallest radius is {measured}; this process forms {limit}",
        remedy="round the corner to {limit}"
        + (
            ""
            if into
            else ", or pressure forming into a female tool, which forms {pressure}"
            if over
            else ", or pressure forming, which forms {pressure}"
        ),
        basis=RADIUS_BASIS,
        condition="the model draws {sharp} of inside edges without a radius: they are formed with one of {limit}"
        if sharp > 0
        else None,
        referral=INJECTION,
        pressure=(PRESSURE_RADIUS, "m"),
        **({"sharp": (sharp, "m")} if sharp > 0 else {}),
    )


def texture_printed(planned: PlannedCandidate) -> Verdict:
    """Only the pressure box prints the texture of a tool into the sheet, and only a female tool lets it go again."""
    textured = planned.request.part.texture_depth > 0
    if textured and is_draped(planned):
        return at_most(
            "texture",
            planned.request.part.texture_depth,
            0.0,
            "m",
            reason="a texture {measured} deep is asked for; a male tool prints it on the inside, and the part shrinks "
            "onto it: none can be formed ({limit})",
            remedy="a female tool under pressure, or sheet that is textured already",
            basis=COMMON,
            referral=INJECTION,
        )
    return at_least(
        "texture",
        pressure_on_sheet(planned.request.part, planned.candidate.process, planned.candidate.machine),
        PRESSURE_WITH_TEXTURE if textured else 0.0,
        "Pa",
        reason="{measured} presses the sheet onto the tool; printing a texture takes {limit}"
        if textured
        else "no texture is asked: {measured} presses the sheet onto the tool and {limit} is needed for texture",
        remedy="pressure forming, or sheet that is textured already",
        basis='"Design Guidelines", a thermoformer (pressure carries texture); its height: common practice, no source',
        referral=INJECTION,
    )


def draft_of_walls(planned: PlannedCandidate) -> Verdict:
    """A wall without draft grips the tool as the part shrinks, or scrapes along it."""
    draft, over = planned.request.part.draft_angle, is_draped(planned)
    stop, safe = draft_limits(planned)
    return at_least(
        "draft",
        draft,
        stop,
        "rad",
        reason="the walls have {measured} of draft; below {limit} the part does not come off the male tool"
        if over
        else "the walls have {measured} of draft; below {limit} the part does not leave the tool",
        remedy="{safe} of draft on each wall" + (", or a female tool, which lets go at {female}" if over else ""),
        basis=MALE_DRAFT_BASIS if over else DRAFT_BASIS,
        condition=None
        if reaches(draft, safe)
        else "the draft of {measured} is under the usual {safe}: demoulding is proved at first article",
        referral=INJECTION,
        safe=(safe, "rad"),
        **({"female": (DRAFT_STOP, "rad")} if over else {}),
    )


def is_draped(planned: PlannedCandidate) -> bool:
    """Whether the part is formed over a male tool."""
    return tool_side_of(planned.request.part, planned.candidate.process) == "male"


def draft_limits(planned: PlannedCandidate) -> tuple[float, float]:
    """Draft below which the part does not leave its tool, and the usual one [rad].

    A part shrinks onto a male tool, one of semi-crystalline sheet more.
    """
    if not is_draped(planned):
        return DRAFT_STOP, DRAFT_SAFE
    return male_draft_limits(planned.candidate.polymer.semicrystalline)


def male_draft_limits(semicrystalline: bool) -> tuple[float, float]:
    """The same on a male tool [rad], for a sheet that shrinks much or little."""
    grips = float(semicrystalline)
    return MALE_DRAFT_STOP + grips * GRIP_STOP, MALE_DRAFT_USUAL + grips * GRIP_USUAL


def draft_for_texture(planned: PlannedCandidate) -> Verdict:
    """Each peak of a texture is a small undercut; the wall must lean away from it."""
    part = planned.request.part
    textured = part.texture_depth > 0
    needed = DRAFT_SAFE + DRAFT_PER_TEXTURE * part.texture_depth if textured else 0.0
    finer = texture_for_draft(part.draft_angle)
    less = ("a texture {finer} deep",) if finer else ("no texture on these walls", "sheet that is textured already")
    return at_least(
        "draft for texture",
        part.draft_angle,
        needed,
        "rad",
        reason="the walls have {measured} of draft; a texture {texture} deep needs {limit}"
        if textured
        else "no texture is asked, so the draft of {measured} needs {limit} for it",
        remedy=either("{limit} of draft on textured walls" if reaches(STEEPEST_DRAFT, needed) else "", *less)
        if textured
        else "none is needed",
        basis=TEXTURE_BASIS,
        referral=INJECTION,
        texture=(part.texture_depth, "m"),
        finer=(finer, "m"),
    )


def texture_for_draft(draft: float) -> float:
    """The deepest texture that a wall bears, in whole steps of the rule.

    Parameters
    ----------
    draft : float
        Of the wall [rad], 0 or more.

    Returns
    -------
    depth : float
        [m]; 0 where the wall leans too little for any texture.

    Examples
    --------
    4 deg bear .002 in, the usual 2 deg none:

    >>> round(texture_for_draft(radians(4.0)) / INCH, 6), texture_for_draft(DRAFT_SAFE)
    (0.002, 0.0)
    """
    steps = (draft - DRAFT_SAFE) / (DRAFT_PER_TEXTURE * TEXTURE_STEP)
    return TEXTURE_STEP * max(floor(steps + CLOSE), 0)


def undercut(planned: PlannedCandidate) -> Verdict:
    """An undercut leaves the tool only past a section that moves."""
    deep, freed = planned.request.part.undercut_depth, UNDERCUT_LIMIT[planned.candidate.process]
    return at_most(
        "undercut",
        deep,
        freed,
        "m",
        reason="the undercut is {measured} deep; this process frees {limit}"
        if freed
        else "the undercut is {measured} deep; this process frees none ({limit})",
        remedy=("an undercut of {limit}" if freed else "no undercut")
        + ", or the feature trimmed or bonded on afterwards",
        basis='"Design Guidelines", a thermoformer (moving tool parts); the depths are common practice, no source',
        condition="the undercut of {measured} needs a moving section in the tool" if deep > 0 else None,
        referral=moulding_for(planned.request),
    )


def sides_that_show(planned: PlannedCandidate) -> Verdict:
    """The tool shapes one face of a sheet; the other face follows."""
    side, process = planned.request.part.show_side, planned.candidate.process
    return at_most(
        "sides that show",
        SIDES_SHOWN[side],
        SIDES_CONTROLLED[process],
        "count",
        reason="{measured} side is to show; this process controls {limit}"
        if SIDES_SHOWN[side] == 1
        else "{measured} sides are to show; this process controls {limit}",
        remedy="one show side, or a twin-sheet part that is controlled on both",
        basis='"Design Guidelines", a thermoformer',
        condition=_show_condition(side, process, is_draped(planned)),
        referral=INJECTION,
    )


def skins(planned: PlannedCandidate) -> Verdict:
    """A closed hollow has two skins; one sheet makes one skin."""
    asked, made = 2 if planned.request.part.enclosed else 1, SKINS[planned.candidate.process]
    return verdict(
        "skins",
        asked == made,
        asked,
        made,
        "count",
        reason="the part has {measured} skin and this process makes {limit}"
        if asked == 1
        else "the part has {measured} skins and this process makes {limit}",
        remedy="twin-sheet forming" if asked == 2 else "vacuum or pressure forming",
        basis="two sheets make two skins, by definition of the process",
        referral=(BLOW if planned.request.annual >= BLOW_LEAST else ROTATIONAL) if asked == 2 else None,
    )


def formed_tolerance(span: float, first: float, semicrystalline: bool) -> float:
    """Tolerance of a formed feature: ``first`` up to 12 in, then 0.001 per length, doubled where sheet shrinks much.

    Parameters
    ----------
    span : float
        Size of the feature [m], above 0.
    first : float
        Tolerance up to 12 in [m].
    semicrystalline : bool
        [-]

    Returns
    -------
    tolerance : float
        Plus or minus [m].

    Examples
    --------
    40 in on a cast tool, .058 in:

    >>> round(formed_tolerance(40 * INCH, CAST_TOOL, False) / INCH, 6)
    0.058
    """
    plain = first + TOLERANCE_RISE * max(span - TOLERANCE_REACH, 0.0)
    return plain * (SHRINKING_FACTOR if semicrystalline else 1.0)


def tolerance(planned: PlannedCandidate) -> Verdict:
    """A formed feature varies with shrinkage; a machined tool holds it closer than a cast one."""
    part, soft = planned.request.part, planned.candidate.polymer.semicrystalline
    span = max(part.length, part.width)
    cast = formed_tolerance(span, CAST_TOOL, soft)
    asked = cast if part.tolerance is None else part.tolerance
    return at_least(
        "tolerance",
        asked,
        formed_tolerance(span, MACHINED_TOOL, soft),
        "m",
        reason="the tolerance is plus or minus {measured}; over {span} a machined tool holds {limit}",
        remedy="a tolerance of {limit}, a feature that is trimmed rather than formed, or a fixture",
        basis=TOLERANCE_BASIS,
        condition=None if reaches(asked, cast) else "the tolerance of {measured} needs a machined tool",
        referral=INJECTION,
        span=(span, "m"),
    )


def _show_condition(side: str, process: str, over: bool) -> str | None:
    """On a male tool the inside of the part lies on it, and the outside keeps the sheet's own surface."""
    if over and side == "tool":
        return (
            "the side that shows is the inside, which lies on the male tool: its surface and vent marks are accepted "
            "at first article"
        )
    if over and side == "free":
        return "the side that shows is the outside, which keeps the sheet's own surface: no detail of the tool is on it"
    if side == "tool" and process == "vacuum":
        return "the side that shows lies on the tool: vent marks and the tool's surface are accepted at first article"
    if side == "free" and process != "vacuum":
        return (
            "the side that shows is the free side: it keeps the surface of the sheet, the tool's detail is on the other"
        )
    return None
