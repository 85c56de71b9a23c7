"""An inquiry as it comes (plain JSON values) to a ``PartRequest``: the only reader behind form, file and command."""

import copy
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches
from pathlib import Path

from quoting import units
from quoting.intake.assumptions import completed, in_form_order, part_of
from quoting.intake.contradictions import contradictions, doubts
from quoting.intake.field_values import Day, RefusedError, is_given, read_value
from quoting.intake.fields import BY_KEY, FIELDS, GROUPS, UNLESS_MODEL, YES, Field, from_text
from quoting.intake.json_text import parse_json, printable
from quoting.intake.model_file import Measures, fitted, measure
from quoting.intake.model_shape import FACTS, shape_of
from quoting.intake.part import Customer, MetalPart, PartRequest
from quoting.intake.postal import place_of
from quoting.intake.reading_result import Assumption, Doubt, InputError, InputErrors, Missing, Reading

__all__ = ["parse_json", "read_inquiry", "with_overrides"]

MOST_UNKNOWN_KEYS = 20  # named in one answer; a file with more is not an inquiry
_SIDES = ("length", "width", "depth")
_RIVALS = {"part.gauge": "part.minimum_wall", "part.minimum_wall": "part.gauge"}


@dataclass
class _Sheet:
    """What is known while one inquiry is read."""

    typed: dict[str, object] = field(default_factory=dict)  # raw values that were given
    values: dict[str, object] = field(default_factory=dict)  # their SI values
    errors: list[InputError] = field(default_factory=list)
    notes: list[Assumption] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def read_inquiry(raw: object, *, on: date, polymer_names: tuple[str, ...], base_dir: Path | None = None) -> Reading:
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
    _measure_model(sheet, base_dir)
    _find_place(sheet)
    wrong = {error.field for error in sheet.errors}
    sheet.errors += [error for error in contradictions(sheet.values, sheet.typed) if error.field not in wrong]
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
        place of a thinnest wall, and the other way round [-].

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
        if key in _RIVALS and text.strip() and _RIVALS[key] not in named:
            _put(inquiry, _RIVALS[key], None)
        _put(inquiry, key, from_text(BY_KEY[key], text))
    return inquiry


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
    near = get_close_matches(key, BY_KEY, n=1, cutoff=0.6)
    if not near:  # the right name in the wrong place
        near = [known for known in BY_KEY if known.rpartition(".")[2] == key.rpartition(".")[2]][:1]
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


def _measure_model(sheet: _Sheet, base_dir: Path | None) -> None:
    """Measures take the place of typed sizes; a surface that was typed stays."""
    name = sheet.values.pop("part.model", None)
    if name is None:
        return
    try:
        model = measure(name, base_dir)
    except RefusedError as refusal:
        sheet.errors.append(_refused(BY_KEY["part.model"], refusal))
        return
    typed = {
        side: (sheet.values[f"part.{side}"], sheet.typed[f"part.{side}"])
        for side in _SIDES
        if f"part.{side}" in sheet.values
    }
    found = fitted(model, typed, bool(sheet.values.get("part.enclosed")))
    sheet.errors += found.errors
    for side in _SIDES:
        sheet.values[f"part.{side}"] = getattr(found, side)
    is_typed = "part.surface_area" in sheet.values
    sheet.values.setdefault("part.surface_area", found.surface_area)
    sheet.notes += [note for note in found.notes if not (is_typed and note.field == "part.surface_area")]
    if not found.errors:
        _look_at_shape(sheet, name, base_dir, found)


def _look_at_shape(sheet: _Sheet, name: str, base_dir: Path, found: Measures) -> None:
    """What else the model tells fills what was not typed; what was typed stays."""
    typed = {field: sheet.values[field] for field in FACTS if field in sheet.values}
    draft = sheet.values.get("part.draft_angle")
    shape = shape_of(name, base_dir, unit=found.unit, axis=found.axis, typed=typed, draft=draft)
    sheet.values |= shape.values
    sheet.notes += shape.notes
    sheet.doubts += shape.doubts


def _find_place(sheet: _Sheet) -> None:
    """The place of the postal code; asked only when the country is good, so that one slip gives one error."""
    code, country = sheet.values.get("ship_to.postal_code"), sheet.values.get("ship_to.country")
    if code is None or country is None:
        return
    place = place_of(code, country)
    if place is None:
        accepted = "a US postal code that has a place on the map, such as 44114 or 44114-1234"
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
    if not (values.keys() & _RIVALS.keys()):
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
        secondary=filled["secondary"],
        replaces_metal=_metal_part(filled),
        needed_by=filled.get("needed_by"),
        target_price=filled.get("target_price"),
    )


def _metal_part(filled: dict[str, object]) -> MetalPart | None:
    if "replaces_metal.metal" not in filled:
        return None
    told = {name: filled.get(f"replaces_metal.{name}") for name in ("parts", "welds", "seam_length")}
    return MetalPart(filled["replaces_metal.metal"], filled["replaces_metal.thickness"], **told)
