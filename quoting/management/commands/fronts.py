"""Keep the fronts of answers that were stored before there were fronts."""

from django.core.management.base import BaseCommand
from django.db import transaction

from quoting.quotes.fronts import front_of
from quoting.quotes.models import Inquiry


class Command(BaseCommand):
    help = "Once after an upgrade, while the app runs: pages of older answers open faster. May be stopped and repeated."

    def handle(self, *args: object, **options: object) -> None:
        waiting = Inquiry.objects.filter(front__isnull=True, snapshot__isnull=False).order_by("pk")
        done = 0
        for pk in list(waiting.values_list("pk", flat=True)):
            with transaction.atomic():
                inquiry = Inquiry.objects.select_for_update().only("snapshot").get(pk=pk)
                Inquiry.objects.filter(pk=pk).update(front=front_of(inquiry.snapshot))
            done += 1
        self.stdout.write(f"{done} fronts kept.")
