"""Which of the many verdicts a reader is shown. The words themselves are the rules'; here they are only picked."""

from quoting.documents import labels
from quoting.documents.figures import phrase, sentence

MOST_REASONS = 5
TELLING = (
    "skins", "sides that show", "texture", "smallest radius", "undercut", "depth over width", "areal draw ratio",
    "wall after forming", "blank in clamp frame", "draw depth",
)  # fmt: skip
NOT_A_FIT_YET = ("fails", "not_assessed")


def why_this_way(snapshot: dict) -> list[str]:
    """The telling verdicts of the chosen candidate: what shaped the choice of process, then what came close to a limit.

    Verdicts on something the part does not have (a measured value or limit of zero) say nothing and are left out, and
    so do those that count to one.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` with a chosen candidate [SI].

    Returns
    -------
    sentences : list of str
        At most five [-].
    """
    verdicts = [one for one in snapshot["chosen"]["judged"]["verdicts"] if one["passed"] and _says_something(one)]
    return [sentence(one["reason"]) for one in sorted(verdicts, key=_how_telling)[:MOST_REASONS]]


def _says_something(verdict: dict) -> bool:
    if not verdict["measured"] or not verdict["limit"]:
        return False
    return verdict["unit"] != "count" or verdict["measured"] > 1


def _how_telling(verdict: dict) -> tuple[int, float]:
    rank = TELLING.index(verdict["rule"]) if verdict["rule"] in TELLING else len(TELLING)
    low, high = sorted((abs(verdict["measured"]), abs(verdict["limit"])))
    return rank, 1 - low / high


def other_ways(snapshot: dict) -> list[str]:
    """One sentence for each other process that was judged: it fits but came second, or what stands in its way.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` with a chosen candidate [SI].

    Returns
    -------
    sentences : list of str
        [-]
    """
    taken = _process(snapshot["chosen"])
    others = sorted({_process(priced) for priced in snapshot["candidates"]} - {taken})
    return [_word_on(process, snapshot["candidates"]) for process in others]


def _word_on(process: str, candidates: list[dict]) -> str:
    name = labels.said(process, labels.PROCESSES)
    closest = closest_candidate([one for one in candidates if _process(one) == process])
    against = failures(closest)
    if not against:
        return f"{name} would also make the part; it ranks behind on date and landed price."
    return f"{name} was judged and does not fit: {phrase(against[0]['reason'])}."


def _process(priced: dict) -> str:
    return priced["judged"]["planned"]["candidate"]["process"]


def in_the_way(priced: dict) -> list[dict]:
    """Verdicts that keep a candidate from fitting, in the order of the rules."""
    return [one for one in priced["judged"]["verdicts"] if one["status"] in NOT_A_FIT_YET]


def failures(priced: dict) -> list[dict]:
    """The same, failed ones before those not assessed."""
    return sorted(in_the_way(priced), key=lambda one: NOT_A_FIT_YET.index(one["status"]))


def closest_candidate(candidates: list[dict]) -> dict:
    """The candidate that fails least; the first of equals, as candidates are stored in the order of their names.

    One that was refused before it was planned, or laid out, failed what was asked of it, not all that there is to ask.
    """
    return min(candidates, key=lambda one: (steps_short(one), len(in_the_way(one))))


def steps_short(priced: dict) -> int:
    """How many steps short of judging in full a candidate was refused: 1 on its blank, 2 before it had one."""
    planned = priced["judged"]["planned"]
    return (planned["plan"] is None) + (planned["candidate"]["layout"] is None)
