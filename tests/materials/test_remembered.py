"""A store of results by the numbers they depend on."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials import remembered
from materials.remembered import Remembered

few = settings(max_examples=25, deadline=None)


class Doubling:
    """Solves rows as twice their inputs, and remembers what it was asked."""

    def __init__(self, inputs) -> None:
        self.inputs, self.asked = inputs, []

    def __call__(self, places):
        self.asked += [tuple(row) for row in self.inputs[places].tolist()]
        return 2.0 * self.inputs[places]


def ask(store: Remembered, rows) -> tuple[np.ndarray, list]:
    inputs = np.array(rows, float).reshape(len(rows), -1)
    solve = Doubling(inputs)
    return store.get(inputs, solve), solve.asked


rows = st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=12)


@given(rows, rows)
@few
def test_each_row_is_solved_once_and_comes_back_in_its_place(first, second):
    store = Remembered()
    found, asked = ask(store, first)
    again, asked_again = ask(store, second)

    assert np.array_equal(found, 2.0 * np.array(first))
    assert np.array_equal(again, 2.0 * np.array(second))
    assert sorted(asked) == sorted(set(first))
    assert sorted(asked_again) == sorted(set(second) - set(first))


def test_nothing_is_solved_where_all_is_known():
    store = Remembered()
    ask(store, [(1, 2), (3, 4)])
    found = store.get(np.array([[3.0, 4.0]]), lambda places: pytest.fail("solved again"))
    assert found.tolist() == [[6.0, 8.0]]


def test_rows_that_differ_in_their_last_bit_are_two():
    store = Remembered()
    assert len(ask(store, [(1.0,), (np.nextafter(1.0, 2.0),)])[1]) == 2


def test_a_full_store_is_emptied_and_still_answers(monkeypatch):
    monkeypatch.setattr(remembered, "MOST_KEPT", 3)
    store = Remembered()
    ask(store, [(1,), (2,)])
    found, _ = ask(store, [(1,), (3,), (4,)])  # one known, two new: too many to keep

    assert found.tolist() == [[2.0], [6.0], [8.0]]
    assert ask(store, [(1,)])[1] == [(1.0,)]
    assert ask(store, [(3,)])[1] == []


def test_what_is_forgotten_is_solved_again():
    store = Remembered()
    ask(store, [(1,)])
    store.clear()
    assert ask(store, [(1,)])[1] == [(1.0,)]


def test_a_row_of_many_dimensions_of_memory_is_told_by_its_values():
    store = Remembered()
    wide = np.arange(12.0).reshape(3, 4)
    ask(store, wide[:, ::2].tolist())
    strided = wide[:, ::2]
    assert store.get(strided, lambda places: pytest.fail("solved again")).tolist() == (2 * strided).tolist()
