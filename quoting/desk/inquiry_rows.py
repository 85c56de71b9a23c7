"""Rows of a list of inquiries. Written by one function: a template takes each of its cells apart again for each row."""

from collections.abc import Iterable
from html import escape
from typing import NamedTuple

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from quoting.desk.labels import said
from quoting.desk.templatetags.desk import NOTHING, day, headline

ANY = "0"  # stands for the number in the address of the page of any inquiry
UNANSWERED = '<span class="quiet">no answer yet</span>'


def rows_written(rows: Iterable[NamedTuple], *, target: str, show_rep: bool) -> SafeString:
    """The body of the table from ``selectors.listed``: each number leads to the page ``target``.

    Every text that somebody typed is escaped here.
    """
    front, _, end = reverse(target, args=[ANY]).rpartition(ANY)
    return mark_safe("".join([_row(one, front, end, show_rep) for one in rows]))  # noqa: S308 - escaped below


def _row(row: NamedTuple, front: str, end: str, show_rep: bool) -> str:
    number, state, company = escape(row.number), escape(row.state), row.customer__company
    part = row.typed__part__name if isinstance(row.typed__part__name, str) else ""  # what was typed may be anything
    aside = f'<span class="d-block quiet small">{escape(row.reference)}</span>' if row.reference else ""
    return f"""
    <tr><th scope="row" class="nowrap"><a href="{front}{number}{end}">{number}</a></th>
      <td><span class="state state-{state}">{escape(said(row.state))}</span></td>
      <td>{escape(company or NOTHING)}</td><td class="wide">{escape(part or NOTHING)}{aside}</td>
      <td>{headline(row.decision) if row.decision else UNANSWERED}</td>
      {f"<td>{escape(_name(row))}</td>" if show_rep else ""}
      <td class="nowrap">{day(row.created_at)}</td></tr>"""


def _name(row: NamedTuple) -> str:
    return f"{row.created_by__first_name} {row.created_by__last_name}".strip() or row.created_by__username
