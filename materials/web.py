"""Blanks off a mill's web: its die sets how wide sheet can be, the saw cuts it to length."""

from dataclasses import dataclass

FUZZ = 1e-9  # m, far below any cut


@dataclass(frozen=True)
class WebCut:
    """One way to take a blank off the web. ``across`` lies across the web, ``along`` in the way it is extruded [m]."""

    across: float
    along: float
    turned: bool  # the blank's first side lies across the web
    widest: float
    longest: float

    @property
    def spare(self) -> float:
        """What is left in the tighter direction [m]; below 0 where the mill cannot make it."""
        return min(self.widest - self.across, self.longest - self.along)

    @property
    def fits(self) -> bool:
        return self.spare >= -FUZZ

    @property
    def lanes(self) -> int:
        """Blanks side by side across the web [count]."""
        return int((self.widest + FUZZ) // self.across)

    @property
    def width_used(self) -> float:
        """Share of the web's width that blanks side by side take [-]; above 1 where not even one fits."""
        return max(self.lanes, 1) * self.across / self.widest


def web_cut(length: float, width: float, widest: float, longest: float) -> WebCut:
    """The better way round to cut a blank from a mill's web.

    Of two ways that the mill can make, the one that leaves the least of the web's width idle, then the one with the
    longer side along the web. Of ways that it cannot make, the one that lacks least.

    Parameters
    ----------
    length, width : float
        Sides of the blank [m], above 0.
    widest : float
        Width of the web [m], above 0.
    longest : float
        Longest cut that the mill handles [m], above 0.

    Returns
    -------
    cut : WebCut
        [m]

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> cut = web_cut(45.0, 33.0, widest=84.0, longest=168.0)
    >>> cut.across, cut.lanes, round(cut.width_used, 3)
    (33.0, 2, 0.786)
    """
    ways = (WebCut(width, length, False, widest, longest), WebCut(length, width, True, widest, longest))
    able = [way for way in ways if way.fits]
    if not able:
        return max(ways, key=lambda way: way.spare)
    return max(able, key=lambda way: (round(way.width_used, 9), way.along))
