"""How many bodies a tree of parts comes to, before any of them is built: a short file may ask for millions."""

from collections.abc import Hashable, Mapping, Sequence

from quoting.geometry.files.bodies import UnreadableError

DEEPEST = 50  # levels of parts within parts; common practice, no source


def instances(children: Mapping[Hashable, Sequence[Hashable]], top: Hashable) -> int:
    """Bodies under ``top`` [-]: what has no children is one body.

    Parameters
    ----------
    children : Mapping
        Part to the parts it is made of, one entry for each time one is placed [-].
    top : Hashable
        The part to begin at [-].

    Raises
    ------
    UnreadableError
        A part contains itself, or parts lie too deep within parts.

    Examples
    --------
    >>> instances({"table": ["top", "leg", "leg", "leg", "leg"]}, "table")
    5
    """
    return _instances(children, top, {}, 0)


def _instances(children: Mapping, part: Hashable, known: dict, depth: int) -> int:
    if depth > DEEPEST:
        raise UnreadableError("the assembly contains itself, or its parts lie too deep within parts")
    if part not in known:
        below = children.get(part, ())
        known[part] = sum(_instances(children, child, known, depth + 1) for child in below) if below else 1
    return known[part]
