"""The comparison with the metal part that the plastic one replaces."""

from materials.sheet import INCH
from quoting.conversion import SKINS
from quoting.documents import labels
from quoting.documents.figures import count, figure, length, sentence

NO_LOAD = "carries no load: it is above its deflection temperature"


HARDLY_LESS = "hardly less"  # of metal in the warmth of a plastic part's use: common practice, no source
NOT_TOLD = "not told"
Row = tuple[str, str, str]


def metal_table(comparison: dict | None) -> dict | None:
    """Rows of the comparison by what they compare, or None where no metal part was named.

    Parameters
    ----------
    comparison : dict or None
        Plain ``MetalComparison``; one stored before there was more than weight and flat stiffness has no more [SI].

    Returns
    -------
    table : dict or None
        Name of the metal, groups of rows (what, metal, plastic), sentences that sum up, and what they rest on [-].

    Examples
    --------
    >>> metal_table(None) is None
    True
    """
    if comparison is None:
        return None
    metal = labels.said(comparison["metal"], labels.METALS)
    bending = comparison.get("stiffness")
    groups = [("Weight", _weight_rows(comparison)), (_bending_title(bending), _bending_rows(comparison, bending))]
    sums = [weight_words(comparison["mass_ratio"], metal)]
    if bending:
        groups.append(("Warmth", _growth_rows(comparison["growth"])))
        groups.append(("Corrosion", [("Weather and fluids", *_corrosion(comparison))]))
        groups.append(("Leaks and pieces", _joint_rows(comparison["joints"])))
        sums.append(stiffness_words(comparison["stiffness_ratio"], bending))
    return {
        "metal": metal,
        "groups": [{"title": title, "rows": rows} for title, rows in groups],
        "sums": sums,
        "assumptions": [sentence(said) for said in comparison["assumptions"]],
    }


def _weight_rows(comparison: dict) -> list[Row]:
    return [
        ("Thickness", length(comparison["metal_thickness"]), "walls as predicted"),
        ("Weight", figure(comparison["metal_mass"], "kg"), figure(comparison["plastic_mass"], "kg")),
    ]


def _bending_title(bending: dict | None) -> str:
    if not bending:
        return "Bending"
    return f"Bending; warm: at {figure(bending['service_temperature'], 'K')}, the highest temperature in use"


def _bending_rows(comparison: dict, bending: dict | None) -> list[Row]:
    flat = ("Flat strip, cold, load of minutes", "1", of_metal(comparison["stiffness_ratio"]))
    wall = comparison["equal_stiffness_wall"]
    equal = ("Flat wall of equal stiffness", length(comparison["metal_thickness"]), length(wall))
    if not bending:
        return [flat, equal]
    shape = "Two skins" if bending["shape"] == SKINS else "Grooves"
    rows = [
        ("Modulus, cold", figure(bending["metal_modulus"], "Pa"), figure(bending["modulus"], "Pa")),
        ("Modulus, warm, load of minutes", HARDLY_LESS, _modulus(bending["warm_modulus"])),
        ("Modulus, warm, load that stays", HARDLY_LESS, _modulus(bending["lasting_modulus"])),
        flat,
        ("Flat strip, warm, load of minutes", "1", _ratio(bending["warm_ratio"])),
        ("Flat strip, warm, load that stays", "1", _ratio(bending["lasting_ratio"])),
        ("Flat plate held all round, cold", "1", of_metal(bending["plate_ratio"])),
        ("Same folded outline in both, cold", "1", of_metal(bending["outline_ratio"])),
        equal,
        (f"{shape} as stiff as the flat metal, cold", "flat", f"{about(bending['equal_height'])} high"),
        (f"{shape}, warm, load that stays", "flat", _high(bending["lasting_height"])),
    ]
    if bending["drawn_height"] is not None:
        drawn = f"Two skins as drawn, {length(bending['drawn_height'])}; warm, load that stays"
        rows.append((drawn, "1", _ratio(bending["drawn_ratio"])))
    return rows


def of_metal(ratio: float) -> str:
    """A stiffness beside the metal's.

    >>> of_metal(0.0342), of_metal(12.0)
    ('0.034 of the metal', '12 times the metal')
    """
    return f"{ratio:.2g} of the metal" if ratio < 1 else f"{ratio:.3g} times the metal"


def _ratio(ratio: float | None) -> str:
    return NO_LOAD if ratio is None else of_metal(ratio)


def _high(height: float | None) -> str:
    return NO_LOAD if height is None else f"{about(height)} high"


def _growth_rows(growth: dict) -> list[Row]:
    side = f"{length(growth['length'])} side grows, {figure(growth['rise'], 'delta_K')} warmer than at assembly"
    return [(side, about(growth["metal"]), about(growth["plastic"]))]


def about(value: float) -> str:
    """A length to two digits: all that a screening figure holds.

    >>> about(0.02197), about(0.00043)
    ('0.86 in (22 mm)', '0.017 in (0.43 mm)')
    """
    return f"{_two_digits(value / INCH)} in ({_two_digits(value * 1000)} mm)"


def _two_digits(value: float) -> str:
    return f"{float(f'{value:.2g}'):g}"


def _modulus(modulus: float | None) -> str:
    return NO_LOAD if modulus is None else figure(modulus, "Pa")


def _corrosion(comparison: dict) -> tuple[str, str]:
    return sentence(comparison["metal_corrosion"]), " ".join(sentence(one) for one in comparison["plastic_corrosion"])


def _joint_rows(joints: dict) -> list[Row]:
    seams = joints["metal_seam_length"]
    box = f"{NOT_TOLD}; the four corners of a box this deep: {length(joints['box_seam_length'])}"
    own = joints["plastic_seam_length"]
    pieces = "one formed piece" + (f", {joints['added_pieces']} added to it" if joints["added_pieces"] else "")
    return [
        (
            "Seams in the skin",
            box if seams is None else length(seams),
            f"{length(own)} of weld around" if own else "none",
        ),
        ("Welds", _told(joints["metal_welds"]), "the rim, welded as it is formed" if own else "none"),
        ("Trimmed openings and holes", "the same", count(joints["cut_openings"])),
        ("Pieces", _told(joints["metal_parts"]), pieces),
    ]


def _told(number: int | None) -> str:
    return NOT_TOLD if number is None else count(number)


def stiffness_words(ratio: float, bending: dict) -> str:
    """How much further flat plastic bends, and what shape makes up for it.

    Examples
    --------
    >>> stiffness_words(1.5, {})
    'A flat wall of it bends less than the flat metal under the same load.'
    """
    if ratio >= 1:
        return "A flat wall of it bends less than the flat metal under the same load."
    shape = "two skins that act together" if bending["shape"] == SKINS else "grooves"
    said = f"A flat wall of it bends {1 / ratio:.2g} times as far as the flat metal under the same load; {shape} "
    said += f"{about(bending['equal_height'])} high make up for it"
    if bending["lasting_height"] is None:
        return f"{said} when cold. It carries no load at {figure(bending['service_temperature'], 'K')}."
    warm = figure(bending["service_temperature"], "K")
    return f"{said} when cold, {about(bending['lasting_height'])} at {warm} under a load that stays."


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
