"""A sentence whose figures are still SI values: the core says it, the edge writes the numbers in the reader's units."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One value inside a sentence. ``unit`` is SI: 'm', 'm2', 'K', 'delta_K', 'Pa', 'N', 's', 'kg', 'rad', '-', ..."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True)
class Words:
    """A sentence with ``{name}`` where a figure goes. No markup, no formatting of numbers."""

    text: str
    figures: tuple[Figure, ...] = ()


def words(text: str, **figures: tuple[float, str]) -> Words:
    """Build a sentence from its text and its figures.

    Parameters
    ----------
    text : str
        Sentence with ``{name}`` for each figure [-].
    **figures : tuple
        name=(value, unit) [-].

    Returns
    -------
    sentence : Words
        [-]

    Examples
    --------
    >>> words("the draw is {depth}", depth=(0.3, "m")).figures[0].value
    0.3
    """
    return Words(text, tuple(Figure(name, float(value), unit) for name, (value, unit) in figures.items()))
