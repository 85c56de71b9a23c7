"""What the other tool side would do for a part that is refused: a thinner gauge for the wall asked for."""

from dataclasses import replace
from functools import lru_cache

from quoting.intake.part import Part
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.gauge import gauge_for_wall
from quoting.routing.rules.comparing import reaches
from quoting.routing.rules.detail import male_draft_limits
from quoting.routing.wall_plan import MALE_DEPTH_MOST, bubble_helps, tool_side_of

Said = tuple[str, dict[str, tuple[float, str]]]  # words to add to a remedy, and their figures


def on_other_tool(planned: PlannedCandidate, most: float) -> Said:
    """Words for a remedy where the other tool side leaves the wall asked for from a gauge that the rule accepts.

    Parameters
    ----------
    planned : PlannedCandidate
        One that the rule refuses for its gauge [-].
    most : float
        Thickest gauge that the rule accepts [m].

    Returns
    -------
    said : tuple of str and dict
        Empty where the other side does not help, or cannot form the part [m].
    """
    part, candidate = planned.request.part, planned.candidate
    if part.minimum_wall is None or candidate.process == "twin_sheet":
        return "", {}
    male = tool_side_of(part, candidate.process) == "female"
    if male and not male_possible(part):
        return "", {}
    side = "male" if male else "female"
    gauge = _gauge_on(replace(part, tool_side=side), candidate.process, candidate.gauge_tolerance)
    if not reaches(most, gauge) or reaches(gauge, candidate.gauge):
        return "", {}
    blown = ", the sheet blown up first" if male and bubble_helps(part) else ""
    return f"; on a {side} tool{blown}: a gauge of {{other}}", {"other": (gauge, "m")}


def male_possible(part: Part) -> bool:
    """Whether nothing in the shape speaks against a male tool, of whatever polymer: texture, draft, depth."""
    enough = reaches(part.draft_angle, male_draft_limits(semicrystalline=True)[0])
    shallow = reaches(MALE_DEPTH_MOST, part.depth / min(part.length, part.width))
    return enough and shallow and not part.texture_depth and not part.enclosed


@lru_cache(maxsize=512)
def _gauge_on(part: Part, process: str, tolerance: float) -> float:
    return gauge_for_wall(part, process, tolerance).starting
