"""Faults of the database made on purpose: the n-th statement fails as PostgreSQL would let it fail."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import psycopg
from django.db import OperationalError, connection


def fault_of(sqlstate: str) -> OperationalError:
    """An error as Django hands it on, with the driver's own behind it."""
    made = OperationalError(f"made for a test: {sqlstate}")
    made.__cause__ = psycopg.errors.lookup(sqlstate)("made for a test")
    return made


class Statements:
    """Counts the statements, and lets those fail whose number (from 1) is among ``failing``."""

    def __init__(self, sqlstate: str = "", failing: Callable[[int], bool] = lambda number: False):
        self.sqlstate, self.failing, self.texts = sqlstate, failing, []

    def __call__(self, execute: Callable, sql: str, *more: object) -> object:
        self.texts.append(sql)
        if self.failing(len(self.texts)) and not sql.startswith("ROLLBACK"):  # what is lost is rolled back anyway
            raise fault_of(self.sqlstate)
        return execute(sql, *more)


@contextmanager
def statements(sqlstate: str = "", failing: Callable[[int], bool] = lambda number: False) -> Iterator[Statements]:
    counted = Statements(sqlstate, failing)
    try:
        with connection.execute_wrapper(counted):
            yield counted
    finally:  # the transaction round the test is sound: the fault was only made
        connection.needs_rollback = False
