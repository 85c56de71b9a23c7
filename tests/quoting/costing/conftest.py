"""The small shop as fixtures."""

import pytest

from quoting.catalog import Catalog, Rates
from quoting.routing.candidate import PlannedCandidate
from tests.quoting.costing.shop import some_catalog, some_planned, some_rates


@pytest.fixture
def rates() -> Rates:
    return some_rates()


@pytest.fixture
def planned() -> PlannedCandidate:
    return some_planned()


@pytest.fixture
def catalog() -> Catalog:
    return some_catalog()
