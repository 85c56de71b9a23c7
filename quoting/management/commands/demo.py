"""Set up the demo and serve it on this machine."""

from argparse import ArgumentParser

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.urls import NoReverseMatch, reverse

from quoting.quotes import demo, demo_runs, given_numbers, sealing, services
from quoting.quotes.models import Counter


class Command(BaseCommand):
    help = "Migrate, load the demo scenario, answer its inquiries, print the log-ins, and serve on 127.0.0.1."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="only set up and print")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: object, **options: object) -> None:
        on = services.today()
        call_command("migrate", verbosity=0)
        self._begin_numbers()
        services.catalog_ensure()
        logins = demo.ensure_people()
        demo.ensure_standing_work(on)
        demo_runs.ensure_past_runs(on, by=demo.manager())
        self.stdout.write("Answering the demo inquiries; the first run takes a minute or two.")
        demo.fill(on, self._say)
        sealing.seals_make()
        base = f"http://127.0.0.1:{options['port']}"
        self._print(base, logins)
        if not options["no_serve"]:
            call_command("runserver", f"127.0.0.1:{options['port']}", use_reloader=False, insecure_serving=False)

    def _begin_numbers(self) -> None:
        """A demo that begins on an empty database begins its numbers too, whatever was given out here before."""
        if not Counter.objects.exists():
            given_numbers.set_aside()

    def _say(self, line: str) -> None:
        self.stdout.write(f"  {line}")
        self.stdout.flush()

    def _print(self, base: str, logins: tuple[demo.Login, ...]) -> None:
        self.stdout.write(f"\n{base}/")
        for login in logins:
            self.stdout.write(f"  {login.role:<14} {login.username:<16} {login.password}")
        found = demo.customer_token()
        if found:
            quote, token = found
            try:
                path = reverse("customer-link", args=[token])
            except NoReverseMatch:
                path = f"/q/{token}/"
            self.stdout.write(f"\nThe customer's private link to {quote.number}:\n  {base}{path}\n")
