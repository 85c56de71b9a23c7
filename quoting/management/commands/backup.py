"""Write a backup, or verify one."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand

from quoting.operation import backup, manifest


class Command(BaseCommand):
    help = "Write database, media and a manifest with digests into a new folder; --verify checks such a folder instead."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("to", type=Path)
        parser.add_argument("--verify", action="store_true", help="write nothing; check every file of this backup")

    def handle(self, *args: object, **options: object) -> None:
        if not options["verify"]:
            backup.backup(options["to"], self.stdout.write)
            return
        told = manifest.checked(options["to"])
        self.stdout.write(
            f"Whole: {len(told['files'])} files, {len(told['issued'])} issued documents, made {told['made_at']}"
        )
