"""Markup that is kept in the process belongs to one content and one writer."""

from copy import deepcopy

from quoting.desk.fragments import kept

STORED = {"price": "12.50", "lines": [{"name": "<sheet>", "cost": 1.25, "known": True, "more": None}]}


def test_a_part_is_written_once_for_equal_content_and_comes_back_as_it_was_written():
    written = []

    def write(stored: dict) -> str:
        written.append(stored)
        return f"<b>{stored['price']} – {len(written)}</b>"

    assert kept("a", STORED, write) == kept("a", deepcopy(STORED), write) == "<b>12.50 – 1</b>"
    assert len(written) == 1


def test_a_change_deep_inside_and_another_writer_make_another_part():
    changed = deepcopy(STORED)
    changed["lines"][0]["cost"] = 1.26

    def cost(stored: dict) -> str:
        return str(stored["lines"][0]["cost"])

    assert [kept("a", STORED, cost), kept("a", changed, cost)] == ["1.25", "1.26"]
    assert kept("b", STORED, lambda stored: stored["price"]) == "12.50"
