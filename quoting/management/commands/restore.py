"""Put a backup back and prove that every issued document is as it was."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand

from quoting.operation import backup


class Command(BaseCommand):
    help = "Restore into an empty database and data folder, then verify every issued document. Stop the app first."
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("source", metavar="from", type=Path)
        parser.add_argument("--replace", action="store_true", help="throw away what is there now")

    def handle(self, *args: object, **options: object) -> None:
        backup.restore(options["source"], self.stdout.write, replace=options["replace"])
