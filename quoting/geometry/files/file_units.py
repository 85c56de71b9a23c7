"""Which unit a file was drawn in: what it says, what it should perhaps have said, and what to ask."""

from math import log

UNITS = {"mm": 0.001, "in": 0.0254, "m": 1.0}  # m per file unit; the international inch is exact
NAMES = {"mm": "millimetres", "in": "inches", "m": "metres"}
SMALLEST, LARGEST = 0.05, 4.0  # m, longest side of a heavy-gauge part; common practice, no source
USUAL = (SMALLEST * LARGEST) ** 0.5  # m, the middle of that range by ratio


def suggested(longest: float) -> str:
    """The unit that makes a model of ``longest`` file units most like a formed part.

    Formula: the unit whose length lies nearest to the middle of 0.05 to 4 m by ratio.

    Parameters
    ----------
    longest : float
        Longest side [file units, > 0].

    Returns
    -------
    unit : str
        mm, in or m.

    Examples
    --------
    >>> suggested(600.0), suggested(40.0), suggested(1.2)
    ('mm', 'in', 'm')
    """
    return min(UNITS, key=lambda unit: abs(log(longest * UNITS[unit] / USUAL)))


def is_plausible(longest: float) -> bool:
    """Whether a part may be ``longest`` [m] long."""
    return SMALLEST <= longest <= LARGEST


def question(longest: float, unit: str) -> str:
    """Asks to confirm the unit of a file that has none; ``longest`` [file units].

    Examples
    --------
    >>> question(600.0, "mm")
    'the file does not say its unit: taken as millimetres, which makes the model 0.6 m long (in inches it would be \
15.2 m); confirm the unit'
    """
    others = " and ".join(
        f"in {NAMES[other]} it would be {metres(longest * scale)}" for other, scale in UNITS.items()
        if other != unit and SMALLEST / 10 <= longest * scale <= 10 * LARGEST
    )  # fmt: skip
    size = f"which makes the model {metres(longest * UNITS[unit])} long"
    said = f"the file does not say its unit: taken as {NAMES[unit]}, {size}{f' ({others})' if others else ''}"
    if not is_plausible(longest * UNITS[unit]):
        return f"{said}; no usual unit makes it a part of 0.05 to 4 m: check the model and confirm the unit"
    return f"{said}; confirm the unit"


def doubt(longest: float, scale: float) -> tuple[str | None, str | None]:
    """For a model whose stated unit makes it no likely part: (unit it may have been drawn in, warning), else Nones.

    Parameters
    ----------
    longest : float
        Longest side [file units, > 0].
    scale : float
        Metres per file unit as stated [m].
    """
    if is_plausible(longest * scale):
        return None, None
    said = f"the model is only {metres(longest * scale)} long" if longest * scale < SMALLEST else (
        f"the model is {metres(longest * scale)} long")  # fmt: skip
    unit = suggested(longest)
    if abs(log(UNITS[unit] / scale)) < 1e-6 or not is_plausible(longest * UNITS[unit]):
        return None, f"{said} in the unit that was given: check the model"
    return unit, f"{said} in the unit that was given: it may have been drawn in {NAMES[unit]}; confirm the unit"


def metres(length: float) -> str:
    """A length [m] in words, three figures, in mm below 0.1 m.

    Examples
    --------
    >>> metres(0.0012), metres(0.6), metres(15.24)
    ('1.2 mm', '0.6 m', '15.2 m')
    """
    return f"{1000 * length:.3g} mm" if length < 0.1 else f"{length:.3g} m"
