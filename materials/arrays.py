"""Formulas that take one value or many side by side."""

import numpy as np

from materials.ranges import Number


def plain(value: Number) -> Number:
    """A float where floats went in, the array itself otherwise.

    Parameters
    ----------
    value : float or array
        Result of numpy operations [any unit].

    Returns
    -------
    value : float or array

    Examples
    --------
    >>> plain(np.sqrt(4.0)), plain(np.sqrt(np.array([4.0, 9.0]))).tolist()
    (2.0, [2.0, 3.0])
    """
    return value if np.ndim(value) else float(value)
