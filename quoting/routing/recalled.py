"""What was worked out once in an answer and holds for other candidates too."""

from collections.abc import Callable
from typing import Any

PLAIN = frozenset((float, int, str, bool, type(None)))  # recognised by value, anything else by being the same object


def mark(parts: tuple) -> tuple:
    """What parts are recognised by: plain values by their value, objects by their identity.

    Only as good as the objects live: whoever keeps a mark must keep the parts with it.

    Parameters
    ----------
    parts : tuple
        [-]

    Returns
    -------
    mark : tuple
        Hashable, quick to make whatever the objects hold [-].

    Examples
    --------
    >>> mark((1.5, "vacuum", None))
    (1.5, 'vacuum', None)
    """
    return tuple([one if type(one) in PLAIN else id(one) for one in parts])


class Recalled:
    """Results of pure functions, each worked out once for the same arguments; made for one answer and gone with it."""

    def __init__(self) -> None:
        self._known: dict[tuple, tuple[Any, tuple]] = {}

    def of(self, function: Callable, *arguments: Any) -> Any:
        """``function(*arguments)``, or what it gave before."""
        return self.by(arguments, function, *arguments)

    def by(self, parts: tuple, function: Callable, *arguments: Any) -> Any:
        """``function(*arguments)``, or what it gave before for the same parts: all of the arguments that it reads."""
        asked = (function, *parts)
        key = mark(asked)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = (function(*arguments), asked)
        return found[0]

    def further(self) -> "Recalled":
        """A new one that knows what this one knows so far; what it learns is its own."""
        new = Recalled()
        new._known = dict(self._known)
        return new
