"""Work out the report on one CAD model; started by the desk, apart from its requests."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from quoting.quotes import fine_maps, model_reports
from quoting.quotes.models import WAITING, ModelReport


class Command(BaseCommand):
    help = "Measure the CAD model of a report that waits, and keep what was found or why nothing was."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("report", type=int, help="number of the report")

    def handle(self, *args: object, **options: object) -> None:
        report = ModelReport.objects.filter(pk=options["report"]).first()
        if report is None:
            raise CommandError(f"There is no report {options['report']}.")
        made = model_reports.report_make(report, fine_follows=True)
        self.stdout.write(f"{made.state}{f': {made.reason}' if made.reason else ''}")
        if made.fine_state == WAITING:
            fine = fine_maps.fine_make(made)
            self.stdout.write(f"fine map {fine.fine_state}{f': {fine.fine_reason}' if fine.fine_reason else ''}")
