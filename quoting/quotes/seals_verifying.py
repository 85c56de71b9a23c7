"""Whether the record of deeds is still what was sealed: which entry was altered, removed or added, and what is open."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC

from quoting.quotes.models import AuditEntry, AuditSeal
from quoting.quotes.sealing import MARK, ROW, Body, SealState, newest_seal, seal_state

ROWS_READ, SEALS_READ = 2000, 100  # at a time, so that memory stays small
MOST_FAULTS = 20  # told; the first says enough
SHORTEST_NOTE = 16  # characters of a digest that was written down


@dataclass
class SealsChecked:
    """What was found: how much was compared, every break in the order of the entries, and what is not sealed yet."""

    state: SealState
    seals: int = 0
    rows: int = 0
    faults: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        return not self.faults

    def told(self) -> str:
        """In words, a line each: the newest seal, what is not sealed yet, and what was found."""
        newest, state = self.state.newest, self.state
        lines = []
        if newest:
            until = f"up to entry {newest.last}, {newest.at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"
            lines.append(f"last seal {newest.number}, {until}: {newest.digest}")
        if state.unsealed:
            since = f"from entry {state.last + 1} on, since {state.since.astimezone(UTC):%Y-%m-%d %H:%M} UTC"
            lines.append(f"{state.unsealed:,} entries are not sealed yet, {since}")
        if self.good:
            lines.append(f"{self.rows:,} entries under {self.seals:,} seals checked; all are as they were sealed.")
        return "\n".join((*lines, *self.faults))


def seals_checked(noted: str = "") -> SealsChecked:
    """Compute every digest anew, in order. ``noted`` is the begin of a digest that was written down outside.

    Memory is bounded: entries and seals are read in portions. What is written meanwhile is not looked at, since it
    lies above the newest seal.
    """
    newest = newest_seal()
    found = SealsChecked(SealState(newest, 0, None))
    if newest:
        entries = _entries(newest.last)
        before = None
        for seal in _seals(newest.number):
            if len(found.faults) >= MOST_FAULTS:
                found.faults.append("looked no further")
                break
            _follows(seal, before, entries, found)
            _compare(seal, entries, found)
            before = seal
    if noted and not AuditSeal.objects.filter(digest__startswith=noted.lower()).exists():
        found.faults.append(f"no seal has the digest that was written down, {noted}: seals were cut off or made anew")
    found.state = seal_state()
    return found


class _Entries:
    """Entries in the order of their keys, with a look ahead."""

    def __init__(self, rows: Iterator[tuple]):
        self._rows = rows
        self._next = next(rows, None)

    def up_to(self, last: int) -> Iterator[tuple]:
        while self._next is not None and self._next[0] <= last:
            yield self._next
            self._next = next(self._rows, None)


def _entries(last: int) -> _Entries:
    def read() -> Iterator[tuple]:
        rows = AuditEntry.objects.filter(pk__lte=last).order_by("pk").values_list(*ROW)
        portion = list(rows[:ROWS_READ])
        while portion:
            yield from portion
            portion = list(rows.filter(pk__gt=portion[-1][0])[:ROWS_READ])

    return _Entries(read())


def _seals(last: int) -> Iterator[AuditSeal]:
    seals = AuditSeal.objects.order_by("number").filter(number__lte=last)
    portion = list(seals[:SEALS_READ])
    while portion:
        yield from portion
        portion = list(seals.filter(number__gt=portion[-1].number)[:SEALS_READ])


def _follows(seal: AuditSeal, before: AuditSeal | None, entries: _Entries, found: SealsChecked) -> None:
    """The seal stands upon the one before; where some between are gone, their entries are no longer sealed."""
    expected = before.number + 1 if before else 1
    if seal.number != expected:
        gone = f"seal {expected} is" if seal.number == expected + 1 else f"seals {expected} to {seal.number - 1} are"
        loose = sum(1 for _ in entries.up_to(seal.first - 1))
        found.faults.append(f"{gone} missing; {loose} entries before entry {seal.first} are no longer sealed")
    elif seal.before != (before.digest if before else ""):
        found.faults.append(f"seal {seal.number} does not stand upon the digest of the seal before it")


def _compare(seal: AuditSeal, entries: _Entries, found: SealsChecked) -> None:
    body = Body()
    for row in entries.up_to(seal.last):
        body.add(row)
    found.seals, found.rows = found.seals + 1, found.rows + body.count
    kept, now = bytes(seal.marks), body.marks
    told_alike = (seal.first, seal.last, seal.count, kept) == (body.first, body.last, body.count, now)
    if told_alike and body.digest(seal.number, seal.before, seal.at) == seal.digest:
        return
    then, there = dict(MARK.iter_unpack(kept[: len(kept) // MARK.size * MARK.size])), dict(MARK.iter_unpack(now))
    broken = list(_broken(then, there))
    found.faults += [f"entry {key} was {what} since seal {seal.number} was made" for key, what in broken[:MOST_FAULTS]]
    if not broken:
        found.faults.append(f"seal {seal.number} itself (entries {seal.first} to {seal.last}) is not as it was made")


def _broken(then: dict[int, bytes], there: dict[int, bytes]) -> Iterator[tuple[int, str]]:
    for key in sorted(then.keys() | there.keys()):
        if key not in there:
            yield key, "removed"
        elif key not in then:
            yield key, "added"
        elif then[key] != there[key]:
            yield key, "altered"
