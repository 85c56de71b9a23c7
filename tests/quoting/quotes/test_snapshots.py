from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.contract import canonical
from quoting.quotes.snapshots import packed, unpacked

SCALARS = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text()
NAMES = st.text().filter(lambda name: name != "$")
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner) | st.dictionaries(NAMES, inner), max_leaves=20)


@settings(derandomize=True, deadline=None, max_examples=300)
@given(VALUES)
def test_every_value_comes_back_with_the_same_canonical_text(value):
    assert canonical(unpacked(packed([value, value]))) == canonical([value, value])


def test_values_that_python_calls_equal_stay_apart():
    value = [[1, 5, 5], [1.0, 5, 5], [True, 5, 5], [0.0, 5, 5], [-0.0, 5, 5], [0, 5, 5], [False, 5, 5]] * 2
    assert canonical(unpacked(packed(value))) == canonical(value)


def test_what_candidates_share_is_written_once():
    plant = {"code": "P-1", "name": "First Plant", "rates": ["30.00"] * 20}
    answer = {"candidates": [{"number": number, "plant": dict(plant)} for number in range(100)]}
    assert packed(answer).count("First Plant") == 1
    assert unpacked(packed(answer)) == answer
