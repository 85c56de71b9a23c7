"""Polymers that the inquiry does not name and that would stand what those it names do not."""

from materials.polymer import Polymer
from quoting.intake.part import PartRequest
from quoting.intake.reading_result import Doubt
from quoting.routing.rules.comparing import plain, reaches
from quoting.routing.rules.needs import SERVICE_MARGIN
from quoting.routing.verdict import Verdict
from quoting.words import words


def others_that_stand_the_heat(
    request: PartRequest, polymers: tuple[Polymer, ...], deciding: Verdict
) -> tuple[Doubt, ...]:
    """A question back where heat alone rules out the polymers named and others that we hold stand it.

    They are judged by their deflection temperature and by the needs that they hold, not by a whole plan.

    Parameters
    ----------
    request : PartRequest
        What was asked [-].
    polymers : tuple of Polymer
        All that we hold [-].
    deciding : Verdict
        What decided that it is not a fit [-].

    Returns
    -------
    doubts : tuple of Doubt
        One, or none [-].
    """
    if deciding.rule != "service temperature" or not request.polymers:
        return ()
    service = request.part.service_temperature
    standing = sorted(
        plain(one.name)
        for one in polymers
        if one.name not in request.polymers
        and reaches(one.deflection_temperature - SERVICE_MARGIN, service)
        and set(request.needs) <= {held.need for held in one.needs}
    )
    if not standing:
        return ()
    text = f"would {' or '.join(standing)} do? The polymers asked for do not stand {{service}}; of ours "
    text += "this one does" if len(standing) == 1 else "these do"
    return (Doubt("material.polymers", words(text, service=(service, "K"))),)
