"""One text for one row, whichever database kept it: what digests of rows are taken over."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from hashlib import sha256
from json import JSONEncoder
from typing import Any
from uuid import UUID

# As `contract.canonical`, without making an encoder for each row.
_canonical = JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode
_PLAIN = frozenset((type(None), bool, str, int))


def row_text(values: Iterable[Any]) -> bytes:
    """The values of a row as canonical JSON: times in UTC to the microsecond, Decimals to their last place.

    >>> row_text([1, datetime(2026, 3, 2, 8, tzinfo=UTC), Decimal("1.50"), {"b": 1.0, "a": None}])
    b'[1,"2026-03-02T08:00:00.000000+00:00","1.50",{"a":null,"b":1}]'
    """
    return _canonical([plain(value) for value in values]).encode("utf-8", "surrogatepass")


def plain(value: Any) -> Any:
    """A value as plain JSON that does not depend on the database it came from.

    A whole number is written as one, whether it came back as an integer or as a float: PostgreSQL keeps JSON numbers
    as decimals and gives 1e22 back as an integer, SQLite keeps them as they were written. Long bytes go by digest.
    """
    kind = type(value)
    if kind in _PLAIN:
        return value
    if kind is dict:
        return {key: one if type(one) in _PLAIN else plain(one) for key, one in value.items()}
    if kind is list:
        return [plain(one) for one in value]
    return _number(value) if kind is float else _written(value)


def _number(value: float) -> int | float:
    """By its decimal digits, which are what both databases keep; minus zero is zero."""
    return int(Decimal(repr(value))) if value.is_integer() else value  # of what is not finite it says no


def _written(value: Any) -> str:
    if isinstance(value, datetime):
        aware = value if value.tzinfo is UTC else (value if value.tzinfo else value.replace(tzinfo=UTC)).astimezone(UTC)
        return aware.isoformat(timespec="microseconds")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return f"{value // timedelta(microseconds=1)} us"
    if isinstance(value, bytes | bytearray | memoryview):
        return f"sha256 {sha256(value).hexdigest()}"
    if isinstance(value, Decimal | UUID):
        return str(value)
    raise TypeError(f"no canonical text is known for {type(value).__name__}")
