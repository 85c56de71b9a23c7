"""What the shape of a model tells beyond its sizes, and how it takes the place of what was typed."""

from dataclasses import dataclass
from math import degrees, pi, radians
from typing import Any

from quoting.intake.part import Pocket
from quoting.intake.reading_result import Assumption, Doubt
from quoting.words import words

DISAGREES = 0.01  # a typed value may differ so much from the measured one before it is told
LEAST_UNDERCUT = 0.0005  # m; less is the roughness of facets, common practice, no source
LEAST_SHARE = 0.01  # of the formed surface, likewise; and sharp edges of the trim line
DIGITS = 5  # of a metre that are kept; STL and STEP come in single precision
DRAFT_DIGITS = 2  # of a degree: a wall drawn at a limit comes out of single precision a hair beside it
LARGEST_DRILLED = pi * 0.0254  # m round a hole that is drilled; larger ones are routed. Common practice, no source
STRAIGHT = radians(0.5)  # draft below which a wall was not drawn for forming: common practice, no source
SAME_PLACE = 0.9  # a pocket nearly as wide as the part is the part itself; its width is known to a cell of the grid
FAILED = "the work on it did not come to an end"

# Field -> unit of its figure, what the model calls it, and how it was found.
FACTS = {
    "part.surface_area": ("m2", "formed surface", ""),  # how, the model says
    "part.trim_length": ("m", "trim line", "outline and openings as seen along the draw"),
    "part.draft_angle": ("rad", "draft of the walls", "all but 5 % of the wall area has it"),
    "part.smallest_radius": ("m", "smallest inside radius", "all but 5 % of the length of curved corners has it"),
    "part.undercut_depth": ("m", "undercut", "how far a part of the tool must move aside to pass it"),
    "part.openings": ("count", "openings", "as seen along the draw"),
}  # fmt: skip


@dataclass(frozen=True)
class Shape:
    """Values by field [SI] that count from here on, where they came from, and what is to be looked at."""

    values: dict[str, Any]
    notes: tuple[Assumption, ...] = ()
    doubts: tuple[Doubt, ...] = ()


def shape_of(report: dict[str, Any], values: dict[str, Any], kept: frozenset[str]) -> Shape:
    """What a model tells beyond its sizes.

    Parameters
    ----------
    report : dict
        Of the work on the model, with measures and, unless that failed, moldability [SI; draft in degrees].
    values : dict
        By field [SI]: the sizes as measured, and what was typed.
    kept : frozenset of str
        Fields whose typed value counts though the model has another [-].

    Returns
    -------
    shape : Shape
        Measured values in place of typed ones, but for those kept; either way a disagreement is told. Of a metal part
        with straight walls the draft is not taken.
    """
    found = _measured(report, values)
    as_metal = _drawn_in_metal(found, values)
    if as_metal:
        del found["part.draft_angle"]
    fresh = {field: value for field, value in found.items() if field not in kept}
    edges, pocket, male = _sharp_edges(report), _pocket(report, values), _suggests_male(report)
    how = {field: told for field, (_, _, told) in FACTS.items()} | {"part.surface_area": _how_surface(report, values)}
    notes = [_note(field, value, how[field]) for field, value in fresh.items()]
    notes += [_kept_note(field, values[field], found[field]) for field in FACTS if field in kept and field in found]
    doubts = [_disagreement(field, values[field], value) for field, value in fresh.items() if field in values]
    return Shape(
        fresh
        | ({"part.sharp_edges": edges} if edges else {})
        | ({"part.pocket": pocket} if pocket else {})
        | ({"part.suggests_male": male} if male else {}),
        tuple(notes),
        (
            *(doubt for doubt in doubts if doubt),
            *as_metal,
            *_steepest(report, fresh),
            *_hollow(report, values),
            *_unseen(report),
        ),
    )


def _measured(report: dict[str, Any], values: dict[str, Any]) -> dict[str, float]:
    """By field [SI], in the order of ``FACTS``."""
    measures, moldability = report["found"]["measures"], report["found"].get("moldability")
    drilled = _drilled(measures["openings"], values.get("part.holes", 0))
    found = {
        "part.surface_area": round(_one_skin(report, values), DIGITS),
        "part.trim_length": round(measures["trim_length"] - sum(drilled), DIGITS),
    }
    if moldability and moldability["draft_of_walls"] is not None:
        found["part.draft_angle"] = radians(round(moldability["draft_of_walls"], DRAFT_DIGITS))
    if measures["smallest_inside_radius"]:
        found["part.smallest_radius"] = round(measures["smallest_inside_radius"], DIGITS)
    if moldability and not values.get("part.enclosed"):
        found["part.undercut_depth"] = round(_undercut(moldability, measures["surface_area"]), DIGITS)
    return found | {"part.openings": len(measures["openings"]) - len(drilled)}


def _suggests_male(report: dict[str, Any]) -> str:
    """Why the shape speaks for a male tool; empty where it does not."""
    side = report["found"]["measures"].get("tool_side") or {}
    return str(side.get("reason", "")).replace("{", "(").replace("}", ")") if side.get("tool") == "male" else ""


def _drilled(rings: list[float], holes: int) -> list[float]:
    """Rings [m] that are the holes which were typed: they are drilled, and neither routed nor counted twice."""
    return sorted(ring for ring in rings if ring <= LARGEST_DRILLED)[:holes]


def _one_skin(report: dict[str, Any], values: dict[str, Any]) -> float:
    """Formed surface of one skin [m2]; sheet beside the part inside its plan rectangle, and over openings, is flat."""
    measures = report["found"]["measures"]
    area = measures["surface_area"]
    if values.get("part.enclosed"):
        area = report["bodies"][report["body"]]["area"] / (4 if measures["is_shell"] else 2)
    return area + max(0.0, values["part.length"] * values["part.width"] - measures["projected_area"])


def _how_surface(report: dict[str, Any], values: dict[str, Any]) -> str:
    measures = report["found"]["measures"]
    taken = str(measures["notes"][0])
    if values.get("part.enclosed"):
        shell = measures["is_shell"]
        taken = "half of one face of a thin shell: a quarter of the whole surface" if shell else "half of the outside"
    return f"{taken}; and the flat of the plan rectangle that lies outside the part"


def _undercut(moldability: dict[str, Any], surface: float) -> float:
    """The deepest of those that are more than the roughness of facets [m]."""
    deep = max((one["worst"] for one in moldability["undercuts"] if one["area"] > LEAST_SHARE * surface), default=0.0)
    return deep if deep > LEAST_UNDERCUT else 0.0


def _sharp_edges(report: dict[str, Any]) -> float:
    """Length of inside edges of the tool that the model draws without a radius [m]."""
    moldability = report["found"].get("moldability")
    length = moldability["corner_length"] if moldability else 0.0
    return round(length, DIGITS) if length > LEAST_SHARE * report["found"]["measures"]["trim_length"] else 0.0


def _pocket(report: dict[str, Any], values: dict[str, Any]) -> Pocket | None:
    """A place narrower than the part that is deeper for its opening than the part for its width."""
    moldability = report["found"].get("moldability")
    worst = moldability["pocket"] if moldability and not values.get("part.enclosed") else None
    width = min(values["part.length"], values["part.width"])
    if not worst or worst["width"] > SAME_PLACE * width or worst["ratio"] <= values["part.depth"] / width:
        return None
    return Pocket(round(worst["depth"], DIGITS), round(worst["width"], DIGITS))


def _note(field: str, value: float, how: str) -> Assumption:
    unit, called, _ = FACTS[field]
    text = f"{called} {{value}}" if value or unit == "rad" else f"no {called}"
    return Assumption(field, words(text, value=(value, unit)), f"measured in the model: {how}")


def _kept_note(field: str, typed: float, measured: float) -> Assumption:
    unit, called, _ = FACTS[field]
    text = f"{called} {{typed}} as typed; the model has {{measured}}"
    why = "the typed value was said to stand"
    return Assumption(field, words(text, typed=(typed, unit), measured=(measured, unit)), why)


def _disagreement(field: str, typed: float, measured: float) -> Doubt | None:
    unit, called, _ = FACTS[field]
    if abs(typed - measured) <= DISAGREES * max(abs(measured), abs(typed)):
        return None
    text = f"{called}: typed was {{typed}}, the model has {{measured}}, which is used"
    return Doubt(field, words(text, typed=(typed, unit), measured=(measured, unit)))


def _drawn_in_metal(found: dict[str, float], values: dict[str, Any]) -> tuple[Doubt, ...]:
    """Folded metal stands straight: its model says nothing of the draft that the formed part will be drawn with."""
    draft = found.get("part.draft_angle")
    if draft is None or draft >= STRAIGHT or "replaces_metal.metal" not in values:
        return ()
    said = (
        "the model is of the metal part, whose walls have {draft} of draft: the formed part is priced with the draft "
        "that is typed or assumed, and must be drawn with it"
    )
    return (Doubt("part.draft_angle", words(said, draft=(draft, "rad"))),)


def _steepest(report: dict[str, Any], fresh: dict[str, float]) -> tuple[Doubt, ...]:
    """Places with less draft than the figure that is used."""
    moldability = report["found"].get("moldability")
    if "part.draft_angle" not in fresh or moldability["least_draft"] is None:
        return ()
    least = round(moldability["least_draft"], DRAFT_DIGITS)
    if least >= round(degrees(fresh["part.draft_angle"]), DRAFT_DIGITS):
        return ()
    said = "some walls have less draft than the {draft} that is used: {least} at the least"
    return (
        Doubt("part.draft_angle", words(said, draft=(fresh["part.draft_angle"], "rad"), least=(radians(least), "rad"))),
    )


def _hollow(report: dict[str, Any], values: dict[str, Any]) -> tuple[Doubt, ...]:
    if not report["found"]["measures"]["enclosed"] or values.get("part.enclosed"):
        return ()
    return (Doubt("part.enclosed", words("the model is a closed hollow; the inquiry does not say so")),)


def _unseen(report: dict[str, Any]) -> tuple[Doubt, ...]:
    if "moldability" in report["found"]:
        return ()
    why = str(report["failed"].get("moldability", FAILED)).replace("{", "(").replace("}", ")")
    return (Doubt("part.model", words(f"draft, undercuts and corners of the model were not found out: {why}")),)
