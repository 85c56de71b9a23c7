"""Between the form's typed texts and the nested inquiry of the command-line contract. No judging: that is intake's."""

import re
from typing import Any

from quoting.desk.form_fields import SHOWN, Shown, operation_name
from quoting.desk.labels import OPERATIONS

THOUSANDS = re.compile(r"\d{1,3}(,\d{3})+")
WHOLE = re.compile(r"\d{1,9}")


def count(text: str) -> int | str:
    """A whole number where the text is one; else the text as typed, which the reader then refuses by name."""
    return int(text) if WHOLE.fullmatch(text) else text


def counts(text: str) -> list[int | str]:
    """Release sizes. ``1,200`` alone stays text, since it may be one number or two.

    >>> counts("100, 300, 1200")
    [100, 300, 1200]
    >>> counts("100, 1,200")
    [100, '1,200']
    """
    pieces = [piece.strip(",") for piece in re.split(r"[;\s]+", text.strip()) if piece.strip(",")]
    split = [[piece] if THOUSANDS.fullmatch(piece) else piece.split(",") for piece in pieces]
    return [count(piece) for many in split for piece in many if piece]


def value_of(shown: Shown, typed: Any) -> Any:
    """The contract's value of one control, or None where nothing was said."""
    if shown.control == "choices":
        return list(typed) or None
    text = (typed or "").strip()
    if not text:
        return None
    if shown.control == "yes_no":
        return text == "yes"
    if shown.control == "count":
        return count(text)
    return counts(text) if shown.control == "counts" else text


def operations_of(typed: dict[str, Any]) -> list[dict] | None:
    rows = [(operation, (typed.get(operation_name(operation)) or "").strip()) for operation in OPERATIONS]
    return [{"operation": operation, "count": count(text)} for operation, text in rows if text] or None


def inquiry_from(typed: dict[str, Any]) -> dict:
    """Nested inquiry as the contract has it; what was left empty is left out."""
    raw: dict[str, Any] = {}
    for field, shown in SHOWN.items():
        value = operations_of(typed) if shown.control == "operations" else value_of(shown, typed.get(shown.name))
        if value is None:
            continue
        *path, last = field.split(".")
        place = raw
        for step in path:
            place = place.setdefault(step, {})
        place[last] = value
    return raw


def at(raw: dict, field: str) -> Any:
    """The value at a dotted path, or None."""
    place: Any = raw
    for step in field.split("."):
        place = place.get(step) if isinstance(place, dict) else None
    return place


def text_of(shown: Shown, value: Any) -> Any:
    if shown.control == "choices":
        return value or []
    if value is None:
        return ""
    if shown.control == "yes_no":
        return "yes" if value else "no"
    return ", ".join(str(one) for one in value) if isinstance(value, list) else str(value)


def typed_from(raw: dict) -> dict[str, Any]:
    """What the form shows for a kept inquiry: the way back from ``inquiry_from``."""
    typed = {
        shown.name: text_of(shown, at(raw, field))
        for field, shown in SHOWN.items()
        if shown.control != "operations"
    }
    for row in raw.get("secondary") or []:
        typed[operation_name(row["operation"])] = str(row["count"])
    return typed
