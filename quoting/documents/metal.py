"""The comparison with the metal part that the plastic one replaces."""

from quoting.documents import labels
from quoting.documents.figures import figure, length, sentence


def metal_table(comparison: dict | None) -> dict | None:
    """Rows of the comparison, or None where no metal part was named.

    Parameters
    ----------
    comparison : dict or None
        Plain ``MetalComparison`` [SI].

    Returns
    -------
    table : dict or None
        Name of the metal, rows of (what, metal, plastic), and the sentences it rests on [-].

    Examples
    --------
    >>> metal_table(None) is None
    True
    """
    if comparison is None:
        return None
    metal = labels.said(comparison["metal"], labels.METALS)
    wall = comparison["equal_stiffness_wall"]
    return {
        "metal": metal,
        "rows": [
            ("Thickness", length(comparison["metal_thickness"]), "walls as predicted above"),
            ("Weight", figure(comparison["metal_mass"], "kg"), figure(comparison["plastic_mass"], "kg")),
            ("Bending stiffness of a flat strip", "1", f"{comparison['stiffness_ratio']:.3g} of the metal"),
            ("Flat wall of equal stiffness", length(comparison["metal_thickness"]), length(wall)),
        ],
        "verdict": weight_words(comparison["mass_ratio"], metal),
        "assumptions": [sentence(said) for said in comparison["assumptions"]],
    }  # fmt: skip


def weight_words(ratio: float, metal: str) -> str:
    """Lighter or heavier, as it is.

    Examples
    --------
    >>> weight_words(0.614, "steel")
    'The plastic part is 39 % lighter than the steel part.'
    >>> weight_words(1.248, "aluminium")
    'The plastic part is 25 % heavier than the aluminium part.'
    """
    share = round(abs(1 - ratio) * 100)
    if not share:
        return f"The plastic part weighs as much as the {metal} part."
    return f"The plastic part is {share} % {'lighter' if ratio < 1 else 'heavier'} than the {metal} part."
