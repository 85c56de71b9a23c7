"""Correction factors as versions: proposed from the recorded runs, then accepted from a day on, or refused."""

from dataclasses import asdict
from datetime import date, timedelta
from hashlib import sha256

from django.core.exceptions import ValidationError
from django.db import transaction

from quoting.catalog import CORRECTED
from quoting.contract import digest
from quoting.costing.recorded_range import TOLD_BY
from quoting.planning.factor_models import ACCEPTED, PROPOSED, REFUSED, REPLACED
from quoting.planning.models import FactorVersion, RunRecord
from quoting.planning.selectors import factors_in_force
from quoting.quotes import policies
from quoting.quotes.records import audit, next_number, now, today
from quoting.quotes.runs import accuracy
from quoting.quotes.runs.learning import Taught, taught
from quoting.quotes.steps import ConflictError
from quoting.quotes.trying_again import tried_again

SERIES = "CF"  # its counter is the lock: one proposal or decision at a time
TELLS = 4  # digits after the point in which factors must differ to be another version
FURTHEST = timedelta(days=366)
CHANGED = "The factors have changed since you looked. Nothing was done; look at them again."


def proposed() -> FactorVersion | None:
    return FactorVersion.objects.filter(state=PROPOSED).select_related("proposed_by").first()


def standing() -> FactorVersion | None:
    """The version that was accepted last, though it may begin later: what a proposal is held against."""
    return factors_in_force(date.max)


def from_runs() -> tuple[list[dict], str, int]:
    """What the runs in force teach now, as a version keeps it; the digest of these runs; how many they are."""
    runs = [run for run in accuracy.runs_by() if run.estimated and run.machine.code == run.estimated.get("machine")]
    return [kept(one) for one in taught(runs)], runs_digest(runs), len(runs)


def runs_digest(runs: list[RunRecord]) -> str:
    """Of the records by their keys: a record never changes."""
    return sha256(repr(sorted(run.pk for run in runs)).encode()).hexdigest()


def kept(one: Taught) -> dict:
    """What the runs teach of one measure, as plain values."""
    return {
        "measure": one.measure.name, "runs": one.runs, "factors": [asdict(each) for each in one.factors],
        "within": one.found.within, "between": list(one.found.between), "least": one.least, "most": one.most,
        "why": one.why,
    }  # fmt: skip


def applied(measures: list[dict]) -> dict:
    """What of a version's measures changes an estimate or its range, rounded to what counts as a difference.

    A factor of one is left out, since it changes nothing.
    """
    found: dict = {}
    for one in measures:
        if one["measure"] not in CORRECTED:
            continue
        factors = {(each["effect"], each["name"]): round(each["factor"], TELLS) for each in one["factors"]}
        factors = {name: factor for name, factor in factors.items() if factor != 1}
        given = (one["least"], one["most"]) if one["measure"] in TOLD_BY else (None, None)
        ends = tuple(end if end is None else round(end, TELLS) for end in given)
        if factors or ends != (None, None):
            found[one["measure"]] = factors, ends
    return found


def fingerprint(version: FactorVersion | None) -> str:
    """What a form on a version names, so that a decision meets what was looked at: it, and what it is held against."""
    return digest([_state(version), _state(standing())])


def _state(version: FactorVersion | None) -> list | None:
    return [version.number, version.state, version.digest, version.measures] if version else None


@tried_again
@transaction.atomic
def factors_propose(*, by: object, version: str, none: bool = False) -> FactorVersion:
    """Propose what the recorded runs teach now, or with ``none`` to go back to estimates without factors.

    A proposal that nobody decided on is replaced. ConflictError where another stands than the form was made from.
    """
    policies.require(by, "decide_factors")
    next_number(SERIES, today().year)
    before, held = proposed(), standing()
    _require(version, before)
    measures, runs, count = ([], runs_digest([]), 0) if none else from_runs()
    if applied(measures) == applied(held.measures if held else []):
        raise ValidationError(
            "Nothing to propose: the recorded runs teach what is in force already." if not none else
            "Nothing to propose: no factors are in force."
        )  # fmt: skip
    if before and applied(measures) == applied(before.measures):
        raise ValidationError(f"Version {before.number} proposes just this already.")
    if before:
        _decide(before, REPLACED, by, "a newer proposal took its place")
    last = FactorVersion.objects.order_by("-number").values_list("number", flat=True).first() or 0
    made = FactorVersion(
        number=last + 1, measures=measures, digest=runs, runs=count, proposed_at=now(), proposed_by=by
    )  # fmt: skip
    made.full_clean()
    made.save()
    audit("factors_propose", by=by, version=made.number, runs=count, digest=runs)
    return made


@tried_again
@transaction.atomic
def factors_accept(*, factors: FactorVersion, valid_from: date, version: str, by: object) -> FactorVersion:
    """Let a proposal count from a day on, not before today. ConflictError where it is no longer what was looked at."""
    policies.require(by, "decide_factors")
    locked = _locked(factors, version)
    if not today() <= valid_from <= today() + FURTHEST:
        raise ValidationError(
            f"From: got {valid_from}; accepted is a day from today ({today()}) to {today() + FURTHEST}."
        )
    for later in FactorVersion.objects.filter(state=ACCEPTED, valid_from__gte=valid_from):
        _decide(later, REPLACED, by, f"version {locked.number} counts from {valid_from} on")
    locked.valid_from = valid_from
    _decide(locked, ACCEPTED, by, "")
    audit("factors_accept", by=by, version=locked.number, valid_from=valid_from.isoformat(), digest=locked.digest)
    return locked


@tried_again
@transaction.atomic
def factors_refuse(*, factors: FactorVersion, reason: str, version: str, by: object) -> FactorVersion:
    """Put a proposal aside and say why. ConflictError where it is no longer what was looked at."""
    policies.require(by, "decide_factors")
    if not reason.strip():
        raise ValidationError("Say why the proposal is refused.")
    locked = _locked(factors, version)
    _decide(locked, REFUSED, by, reason.strip())
    audit("factors_refuse", by=by, version=locked.number, reason=locked.reason)
    return locked


def _locked(factors: FactorVersion, version: str) -> FactorVersion:
    next_number(SERIES, today().year)
    found = FactorVersion.objects.select_for_update().get(pk=factors.pk)
    if found.state != PROPOSED:
        raise ConflictError(f"Version {found.number} is {found.state} already; look at it again.")
    _require(version, found)
    return found


def _require(version: str, standing: FactorVersion | None) -> None:
    if version != fingerprint(standing):
        raise ConflictError(CHANGED)


def _decide(row: FactorVersion, state: str, by: object, reason: str) -> None:
    row.state, row.decided_at, row.decided_by, row.reason = state, now(), by, reason
    row.full_clean()
    row.save()
