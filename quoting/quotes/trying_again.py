"""A deed that the database gave up because it crossed another one is done again, as a whole, by itself.

PostgreSQL ends one of two transactions that wait for each other, or that cannot be brought into an order. Nothing of
such a transaction is kept, and what the deed begins outside the database waits for the commit, so doing it again does
nothing twice. Every other fault of the database is told: a lost connection may have hidden a commit.
"""

import random
import time
from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from django.db import OperationalError, connection

CROSSED = ("40001", "40P01")  # serialization failure, deadlock; as psycopg.errors knows them
MOST_REPEATS = 3
LONGEST_WAIT = 0.1  # s before the first repeat, twice that before the second, and so on; our choice
Deed = TypeVar("Deed", bound=Callable)


def tried_again(deed: Deed) -> Deed:
    """Decorate a service: whoever calls it outside a transaction gets its transaction repeated, at most three times.

    Inside another deed nothing is repeated: the outermost transaction is the whole. A service decorated so makes its
    rows anew at each call, changes none that it was handed before the commit, and begins nothing outside the database
    but by ``on_commit(..., robust=True)``: a fault after the commit must not look like one before it.
    """

    @wraps(deed)
    def done(*arguments: object, **named: object) -> object:
        for repeat in range(MOST_REPEATS):
            try:
                return deed(*arguments, **named)
            except OperationalError as fault:
                if not (is_crossing(fault) and is_outermost()):
                    raise
            time.sleep(random.uniform(0, LONGEST_WAIT * 2**repeat))  # noqa: S311 - so that two do not meet again
        return deed(*arguments, **named)

    done.is_tried_again = True
    return done


def is_crossing(fault: OperationalError) -> bool:
    """Whether two transactions came into each other's way; the driver's own error stands behind Django's."""
    return getattr(fault.__cause__, "sqlstate", None) in CROSSED


def is_outermost() -> bool:
    """Whether no transaction of ours is open; one that a test wraps round everything does not count."""
    blocks = connection.atomic_blocks
    return not blocks or blocks[-1]._from_testcase
