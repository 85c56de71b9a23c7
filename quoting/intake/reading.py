"""An inquiry as it comes (plain JSON values) to a ``PartRequest``: the only reader behind form, file and command."""

import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from quoting import units
from quoting.intake.assumptions import completed, in_form_order, part_of
from quoting.intake.coatings import with_coats
from quoting.intake.contradictions import contradictions, doubts
from quoting.intake.field_values import Day, RefusedError, is_given, read_value
from quoting.intake.fields import BY_KEY, FIELDS, GROUPS, UNLESS_MODEL, YES, Field, from_text
from quoting.intake.json_text import parse_json, printable
from quoting.intake.model_asking import BODY, CHOICES, FOR_ANSWER, SIDES, asked_of
from quoting.intake.model_file import model_path
from quoting.intake.model_job import ModelRefusedError, model_report
from quoting.intake.model_shape import FAILED, shape_of
from quoting.intake.model_sizes import sizes_of
from quoting.intake.part import MEASURED, Customer, CustomerTool, MetalPart, PartRequest
from quoting.intake.postal import is_oversea, place_of
from quoting.intake.reading_result import Assumption, Doubt, InputError, InputErrors, Missing, Reading

__all__ = ["parse_json", "read_inquiry", "with_overrides"]

MOST_UNKNOWN_KEYS = 20  # named in one answer; a file with more is not an inquiry
_MODEL, _KEPT = "part.model", "part.keep_typed"
_WITH_MODEL = (*CHOICES, _KEPT)  # what means nothing without a model
OF_MODEL = (_MODEL, *_WITH_MODEL)
Run = Callable[..., dict[str, Any]]
RIVALS = {"part.gauge": "part.minimum_wall", "part.minimum_wall": "part.gauge"}


@dataclass
class _Sheet:
    """What is known while one inquiry is read."""

    typed: dict[str, object] = field(default_factory=dict)  # raw values that were given
    values: dict[str, object] = field(default_factory=dict)  # their SI values
    errors: list[InputError] = field(default_factory=list)
    notes: list[Assumption] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    measured: set[str] = field(default_factory=set)  # fields whose value the model gave


def read_inquiry(
    raw: object, *, on: date, polymer_names: tuple[str, ...], base_dir: Path | None = None, run: Run = model_report
) -> Reading:
    """Read one inquiry.

    Parameters
    ----------
    raw : object
        The inquiry as plain JSON values [-].
    on : date
        The day of the answer [-].
    polymer_names : tuple of str
        The polymers that we hold [-].
    base_dir : Path, optional
        The folder in which ``part.model`` is looked up; without it a model is refused [-].
    run : callable
        Finds out about a model: as ``model_report``, which does the work each time; one may remember it [-].

    Returns
    -------
    reading : Reading
        The request with its assumptions and doubts, or what is missing [SI].

    Raises
    ------
    InputErrors
        Something is wrong; every wrong field is listed, in the order of the form.
    """
    if not isinstance(raw, dict):
        raise InputErrors((InputError("", units.shortened(raw), "one inquiry: an object with customer, part, ..."),))
    sheet = _Sheet()
    unknown = _take_apart(raw, sheet)
    _read_fields(sheet, Day(on, polymer_names))
    _take_model(sheet, base_dir, run)
    _find_place(sheet)
    wrong = {error.field for error in sheet.errors}
    said = {key: value for key, value in sheet.values.items() if key not in sheet.measured}
    sheet.errors += [error for error in contradictions(said, sheet.typed) if error.field not in wrong]
    if sheet.errors or unknown:
        raise InputErrors((*sorted(sheet.errors, key=_form_place), *unknown))
    missing = tuple(sorted(_missing(sheet.values), key=_form_place))
    if missing:
        return Reading(None, missing, tuple(sheet.notes), (*doubts(sheet.values, sheet.typed), *sheet.doubts))
    filled, assumed = completed(sheet.values)
    told = (*doubts(sheet.values, sheet.typed), *sheet.doubts)
    return Reading(_request(filled), (), in_form_order([*sheet.notes, *assumed]), told)


def with_overrides(raw: dict, overrides: tuple[tuple[str, str], ...]) -> dict:
    """A copy of the raw inquiry in which some inputs are replaced; results are never overridden.

    Parameters
    ----------
    raw : dict
        The inquiry as plain JSON values; it is left as it is [-].
    overrides : tuple
        (dotted field, text) pairs; lists are parted by commas; empty text takes the input away. A gauge takes the
        place of a thinnest wall, and the other way round. What is put in place of a fact that the model measures stands
        against the model too: a person decided it. Without its model an inquiry has no unit, body or draw of it [-].

    Returns
    -------
    inquiry : dict
        [-]

    Raises
    ------
    InputErrors
        A field is not one of the inquiry.

    Examples
    --------
    >>> with_overrides({"part": {"minimum_wall": "0.09 in"}}, (("part.gauge", "0.187 in"),))
    {'part': {'gauge': '0.187 in'}}
    """
    strange = [key for key, _ in overrides if key not in BY_KEY]
    if strange:
        raise InputErrors(tuple(_unknown(key, "an override") for key in strange))
    inquiry = copy.deepcopy(raw)
    named = {key for key, _ in overrides}
    for key, text in overrides:
        if key in RIVALS and text.strip() and RIVALS[key] not in named:
            _put(inquiry, RIVALS[key], None)
        _put(inquiry, key, from_text(BY_KEY[key], text))
    _settle_model(inquiry, overrides)
    return inquiry


def _settle_model(inquiry: dict, overrides: tuple[tuple[str, str], ...]) -> None:
    """Let overrides of measured facts stand against the model; without a model nothing about one stays."""
    part = inquiry.get("part")
    if not isinstance(part, dict):
        return
    if not is_given(part.get("model")):
        for key in _WITH_MODEL if _MODEL in {key for key, _ in overrides} else ():
            _put(inquiry, key, None)
        return
    named = ((key.removeprefix("part."), text.strip()) for key, text in overrides)
    texts = {name: text for name, text in named if name in MEASURED}
    kept = part.get("keep_typed")
    if texts and (kept is None or isinstance(kept, list)):
        before = [name for name in kept or [] if texts.get(name, "stays")]
        now = before + [name for name, text in texts.items() if text and name not in before]
        _put(inquiry, _KEPT, now or None)


def _put(inquiry: dict, key: str, value: object) -> None:
    """Set or (with None) take away one dotted field; a group that is not an object stays for the reader to refuse."""
    group, _, name = key.rpartition(".")
    place = inquiry
    if group:
        if inquiry.get(group) is None and value is not None:
            inquiry[group] = {}
        place = inquiry.get(group)
    if not isinstance(place, dict):
        return
    if value is None:
        place.pop(name, None)
    else:
        place[name] = value


def _take_apart(raw: dict, sheet: _Sheet) -> list[InputError]:
    """Fill ``sheet.typed`` with what was given; return the keys that an inquiry does not have."""
    unknown: list[InputError] = []
    for key, value in _leaves(raw, sheet):
        if key in BY_KEY:
            if is_given(value):
                sheet.typed[key] = value
        elif len(unknown) < MOST_UNKNOWN_KEYS:
            unknown.append(_unknown(key, units.shortened(value)))
    return unknown


def _leaves(raw: dict, sheet: _Sheet) -> Iterator[tuple[str, object]]:
    for key, value in raw.items():
        name = printable(key)
        if name not in GROUPS:
            yield name, value
        elif isinstance(value, dict):
            yield from ((f"{name}.{printable(inner)}", item) for inner, item in value.items())
        elif is_given(value):
            sheet.errors.append(InputError(name, units.shortened(value), f"an object with {_inner_keys(name)}"))


def _inner_keys(group: str) -> str:
    return ", ".join(entry.key.partition(".")[2] for entry in FIELDS if entry.group == group)


def _unknown(key: str, given: str) -> InputError:
    # The right name in the wrong place, else the nearest spelling.
    near = [known for known in BY_KEY if known.rpartition(".")[2] == key.rpartition(".")[2]][:1]
    near = near or get_close_matches(key, BY_KEY, n=1, cutoff=0.6)
    accepted = f"a key of the inquiry; nearest is {near[0]}" if near else "a key of the inquiry; there is none like it"
    return InputError(printable(key), given, accepted)


def _read_fields(sheet: _Sheet, day: Day) -> None:
    for entry in FIELDS:
        if entry.key not in sheet.typed:
            continue
        try:
            sheet.values[entry.key] = read_value(entry, sheet.typed[entry.key], day)
        except RefusedError as refusal:
            sheet.errors.append(_refused(entry, refusal))


def _refused(entry: Field, refusal: RefusedError) -> InputError:
    return InputError(entry.key + refusal.below, refusal.given.text, refusal.accepted)


def _take_model(sheet: _Sheet, base_dir: Path | None, run: Run) -> None:
    """Measures of the model take the place of what was typed, but for what somebody decided to keep."""
    if _MODEL not in sheet.typed:
        sheet.errors += [
            InputError(key, units.shortened(sheet.typed[key]), "nothing, since no model is given in part.model")
            for key in _WITH_MODEL if key in sheet.typed
        ]  # fmt: skip
        return
    kept = frozenset(f"part.{name}" for name in sheet.values.get(_KEPT, ()))
    sheet.errors += [
        InputError(_KEPT, key.removeprefix("part."), f"names of fields that are typed; {key} is not")
        for key in sorted(kept) if key not in sheet.typed
    ]  # fmt: skip
    if _MODEL not in sheet.values or any(error.field in _WITH_MODEL for error in sheet.errors):
        return
    try:
        _take_measures(sheet, _found_out(sheet.values, base_dir, run), kept)
    except RefusedError as refusal:
        sheet.errors.append(_refused(BY_KEY[_MODEL], refusal))
    except ModelRefusedError as refused:
        sheet.errors.append(_model_error(sheet, refused))


def _found_out(values: dict[str, object], base_dir: Path | None, run: Run) -> dict[str, Any]:
    report = run(model_path(values[_MODEL], base_dir), hooks=list(FOR_ANSWER), **asked_of(values))
    for needed in ("draw", "measures"):
        if needed not in report["found"]:
            raise ModelRefusedError(str(report["failed"].get(needed, FAILED)))
    return report


def _model_error(sheet: _Sheet, refused: ModelRefusedError) -> InputError:
    if refused.about == "body":
        return InputError(BODY, units.shortened(sheet.typed[BODY]), f"a body that is in the model: {refused}")
    given = units.shortened(sheet.typed[_MODEL])
    return InputError(_MODEL, given, f"a STEP, STL, OBJ or 3MF model that can be measured: {refused}")


def _take_measures(sheet: _Sheet, report: dict[str, Any], kept: frozenset[str]) -> None:
    typed = {
        side: (sheet.values[f"part.{side}"], sheet.typed[f"part.{side}"])
        for side in SIDES
        if f"part.{side}" in sheet.values
    }
    try:
        sizes = sizes_of(report, typed, frozenset(sheet.typed.keys() & set(CHOICES)))
        sides = {f"part.{side}": getattr(sizes, side) for side in SIDES}
        shape = shape_of(report, sheet.values | sides, kept)
    except (KeyError, TypeError) as error:  # a figure that is missing, or was not finite
        raise ModelRefusedError("measuring it left out a figure that is needed") from error
    sheet.errors += sizes.errors
    sheet.values |= sides
    sheet.values |= shape.values
    sheet.measured |= shape.values.keys()
    sheet.notes += [*sizes.notes, *shape.notes]
    sheet.doubts += [*sizes.doubts, *shape.doubts]


def _find_place(sheet: _Sheet) -> None:
    """The place of the postal code; asked only when the country is good, so that one slip gives one error."""
    code, country = sheet.values.get("ship_to.postal_code"), sheet.values.get("ship_to.country")
    if code is None or country is None:
        return
    place = place_of(code, country)
    if place is None:
        accepted = (
            "a US postal code that a truck reaches: freight over sea or by air is not priced; give the code of the "
            "port or forwarder on the mainland"
            if is_oversea(code)
            else "a US postal code that has a place on the map, such as 44114 or 44114-1234"
        )
        sheet.errors.append(InputError("ship_to.postal_code", units.shortened(code), accepted))
    else:
        sheet.values["ship_to"] = place


def _form_place(error: InputError | Missing) -> int:
    """Where the field of an error or a missing fact stands in the form; a group stands before its fields."""
    keys = [entry.key for entry in FIELDS]
    for place, key in enumerate(keys):
        if error.field == key or error.field.startswith(f"{key}.") or key.startswith(f"{error.field}."):
            return place
    return len(keys)


def _missing(values: dict[str, object]) -> Iterator[Missing]:
    """Facts without which no price may be given."""
    for entry in FIELDS:
        if entry.required in (YES, UNLESS_MODEL) and entry.key not in values:
            yield Missing(entry.key, entry.why)
    if not (values.keys() & RIVALS.keys()):
        yield Missing("part.minimum_wall", BY_KEY["part.minimum_wall"].why)


def _request(filled: dict[str, object]) -> PartRequest:
    return PartRequest(
        reference=filled.get("reference", ""),
        customer=Customer(*(filled[f"customer.{name}"] for name in ("company", "contact", "email"))),
        ship_to=filled["ship_to"],
        part=part_of(filled),
        polymers=filled["material.polymers"],
        colour=filled["material.colour"],
        needs=filled["material.needs"],
        annual=filled["quantities.annual"],
        releases=filled["quantities.releases"],
        tooling=filled["tooling"],
        secondary=with_coats(filled),
        replaces_metal=_metal_part(filled),
        needed_by=filled.get("needed_by"),
        target_price=filled.get("target_price"),
        tool=_customer_tool(filled),
        tooling_options=filled.get("tooling_options", ()),
        surplus=filled.get("material.surplus", "apart"),
        amortise_over=filled.get("amortise_over"),
    )


def _metal_part(filled: dict[str, object]) -> MetalPart | None:
    if "replaces_metal.metal" not in filled:
        return None
    told = {name: filled.get(f"replaces_metal.{name}") for name in ("parts", "welds", "seam_length")}
    return MetalPart(filled["replaces_metal.metal"], filled["replaces_metal.thickness"], **told)


def _customer_tool(filled: dict[str, object]) -> CustomerTool:
    """The tool as typed; of its base the longer side is the length, since it lies along the longer side of the part."""
    sides = [filled.get("tool.length"), filled.get("tool.width")]
    if None not in sides:
        sides.sort(reverse=True)
    return CustomerTool(*sides, filled.get("tool.height"), filled.get("tool.mass"))
