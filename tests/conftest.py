"""Examples made by chance are the same ones in every run; ``HYPOTHESIS_PROFILE=search`` looks for new ones."""

import os
from itertools import count

import pytest
from django.db import connection
from django.test import override_settings
from django.test.utils import setup_databases, teardown_databases
from hypothesis import settings

settings.register_profile("steady", derandomize=True, database=None, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))


@pytest.fixture(autouse=True, scope="session")
def passwords_kept_quickly():
    """A hash that is slow on purpose takes a third of a second for each person whom a test makes."""
    with override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
        yield


@pytest.fixture(scope="session")
def database_of_the_office():
    return connection.settings_dict["NAME"]


@pytest.fixture(scope="session")
def django_db_setup(database_of_the_office, django_db_setup, django_db_blocker):
    """A database of the tests also where no test is marked to use one, and only the fixtures of a file ask for it.

    Without it such a file, run alone, would write into the database of the office.
    """
    if connection.settings_dict["NAME"] != database_of_the_office:
        yield
        return
    with django_db_blocker.unblock():
        made = setup_databases(verbosity=0, interactive=False)
    yield
    with django_db_blocker.unblock():
        teardown_databases(made, verbosity=0)


@pytest.fixture(scope="session")
def numbers_folder(tmp_path_factory):
    return tmp_path_factory.mktemp("numbers"), count()


@pytest.fixture(autouse=True)
def numbers_given_out_begin_anew(numbers_folder):
    """Each test has a database of its own, so numbers of others must not be known outside it."""
    folder, places = numbers_folder
    with override_settings(GIVEN_NUMBERS=folder / f"{next(places)}.json"):
        yield
