"""Take a rate table out as CSV or XLSX, or bring one in."""

import sys
from argparse import ArgumentParser
from datetime import date
from pathlib import Path

from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management.base import BaseCommand, CommandError

from quoting.intake.rate_tables import TABLES
from quoting.intake.reading_result import InputErrors
from quoting.management.named import person_named
from quoting.quotes.rates.changes import Preview
from quoting.quotes.rates.files import TYPES, rates_file
from quoting.quotes.rates.imports import looked_through, rates_import
from quoting.quotes.records import today

WRONG_STATUS = 2


class Command(BaseCommand):
    help = "Export the rates of a day, or import a table; without --apply an import only says what it would change."

    def add_arguments(self, parser: ArgumentParser) -> None:
        deeds = parser.add_subparsers(dest="deed", required=True)
        out = deeds.add_parser("export", help="write the rates in force on a day")
        out.add_argument("--table", choices=TABLES, required=True)
        out.add_argument(
            "--on", type=date.fromisoformat, metavar="DATE", help="such as 2026-12-01; today when left out"
        )
        out.add_argument(
            "--to", type=Path, required=True, metavar="FILE", help="its ending, .csv or .xlsx, says the form"
        )
        into = deeds.add_parser("import", help="look through a table, and with --apply import it")
        into.add_argument("file", type=Path)
        into.add_argument("--table", choices=TABLES, required=True)
        into.add_argument(
            "--effective", type=date.fromisoformat, metavar="DATE", help="for every row, instead of its own day"
        )
        into.add_argument("--apply", action="store_true", help="import what is shown")
        into.add_argument("--good-only", action="store_true", help="leave wrong rows out instead of importing nothing")
        into.add_argument("--by", metavar="USER", help="who is recorded; the command line when left out")

    def handle(self, *args: object, **options: object) -> None:
        try:
            self._export(options) if options["deed"] == "export" else self._import(options)
        except OSError as error:
            raise CommandError(f"{error.filename}: {error.strerror}") from error

    def _export(self, options: dict) -> None:
        form = options["to"].suffix.lower().removeprefix(".")
        if form not in TYPES:
            raise CommandError(f"--to: got {options['to'].name}; accepted is a file ending in .csv or .xlsx")
        options["to"].write_bytes(rates_file(options["table"], options["on"] or today(), form))

    def _import(self, options: dict) -> None:
        given = {"table": options["table"], "content": options["file"].read_bytes(), "effective": options["effective"]}
        try:
            preview = looked_through(**given)
        except InputErrors as errors:
            for error in errors.errors:
                self.stderr.write(error.message)
            sys.exit(WRONG_STATUS)
        self._show(preview)
        if preview.wrong and not (options["apply"] and options["good_only"]):
            sys.exit(WRONG_STATUS)
        if options["apply"]:
            self._apply(options, given)

    def _show(self, preview: Preview) -> None:
        for one in preview.wrong:
            place = f"row {one.row}, {one.column}" if one.row else "the table as a whole"
            self.stderr.write(f"{place}: got {one.given}; accepted is {one.accepted}")
        for one in preview.to_keep:
            for figure in one.figures:
                moves = f"{figure.old or 'none'} -> {figure.new or 'none'} {figure.percent}".rstrip()
                self.stdout.write(f"{one.status} from {one.valid_from}: {one.subject}, {figure.name}: {moves}")
        self.stdout.write(", ".join(f"{count} {name}" for name, count in preview.counts.items()))

    def _apply(self, options: dict, given: dict) -> None:
        by = person_named(options["by"])
        try:
            record = rates_import(**given, file_name=options["file"].name, good_only=options["good_only"], by=by)
        except (ValidationError, PermissionDenied) as refused:
            raise CommandError(" ".join(getattr(refused, "messages", [str(refused)]))) from refused
        self.stdout.write(f"Imported as {record.number}.")
