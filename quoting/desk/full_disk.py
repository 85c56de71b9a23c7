"""Telling a full disk from every other fault."""

import errno

from django.db import OperationalError

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
FULL_IN_POSTGRESQL = "53100"  # as psycopg.errors knows it
FULL_IN_SQLITE = "SQLITE_FULL"


def is_full(fault: BaseException | None) -> bool:
    """Whether there was no room left to write to, on this machine or on that of the database."""
    if isinstance(fault, OSError):
        return fault.errno in FULL
    cause = fault.__cause__ if isinstance(fault, OperationalError) else None
    return getattr(cause, "sqlstate", "") == FULL_IN_POSTGRESQL or (
        getattr(cause, "sqlite_errorname", "") == FULL_IN_SQLITE
    )
