"""A stored answer as text: what its hundreds of candidates have in common is written once.

The text is plain JSON ``{"packed": 1, "shared": [...], "answer": ...}``. Wherever the answer holds the same object or
list several times, the place holds ``{"$": n}`` instead: the n-th of ``shared``, which may itself refer to earlier
ones.
"""

import json
from typing import Any

from django.db import models

from quoting.contract import canonical

REFERENCE = "$"
SMALLEST_SHARED = 3  # values in an object or list that is worth sharing


def packed(answer: Any) -> str:
    """The text of a plain JSON value.

    >>> packed({"a": [1, 2, 3], "b": [1, 2, 3]})
    '{"packed":1,"shared":[[1,2,3]],"answer":{"a":{"$":0},"b":{"$":0}}}'
    """
    packer = _Packer()
    packer.count(answer)
    root = packer.write(answer)
    whole = {"packed": 1, "shared": packer.shared, "answer": root}
    return json.dumps(whole, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def unpacked(text: str) -> Any:
    """The value again; shared objects are one object in memory and must not be changed.

    >>> unpacked('{"packed":1,"shared":[[1,2,3]],"answer":{"a":{"$":0},"b":{"$":0}}}')
    {'a': [1, 2, 3], 'b': [1, 2, 3]}
    """
    whole = json.loads(text)
    shared: list[Any] = []
    for value in whole["shared"]:
        shared.append(_resolved(value, shared))
    return _resolved(whole["answer"], shared)


class _Packer:
    """Numbers every distinct object and list, counts it, then writes the frequent ones once."""

    def __init__(self) -> None:
        self.numbers: dict[tuple, int] = {}
        self.counts: list[int] = []
        self.parts: list[list[int]] = []  # numbers of what each number holds
        self.of: dict[int, int] = {}  # id of an object -> number of what it consists of
        self.places: dict[int, int] = {}
        self.shared: list[Any] = []

    def count(self, answer: Any) -> None:
        """How often each number stands in the whole; what holds has a higher number than what it holds."""
        self.number(answer)
        self.counts = [0] * len(self.parts)
        if self.counts:
            self.counts[-1] = 1
        for number in range(len(self.parts) - 1, -1, -1):
            for part in self.parts[number]:
                self.counts[part] += self.counts[number]

    def number(self, value: Any) -> tuple | int:
        if not isinstance(value, dict | list):
            return (type(value), value or repr(value))  # 1, 1.0 and true are three values, 0.0 and -0.0 two
        if id(value) in self.of:
            return self.of[id(value)]
        if isinstance(value, dict) and REFERENCE in value:
            raise ValueError("an answer may not have a key named $")
        names = tuple(value) if isinstance(value, dict) else None
        signature = (names, *map(self.number, value.values() if names is not None else value))
        number = self.numbers.setdefault(signature, len(self.numbers))
        if number == len(self.parts):
            self.parts.append([part for part in signature[1:] if type(part) is int])
        self.of[id(value)] = number
        return number

    def write(self, value: Any) -> Any:
        if not isinstance(value, dict | list):
            return value
        number = self.of[id(value)]
        if number in self.places:
            return {REFERENCE: self.places[number]}
        if isinstance(value, dict):
            written: Any = {name: self.write(one) for name, one in value.items()}
        else:
            written = [self.write(one) for one in value]
        if self.counts[number] == 1 or len(value) < SMALLEST_SHARED:
            return written
        self.places[number] = len(self.shared)
        self.shared.append(written)
        return {REFERENCE: self.places[number]}


def _resolved(value: Any, shared: list[Any]) -> Any:
    if isinstance(value, dict):
        if REFERENCE in value:
            return shared[value[REFERENCE]]
        return {name: _resolved(one, shared) for name, one in value.items()}
    return [_resolved(one, shared) for one in value] if isinstance(value, list) else value


class SnapshotField(models.TextField):
    """A stored answer: plain JSON in Python, packed text in the database, the same in every database."""

    def from_db_value(self, value: str | None, expression: Any, connection: Any) -> Any:
        return None if value is None else unpacked(value)

    def get_prep_value(self, value: Any) -> str | None:
        return None if value is None else packed(value)

    def to_python(self, value: Any) -> Any:
        return value


class CanonicalField(models.TextField):
    """Plain JSON in Python, its canonical text in the database, so that its digest is that of the stored text."""

    def from_db_value(self, value: str | None, expression: Any, connection: Any) -> Any:
        return None if value is None else json.loads(value)

    def get_prep_value(self, value: Any) -> str | None:
        return None if value is None else canonical(value)

    def to_python(self, value: Any) -> Any:
        return value
