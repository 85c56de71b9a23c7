"""Lists of inquiries: search, filter, page, and the rows. A template would take each cell apart again for each row."""

from collections.abc import Iterable
from html import escape
from typing import NamedTuple

from django.core.paginator import Paginator
from django.http import HttpRequest
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from quoting.desk.labels import said
from quoting.desk.templatetags.desk import NOTHING, day, headline
from quoting.quotes import policies, selectors

PAGE_SIZE = 50
MOST_COUNTED = 1000  # hits of a search; nobody leafs further, and counting them all would take longer than finding them
ANY = "0"  # stands for the number in the address of the page of any inquiry
UNANSWERED = '<span class="quiet">no answer yet</span>'


class CountedPaginator(Paginator):
    """A paginator that is told how many rows there are instead of asking the database once more."""

    count = 0


def inquiry_table(request: HttpRequest, *, state: str, target: str) -> dict:
    """Search, filter and page of a list of inquiries."""
    text = request.GET.get("search", "").strip()[:100]
    counts = selectors.state_counts(person=request.user)
    found = selectors.inquiry_list(person=request.user, state=state, text=text)
    wanted, first = request.GET.get("page"), None
    if not text:
        count = counts[state] if state in counts else sum(counts.values())
    elif wanted in (None, "", "1") and len(first := list(selectors.listed(found)[: PAGE_SIZE + 1])) <= PAGE_SIZE:
        count = len(first)  # all that there is: no need to search once more to count it
    else:
        count = found[: MOST_COUNTED + 1].count()
    pages_of = CountedPaginator(selectors.listed(found) if first is None else first, PAGE_SIZE)
    pages_of.count = count
    page, show_rep = pages_of.get_page(wanted), policies.may_see_cost(request.user)
    return {
        "page": page,
        "rows": rows_written(page.object_list, target=target, show_rep=show_rep),
        "more_than": MOST_COUNTED if text and count > MOST_COUNTED else 0,
        "any": sum(counts.values()),
        "states": [(code, count) for code, count in counts.items() if count],
        "state": state,
        "search": text,
        "target": target,
        "show_rep": show_rep,
        "may_log": policies.may_log_inquiry(request.user),
    }


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
