"""JSON text to plain values, without the things that JSON readers let through: NaN, doubled keys, endless nesting."""

import json
from collections.abc import Iterator
from math import isfinite

from quoting.intake.reading_result import InputError, InputErrors
from quoting.units import shortened

LARGEST_TEXT = 1_000_000  # bytes
DEEPEST_NESTING = 12  # an inquiry needs 3, a file of plants 6


def parse_json(text: object) -> object:
    """The value written in a JSON text.

    Parameters
    ----------
    text : str or bytes
        At most 1 MB, nested at most 12 deep, UTF-8 [-].

    Returns
    -------
    value : object
        [-]

    Raises
    ------
    InputErrors
        Not JSON, too large or too deep, a key given twice, or a number that is not finite.

    Examples
    --------
    >>> parse_json('{"a": [1]}')
    {'a': [1]}
    """
    try:
        value = json.loads(
            _decoded(text), object_pairs_hook=_without_doubles, parse_constant=_refuse_constant, parse_float=_finite
        )
    except InputErrors:
        raise
    except RecursionError:
        raise _refused("deeper nesting", f"JSON nested at most {DEEPEST_NESTING} deep") from None
    except ValueError as error:
        raise _refused(shortened(str(error), 120), "one JSON object, as the README shows") from None
    if _depth_passes(value, DEEPEST_NESTING):
        raise _refused("deeper nesting", f"JSON nested at most {DEEPEST_NESTING} deep")
    return value


def _decoded(text: object) -> str:
    if not isinstance(text, (str, bytes)):
        raise _refused(shortened(text), "JSON text")
    if len(text) > LARGEST_TEXT:
        raise _refused(f"{len(text)} characters", "JSON text of at most 1 MB")
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise _refused("bytes that are not UTF-8", "JSON text in UTF-8") from None
    return text.removeprefix("\ufeff")


def _without_doubles(pairs: list[tuple[str, object]]) -> dict[str, object]:
    read: dict[str, object] = {}
    for key, value in pairs:
        if key in read:
            raise InputErrors((InputError(printable(key), "the key twice", "each key once"),))
        read[key] = value
    return read


def _refuse_constant(name: str) -> float:
    raise _refused(name, "numbers that are finite")


def _finite(text: str) -> float:
    value = float(text)
    if not isfinite(value):
        raise _refused(shortened(text), "numbers that are finite")
    return value


def _depth_passes(value: object, deepest: int) -> bool:
    """True when nesting goes beyond ``deepest``; works level by level, without recursion."""
    level = [value]
    for _ in range(deepest):
        level = [child for item in level for child in _nested(item)]
    return bool(level)


def _nested(value: object) -> Iterator[object]:
    """The objects and lists directly inside an object or a list."""
    children = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    yield from (child for child in children if isinstance(child, (dict, list)))


def printable(key: object, longest: int = 60) -> str:
    """A key as it may stand in a message: short, and without marks that cannot be printed."""
    text = key if isinstance(key, str) else shortened(key)
    return "".join(mark if mark.isprintable() else "?" for mark in text[:longest])


def _refused(given: str, accepted: str) -> InputErrors:
    return InputErrors((InputError("", given, accepted),))
