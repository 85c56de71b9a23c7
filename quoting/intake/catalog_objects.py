"""Reading one JSON object of a catalog file into its dataclass, and collecting everything that is wrong in it."""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from quoting.intake.catalog_checks import inconsistencies
from quoting.intake.catalog_fields import ListOf, Shape
from quoting.intake.catalog_values import ABSENT, Problems, RefusedError, accepted, read_value

UNREAD = object()  # stands for a nested object that could not be read; its own errors are already noted


def _dotted(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def _needed(kind: str | Shape | ListOf) -> str:
    if isinstance(kind, str):
        return accepted(kind)
    if isinstance(kind, ListOf):
        return "a list of objects with " + ", ".join(kind.shape.kinds)
    return "an object with " + ", ".join(kind.kinds)


def refuse_unknown(raw: Mapping, known: Iterable[str], path: str, problems: Problems) -> None:
    """Name every key of an object that is not known, with the key that was probably meant.

    Parameters
    ----------
    raw : Mapping
        The object [-].
    known : Iterable
        Its keys [-].
    path : str
        Where it stands in the file [-].
    problems : Problems
        Collects what is wrong [-].
    """
    known = list(known)
    for key, given in raw.items():
        if key not in known:
            near = get_close_matches(str(key), known, n=1)
            hint = f"did you mean {near[0]}?" if near else "known here are " + ", ".join(known)
            problems.add(_dotted(path, str(key)), given, f"no such key; {hint}")


def read_fields(raw: Any, shape: Shape, path: str, problems: Problems, beside: tuple[str, ...] = ()) -> dict[str, Any]:
    """The values of one JSON object that could be read; every wrong, missing or unknown key goes to ``problems``.

    Parameters
    ----------
    raw : Any
        The object [-].
    shape : Shape
        Its keys and their kinds [-].
    path : str
        Where it stands in the file, such as ``plants[0]`` [-].
    problems : Problems
        Collects what is wrong [-].
    beside : tuple
        Further keys it must have, which the caller reads [-].

    Returns
    -------
    values : dict
        key -> value, without those that could not be read [-].
    """
    if not isinstance(raw, dict):
        problems.add(path, raw, _needed(shape))
        return {}
    values: dict[str, Any] = {}
    for key, kind in shape.kinds.items():
        field = _dotted(path, key)
        if key not in raw:
            if key not in shape.optional:
                problems.add(field, ABSENT, _needed(kind))
            continue
        try:
            values[key] = _read(raw[key], kind, field, problems)
        except RefusedError as refused:
            problems.add(field, raw[key], refused.accepted)
    for key in beside:
        if key not in raw:
            problems.add(_dotted(path, key), ABSENT, f"the {key} of this entry")
    refuse_unknown(raw, (*shape.kinds, *beside), path, problems)
    for key, given, what in inconsistencies(shape.becomes, values):
        problems.add(_dotted(path, key), raw.get(key, given), what)
    return {key: value for key, value in values.items() if value is not UNREAD}


def _read(given: Any, kind: str | Shape | ListOf, field: str, problems: Problems) -> Any:
    if isinstance(kind, str):
        return read_value(given, kind)
    if isinstance(kind, Shape):
        return read_object(given, kind, field, problems) or UNREAD
    items = read_list(given, field, problems, kind.least)
    read = [read_object(item, kind.shape, path, problems) for path, item in items]
    return tuple(read) if all(read) and len(read) >= kind.least else UNREAD


def read_object(raw: Any, shape: Shape, path: str, problems: Problems, **further: Any) -> Any | None:
    """One JSON object as its dataclass.

    Parameters
    ----------
    raw : Any
        The object [-].
    shape : Shape
        Its keys, their kinds and the dataclass [-].
    path : str
        Where it stands in the file [-].
    problems : Problems
        Collects what is wrong [-].
    **further : Any
        Values that do not come from the object itself [-].

    Returns
    -------
    value : dataclass or None
        None when a value could not be read; the reason is in ``problems`` [-].
    """
    return complete(shape, read_fields(raw, shape, path, problems), **further)


def complete(shape: Shape, values: Mapping[str, Any], **further: Any) -> Any | None:
    """The dataclass when every value of its shape could be read, else None.

    Parameters
    ----------
    shape : Shape
        The keys that are needed and the dataclass [-].
    values : Mapping
        What could be read [-].
    **further : Any
        Values that do not come from the object itself [-].

    Returns
    -------
    value : dataclass or None
        [-]
    """
    return shape.becomes(**values, **further) if set(shape.kinds) - shape.optional <= set(values) else None


def read_list(raw: Any, path: str, problems: Problems, least: int = 0) -> list[tuple[str, Any]]:
    """The items of a JSON list, each with its path.

    Parameters
    ----------
    raw : Any
        The list [-].
    path : str
        Where it stands in the file [-].
    problems : Problems
        Collects what is wrong [-].
    least : int
        How many items it must hold at least [count].

    Returns
    -------
    items : list
        (path of the item, item) [-].
    """
    if not isinstance(raw, list) or len(raw) < least:
        problems.add(path, raw, f"a list of at least {least}" if least else "a list")
        return []
    return [(f"{path}[{number}]", item) for number, item in enumerate(raw)]


def read_entries(raw: Any, keys: tuple[str, ...], problems: Problems) -> dict[str, list[tuple[str, Any]]]:
    """The lists a catalog file consists of, each with at least one entry.

    Parameters
    ----------
    raw : Any
        The whole file as parsed JSON [-].
    keys : tuple
        The lists it must hold, and nothing else [-].
    problems : Problems
        Collects what is wrong [-].

    Returns
    -------
    entries : dict
        key -> items, each with its path [-].
    """
    if not isinstance(raw, dict):
        problems.add("file", raw, "an object with " + " and ".join(keys))
        return {key: [] for key in keys}
    refuse_unknown(raw, keys, "", problems)
    entries: dict[str, list[tuple[str, Any]]] = {key: [] for key in keys}
    for key in keys:
        if key in raw:
            entries[key] = read_list(raw[key], key, problems, least=1)
        else:
            problems.add(key, ABSENT, "a list of at least 1")
    return entries


def refuse_doubles(names: Iterable[tuple[str, str]], problems: Problems) -> None:
    """Name every code or name that stands twice.

    Parameters
    ----------
    names : Iterable
        (field, code or name) in the order of the file [-].
    problems : Problems
        Collects what is wrong [-].
    """
    first: dict[str, str] = {}
    for field, name in names:
        if name in first:
            problems.add(field, name, f"a code or name used once; {first[name]} has it already")
        first.setdefault(name, field)
