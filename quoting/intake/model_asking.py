"""What is asked of a CAD model: its unit, body and draw as people confirmed them, and the sizes that they typed.

The answer and the report beside it ask the same, so that both rest on the same unit, body and draw.
"""

from datetime import date
from typing import Any

from quoting.geometry.files.file_units import UNITS
from quoting.intake.field_values import Day, RefusedError, is_given, read_value
from quoting.intake.fields import BY_KEY

AGREEMENT = 0.01  # a typed size may differ so much from the measured one; set by the inquiry format
TOOL_SIDE = "part.tool_side"
TOOL = "female"  # where none is asked for the answer forms the part in one; what suits is told on its page
FOR_ANSWER = ("draw", "measures", "moldability")  # what the answer needs to know
UNIT, BODY, DRAW = "part.model_unit", "part.model_body", "part.model_draw"
CHOICES = (UNIT, BODY, DRAW)
SIDES = ("length", "width", "depth")


def asked_of(values: dict[str, object]) -> dict[str, Any]:
    """Options of the work on a model, from an inquiry's values by field [SI].

    Examples
    --------
    >>> asked_of({"part.model_unit": "in", "part.model_body": 2, "part.depth": 0.2})["body"]
    1
    """
    asked: dict[str, Any] = {"tool": values.get(TOOL_SIDE, TOOL)}
    if UNIT in values:
        asked["unit"] = UNITS[values[UNIT]]
    if BODY in values:
        asked["body"] = values[BODY] - 1
    if DRAW in values:
        asked["draw"] = list(values[DRAW])
    typed = {side: values[f"part.{side}"] for side in SIDES if f"part.{side}" in values}
    if is_turned(typed):
        typed["length"], typed["width"] = typed["width"], typed["length"]
    return asked | ({"sizes": typed | {"within": AGREEMENT}} if typed else {})


def is_turned(typed: dict[str, float]) -> bool:
    """Whether the shorter plan side was typed as the length: the part is the same."""
    return "length" in typed and "width" in typed and typed["length"] < typed["width"]


def asked_of_inquiry(raw: object) -> dict[str, Any]:
    """The same from an inquiry as plain JSON values; what cannot be read there is left out, as the reader refuses it.

    Examples
    --------
    >>> asked_of_inquiry({"part": {"model_unit": "in", "length": "40"}})
    {'tool': 'female', 'unit': 0.0254}
    """
    part = raw.get("part") if isinstance(raw, dict) else None
    part = part if isinstance(part, dict) else {}
    values = {}
    for key in (*CHOICES, TOOL_SIDE, *(f"part.{side}" for side in SIDES)):
        given = part.get(key.removeprefix("part."))
        if is_given(given):
            try:
                values[key] = read_value(BY_KEY[key], given, Day(date.max, ()))
            except RefusedError:
                continue
    return asked_of(values)
