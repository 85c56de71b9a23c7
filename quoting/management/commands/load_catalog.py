"""Fill empty tables with plants, machines, polymers, sheet offers and rates."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from quoting.intake.reading import parse_json
from quoting.intake.reading_result import InputErrors
from quoting.quotes import services, stock


class Command(BaseCommand):
    help = "Load plants, machines, polymers, sheet offers and rates where there are none yet."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--plants", type=Path, default=stock.DEMO / "plants.json")
        parser.add_argument("--materials", type=Path, default=stock.DEMO / "materials.json")
        parser.add_argument("--rates", type=Path, default=stock.REFERENCE / "rates.json")

    def handle(self, *args: object, **options: object) -> None:
        try:
            read = {name: parse_json(options[name].read_text("utf-8")) for name in ("plants", "materials", "rates")}
            loaded = services.catalog_load(**read, on=services.today())
        except OSError as error:
            raise CommandError(f"{error.filename}: {error.strerror}") from error
        except InputErrors as errors:
            raise CommandError("\n".join(error.message for error in errors.errors)) from errors
        services.ensure_groups()
        self.stdout.write("Loaded." if loaded else "There are machines already; nothing was loaded.")
