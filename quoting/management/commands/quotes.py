"""Check issued documents: digests, the data inside the PDF, and whether their figures come out again."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from quoting.quotes.models import Quote
from quoting.quotes.verifying import Verified, verified


class Command(BaseCommand):
    help = "quotes verify [NUMBER]: check one number's documents, or all that were issued."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", choices=["verify"])
        parser.add_argument("number", nargs="?", help="such as Q-2026-0001; without one, all are checked")

    def handle(self, *args: object, **options: object) -> None:
        chosen = Quote.objects.order_by("pk")
        if options["number"]:
            chosen = chosen.filter(number=options["number"])
            if not chosen.exists():
                raise CommandError(f"number: got {options['number']}; accepted is that of an issued quote or letter")
        wrong = 0
        for pk in list(chosen.values_list("pk", flat=True)):  # one at a time: each holds megabytes
            found = verified(Quote.objects.get(pk=pk))
            self._tell(found)
            wrong += not found.good
        if wrong:
            raise CommandError(f"{wrong} of {chosen.count()} documents are not as they were issued")
        self.stdout.write(f"{chosen.count()} documents checked; all are as they were issued.")

    def _tell(self, found: Verified) -> None:
        code = "same code" if found.same_code else "other code"
        figures = f"{len(found.differences)} differences" if found.differences else "equal figures"
        told = "; ".join((*found.faults, *found.notes)) or f"digests hold, {figures} ({code})"
        self.stdout.write(f"{found.quote}: {told}")
        for one in found.differences:
            self.stdout.write(f"    {one.what}: {one.old} -> {one.new}")
