"""The collector of reference cycles rests while an answer is worked out, and has nothing to catch up on."""

import gc

import pytest

from quoting.contract import to_plain
from quoting.quotes.collecting import collector_at_rest
from tests.quoting.test_answering import REQUESTS, answer_to, nobody_can


def test_it_rests_meanwhile_and_runs_again_afterwards():
    with collector_at_rest():
        assert not gc.isenabled()

    assert gc.isenabled()


def test_it_runs_again_after_an_error():
    with pytest.raises(ValueError, match="gone wrong"), collector_at_rest():
        raise ValueError("gone wrong")

    assert gc.isenabled()


def test_one_that_was_off_stays_off():
    gc.disable()
    try:
        with collector_at_rest():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


@pytest.mark.parametrize("asked", (*REQUESTS, nobody_can()))
def test_an_answer_leaves_no_reference_cycles_behind(asked):
    to_plain(answer_to(asked))  # what is made once for the process is no part of it
    with collector_at_rest():
        gc.collect()
        to_plain(answer_to(asked))
        left = gc.collect()

    assert left == 0
