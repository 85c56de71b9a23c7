"""Weeks as the board counts them; hours are laid out by ``quoting.planning``."""

from quoting.planning.weeks import WEEK, monday

__all__ = ["WEEK", "monday"]
