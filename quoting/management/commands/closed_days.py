"""Put the public holidays of a plant into its calendar."""

from argparse import ArgumentParser

from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from machines.models import Plant
from quoting.quotes.closed_days import closed_days_keep, closed_days_look


class Command(BaseCommand):
    help = "Show which holidays would become closed days of a plant, and with --keep add them."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("plant", metavar="PLANT", help="its code")
        parser.add_argument("years", metavar="YEAR", type=int, nargs="+")
        parser.add_argument("--keep", action="store_true", help="add what is shown")
        parser.add_argument("--by", metavar="USER", help="who is recorded; the command line when left out")

    def handle(self, *args: object, **options: object) -> None:
        plant = Plant.objects.filter(code=options["plant"]).first()
        if plant is None:
            known = ", ".join(Plant.objects.order_by("code").values_list("code", flat=True)) or "none yet"
            raise CommandError(f"PLANT: got {options['plant']}; accepted is the code of a plant: {known}")
        given = {"plant": plant, "years": tuple(sorted(set(options["years"])))}
        try:
            kept = closed_days_keep(**given, by=self._person(options["by"])) if options["keep"] else None
            found = kept or closed_days_look(**given)
        except ValidationError as error:
            raise CommandError("\n".join(error.messages)) from error
        self._tell("added" if options["keep"] else "would be added", found.added)
        self._tell("closed already, left as it is", found.standing)
        self._tell("taken out by somebody, left out", found.taken_out)
        if not options["keep"]:
            self.stdout.write("Nothing was changed; add --keep to add them.")

    def _person(self, name: str | None) -> object:
        if name is None:
            return None
        person = get_user_model().objects.filter(username=name, is_active=True).first()
        if person is None:
            raise CommandError(f"--by: got {name}; accepted is the user name of an active person")
        return person

    def _tell(self, what: str, days: tuple) -> None:
        self.stdout.write(f"{len(days)} {what}")
        for day, name in days:
            self.stdout.write(f"  {day:%a %Y-%m-%d}  {name}")
