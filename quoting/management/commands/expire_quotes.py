"""Take the work of quotes that are no longer valid off the board; meant to be run once a day."""

from django.core.management.base import BaseCommand

from quoting.quotes.expiry import quotes_expire
from quoting.quotes.records import today


class Command(BaseCommand):
    help = "Take the work of quotes that are no longer valid off the board."

    def handle(self, *args: object, **options: object) -> None:
        gone = quotes_expire(on=today(), by=None)
        self.stdout.write(f"{len(gone)} quotes expired" + (f": {', '.join(gone)}" if gone else ""))
