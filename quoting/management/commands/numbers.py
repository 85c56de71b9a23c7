"""Numbers given out: as the database counts them, and as they are kept outside it."""

from argparse import ArgumentParser

from django.core.exceptions import PermissionDenied
from django.core.management.base import BaseCommand, CommandError

from quoting.management.named import person_named
from quoting.quotes import given_numbers
from quoting.quotes.lost_numbers import numbers_raise


class Command(BaseCommand):
    help = (
        "numbers show: the last number of each series, in the database and outside it. numbers raise: after a restore "
        "of an older backup, move the counters above what went out. numbers anew: begin a damaged file again."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", choices=["show", "raise", "anew"])
        parser.add_argument("--by", metavar="USER", help="an administrator, who is recorded; needed to raise")

    def handle(self, *args: object, **options: object) -> None:
        try:
            {"show": self._show, "raise": self._raise, "anew": self._anew}[options["what"]](options["by"])
        except OSError as refused:
            raise CommandError(f"{refused}; numbers anew begins the file again from the database") from refused

    def _show(self, by: str | None) -> None:
        outside, counters = given_numbers.read(given_numbers.file()), given_numbers.counted()
        self.stdout.write(f"{'series':<10}{'database':>10}{'outside':>10}")
        for name in sorted(outside.keys() | counters.keys()):
            here, there = counters.get(name, 0), outside.get(name)
            state = "  behind: nothing is given out" if here < (there or 0) else ""
            self.stdout.write(f"{name:<10}{here:>10}{'none' if there is None else there:>10}{state}")
        self.stdout.write(f"outside is {given_numbers.file()}")

    def _raise(self, by: str | None) -> None:
        person = person_named(by)
        if person is None:
            raise CommandError("--by: got nothing; accepted is the user name of an administrator")
        try:
            raised = numbers_raise(by=person)
        except PermissionDenied as refused:
            raise CommandError(f"--by: got {by}; accepted is the user name of an administrator") from refused
        for one in raised:
            self.stdout.write(f"{one}: lost, recorded; the next one is free")
        if not raised:
            self.stdout.write("No counter is behind; nothing was changed.")

    def _anew(self, by: str | None) -> None:
        aside = given_numbers.set_aside()
        if aside:
            self.stdout.write(f"What was there lies in {aside}")
        for name, last in sorted(given_numbers.keep_up().items()):
            self.stdout.write(f"{name:<10}{last:>10}")
