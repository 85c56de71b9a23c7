"""Keys of the rates that planning rests on: the chance of winning, and overtime. No answer asks for them."""

import re
from collections.abc import Mapping
from types import MappingProxyType

WINNING: Mapping[str, str] = MappingProxyType({
    "winning.prior_rate": "inner_share",
    "winning.prior_strength": "exact_number_above_zero",
    "winning.record_strength": "exact_number_above_zero",
    "winning.half_life": "duration",
    "winning.size_limits": "amounts",
    "winning.record": "duration",
})  # fmt: skip
OVERTIME_HOURS, OVERTIME_PREMIUM = "overtime.hours", "overtime.premium"
# A plant's own premium goes before that of the house; its key ends with the plant's code.
PREMIUM_OF_PLANT = re.compile(r"overtime\.premium\.(\S{1,20})", re.ASCII)


def planning_kind(key: str) -> str | None:
    """The kind of value that a key of planning takes.

    Parameters
    ----------
    key : str
        Such as ``winning.half_life`` [-].

    Returns
    -------
    kind : str or None
        None for a key of another room [-].

    Examples
    --------
    >>> planning_kind("winning.half_life"), planning_kind("overtime.premium.N1"), planning_kind("price.overhead")
    ('duration', 'exact_premium_share', None)
    """
    if key in WINNING:
        return WINNING[key]
    if key == OVERTIME_HOURS:
        return "hours_of_week"
    return "exact_premium_share" if key == OVERTIME_PREMIUM or PREMIUM_OF_PLANT.fullmatch(key) else None
