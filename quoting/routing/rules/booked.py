"""Is there an hour left for it. Asked once the hours of a release are known, and told only where there is not."""

from machines.promise import NoFreeHoursError
from quoting.routing.referral import NO_HOURS
from quoting.routing.rules.comparing import at_least, plain
from quoting.routing.verdict import Verdict

OTHER_FORMER = "another thermoformer, one with free hours"
BASIS = "calendar of the plant less won work, twenty years ahead; our choice of how far to look"


def free_hours(lacking: NoFreeHoursError) -> Verdict:
    """A place that is booked, closed or standing for twenty years does not make the part; other places may.

    Parameters
    ----------
    lacking : NoFreeHoursError
        Which work, where, and how many hours it needs and finds [h].

    Returns
    -------
    verdict : Verdict
        Failed [h].
    """
    work, where = plain(lacking.work), plain(lacking.where)
    return at_least(
        NO_HOURS,
        lacking.held,
        lacking.hours,
        "h",
        reason=f"{where} has {{measured}} free in {lacking.within}; {work} of a release takes {{limit}} there",
        remedy=f"{{limit}} free at {where}: a calendar with working hours, less booked work, or a smaller release",
        basis=BASIS,
        referral=OTHER_FORMER,
    )
