"""What the one-page not-a-fit letter says: the figure against its limit, what would change it, where to go."""

from datetime import date

from quoting.documents import labels
from quoting.documents.figures import LONGEST_TEXT, day, figure, legible, sentence
from quoting.documents.reasons import closest_candidate, failures
from quoting.documents.resting import rests_on

MOST_OTHERS = 3


def letter_document(
    snapshot: dict, *, number: str, revision: int, issued_on: date, prepared_by: str, longest: int = LONGEST_TEXT
) -> dict:
    """Context of the letter.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` that is not a fit; a top-level ``deciding`` verdict is used where there is one [SI].
    number, prepared_by : str
        Number of the inquiry and the person who answers for it [-].
    revision : int
        [count]
    issued_on : date
        [-]
    longest : int
        Characters of one text, so that the letter can be kept to its page [count].

    Returns
    -------
    context : dict
        [-]

    Raises
    ------
    ValueError
        No failed verdict is in the snapshot, so that there is no reason to give.
    """
    known = legible(snapshot, longest)
    deciding = deciding_verdict(known)
    if deciding is None:
        raise ValueError(f"letter {number}: the snapshot decides {snapshot.get('decision')!r} and no verdict failed")
    request = known["request"]
    return {
        "title": f"Answer {number} revision {revision}: {request['part']['name']}",
        "number": legible(number, longest),
        "revision": revision,
        "issued_on": day(issued_on),
        "issued_iso": issued_on.isoformat(),
        "prepared_by": legible(prepared_by, longest),
        "customer": request["customer"],
        "part_name": request["part"]["name"],
        "reference": request["reference"],
        "tried": ways_judged(known),
        "rule": deciding["rule"].replace("_", " "),
        "measured": figure(deciding["measured"], deciding["unit"]),
        "limit": figure(deciding["limit"], deciding["unit"]),
        "basis": rests_on(deciding["rule"]),
        "reason": sentence(deciding["reason"]),
        "remedy": sentence(deciding["remedy"]),
        "others": other_failures(known, deciding),
        "referral": referral(known, deciding),
    }


def deciding_verdict(snapshot: dict) -> dict | None:
    """The verdict that decided: the answer's own, else the first failed one of the candidate that came closest."""
    if snapshot.get("deciding"):
        return snapshot["deciding"]
    refused = [priced for priced in snapshot["candidates"] if failures(priced)]
    return failures(closest_candidate(refused))[0] if refused else None


def other_failures(snapshot: dict, deciding: dict) -> list[str]:
    """What else the closest candidate with the same obstacle fails, so that curing one thing does not surprise."""
    same = [
        priced for priced in snapshot["candidates"] if any(one["rule"] == deciding["rule"] for one in failures(priced))
    ]
    if not same:
        return []
    against = [one for one in failures(closest_candidate(same)) if one["rule"] != deciding["rule"]]
    return [sentence(one["reason"]) for one in against[:MOST_OTHERS]]


def referral(snapshot: dict, deciding: dict) -> dict | None:
    """Which trade to ask instead, and why; where the why only repeats what decided, what that trade does well."""
    named = snapshot["referral"]
    if not named:
        return None
    why = sentence(named["why"])
    strength = labels.STRENGTHS.get(named["process"], "")
    return {
        "process": sentence(labels.said(named["process"], labels.PROCESSES)),
        "why": strength if strength and why == sentence(deciding["reason"]) else f"{why} {strength}".strip(),
    }


def ways_judged(snapshot: dict) -> str:
    """How widely we looked before saying no."""
    machines = {one["judged"]["planned"]["candidate"]["machine"]["code"] for one in snapshot["candidates"]}
    processes = {one["judged"]["planned"]["candidate"]["process"] for one in snapshot["candidates"]}
    named = labels.listed([labels.said(one, labels.PROCESSES).lower() for one in sorted(processes)])
    if not machines:
        return ""
    return f"We judged it by {named} on {len(machines)} {'machine' if len(machines) == 1 else 'machines'}."
