"""Between the form's typed texts and the nested inquiry of the command-line contract. No judging: that is intake's."""

import re
from typing import Any

from quoting.desk.form_fields import KEYS, control_name, operation_name
from quoting.intake.fields import BY_KEY, Field, from_text
from quoting.intake.part import SECONDARY_OPERATIONS

THOUSANDS = re.compile(r"\d{1,3}(,\d{3})+")
COUNT_OF_OPERATION = BY_KEY["quantities.annual"]  # read like any other whole number


def counts(text: str) -> list[object]:
    """Release sizes. ``1,200`` stays text, since it may be one number or two, and is then refused by name.

    >>> counts("100, 300, 1200"), counts("100,300,1200")
    ([100, 300, 1200], [100, 300, 1200])
    >>> counts("100, 1,200")
    [100, '1,200']
    """
    pieces = [piece.strip(",") for piece in re.split(r"[;\s]+", text.strip()) if piece.strip(",")]
    split = [[piece] if THOUSANDS.fullmatch(piece) else piece.split(",") for piece in pieces]
    return [from_text(COUNT_OF_OPERATION, piece) for many in split for piece in many if piece]


def value_of(field: Field, typed: Any) -> Any:
    """The contract's value of one control, or None where nothing was said."""
    if field.kind in ("choices", "polymers"):
        return list(typed or ()) or None
    text = (typed or "").strip()
    if field.kind == "counts":
        return counts(text) or None
    return from_text(field, text)


def operations_of(typed: dict[str, Any]) -> list[dict] | None:
    rows = [(operation, (typed.get(operation_name(operation)) or "").strip()) for operation in SECONDARY_OPERATIONS]
    return [{"operation": one, "count": from_text(COUNT_OF_OPERATION, text)} for one, text in rows if text] or None


def inquiry_from(typed: dict[str, Any]) -> dict:
    """Nested inquiry as the contract has it; what was left empty is left out."""
    raw: dict[str, Any] = {}
    for key in KEYS:
        field = BY_KEY[key]
        value = operations_of(typed) if field.kind == "operations" else value_of(field, typed.get(control_name(key)))
        if value is not None:
            put(raw, key, value)
    return raw


def put(raw: dict, key: str, value: Any) -> None:
    *path, last = key.split(".")
    for step in path:
        raw = raw.setdefault(step, {})
    raw[last] = value


def at(raw: Any, key: str) -> Any:
    """The value at a dotted path, or None."""
    for step in key.split("."):
        raw = raw.get(step) if isinstance(raw, dict) else None
    return raw


def text_of(field: Field, value: Any) -> Any:
    if field.kind in ("choices", "polymers"):
        return value or []
    if value is None:
        return ""
    if field.kind == "flag" and isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(str(one) for one in value) if isinstance(value, list) else str(value)


def typed_from(raw: dict) -> dict[str, Any]:
    """What the form shows for a kept inquiry: the way back from ``inquiry_from``."""
    typed = {control_name(key): text_of(BY_KEY[key], at(raw, key)) for key in KEYS if BY_KEY[key].kind != "operations"}
    for row in at(raw, "secondary") or []:
        typed[operation_name(str(row.get("operation")))] = str(row.get("count"))
    return typed
