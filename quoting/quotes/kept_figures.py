"""Figures that are dear to work out, kept in the process for as long as nothing that they rest on has changed.

What is kept is looked up by the counts of changes (`watched.py`) that the request itself reads, in one query. A change
that was committed before that moves its count, so that what is shown is never older than the request.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from contextlib import suppress
from threading import Lock
from typing import TypeVar

from django.db.models import Sum

from quoting.quotes.change_models import CountedChange

Stamp = tuple[int, int]
Figure = TypeVar("Figure")
MOST = 24  # figures kept in a process; a board of 20,000 bookings takes some 10 MB


def stamps() -> dict[str, Stamp]:
    """Of each kind of change the count and the mark; one query. No kind is there that was never counted."""
    rows = CountedChange.objects.order_by().values_list("kind")
    return {kind: (int(count), int(mark)) for kind, count, mark in rows.annotate(Sum("changes"), Sum("mark"))}


class Kept:
    """Values by name, each with the stamps that it was worked out under; the one longest not asked for goes."""

    def __init__(self, most: int = MOST) -> None:
        self.most, self.lock = most, Lock()
        self.values: OrderedDict[Hashable, tuple[tuple[Stamp, ...], object]] = OrderedDict()
        self.working: dict[Hashable, Lock] = {}

    def get(self, name: Hashable, seen: dict[str, Stamp], kinds: tuple[str, ...], work: Callable[[], Figure]) -> Figure:
        """The value of that name under the stamps of these kinds; worked out by one thread at a time where it is not.

        ``seen`` must have been read by the request before; what is worked out may be newer than that, never older.
        """
        if not all(kind in seen for kind in kinds):
            return work()  # nothing counts changes here
        stamp = tuple(seen[kind] for kind in kinds)
        with self.lock:
            found = self._found(name, stamp)
            turn = self.working.setdefault(name, Lock())
        if found:
            return found[0]
        with turn:
            with self.lock:
                found = self._found(name, stamp)
            if found:
                return found[0]
            value = work()
            with self.lock:
                self._keep(name, stamp, value)
            return value

    def _found(self, name: Hashable, stamp: tuple[Stamp, ...]) -> tuple[object] | None:
        kept = self.values.get(name)
        if kept is None or kept[0] != stamp:
            return None
        self.values.move_to_end(name)
        return (kept[1],)

    def _keep(self, name: Hashable, stamp: tuple[Stamp, ...], value: object) -> None:
        self.values[name] = (stamp, value)
        self.values.move_to_end(name)
        while len(self.values) > self.most:
            gone, _ = self.values.popitem(last=False)
            with suppress(KeyError):
                del self.working[gone]


kept = Kept()
