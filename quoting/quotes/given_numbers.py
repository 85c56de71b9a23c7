"""The highest number given out in each series and year, kept outside the database.

A database restored from an older backup would give numbers again that customers hold already. So after each commit the
counters are also written into a file beside it, which only ever rises; a counter below it gives no number until an
administrator has moved it (`lost_numbers`). A missing or damaged file stops nobody; log and readiness tell it.
"""

import fcntl
import json
import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import NamedTemporaryFile

from django.conf import settings
from django.core.exceptions import ValidationError

from quoting.quotes.models import Counter

FORMAT = 1
Marks = dict[str, int]  # last number by series and year, such as {"Q-2026": 17}
log = logging.getLogger("quoting.numbers")


class NumbersBehindError(ValidationError):
    """The next number of a series has been given out before, by a database that is not here any more."""


class MarksUnreadableError(OSError):
    """There is a file, and it is not one of given numbers."""


@dataclass(frozen=True)
class Behind:
    """A series and year of which more was given out than the database knows."""

    series: str
    year: int
    last: int
    mark: int

    @property
    def lost(self) -> tuple[str, str]:
        """First and last number that went out and that the database does not know."""
        return self._number(self.last + 1), self._number(self.mark)

    def _number(self, last: int) -> str:
        return str(Counter(series=self.series, year=self.year, last=last))

    def __str__(self) -> str:
        first, last = self.lost
        return f"{first}" if first == last else f"{first} to {last}"


def file() -> Path:
    return Path(settings.GIVEN_NUMBERS)


def read(path: Path) -> Marks:
    """What stands in the file; nothing where there is none. MarksUnreadableError where it holds something else."""
    try:
        whole = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except ValueError as damaged:
        raise MarksUnreadableError(f"{path} is damaged: {damaged}") from damaged
    last = whole.get("last") if isinstance(whole, dict) and whole.get("format") == FORMAT else None
    if not isinstance(last, dict) or not all(type(one) is int and _is_name(name) for name, one in last.items()):
        raise MarksUnreadableError(f"{path} is not a file of given numbers of format {FORMAT}")
    return last


def _is_name(name: str) -> bool:
    series, _, year = name.rpartition("-")
    return bool(series) and year.isdecimal()


def raise_to(marks: Marks) -> Marks:
    """Raise the file to these, never lower it; what stands there now. On disk when this returns.

    Of several at once each waits for the one before and finds that its own are there already.
    """
    path = file()
    with _alone(path):
        before = read(path)
        after = before | {name: last for name, last in marks.items() if last > before.get(name, 0)}
        if after != before:
            _write(path, after)
    return after


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    with path.with_name(path.name + ".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _write(path: Path, marks: Marks) -> None:
    """Whole or not at all, also where the power goes."""
    with NamedTemporaryFile("w", dir=path.parent, prefix=path.name, delete=False, encoding="utf-8") as new:
        try:
            json.dump({"format": FORMAT, "last": marks}, new, indent=1, sort_keys=True)
            new.write("\n")
            new.flush()
            os.fsync(new.fileno())
            Path(new.name).replace(path)
        except OSError:
            Path(new.name).unlink(missing_ok=True)
            raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def counted() -> Marks:
    """What the database has given out."""
    rows = Counter.objects.filter(last__gt=0).values_list("series", "year", "last")
    return {f"{series}-{year}": last for series, year, last in rows}


def keep_up() -> Marks:
    """Raise the file to the counters of the database; OSError where it cannot be read or written."""
    counters = counted()
    if max(counters.values(), default=0) > 1 and not file().exists():  # before the first number there were none
        log.warning("there is no %s; it is begun from the database, and tells nothing of numbers before it", file())
    return raise_to(counters)


def keep_up_after_commit() -> None:
    """As ``keep_up``, after a number was committed: what fails is told and takes back nothing."""
    try:
        keep_up()
    except OSError:
        log.exception("numbers given out are not kept outside the database")


def behind() -> tuple[Behind, ...]:
    """Every series and year of which the file knows more than the database."""
    marks, counters = read(file()), counted()
    found = []
    for name, mark in sorted(marks.items()):
        last = counters.get(name, 0)
        if last < mark:
            series, _, year = name.rpartition("-")
            found.append(Behind(series, int(year), last, mark))
    return tuple(found)


def require_fresh(counter: Counter) -> None:
    """The next number of this locked counter must not have been given out before."""
    try:
        mark = read(file()).get(f"{counter.series}-{counter.year}", 0)
    except OSError:
        log.exception("it is not known whether numbers were given out before")
        return
    if counter.last < mark:
        lost = Behind(counter.series, counter.year, counter.last, mark)
        raise NumbersBehindError(
            f"No number can be given: {lost} went out already, and this database, restored from an older backup, does "
            "not know of it. An administrator has to look at what is missing and run: manage.py numbers raise"
        )


def set_aside() -> Path | None:
    """Take the file out of the way, for a database that begins anew on purpose; where it lies now."""
    path = file()
    with _alone(path):
        if not path.exists():
            return None
        aside = path.with_name(path.name + ".before")
        path.replace(aside)
    return aside
