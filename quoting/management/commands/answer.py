"""Answer one inquiry from the command line."""

import sys
from argparse import ArgumentParser
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import connection

from quoting.answer import NEEDS_INFORMATION, NOT_A_FIT, QUOTE, Answer
from quoting.answering import answered
from quoting.catalog import Catalog
from quoting.contract import bad_input, canonical, to_contract, to_plain
from quoting.intake.catalog_file import read_materials, read_plants
from quoting.intake.json_text import parse_json
from quoting.intake.reading import read_inquiry
from quoting.intake.reading_result import InputError, InputErrors
from quoting.management.readable import readable
from quoting.quotes import selectors
from quoting.quotes.collecting import collector_at_rest
from quoting.quotes.records import today
from quoting.quotes.stock import catalog_ensure

EXIT_STATUS = {QUOTE: 0, NOT_A_FIT: 3, NEEDS_INFORMATION: 4}
BAD_INPUT_STATUS = 2


class Command(BaseCommand):
    help = "Answer one inquiry: a quote, not a fit, or what is missing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="the inquiry as JSON, or - for standard input")
        parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
        parser.add_argument("--pdf", metavar="OUT.pdf", help="also write the quote or the letter as PDF")
        parser.add_argument("--plants", metavar="PLANTS.json", help="plants and machines for this answer only")
        parser.add_argument("--materials", metavar="MATERIALS.json", help="polymers and sheet for this answer only")
        parser.add_argument("--on", metavar="DATE", help="answer as of this ISO date; today when left out")

    def handle(self, *args: object, **options: object) -> None:
        try:
            answer = self._answer(options)
        except InputErrors as errors:
            self._refuse(errors, options["json"])
            sys.exit(BAD_INPUT_STATUS)
        if options["pdf"]:
            self._keep_pdf(answer, Path(options["pdf"]), options["json"])
        self.stdout.write(canonical(to_contract(answer)) if options["json"] else readable(answer))
        sys.exit(EXIT_STATUS[answer.decision])

    def _answer(self, options: dict) -> Answer:
        on = _day(options["on"])
        raw = parse_json(_text(options["file"], "file"))
        catalog = self._catalog(options, on)
        base_dir = Path.cwd() if options["file"] == "-" else Path(options["file"]).resolve().parent
        names = tuple(polymer.name for polymer in catalog.polymers)
        reading = read_inquiry(raw, on=on, polymer_names=names, base_dir=base_dir)
        with collector_at_rest():
            return answered(reading, catalog, on)

    def _catalog(self, options: dict, on: date) -> Catalog:
        if not connection.introspection.table_names():
            self.stderr.write("The database was empty: its tables were made.")
            call_command("migrate", verbosity=0)
        if catalog_ensure():
            self.stderr.write("The database had no plants: the demo plants, machines and materials were loaded.")
        catalog = selectors.catalog(on)
        if options["plants"]:
            plants, machines = read_plants(parse_json(_text(options["plants"], "--plants")))
            known = {machine.code for machine in machines}
            workload = tuple(booking for booking in catalog.workload if booking.machine in known)
            stands = tuple(f"{plant.code}/" for plant in plants)
            beside = tuple(booking for booking in catalog.beside if booking.machine.startswith(stands))
            catalog = replace(catalog, plants=plants, machines=machines, workload=workload, beside=beside)
        if options["materials"]:
            polymers, offers = read_materials(parse_json(_text(options["materials"], "--materials")))
            catalog = replace(catalog, polymers=polymers, offers=offers)
        return catalog

    def _refuse(self, errors: InputErrors, as_json: bool) -> None:
        for error in errors.errors:
            self.stderr.write(error.message)
        if as_json:
            self.stdout.write(canonical(bad_input(errors)))

    def _keep_pdf(self, answer: Answer, out: Path, as_json: bool) -> None:
        try:
            self._write_pdf(answer, out)
        except OSError as error:
            given = f"{out} ({error.strerror})"
            self._refuse(InputErrors((InputError("--pdf", given, "a file in a folder that is there"),)), as_json)
            sys.exit(BAD_INPUT_STATUS)

    def _write_pdf(self, answer: Answer, out: Path) -> None:
        from quoting.documents.pdf import render_letter, render_quote  # slow to import, needed only here

        if answer.decision == NEEDS_INFORMATION:
            self.stderr.write("No PDF: the inquiry lacks facts without which no quote or letter can be written.")
            return
        snapshot, on = to_plain(answer), answer.answered_on
        parties = {"number": "PREVIEW", "revision": 0, "issued_on": on, "prepared_by": "command line"}
        if answer.decision == NOT_A_FIT:
            out.write_bytes(render_letter(snapshot, **parties))
            return
        validity = timedelta(days=selectors.catalog(on).rates.price.validity_days)
        out.write_bytes(render_quote(snapshot, **parties, valid_until=on + validity))


def _day(text: str | None) -> date:
    if text is None:
        return today()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise InputErrors((InputError("--on", text, "an ISO date such as 2026-11-25"),)) from error


def _text(path: str, field: str) -> str:
    try:
        return sys.stdin.read() if path == "-" else Path(path).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is no UTF-8 text"
        raise InputErrors((InputError(field, f"{path} ({reason})", "a readable JSON file"),)) from error
