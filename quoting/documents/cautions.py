"""What a quote may and may not say of agencies, flame and use. A former forms sheet; only a certifier lists a part."""

from quoting.documents.figures import day, length

FOOD = (
    "Food contact: the part is made from sheet whose maker states that it suits food contact, {paper}. Listing of the "
    "finished part must come from the certifier; how well it can be cleaned belongs to the finished product, not to "
    "the sheet."
)
FLAME = (
    "Flame: the part is made from sheet whose maker states flame class V-0, {paper}. Such data hold only for that "
    "material, colour and thickness. Forming thins the wall, so the thinnest wall ({wall} predicted) must meet the "
    "thickness tested; listing of the finished part must come from the certifier."
)
WEATHER = (
    "Outdoor use: the part is made from sheet whose maker states that it stands sunlight, {paper}. Fading and loss of "
    "impact strength over years depend on place and colour and are not part of this quote."
)
STANDING = (
    "Plastics creep: under a load that stays, count on 30 to 50 % of the short-term stiffness, and on less when warm."
)
WORDING = {"food_contact": FOOD, "flame_v0": FLAME, "outdoor_uv": WEATHER}
TOLD_BY = {"food_contact": "food", "flame_v0": "flame", "outdoor_uv": "outdoor"}


def caution_sentences(snapshot: dict) -> list[str]:
    """Every caution the quote carries: those of the answer, then the house wording for each need not yet spoken of.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` with a chosen candidate [-].

    Returns
    -------
    sentences : list of str
        [-]
    """
    given = list(snapshot.get("cautions") or [])
    planned = snapshot["chosen"]["judged"]["planned"]
    own = [_worded(need, planned) for need in planned["request"]["needs"] if need in WORDING and not _told(need, given)]
    return [*given, *own, STANDING]


def _told(need: str, given: list[str]) -> bool:
    """An answer's caution counts only when it speaks of the need and names the certifier."""
    return any(TOLD_BY[need] in text.lower() and "certifier" in text.lower() for text in given)


def _worded(need: str, planned: dict) -> str:
    wall = length(planned["plan"]["thinning"]["thinnest_wall"])
    return WORDING[need].format(paper=_paper(need, planned["candidate"]["polymer"]), wall=wall)


def _paper(need: str, polymer: dict) -> str:
    """What the maker's paper is and how long it runs; the wording claims no more than that."""
    paper = next((one for one in polymer["needs"] if one["need"] == need), None)
    if not paper or not paper["certificate"]:
        return "on paper to be supplied with the order"
    until = f", valid to {day(paper['expires'])}" if paper["expires"] else ""
    down_to = f", down to a wall of {length(paper['thinnest_wall'])}" if paper["thinnest_wall"] else ""
    return f"in its paper “{paper['certificate']}”{until}{down_to}"
