"""What the shop holds without being asked: tolerances of formed and trimmed features for this part's size."""

from materials.sheet import INCH
from quoting.documents.figures import length

# Formed features, holes and CNC trim: "Thermoforming Dimensions and Tolerances", a thermoformer;
# cut edge to formed feature: "Design Parameters", a thermoformer.
FIRST_REACH = 12 * INCH  # m, the first length a tolerance covers
RISE = 0.001  # m per m beyond the first reach
MACHINED_FORMED, CAST_FORMED, TRIMMED = 0.020 * INCH, 0.030 * INCH, 0.030 * INCH
LONG_TRIM, LONG_TRIM_RISE = 48 * INCH, 0.002  # beyond 48 in a trimmed length gains .002 in an inch
HOLE_TO_HOLE, HOLE_DIAMETER, EDGE_TO_FEATURE = 0.015 * INCH, 0.010 * INCH, 0.030 * INCH
HAND_TRIMMED, HAND_RISE = 0.060 * INCH, 0.002  # common practice, no source
TWIN_THICKNESS = 0.060 * INCH  # common practice, no source
SHRINKING_FACTOR = 2.0  # semi-crystalline sheet, all formed features: common practice, no source
FLATNESS, FLATNESS_LEAST = 0.010, 0.060 * INCH  # m per m of span and its floor: from memory, unverified
WARMING = 50 / 1.8  # K, a rise of 50 degF, to show growth beside tolerance


def formed_tolerance(length: float, *, machined: bool, shrinking: bool) -> float:
    """Plus or minus on a formed length: a start for the first 12 in, .001 in for each further inch.

    Parameters
    ----------
    length : float
        Length of the feature [m], above 0.
    machined : bool
        Machined aluminium tool; else cast [-].
    shrinking : bool
        Semi-crystalline sheet, for which formed tolerances double [-].

    Returns
    -------
    tolerance : float
        [m]

    Examples
    --------
    >>> round(formed_tolerance(40 * 0.0254, machined=False, shrinking=False) / 0.0254, 3)
    0.058
    """
    start = MACHINED_FORMED if machined else CAST_FORMED
    held = start + RISE * max(length - FIRST_REACH, 0.0)
    return held * (SHRINKING_FACTOR if shrinking else 1.0)


def trimmed_tolerance(length: float, *, by_hand: bool) -> float:
    """Plus or minus on a trimmed length, edge to edge.

    Parameters
    ----------
    length : float
        Edge to edge [m], above 0.
    by_hand : bool
        Trimmed by hand; else on a router [-].

    Returns
    -------
    tolerance : float
        [m]

    Examples
    --------
    >>> round(trimmed_tolerance(60 * 0.0254, by_hand=False) / 0.0254, 3)
    0.09
    """
    beyond = max(length - FIRST_REACH, 0.0)
    if by_hand:
        return HAND_TRIMMED + HAND_RISE * beyond
    far = max(length - LONG_TRIM, 0.0)
    return TRIMMED + RISE * (beyond - far) + LONG_TRIM_RISE * far


def tolerance_rows(planned: dict, tooling: list[dict]) -> list[tuple[str, str]]:
    """Feature and what is held, for the table of the quote.

    Parameters
    ----------
    planned : dict
        Plain ``PlannedCandidate`` [SI].
    tooling : list
        Plain tooling lines; one that is named machined sets the tighter formed tolerance [-].

    Returns
    -------
    rows : list of (str, str)
        [-]
    """
    part, trimmer = planned["request"]["part"], planned["plan"]["trim"]["trimmer"]
    machined = any("machined" in line["name"] for line in tooling)
    shrinking = planned["candidate"]["polymer"]["semicrystalline"]
    by_hand = bool(trimmer) and trimmer["kind"] == "hand"
    cut = "Hand-trimmed" if by_hand else "Router-trimmed"
    rows = [
        (f"Formed {name}", length(formed_tolerance(value, machined=machined, shrinking=shrinking)))
        for name, value in (("length", part["length"]), ("width", part["width"]), ("depth", part["depth"]))
    ]
    rows += [
        (f"{cut} {name}", length(trimmed_tolerance(value, by_hand=by_hand)))
        for name, value in (("length", part["length"]), ("width", part["width"]))
    ]
    rows.append(("Cut edge to a formed feature", length(EDGE_TO_FEATURE)))
    if part["holes"]:
        rows.append(("Hole to hole, first 6 in (152 mm)", length(HOLE_TO_HOLE)))
        rows.append(("Hole up to 0.5 in (13 mm)", length(HOLE_DIAMETER)))
    if planned["candidate"]["process"] == "twin_sheet":
        rows.append(("Overall thickness of the two skins", length(TWIN_THICKNESS)))
    flat = max(FLATNESS * part["length"], FLATNESS_LEAST)
    if part["tolerance"]:
        rows.append(("Asked in your inquiry", length(part["tolerance"])))
    return [
        *((what, f"± {held}") for what, held in rows),
        ("Angle", "± 1°"),
        ("Flat over the length", f"within {length(flat)}"),
    ]


def growth(planned: dict) -> str:
    """How much the longest side moves when it warms by 50 degF; often more than the tolerance itself."""
    part, polymer = planned["request"]["part"], planned["candidate"]["polymer"]
    return length(polymer["expansion"] * part["length"] * WARMING)
