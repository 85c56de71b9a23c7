"""The collector of reference cycles at rest while an answer is worked out."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """No search for reference cycles meanwhile; as before afterwards.

    An answer makes many objects and no cycles (a test holds it to that), so that every search during it is in vain.
    The switch is one for the whole process: of answers that overlap in threads the first to end turns it on again.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
