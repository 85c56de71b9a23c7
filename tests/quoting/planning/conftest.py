"""The office of the quotes' tests."""

from tests.quoting.quotes.conftest import core, machine, office, people  # noqa: F401
