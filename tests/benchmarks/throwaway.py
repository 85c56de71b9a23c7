"""An office in a database of its own, for scripts that send requests; nothing of it stays."""

import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "quoting.settings")
django.setup()


@contextmanager
def throwaway_office() -> Iterator[object]:
    """A world of two reps and a visitor of each kind. Nobody is throttled, and an answer is not computed anew."""
    from django.conf import settings
    from django.db import connection, transaction
    from django.test.utils import setup_test_environment, teardown_test_environment

    from quoting.desk import views_estimator
    from quoting.quotes import services, steps
    from tests.quoting.desk.world import build

    logging.disable(logging.CRITICAL)
    setup_test_environment(debug=False)
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    with (
        TemporaryDirectory() as folder,
        patch.multiple(
            settings, MEDIA_ROOT=folder, GIVEN_NUMBERS=Path(folder) / "given_numbers.json", MISSES_A_MINUTE=10**6
        ),
        transaction.atomic(),
    ):
        world = build()

        def said(raw: object, catalog: object, on: object) -> object:
            return world.answer

        def printed(*arguments: object, **named: object) -> bytes:
            return b"%PDF"

        with (
            patch.object(services, "outcome", said),
            patch.object(steps, "outcome", said),
            patch.object(views_estimator, "render_worksheet", printed),
        ):
            yield world
        transaction.set_rollback(True)
    connection.creation.destroy_test_db(name, verbosity=0)
    teardown_test_environment()
