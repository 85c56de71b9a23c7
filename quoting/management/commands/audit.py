"""The record of deeds: seal it, and check that it is what was sealed."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from quoting.quotes.sealing import seals_make
from quoting.quotes.seals_verifying import SHORTEST_NOTE, seals_checked


class Command(BaseCommand):
    help = "audit seal: seal the entries written since the last seal. audit verify: compare all entries with the seals."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", choices=["seal", "verify"])
        parser.add_argument("--noted", default="", metavar="DIGEST", help="of a seal, as it was written down outside")

    def handle(self, *args: object, **options: object) -> None:
        if options["what"] == "seal":
            self.stdout.write(f"{seals_make():,} entries sealed")
            return
        noted = options["noted"]
        if noted and len(noted) < SHORTEST_NOTE:
            raise CommandError(f"--noted: got {noted}; accepted are the first {SHORTEST_NOTE} characters or more")
        found = seals_checked(noted)
        self.stdout.write(found.told())
        if not found.good:
            raise CommandError("the record of deeds is not what was sealed")
