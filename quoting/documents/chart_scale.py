"""Scales, round ticks and the placing of labels: plain numbers in, plain numbers out."""

from dataclasses import dataclass
from math import ceil, floor, log10

LETTER = 0.56  # width of a letter over its size: labels of the charts measure 0.46 to 0.61 in DejaVu Sans, mean 0.52
NEAR = 1e-9  # share of a step by which a tick may miss the end of its scale


@dataclass(frozen=True)
class Scale:
    """A straight scale: ``low`` is drawn at ``start``, ``high`` at ``end``."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Place of a value in drawing units.

        >>> Scale(0.0, 10.0, 40.0, 240.0).at(2.5)
        90.0
        """
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def round_step(reach: float, most: int) -> float:
    """The least step of 1, 2 or 5 times a power of ten that cuts ``reach`` into no more than ``most`` pieces.

    Parameters
    ----------
    reach : float
        [any unit], above 0.
    most : int
        [count], above 0.

    Returns
    -------
    step : float
        [as ``reach``]

    Raises
    ------
    ValueError
        Nothing to cut, or no piece allowed.

    Examples
    --------
    >>> round_step(330.0, 7), round_step(0.187, 4), round_step(70.0, 7)
    (50.0, 0.05, 10.0)
    """
    if not reach > 0 or most < 1:
        raise ValueError(f"got reach {reach} and {most} pieces; accepted are a reach above 0 and at least one piece")
    power = 10.0 ** floor(log10(reach / most))
    return next(step for step in (power, 2 * power, 5 * power, 10 * power) if step * most >= reach * (1 - NEAR))


def round_ticks(low: float, high: float, most: int = 6) -> tuple[float, ...]:
    """Round values from ``low`` to ``high``, both counted where they are round themselves.

    Parameters
    ----------
    low, high : float
        [any unit], low below high.
    most : int
        Pieces at most [count].

    Returns
    -------
    ticks : tuple of float
        Rising [as ``low``].

    Raises
    ------
    ValueError
        The scale has no reach.

    Examples
    --------
    >>> round_ticks(62.0, 390.0)
    (100.0, 200.0, 300.0)
    >>> round_ticks(0.0, 0.187, 4)
    (0.0, 0.05, 0.1, 0.15)
    """
    step = round_step(high - low, most)
    first, last = ceil(low / step - NEAR), floor(high / step + NEAR)
    return tuple(round(number * step, 10) + 0.0 for number in range(first, last + 1))


def tick_text(value: float, step: float) -> str:
    """A tick with as many decimals as its step needs.

    >>> tick_text(0.1, 0.05), tick_text(300.0, 50.0)
    ('0.10', '300')
    """
    return f"{value:.{max(0, -floor(log10(step) + NEAR))}f}"


def spread(wanted: tuple[float, ...], gap: float, low: float, high: float) -> tuple[float, ...]:
    """Places as near to the wanted ones as may be, in the same order, none nearer than ``gap`` to another.

    Where the room is too small for all, the gap is kept and the last ones run over ``high``.

    Parameters
    ----------
    wanted : tuple of float
        In any order [drawing units].
    gap : float
        [drawing units]
    low, high : float
        First and last place allowed [drawing units].

    Returns
    -------
    places : tuple of float
        In the order of ``wanted`` [drawing units].

    Examples
    --------
    >>> spread((10.0, 11.0, 50.0), 12.0, 0.0, 100.0)
    (10.0, 22.0, 50.0)
    >>> spread((99.0, 98.0), 12.0, 0.0, 100.0)
    (100.0, 88.0)
    """
    order = sorted(range(len(wanted)), key=lambda one: wanted[one])
    placed = [min(max(wanted[one], low), high) for one in order]
    for one in range(1, len(placed)):
        placed[one] = max(placed[one], placed[one - 1] + gap)
    for one in range(len(placed) - 1, -1, -1):
        roof = high if one == len(placed) - 1 else placed[one + 1] - gap
        placed[one] = max(min(placed[one], roof), low + one * gap)
    return tuple(placed[order.index(one)] for one in range(len(wanted)))


def text_width(text: str, size: float) -> float:
    """About how wide a text runs [drawing units].

    >>> round(text_width("oven", 10.0), 1)
    22.4
    """
    return LETTER * size * len(text)


def rows_of(spans: tuple[tuple[float, float], ...], gap: float = 4.0) -> tuple[int, ...]:
    """For each span from left to right the first row in which it touches no span before it.

    Parameters
    ----------
    spans : tuple of tuple
        (left, right) in the order in which they are placed [drawing units].
    gap : float
        Least distance within a row [drawing units].

    Returns
    -------
    rows : tuple of int
        0 for the first row [-].

    Examples
    --------
    >>> rows_of(((0.0, 40.0), (30.0, 60.0), (50.0, 90.0)))
    (0, 1, 0)
    """
    taken: list[list[tuple[float, float]]] = []
    rows = []
    for left, right in spans:
        row = next(
            (n for n, others in enumerate(taken) if all(right + gap <= a or left - gap >= b for a, b in others)),
            len(taken),
        )
        if row == len(taken):
            taken.append([])
        taken[row].append((left, right))
        rows.append(row)
    return tuple(rows)
