"""What the shape of a model tells beyond its sizes: trim line, openings, radius, undercut, draft."""

from collections.abc import Callable
from dataclasses import dataclass
from math import radians
from pathlib import Path
from typing import Any

from quoting.intake.model_file import model_path
from quoting.intake.model_job import ModelRefusedError, model_report
from quoting.intake.reading_result import Assumption, Doubt
from quoting.words import words

ALONG = 0.99  # cosine of the angle below which two directions of draw are one
DISAGREES = 0.01  # a typed value may differ so much from the measured one
LEAST_UNDERCUT = 0.0005  # m; less is the roughness of facets, common practice, no source
LEAST_SHARE = 0.01  # of the formed surface, likewise
STEEP_SHARE = 0.05  # of the walls with less draft than assumed, above which it is said
DRAFTS = ((1.0, "below 1"), (3.0, "below 3"), (5.0, "below 5"))  # deg

# Field -> unit of its figure and what the model calls it.
FACTS = {
    "part.trim_length": ("m", "trim line"),
    "part.openings": ("count", "openings"),
    "part.smallest_radius": ("m", "smallest inside radius"),
    "part.undercut_depth": ("m", "undercut"),
}


@dataclass(frozen=True)
class Shape:
    """Values by field [SI], where they came from, and what is to be looked at."""

    values: dict[str, float]
    notes: tuple[Assumption, ...] = ()
    doubts: tuple[Doubt, ...] = ()


def shape_of(
    name: str,
    base_dir: Path,
    *,
    unit: float | None,
    axis: int,
    typed: dict[str, float],
    draft: float | None,
    run: Callable[..., dict[str, Any]] = model_report,
) -> Shape:
    """Look at a model along the draw that was taken for its sizes.

    Parameters
    ----------
    name : str
        Of the file [-].
    base_dir : Path
        Where it lies [-].
    unit : float or None
        Metres per file unit; None where the file knows it [m].
    axis : int
        Of the file, along which the part is drawn [-].
    typed : dict
        What was typed, by field [SI]; it stays, and a disagreement is told.
    draft : float or None
        That was typed [rad].
    run : callable
        Does the work [-].

    Returns
    -------
    shape : Shape
        Empty, with a doubt that says why, where the model cannot be looked at so closely.
    """
    asked = {"hooks": ["draw", "measures", "moldability"], "tool": "female"} | ({} if unit is None else {"unit": unit})
    try:
        report = run(model_path(name, base_dir), **asked)
        if abs(report["draw"][axis]) < ALONG:
            return Shape({}, (), (_other_draw(report["draw"]),))
        measures, moldability = report["found"]["measures"], report["found"]["moldability"]
    except (ModelRefusedError, KeyError) as error:
        return Shape(
            {}, (), (Doubt("part.model", words(f"its shape was not looked at more closely: {_plain(error)}")),)
        )
    values = _values(measures, moldability)
    fresh = {field: value for field, value in values.items() if field not in typed}
    doubts = [
        _disagreement(field, typed[field], value) for field, value in values.items() if _differs(typed, field, value)
    ]
    return Shape(
        fresh,
        tuple(_note(field, value) for field, value in fresh.items()),
        (
            *doubts,
            *_steep(moldability, draft),
            *(Doubt("part.model", words(_braceless(one))) for one in report["warnings"]),
        ),
    )


def _plain(error: Exception) -> str:
    return _braceless(str(error)) if isinstance(error, ModelRefusedError) else "the work on it did not come to an end"


def _braceless(text: object) -> str:
    return str(text).replace("{", "(").replace("}", ")")


def _other_draw(draw: list[float]) -> Doubt:
    along = "XYZ"[max(range(3), key=lambda axis: abs(draw[axis]))]
    return Doubt(
        "part.model",
        words(f"its shape rather asks for a draw along the model's {along} axis; sizes were taken along another"),
    )


def _values(measures: dict[str, Any], moldability: dict[str, Any]) -> dict[str, float]:
    found = {"part.trim_length": measures["trim_length"], "part.openings": len(measures["openings"])}
    if measures["smallest_inside_radius"]:
        found["part.smallest_radius"] = measures["smallest_inside_radius"]
    deep = [one["worst"] for one in moldability["undercuts"] if one["area"] > LEAST_SHARE * measures["surface_area"]]
    if deep and max(deep) > LEAST_UNDERCUT and not measures["enclosed"]:
        found["part.undercut_depth"] = max(deep)
    return found


def _differs(typed: dict[str, float], field: str, value: float) -> bool:
    return field in typed and abs(typed[field] - value) > DISAGREES * max(abs(value), abs(typed[field]))


def _note(field: str, value: float) -> Assumption:
    unit, called = FACTS[field]
    return Assumption(field, words(f"{called} {{value}}", value=(value, unit)), "measured in the model")


def _disagreement(field: str, typed: float, measured: float) -> Doubt:
    unit, called = FACTS[field]
    text = f"{called}: typed was {{typed}}, which is kept; the model has {{measured}}"
    return Doubt(field, words(text, typed=(typed, unit), measured=(measured, unit)))


def _steep(moldability: dict[str, Any], draft: float | None) -> tuple[Doubt, ...]:
    """Walls steeper than the draft that is typed or, where none is, than what a part usually has."""
    wanted = draft if draft is not None else radians(DRAFTS[0][0])
    for degrees, share in moldability["below"]:
        if radians(degrees) >= wanted * (1 - 1e-9) and share > STEEP_SHARE:
            said = words(
                "{share} of the walls have less than {draft} of draft in the model; the answer takes the draft that is "
                "typed or assumed",
                share=(share, "share"), draft=(radians(degrees), "rad"),
            )  # fmt: skip
            return (Doubt("part.draft_angle", said),)
    return ()
