"""Bring recorded runs in from a file, or write the table that is to be filled in."""

import sys
from argparse import ArgumentParser
from pathlib import Path

from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management.base import BaseCommand, CommandError

from quoting.intake.reading_result import InputErrors
from quoting.management.named import person_named
from quoting.quotes.runs.files import template
from quoting.quotes.runs.imports import Preview, looked_through, runs_import
from quoting.quotes.runs.reading import LIMITS

WRONG_STATUS = 2


class Command(BaseCommand):
    help = "Import recorded runs (CSV or XLSX); without --keep an import only says what it would do."

    def add_arguments(self, parser: ArgumentParser) -> None:
        deeds = parser.add_subparsers(dest="deed", required=True)
        into = deeds.add_parser("import", help="look through a file of runs, and with --keep record them")
        into.add_argument("file", type=Path)
        into.add_argument("--keep", action="store_true", help="record what is shown")
        into.add_argument("--good-only", action="store_true", help="leave wrong rows out instead of recording nothing")
        into.add_argument("--by", metavar="USER", help="who is recorded; the command line when left out")
        deeds.add_parser("template", help="write the headings with one example row as CSV to the standard output")

    def handle(self, *args: object, **options: object) -> None:
        if options["deed"] == "template":
            self.stdout.write(template(), ending="")
            return
        try:
            self._import(options)
        except OSError as error:
            raise CommandError(f"{error.filename}: {error.strerror}") from error

    def _import(self, options: dict) -> None:
        size = options["file"].stat().st_size
        if size > LIMITS.file:
            raise CommandError(
                f"{options['file'].name}: got {size / 1e6:.1f} MB; accepted is a file of at most "
                f"{LIMITS.file // 2**20} MB. It was not read."
            )
        content = options["file"].read_bytes()
        try:
            preview = looked_through(content)
        except InputErrors as errors:
            for error in errors.errors:
                self.stderr.write(error.message)
            sys.exit(WRONG_STATUS)
        self._show(preview)
        if options["keep"] and (options["good_only"] or not preview.wrong):
            self._keep(options, content)
        elif preview.wrong:
            sys.exit(WRONG_STATUS)

    def _show(self, preview: Preview) -> None:
        for one in preview.wrong:
            self.stderr.write(f"row {one.row}, {one.column}: got {one.given}; accepted is {one.accepted}")
        self.stdout.write(", ".join(f"{count} {name}" for name, count in preview.counts.items()))

    def _keep(self, options: dict, content: bytes) -> None:
        by = person_named(options["by"])
        try:
            record = runs_import(file_name=options["file"].name, content=content, good_only=options["good_only"], by=by)
        except (ValidationError, PermissionDenied) as refused:
            raise CommandError(" ".join(getattr(refused, "messages", [str(refused)]))) from refused
        self.stdout.write(f"Recorded as {record.number}.")
