"""How stiff a hot sheet is at each temperature of its window, and as one membrane through its thickness."""

import numpy as np

from materials.arrays import as_given
from materials.polymer import Polymer
from materials.ranges import Number, OutsideRangeError, not_negative, positive

# Stiffness falls about so many powers of ten from the lower to the upper forming temperature: from memory, unverified.
DECADES_OVER_WINDOW = 1.0


def hot_modulus_at(polymer: Polymer, temperature: Number) -> Number:
    """Modulus of a hot polymer at a temperature, falling as a straight line on log paper through its window.

    ``E = E_hot 10^(-(T - T_normal)/(T_upper - T_lower))``, never above the modulus at room temperature

    Parameters
    ----------
    polymer : Polymer
        Its ``hot_modulus`` holds at its normal forming temperature [SI].
    temperature : float or array
        [K], above 0.

    Returns
    -------
    modulus : float or array
        [Pa]

    Raises
    ------
    OutsideRangeError
        The temperature is not above 0.

    Notes
    -----
    Meant for the window. Below it the line is only carried on: a sheet that cold does not hang by this modulus, and
    a semi-crystalline one stiffens at once where it freezes.

    References
    ----------
    Tenfold across the window: from memory, unverified.
    """
    positive(temperature=temperature)
    window = polymer.upper_forming_temperature - polymer.lower_forming_temperature
    warmer = np.asarray(temperature, dtype=float) - polymer.normal_forming_temperature
    modulus = polymer.hot_modulus * 10.0 ** (-DECADES_OVER_WINDOW * warmer / window)
    return as_given(np.minimum(modulus, polymer.flexural_modulus))


def membrane_modulus(polymer: Polymer, profile: np.ndarray, weights: np.ndarray | None = None) -> Number:
    """Modulus of a sheet that is not equally hot through its thickness, for a pull that stretches all of it alike.

    ``E = (1/L) integral of E(T(x)) dx``

    Parameters
    ----------
    polymer : Polymer
        [SI]
    profile : array
        Temperatures of the nodes through the thickness, along the first axis [K]; more axes are further sheets.
    weights : array, optional
        Share of the thickness that each node stands for [-], of any sum above 0; if None, evenly spaced nodes with
        one at each face (trapezoid rule).

    Returns
    -------
    modulus : float or array
        One value for each sheet [Pa].

    Raises
    ------
    OutsideRangeError
        Fewer than two nodes without weights, weights that do not match, or a temperature not above 0.

    Notes
    -----
    The colder middle of a sheet carries more than its share: the mean of the moduli lies above the modulus at the
    mean temperature.

    References
    ----------
    Layers in parallel, derived here.
    """
    moduli = np.asarray(hot_modulus_at(polymer, profile))
    shares = _shares(moduli.shape, weights)
    return as_given(np.tensordot(shares, moduli, axes=1))


def _shares(shape: tuple[int, ...], weights: np.ndarray | None) -> np.ndarray:
    """Weights that add up to 1, one for each node."""
    nodes = shape[0] if shape else 0
    if weights is None:
        if nodes < 2:
            raise OutsideRangeError("nodes of the profile", nodes, "2 or more")
        weights = np.ones(nodes)
        weights[[0, -1]] = 0.5
    weights = np.asarray(weights, dtype=float)
    if weights.shape != (nodes,):
        raise OutsideRangeError("weights", weights.shape, f"one for each of {nodes} nodes")
    not_negative(weights=weights)
    positive(sum_of_weights=float(weights.sum()))
    return weights / weights.sum()
