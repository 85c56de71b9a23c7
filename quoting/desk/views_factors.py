"""What the recorded runs teach: factors in force and proposed, what they do to a quote, and the decision on them."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from quoting.desk import factor_rows, pages, run_rows
from quoting.planning.models import FactorVersion
from quoting.planning.selectors import corrections_of, factors_in_force
from quoting.quotes import policies
from quoting.quotes.records import today
from quoting.quotes.runs import accuracy, learning
from quoting.quotes.runs import factors as versions
from quoting.quotes.runs.effect import effect
from quoting.quotes.steps import ConflictError

LONGEST_REASON = 500


@require_GET
def factors(request: HttpRequest) -> HttpResponse:
    """What is in force, what is proposed against it, and what the runs teach now."""
    pages.demand(policies.may_see_runs(request.user))
    return _page(request)


def _page(request: HttpRequest, typed: dict[str, str] | None = None, wrong: str = "", status: int = 200):
    proposed, held, on = versions.proposed(), versions.standing(), today()
    found = learning.taught(accuracy.runs_by().iterator(chunk_size=2000))
    context: dict[str, Any] = {
        "taught": [run_rows.taught_shown(one) for one in found],
        "force": factors_in_force(on),
        "coming": held if held and held.valid_from > on else None,
        "held": held,
        "held_rows": factor_rows.of_version(held),
        "proposed": proposed,
        "rows": factor_rows.against(held, proposed) if proposed else [],
        "ranges": factor_rows.ranges(held, proposed) if proposed else [],
        "effect": effect(corrections_of(held), corrections_of(proposed), on) if proposed else None,
        "history": FactorVersion.objects.select_related("proposed_by", "decided_by"),
        "version": versions.fingerprint(proposed),
        "may": policies.may_decide_factors(request.user),
        "typed": {"valid_from": on.isoformat(), "reason": ""} | (typed or {}),
        "wrong": wrong,
        "today": on.isoformat(),
    }
    return render(request, "desk/shop_runs_factors.html", context, status=status)


@require_POST
def propose(request: HttpRequest) -> HttpResponse:
    """Propose what the runs teach now, or to go back to estimates without factors."""
    pages.demand(policies.may_decide_factors(request.user))
    none = request.POST.get("what") == "none"
    try:
        made = versions.factors_propose(by=request.user, version=pages.told_version(request), none=none)
    except ValidationError as refused:
        return _refused(request, refused)
    messages.success(request, f"Version {made.number} is proposed; no estimate changes until it is accepted.")
    return redirect("shop-runs-factors")


@require_POST
def accept(request: HttpRequest, factors: int) -> HttpResponse:
    """Let a proposal count from a day on."""
    pages.demand(policies.may_decide_factors(request.user))
    row, day = get_object_or_404(FactorVersion, pk=factors), request.POST.get("valid_from", "").strip()
    try:
        begins = _day(day)
        versions.factors_accept(
            factors=row, valid_from=begins, version=pages.told_version(request), by=request.user
        )  # fmt: skip
    except ValidationError as refused:
        return _refused(request, refused, valid_from=day[:20])
    messages.success(request, f"Version {row.number} counts in answers from {begins} on; issued quotes stay.")
    return redirect("shop-runs-factors")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text if len(text) == len("2026-11-28") else "")
    except ValueError:
        raise ValidationError(f"From: got {text[:20] or 'nothing'}; accepted is a day such as {today()}.") from None


@require_POST
def refuse(request: HttpRequest, factors: int) -> HttpResponse:
    """Put a proposal aside, with a reason."""
    pages.demand(policies.may_decide_factors(request.user))
    row, reason = get_object_or_404(FactorVersion, pk=factors), request.POST.get("reason", "")
    try:
        pages.demand_reason(reason, LONGEST_REASON)
        versions.factors_refuse(factors=row, reason=reason, version=pages.told_version(request), by=request.user)
    except ValidationError as refused:
        return _refused(request, refused, reason=reason)
    messages.success(request, f"Version {row.number} is refused.")
    return redirect("shop-runs-factors")


def _refused(request: HttpRequest, refused: ValidationError, **typed: str) -> HttpResponse:
    status = 409 if isinstance(refused, ConflictError) else 422
    return _page(request, typed, " ".join(refused.messages), status)
