"""The catalog behind an answer, kept once under its digest, and made into a catalog again years later."""

import json
import zlib
from dataclasses import MISSING, fields, is_dataclass, replace
from datetime import UTC, date, datetime, time, tzinfo
from decimal import Decimal
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints
from zoneinfo import ZoneInfo

from quoting.catalog import Catalog
from quoting.contract import canonical, to_plain
from quoting.quotes.models import MasterData
from quoting.quotes.records import now


class CannotReopenError(ValueError):
    """Kept data no longer have the shape that the present code knows."""


def behind(catalog: Catalog) -> Catalog:
    """What answers are computed from: quoted work is left out, since it blocks nothing."""
    return replace(catalog, workload=tuple(booking for booking in catalog.workload if booking.firm))


def keep(digest: str, catalog: Catalog) -> None:
    """Keep the catalog under its digest, in the transaction of the answer; harmless where it is kept already."""
    if MasterData.objects.filter(digest=digest).exists():
        return
    content = zlib.compress(canonical(to_plain(behind(catalog))).encode(), 9)
    row = MasterData(digest=digest, content=content, kept_at=now())
    row.full_clean(exclude=["content"], validate_unique=False, validate_constraints=False)
    MasterData.objects.bulk_create([row], ignore_conflicts=True)  # somebody else may keep the same at the same time


def kept_plain(digest: str) -> dict | None:
    """The kept data as plain JSON; None where none were kept under this digest."""
    row = MasterData.objects.filter(digest=digest).first()
    return json.loads(zlib.decompress(bytes(row.content))) if row else None


def reopened(plain: dict) -> Catalog:
    """The catalog of kept data."""
    return from_plain(Catalog, plain)


def from_plain(kind: Any, plain: Any) -> Any:
    """The way back from ``to_plain`` for frozen dataclasses of tuples, numbers, texts, Decimals, times and zones.

    Raises CannotReopenError naming the field that the kept data lack or have in another shape.

    >>> from_plain(tuple[Decimal, ...], ["1.50", "2"])
    (Decimal('1.50'), Decimal('2'))
    """
    if is_dataclass(kind):
        return _object(kind, plain)
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        if plain is None and NoneType in inner:
            return None
        return from_plain(next(one for one in inner if one is not NoneType), plain)
    if origin is tuple:
        if not isinstance(plain, list):
            raise CannotReopenError(f"a list was expected, and {type(plain).__name__} was kept")
        kinds = [inner[0]] * len(plain) if inner[-1] is Ellipsis else inner
        return tuple(from_plain(one, value) for one, value in zip(kinds, plain, strict=True))
    if kind is Decimal:
        return Decimal(plain)
    if kind is tzinfo:
        return UTC if plain == str(UTC) else ZoneInfo(plain)
    return kind.fromisoformat(plain) if kind in (date, datetime, time) else plain


def _object(kind: type, plain: Any) -> Any:
    if not isinstance(plain, dict):
        raise CannotReopenError(f"{kind.__name__}: an object was expected")
    hints, values = _hints(kind), {}
    for field in fields(kind):
        if field.name in plain:
            values[field.name] = from_plain(hints[field.name], plain[field.name])
        elif field.default is MISSING and field.default_factory is MISSING:
            raise CannotReopenError(f"{kind.__name__}.{field.name} is not in the kept data")
    return kind(**values)


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)
