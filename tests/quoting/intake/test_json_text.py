"""JSON text is read strictly."""

import time

import pytest

from quoting.intake.json_text import parse_json
from quoting.intake.reading_result import InputErrors


def test_ordinary_json_is_read_from_text_and_bytes():
    assert parse_json('{"part": {"openings": 2}, "x": [1.5, null]}') == {"part": {"openings": 2}, "x": [1.5, None]}
    assert parse_json('\ufeff{"a": "½"}'.encode()) == {"a": "½"}


@pytest.mark.parametrize(
    "text",
    ["", "{", "NaN", '{"a": NaN}', '{"a": Infinity}', '{"a": -Infinity}', '{"a": 1e999}', "'a'", '{"a": 1,}',
     '{"a": ' + "9" * 5000 + "}", b"\xff\xfe", None, 5, "[" * 13 + "]" * 13, "[" * 100_000, '{"a":' * 100_000,
     "[" * 5000 + "]" * 5000],
)  # fmt: skip
def test_what_is_not_plain_json_is_an_input_error(text):
    start = time.perf_counter()
    with pytest.raises(InputErrors):
        parse_json(text)
    assert time.perf_counter() - start < 0.5


def test_nesting_up_to_the_limit_is_read():
    assert parse_json("[" * 12 + "1" + "]" * 12) is not None


def test_a_key_given_twice_is_named():
    with pytest.raises(InputErrors) as caught:
        parse_json('{"part": {"gauge": "0.187 in", "gauge": "0.25 in"}}')
    assert caught.value.errors[0].field == "gauge"


def test_more_than_a_megabyte_is_refused_before_it_is_read():
    with pytest.raises(InputErrors, match="1 MB"):
        parse_json('"' + "x" * 1_000_001 + '"')
