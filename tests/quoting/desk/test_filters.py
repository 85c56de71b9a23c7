"""Filters of the templates."""

from django.template.defaultfilters import join, truncatechars
from hypothesis import given
from hypothesis import strategies as st

from quoting.desk.templatetags.desk import begun


@given(st.lists(st.text("ab<", max_size=6), max_size=20), st.integers(1, 20))
def test_as_many_names_as_are_shown_read_like_all_of_them_cut_off(names, most):
    def shown(some: list[str]) -> str:
        return truncatechars(join(some, "; "), most)

    assert shown(begun(names, most)) == shown(names)
