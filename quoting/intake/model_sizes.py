"""The sizes of a part from what was found in its CAD model, checked against the typed ones."""

from dataclasses import dataclass
from typing import Any

from quoting import units
from quoting.geometry.files.file_units import NAMES, UNITS
from quoting.intake.fields import BY_KEY
from quoting.intake.model_asking import AGREEMENT, DRAW, SIDES, UNIT, is_turned
from quoting.intake.reading_result import Assumption, Doubt, InputError
from quoting.words import words

MICROMETRE = 6  # digits of a metre that are kept: STL and STEP come in single precision
STRAIGHT = 0.9999  # cosine from which a draw is called an axis of the file


@dataclass(frozen=True)
class Sizes:
    """The part as measured [m], how that was done, what to look at, and the typed sizes that disagree."""

    length: float
    width: float
    depth: float
    notes: tuple[Assumption, ...]
    doubts: tuple[Doubt, ...]
    errors: tuple[InputError, ...]


def sizes_of(report: dict[str, Any], typed: dict[str, tuple[float, str]], chosen: frozenset[str]) -> Sizes:
    """The part's sizes along its draw.

    Parameters
    ----------
    report : dict
        Of the work on the model, with draw and measures [m].
    typed : dict
        length, width, depth where typed: (value [m], text as typed).
    chosen : frozenset of str
        Which of unit, body and draw somebody confirmed, by field [-].

    Returns
    -------
    sizes : Sizes
        Length at least width [m].
    """
    found = {side: round(report["found"]["measures"][side], MICROMETRE) for side in SIDES}
    length, width, depth = found.values()
    if is_turned({side: value for side, (value, _) in typed.items()}):
        found["length"], found["width"] = width, length
    errors = [
        InputError(
            f"part.{side}",
            units.shortened(text),
            f"the size measured in part.model, {units.show(found[side], 'm', 'both')}, within 1 %, or nothing",
        )
        for side, (value, text) in typed.items()
        if abs(value - found[side]) > AGREEMENT * found[side]
    ]
    note = Assumption(
        "part.model",
        words(
            "{length} long, {width} wide, {depth} deep as measured in the model",
            length=(length, "m"), width=(width, "m"), depth=(depth, "m"),
        ),
        f"the draw is taken {along(report['draw'])}, {_why_draw(chosen, typed)}; curved surfaces are measured as flat "
        "facets",
    )  # fmt: skip
    return Sizes(
        length, width, depth, (note, *_unit_note(report, chosen, bool(typed) and not errors)),
        tuple(_doubts(report)), (*errors, *_out_of_range((length, width, depth), report)),
    )  # fmt: skip


def along(draw: list[float]) -> str:
    """A direction in words.

    Examples
    --------
    >>> along([0.0, 0.0, -1.0]), along([0.6, 0.0, 0.8])
    ('along −Z of the file', 'along 0.6 0 0.8 of the file')
    """
    for axis, part in zip("XYZ", draw, strict=True):
        if abs(part) > STRAIGHT:
            return f"along {'+' if part > 0 else '−'}{axis} of the file"
    return f"along {' '.join(f'{round(part, 3) + 0.0:g}' for part in draw)} of the file"


def _why_draw(chosen: frozenset[str], typed: dict[str, tuple[float, str]]) -> str:
    if DRAW in chosen:
        return "as confirmed"
    return "the best found that agrees with the typed sizes" if typed else "the best found; another can be chosen"


def _unit_note(report: dict[str, Any], chosen: frozenset[str], agrees: bool) -> tuple[Assumption, ...]:
    if report["unit_stated"] and UNIT not in chosen:
        return ()  # the file says it
    name = {metres: NAMES[unit] for unit, metres in UNITS.items()}[report["scale"]]
    if UNIT in chosen:
        why = "as confirmed"
    elif agrees:
        why = "the file has no unit and the typed sizes agree with that; please confirm it"
    else:
        why = "the file has no unit, and that makes it most like a formed part; please confirm it"
    return (Assumption("part.model", words(f"the model is drawn in {name}"), why),)


def _doubts(report: dict[str, Any]) -> list[Doubt]:
    told = (*report["warnings"], *report["found"]["measures"]["warnings"])
    return [Doubt("part.model", words(str(one).replace("{", "(").replace("}", ")"))) for one in told]


def _out_of_range(sizes: tuple[float, ...], report: dict[str, Any]) -> list[InputError]:
    side = BY_KEY["part.length"]
    slip = "".join(f"; {one}" for one in report["warnings"][:1] if "unit" in str(one))
    return [
        InputError(
            "part.model",
            f"a {name} of {units.show(size, 'm', 'both')}",
            f"sizes from {units.show(side.low, 'm', 'both')} to {units.show(side.high, 'm', 'both')}{slip}",
        )
        for name, size in zip(SIDES, sizes, strict=True)
        if not side.low <= size <= side.high
    ]
