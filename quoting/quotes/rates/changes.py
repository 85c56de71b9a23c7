"""What a table from a file would change: every rate compared with the one in force on its day. Pure."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from decimal import Decimal
from hashlib import sha256

from quoting.intake.rate_tables import DATE_FORM, SOURCE, VALID_FROM, Entry, Figure, WrongCell

ADDED, CHANGED, CORRECTED, UNCHANGED = "added", "changed", "corrected", "unchanged"
DAY = timedelta(days=1)
STATUSES = (ADDED, CHANGED, CORRECTED, UNCHANGED)


@dataclass(frozen=True)
class Kept:
    """What the house holds of one rate between two days. ``valid_from`` is None for what stands there undated.

    ``of`` names it in parts, as in ``Entry``.
    """

    valid_from: date | None
    figures: tuple[Figure, ...]
    source: str
    valid_to: date | None = None
    of: tuple[str, ...] = ()

    def counts_on(self, day: date) -> bool:
        return (self.valid_from is None or self.valid_from <= day) and (self.valid_to is None or day <= self.valid_to)


class _FromFile(Kept):
    """A row that an earlier entry of the same file makes."""


@dataclass(frozen=True)
class FigureChange:
    """One figure before and after; empty text where there was none, or is none any more."""

    name: str
    old: str
    new: str
    percent: str  # such as +4.2 %; empty where one of the two is no number, or the old one is zero


@dataclass(frozen=True)
class Change:
    """What becomes of one rate from one day on. ``corrected``: a row of that very day gets other figures."""

    subject: str
    status: str
    valid_from: date | None
    figures: tuple[FigureChange, ...]
    entry: Entry


@dataclass(frozen=True)
class Preview:
    changes: tuple[Change, ...]
    wrong: tuple[WrongCell, ...]

    @property
    def to_keep(self) -> tuple[Change, ...]:
        return tuple(one for one in self.changes if one.status != UNCHANGED)

    @property
    def counts(self) -> dict[str, int]:
        """Rates by what becomes of them, and the rows of the file that are wrong."""
        counts = {status: sum(one.status == status for one in self.changes) for status in STATUSES}
        return counts | {"wrong": len({one.row for one in self.wrong})}

    @property
    def whole_is_wrong(self) -> bool:
        """Something is wrong that no single row can be left out for."""
        return any(one.row == 0 for one in self.wrong)

    @property
    def fingerprint(self) -> str:
        """Equal for two previews that say the same, so that a person confirms what was shown and nothing else."""
        said = [
            (one.subject, one.status, str(one.valid_from), [asdict(figure) for figure in one.figures])
            for one in self.changes
        ]
        return sha256(json.dumps([said, [asdict(one) for one in self.wrong]]).encode()).hexdigest()


def in_force(kept: Iterable[Kept], day: date) -> Kept | None:
    """Of what is kept of one rate, the newest that counts on that day; None where nothing does."""
    counting = [one for one in kept if one.counts_on(day)]
    return max(counting, key=lambda one: one.valid_from or date.min, default=None)


def compared(timelines: Mapping[str, tuple[Kept, ...]], entries: Iterable[Entry]) -> Preview:
    """Every entry against what is in force on its day, entries of one rate in the order of their days."""
    changes, wrong = [], []
    after = dict(timelines)
    for entry in sorted(
        entries, key=lambda one: (one.rows[0] if one.valid_from is None else 0, one.valid_from or date.min)
    ):
        kept = after.get(entry.subject, ())
        if entry.valid_from is None:
            now = next((one for one in kept if one.valid_from is None), None)
            if now is None or not _alike(now.figures, entry.figures):
                wrong.append(
                    WrongCell(
                        entry.rows[0], VALID_FROM, "nothing", f"{DATE_FORM}, or an effective date for the whole table"
                    )
                )
                continue
        else:
            now = in_force(kept, entry.valid_from)
        changes.append(_change(now, entry))
        if entry.valid_from is not None:
            after[entry.subject] = _with(kept, now, entry)
    return Preview(tuple(sorted(changes, key=lambda one: one.entry.rows)), tuple(wrong))


def _with(kept: tuple[Kept, ...], now: Kept | None, entry: Entry) -> tuple[Kept, ...]:
    """What is kept of a rate once the entry is, as far as later entries look: its last row but one is never asked for.

    An entry ends where what it replaces ended, or before the next row begins where nothing was in force.
    """
    house = tuple(one for one in kept if not isinstance(one, _FromFile) and one.valid_from != entry.valid_from)
    later = [one.valid_from for one in house if one.valid_from is not None and one.valid_from > entry.valid_from]
    ends = now.valid_to if now else min(later) - DAY if later else None
    return (*house, _FromFile(entry.valid_from, entry.figures, entry.source, ends))


def _change(now: Kept | None, entry: Entry) -> Change:
    old = now.figures if now else ()
    same_source = now is None or now.valid_from is None or entry.source in ("", now.source)
    if now is None:
        status = ADDED
    elif _alike(old, entry.figures) and (same_source or entry.valid_from is None):
        status = UNCHANGED
    else:
        status = CORRECTED if now.valid_from == entry.valid_from else CHANGED
    figures = () if status == UNCHANGED else _figure_changes(old, entry.figures)
    if status in (CHANGED, CORRECTED) and not same_source:
        figures += (FigureChange(SOURCE, now.source, entry.source, ""),)
    return Change(entry.subject, status, entry.valid_from, figures, entry)


def _alike(old: tuple[Figure, ...], new: tuple[Figure, ...]) -> bool:
    return {one.name: one.value for one in old} == {one.name: one.value for one in new}


def _figure_changes(old: tuple[Figure, ...], new: tuple[Figure, ...]) -> tuple[FigureChange, ...]:
    before, after = {one.name: one for one in old}, {one.name: one for one in new}
    names = [*after, *(name for name in before if name not in after)]
    return tuple(
        FigureChange(name, _text(before.get(name)), _text(after.get(name)), _percent(before.get(name), after.get(name)))
        for name in names
        if name not in before or name not in after or before[name].value != after[name].value
    )


def _text(figure: Figure | None) -> str:
    return figure.text if figure else ""


def _percent(old: Figure | None, new: Figure | None) -> str:
    """How far the new value lies from the old one, to a tenth of a percent."""
    if old is None or new is None or not all(isinstance(one.value, Decimal | float | int) for one in (old, new)):
        return ""
    before, after = Decimal(str(old.value)), Decimal(str(new.value))
    return f"{(after - before) / before * 100:+.1f} %" if before else ""
