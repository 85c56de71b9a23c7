"""How long a trimmed part takes: on a five-axis router with one or two tables, or by hand at a bench.

Takes plain numbers; knows no rate table. The laws are those of trade practice: path over feed, so much per hole and
opening, tool changes, positioning, and on a twin table the operator loads one side while the other is cut.
"""

from dataclasses import dataclass

from machines.machine import Trimmer


@dataclass(frozen=True)
class TrimWork:
    """What is cut on one part. ``gauge`` is what the cutter goes through: all sheets of the part together."""

    path: float  # m, outline and openings
    openings: int
    holes: int
    gauge: float  # m


@dataclass(frozen=True)
class TrimPace:
    """Standard times [s] and the gauge [m] above which a cut takes two passes."""

    hole_time: float
    opening_time: float
    tool_changes: float  # count per part
    tool_change_time: float
    rapid_time: float
    load_time: float
    swap_time: float
    deburr_time_per_metre: float  # s/m
    heavy_gauge: float  # m
    hand_feed: float  # m/s
    hand_hole_time: float


@dataclass(frozen=True)
class TrimTime:
    """Seconds of one piece. ``cutting`` at the cutter, ``operator`` loading and deburring, ``cycle`` piece to piece."""

    path: float
    openings: float
    holes: float
    tool_changes: float
    rapid: float
    cutting: float
    operator: float
    cycle: float


def passes(gauge: float, heavy_gauge: float) -> int:
    """Passes of the cutter: two above the heavy gauge, else one.

    Parameters
    ----------
    gauge : float
        What is cut through [m], above 0.
    heavy_gauge : float
        Thickest gauge cut in one pass [m], above 0.

    Returns
    -------
    passes : int
        [count]

    Examples
    --------
    >>> passes(0.00475, 0.00635), passes(0.0095, 0.00635)
    (1, 2)
    """
    return 2 if gauge > heavy_gauge else 1


def trim_time(work: TrimWork, pace: TrimPace, trimmer: Trimmer) -> TrimTime:
    """Time to trim one piece, before the trimmer's efficiency.

    ``cutting = passes * path/feed + openings + holes + tool changes + rapid``;
    twin table ``cycle = max(cutting, load + deburr) + swap``, single table ``cycle = cutting + load``
    (the operator deburrs while the next piece is cut, or waits for it: the longer of the two counts),
    hand bench ``cycle = cutting + load + deburr``.

    Parameters
    ----------
    work : TrimWork
        What is cut [m, count].
    pace : TrimPace
        Standard times [s].
    trimmer : Trimmer
        The router or bench; its feed [m/s] above 0.

    Returns
    -------
    time : TrimTime
        [s]

    Raises
    ------
    ValueError
        Feed not above 0.

    References
    ----------
    Common practice, no source.
    """
    hand = trimmer.kind == "hand"
    feed = pace.hand_feed if hand else trimmer.feed
    if not feed > 0:
        raise ValueError(f"trim feed must be above 0; got {feed} for {trimmer.code}")
    path = passes(work.gauge, pace.heavy_gauge) * work.path / feed
    openings = work.openings * pace.opening_time
    holes = work.holes * (pace.hand_hole_time if hand else pace.hole_time)
    tool_changes = 0.0 if hand else pace.tool_changes * pace.tool_change_time
    rapid = 0.0 if hand else pace.rapid_time
    cutting = path + openings + holes + tool_changes + rapid
    deburr = work.path * pace.deburr_time_per_metre
    cycle = _cycle(trimmer, cutting, pace.load_time, deburr, pace.swap_time)
    return TrimTime(path, openings, holes, tool_changes, rapid, cutting, pace.load_time + deburr, cycle)


def _cycle(trimmer: Trimmer, cutting: float, load: float, deburr: float, swap: float) -> float:
    """Piece-to-piece time [s] by kind of trimmer."""
    if trimmer.kind == "hand":
        return cutting + load + deburr
    if trimmer.twin_table:
        return max(cutting, load + deburr) + swap
    return max(cutting, deburr) + load


def pieces_per_hour(cycle: float, efficiency: float) -> float:
    """Good pieces an hour: ``3600 / (cycle / efficiency)``.

    Parameters
    ----------
    cycle : float
        Piece-to-piece time [s], above 0.
    efficiency : float
        Good hours over clock hours [-], above 0 and at most 1.

    Returns
    -------
    rate : float
        [1/h]

    Raises
    ------
    ValueError
        An argument is out of range.

    Examples
    --------
    >>> round(pieces_per_hour(145.206, 0.85), 2)
    21.07
    """
    if not (cycle > 0 and 0 < efficiency <= 1):
        raise ValueError(f"cycle must be above 0 and efficiency in (0, 1]; got {cycle} and {efficiency}")
    return 3600.0 * efficiency / cycle
