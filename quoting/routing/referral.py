"""Where the work should go when no candidate fits, and which verdict decided that."""

from dataclasses import dataclass

from quoting.intake.part import PartRequest
from quoting.routing.candidate import JudgedCandidate
from quoting.routing.rules.referring import moulding_for
from quoting.routing.verdict import Verdict
from quoting.words import Words

NO_HOURS = "free hours"  # where nothing else is in the way, it decides: the part could be made
ASK_THE_MILL = "a sheet mill, for a grade that meets what is asked"
OTHER_SHEET = ("sheet offered", "gauge of offer", "size of offer", "polymer needs")

# Weightiest first: what no change of machine, sheet or price can cure comes before what it might.
WEIGHT = (
    "least gauge of the trade",
    "most gauge of the trade",
    "skins",
    "small part in large numbers",
    "blank in clamp frame",
    "depth over width",
    "areal draw ratio",
    "draw depth",
    "tool height",
    "tool on platen",
    "undercut",
    "draft",
    "smallest radius",
    "draft for texture",
    "texture",
    "sides that show",
    "tolerance",
    "service temperature",
    "yearly quantity",
    "parts over the programme",
    "wall after forming",
    "oven reach",
    "heat at the tool",
    "polymer needs",
    "sheet offered",
    "gauge of offer",
    "size of offer",
    "heated area over blank",
    "sag in the oven",
    "sag over the tool",
    "demould temperature",
    "press force",
    "pressure box seal",
    "lock over customer's tool",
    "pressure box",
    "twin-sheet machine",
    "gauge on machine",
    "blank on smallest frame",
    "router envelope",
    "operations after forming",
    NO_HOURS,
    "solvent bonds",
)


@dataclass(frozen=True)
class Referral:
    process: str
    why: Words


def deciding_verdict(judged: tuple[JudgedCandidate, ...]) -> Verdict | None:
    """The verdict that keeps the part from being made, in its mildest form.

    Of the rules that fail on every candidate of a fitting number of skins, the weightiest; where no rule fails
    on all, of those that fail on the candidates with the fewest failures. Among candidates the one that comes closest.
    Where some candidate lacks nothing but free hours, that decides.

    Parameters
    ----------
    judged : tuple of JudgedCandidate
        [-]

    Returns
    -------
    verdict : Verdict or None
        None where some candidate fits, or there is none [-].
    """
    found = _deciding_failures(judged)
    return found[0] if found else None


def referral(judged: tuple[JudgedCandidate, ...], request: PartRequest) -> Referral | None:
    """Where the part belongs, and why: the weightiest deciding failure that knows another process.

    Where none does (sheet not offered, certificate out of date, every machine a little too small), the answer is to ask
    the mill, or the moulding process that would make a part of this size and number.

    Parameters
    ----------
    judged : tuple of JudgedCandidate
        [-]
    request : PartRequest
        [-]

    Returns
    -------
    referral : Referral or None
        None where some candidate fits [-].
    """
    if any(one.fits for one in judged):
        return None
    failures = _deciding_failures(judged)
    if not failures:
        return Referral(ASK_THE_MILL, Words("none of the polymers asked for is in the table of polymers"))
    pointing = next((verdict for verdict in failures if verdict.referral), None)
    if pointing:
        return Referral(pointing.referral, pointing.reason)
    deciding = failures[0]
    if deciding.rule in OTHER_SHEET:
        return Referral(ASK_THE_MILL, deciding.reason)
    return Referral(moulding_for(request), deciding.reason)


def closeness(verdict: Verdict) -> float:
    """How far a failed verdict is from its limit, as a share of the larger of both [-]; 0 at the limit."""
    larger = max(abs(verdict.measured), abs(verdict.limit))
    return abs(verdict.measured - verdict.limit) / larger if larger else 0.0


def _deciding_failures(judged: tuple[JudgedCandidate, ...]) -> list[Verdict]:
    """One verdict, the closest, for each rule that decides, weightiest first."""
    if any(one.fits for one in judged):
        return []
    pertinent = tuple(one for one in judged if not has_wrong_skins(one)) or judged
    failed = tuple({verdict.rule: verdict for verdict in one.verdicts if not verdict.passed} for one in pertinent)
    failed = tuple(one for one in failed if set(one) == {NO_HOURS}) or failed
    common = set.intersection(*(set(one) for one in failed)) if failed else set()
    if not common:
        fewest = min((len(one) for one in failed), default=0)
        failed = tuple(one for one in failed if len(one) == fewest)
    rules = sorted(common or {rule for one in failed for rule in one}, key=WEIGHT.index)
    return [min((one[rule] for one in failed if rule in one), key=_by_closeness) for rule in rules]


def has_wrong_skins(judged: JudgedCandidate) -> bool:
    """Whether the process makes another number of skins than the part has, and so another kind of part."""
    return any(verdict.rule == "skins" and not verdict.passed for verdict in judged.verdicts)


def _by_closeness(verdict: Verdict) -> tuple[float, float, str]:
    return closeness(verdict), verdict.measured, verdict.reason.text
