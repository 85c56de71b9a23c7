"""Part of the command-line JSON: the lead time of each release by steps."""

from machines.promise import steps_of
from quoting.costing.lines import PriceBreak


def lead_plain(breaks: tuple[PriceBreak, ...]) -> list[dict]:
    """Steps of each release in days from the order, which is taken for the day of the answer.

    Parameters
    ----------
    breaks : tuple of PriceBreak
        [days]

    Returns
    -------
    releases : list of dict
        Ready for JSON [days].
    """
    return [
        {
            "quantity": one.quantity,
            "leaves_after_days": one.timing.leaves,
            "arrives": one.arrives.isoformat(),
            "steps": [
                {
                    "name": step.name,
                    "start_days": step.start,
                    "finish_days": step.finish,
                    "slack_days": step.slack,
                    "sets_the_date": step.critical,
                }
                for step in steps_of(one.timing)
            ],
        }
        for one in breaks
    ]
