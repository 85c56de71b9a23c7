"""By what recorded runs correct an estimate: found for a candidate here, applied where each amount is made."""

from dataclasses import dataclass
from decimal import Decimal

from machines.runs import EFFECTS
from quoting.catalog import Catalog, Corrections
from quoting.costing.money import Input, exact, given
from quoting.routing.candidate import Candidate, PlannedCandidate
from quoting.routing.recalled import Recalled

# How the inputs of cost lines name them.
RUN_CORRECTION = "correction of run hours"
SETUP_CORRECTION = "correction of press set-up"
TRIM_CORRECTION = "correction of trim time"
SHEET_CORRECTION = "correction of sheet used"
SCRAP_CORRECTION = "correction of parts formed for each good one"
APPLIED = ", with the correction of recorded runs"  # how the basis of a line goes on where one is applied


@dataclass(frozen=True)
class Corrected:
    """By what one amount is multiplied [-], above 0, and the runs that say so."""

    factor: float
    source: str

    def shown(self, name: str) -> Input:
        """The factor as an input of a cost line."""
        return given(name, self.factor, "-", self.source)


def corrected(planned: PlannedCandidate, measure: str, catalog: Catalog, recalled: Recalled) -> Corrected | None:
    """The product of the factors of a candidate's machine, polymer and process.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]
    measure : str
        Of ``catalog.CORRECTED`` [-].
    catalog : Catalog
        With the corrections in force [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    corrected : Corrected or None
        None where nothing is in force, or nothing of the candidate was run [-].
    """
    if catalog.corrections is None:
        return None
    return of_candidate(planned.candidate, measure, catalog.corrections, recalled)


def of_candidate(
    candidate: Candidate, measure: str, corrections: Corrections | None, recalled: Recalled
) -> Corrected | None:
    """As ``corrected``, for a candidate that is not planned.

    Parameters
    ----------
    candidate : Candidate
        [-]
    measure, corrections, recalled
        As in ``corrected`` [-].

    Returns
    -------
    corrected : Corrected or None
        [-]
    """
    if corrections is None:
        return None
    return recalled.of(
        _product, corrections, measure, candidate.machine.code, candidate.polymer.name, candidate.process
    )


def _product(corrections: Corrections, measure: str, *names: str) -> Corrected | None:
    asked = zip(EFFECTS, names, strict=True)
    found = [one for one in (corrections.by_name.get((measure, *pair)) for pair in asked) if one is not None]
    if not found:
        return None
    factor, told = 1.0, []
    for one in found:
        factor *= one.factor
        told.append(f"{one.effect} {one.name} {one.factor:.3f} of {one.runs} run{'' if one.runs == 1 else 's'}")
    return Corrected(factor, f"recorded runs, version {corrections.version}: {', '.join(told)}")


def times(amount: Decimal, by: Corrected | None) -> Decimal:
    """An amount corrected; as it is where there is no correction.

    Parameters
    ----------
    amount : Decimal
        [any unit]
    by : Corrected or None
        [-]

    Returns
    -------
    amount : Decimal
        [as given]

    Examples
    --------
    >>> times(Decimal(4), Corrected(1.25, "")), times(Decimal(4), None)
    (Decimal('5.00'), Decimal('4'))
    """
    return amount if by is None else amount * exact(by.factor)


def corrected_scrap(scrap: Decimal, by: Corrected | None) -> Decimal:
    """Scrap in forming so that each good part takes ``by`` times as many formed ones: ``1 - (1 - scrap) / by``.

    Runs do not say where a part was lost, so what they say is put on forming. No shot yields more than its parts: where
    the correction asks for that, nothing is lost.

    Parameters
    ----------
    scrap : Decimal
        Share lost in forming, as stated [-], 0 to below 1.
    by : Corrected or None
        [-]

    Returns
    -------
    scrap : Decimal
        [-]

    Examples
    --------
    >>> corrected_scrap(Decimal("0.04"), Corrected(1.2, "")), corrected_scrap(Decimal("0.04"), Corrected(0.9, ""))
    (Decimal('0.2'), Decimal('0'))
    """
    return scrap if by is None else max(Decimal(0), 1 - (1 - scrap) / exact(by.factor))


def told(basis: str, *by: Corrected | None) -> str:
    """The basis of a line, saying so where a correction is in it.

    Parameters
    ----------
    basis : str
        [-]
    by : Corrected or None
        Each that may be in it [-].

    Returns
    -------
    basis : str
        [-]

    Examples
    --------
    >>> told("a x b", None), told("a x b", None, Corrected(1.1, ""))
    ('a x b', 'a x b, with the correction of recorded runs')
    """
    return basis + APPLIED if any(one is not None for one in by) else basis


def factor_of(by: Corrected | None) -> float:
    """The factor alone, 1 where there is no correction [-]."""
    return 1.0 if by is None else by.factor


def shown(by: Corrected | None, name: str) -> tuple[Input, ...]:
    """The input of a cost line that tells of a correction; nothing where there is none."""
    return () if by is None else (by.shown(name),)
