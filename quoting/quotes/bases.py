"""The basis kept beside each answer: written with it, believed only for the same answer, catalog and code."""

from datetime import date
from decimal import Decimal
from functools import cache
from hashlib import sha256
from typing import Any

from django.conf import settings

from quoting.catalog import Catalog
from quoting.contract import canonical, to_plain
from quoting.intake.field_values import FURTHEST_AHEAD
from quoting.intake.part import PartRequest
from quoting.quotes.models import AnswerBasis, Inquiry
from quoting.repricing.basis import Basis, StaleBasisError, basis_of, from_text, to_text
from quoting.repricing.physics import physical_part
from quoting.repricing.repriced import Priced, ReleasePrice, Route, quoted_of
from quoting.routing.judging import JudgedGroup

# Code that decides which candidates fit, how they are formed and what is kept of them.
CODE = (
    "materials", "machines", "quoting/intake", "quoting/geometry", "quoting/routing", "quoting/repricing",
    "quoting/costing",
)  # fmt: skip


@cache
def code_digest() -> str:
    """Fingerprint of the code behind a basis: what other code found out is not believed."""
    found = sha256()
    for folder in CODE:
        for file in sorted((settings.BASE_DIR / folder).rglob("*.py")):
            found.update(file.read_bytes())
    return found.hexdigest()


def physics_of(catalog: Catalog, on: date) -> str:
    """Digest of all that the candidates of a basis depend on beside the inquiry itself."""
    return sha256(f"{canonical(to_plain(physical_part(catalog, on)))} {code_digest()}".encode()).hexdigest()


def kept_candidates(request: PartRequest, groups: tuple[JudgedGroup, ...]) -> str:
    return to_text(basis_of(request, groups))


def keep_basis(inquiry: Inquiry, quoted: dict[str, Any], candidates: str, physics: str) -> None:
    """Keep beside the answer what new rates will not change of it."""
    kept = {"answer": inquiry.data_digest, "quoted": quoted, "physics": physics, "candidates": candidates}
    AnswerBasis.objects.update_or_create(inquiry=inquiry, defaults=kept)


def quoted_in(snapshot: dict) -> dict[str, Any]:
    """Route and prices of a stored quote, as plain values."""
    return plain_priced(quoted_of(snapshot))


def basis_on(candidates: str, on: date) -> Basis:
    """A basis that was kept, where the inquiry would still be read on that day as it was: a date asked for must lie
    ahead and not too far. Raises StaleBasisError."""
    basis = from_text(candidates)
    needed = basis.request.needed_by
    if needed is not None and not on < needed <= on + FURTHEST_AHEAD:
        raise StaleBasisError(f"the date asked for would be read anew on {on}")
    return basis


def plain_priced(priced: Priced) -> dict[str, Any]:
    return to_plain(priced)


def priced_from(plain: dict[str, Any]) -> Priced:
    """What ``plain_priced`` wrote."""
    return Priced(Route(**plain["route"]), tuple(_release(one) for one in plain["releases"]))


def _release(plain: dict[str, Any]) -> ReleasePrice:
    money = {name: Decimal(value) for name, value in plain.items() if name != "quantity"}
    return ReleasePrice(quantity=plain["quantity"], **money)
