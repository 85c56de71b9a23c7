"""One definition of a formula for one value and for many side by side."""

import numpy as np

from materials.ranges import Number


def as_given(value: np.ndarray) -> Number:
    """What numpy made of some numbers: a plain float where all were plain, the array otherwise.

    Parameters
    ----------
    value : float or array
        [any unit]

    Returns
    -------
    value : float or array
        [the same]

    Examples
    --------
    >>> as_given(np.minimum(2.0, 1.0)), as_given(np.minimum([2.0, 3.0], 2.5))
    (1.0, array([2. , 2.5]))
    """
    return value if np.ndim(value) else float(value)
