"""The error that says outside its range."""

import pickle

from materials.ranges import OutsideRangeError


def test_it_has_parts_and_one_sentence_and_survives_pickling():
    error = pickle.loads(pickle.dumps(OutsideRangeError("depth", -1.0, "above 0")))  # noqa: S301 our own bytes

    assert (error.name, error.given, error.accepted) == ("depth", -1.0, "above 0")
    assert str(error) == "depth must be above 0; got -1.0"
    assert isinstance(error, ValueError)
