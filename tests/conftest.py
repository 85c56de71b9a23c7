"""Examples made by chance are the same ones in every run; ``HYPOTHESIS_PROFILE=search`` looks for new ones."""

import os
from itertools import count

import pytest
from django.test import override_settings
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
def numbers_folder(tmp_path_factory):
    return tmp_path_factory.mktemp("numbers"), count()


@pytest.fixture(autouse=True)
def numbers_given_out_begin_anew(numbers_folder):
    """Each test has a database of its own, so numbers of others must not be known outside it."""
    folder, places = numbers_folder
    with override_settings(GIVEN_NUMBERS=folder / f"{next(places)}.json"):
        yield
