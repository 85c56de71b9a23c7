"""Parts of the command-line JSON that go deep: range of error, tooling terms, pace, comparison with metal."""

from decimal import Decimal

from quoting.conversion import Joints, MetalComparison, Stiffness
from quoting.costing.cost_range import Band, CostRange, ReleaseRange
from quoting.costing.lines import Amortised
from quoting.costing.money import LINE_STEP
from quoting.costing.pace import Pace, Resource
from quoting.units import spoken


def money(amount: Decimal) -> str:
    """Money as text with at least two decimals and no needless further ones.

    Parameters
    ----------
    amount : Decimal
        [$]

    Returns
    -------
    text : str
        [-]

    Examples
    --------
    >>> money(Decimal("12.5000")), money(Decimal("0.1234"))
    ('12.50', '0.1234')
    """
    exact = format(amount.normalize(), "f")
    whole, _, decimals = exact.partition(".")
    return f"{whole}.{decimals.ljust(2, '0')}"


def range_plain(found: CostRange | None) -> dict | None:
    """The range of error in the contract's keys.

    Parameters
    ----------
    found : CostRange or None
        [$]

    Returns
    -------
    mapping : dict or None
        Ready for JSON [-].
    """
    if found is None:
        return None
    return {
        "low_percentile": found.low_percent,
        "high_percentile": found.high_percent,
        "draws": found.draws,
        "seed": found.seed,
        "distribution": found.distribution,
        "releases": [_release(one) for one in found.releases],
        "inputs": [
            {"name": one.name, "moves": one.moves, "least": one.least, "most": one.most, "source": one.source}
            for one in found.inputs
        ],
        "not_varied": list(found.not_varied),
        "neglected": list(found.neglected),
    }


def _release(one: ReleaseRange) -> dict:
    effects = [
        {
            "name": effect.name,
            "share_of_variance": effect.share,
            "landed_at_least": money(effect.at_least),
            "landed_at_most": money(effect.at_most),
            "swing": money(effect.swing),
        }
        for effect in one.effects
    ]
    return {
        "quantity": one.quantity,
        "manufacturing_cost": _band(one.cost),
        "landed_unit_price": _band(one.landed),
        "margin_kept": {key: float(value) for key, value in _parts(one.margin).items()},
        "mean_landed_unit_price": money(one.mean),
        "share_dearer_than_estimate": one.dearer,
        "matters_most": [effect.name for effect in one.matter_most],
        "effects": effects,
    }


def _parts(band: Band) -> dict[str, Decimal]:
    return {"low": band.low, "likely": band.likely, "high": band.high}


def _band(band: Band) -> dict[str, str]:
    return {key: money(value) for key, value in _parts(band).items()}


def metal_plain(comparison: MetalComparison | None) -> dict | None:
    """The comparison with metal in the contract's keys.

    Parameters
    ----------
    comparison : MetalComparison or None
        [SI]

    Returns
    -------
    mapping : dict or None
        Ready for JSON [-].
    """
    if comparison is None:
        return None
    growth = comparison.growth
    return {
        "metal": comparison.metal,
        "metal_thickness_m": comparison.metal_thickness,
        "metal_mass_kg": comparison.metal_mass,
        "plastic_mass_kg": comparison.plastic_mass,
        "mass_ratio": comparison.mass_ratio,
        "stiffness_ratio": comparison.stiffness_ratio,
        "equal_stiffness_wall_m": comparison.equal_stiffness_wall,
        "stiffness": _stiffness(comparison.stiffness),
        "growth": growth
        and {
            "length_m": growth.length,
            "rise_K": growth.rise,
            "metal_m": growth.metal,
            "plastic_m": growth.plastic,
        },
        "joints": _joints(comparison.joints),
        "metal_corrosion": comparison.metal_corrosion and spoken(comparison.metal_corrosion),
        "plastic_corrosion": [spoken(one) for one in comparison.plastic_corrosion],
        "assumptions": [spoken(one) for one in comparison.assumptions],
    }


def _stiffness(one: Stiffness | None) -> dict | None:
    return one and {
        "metal_modulus_Pa": one.metal_modulus,
        "modulus_Pa": one.modulus,
        "warm_modulus_Pa": one.warm_modulus,
        "lasting_modulus_Pa": one.lasting_modulus,
        "service_temperature_K": one.service_temperature,
        "plate_ratio": one.plate_ratio,
        "outline_ratio": one.outline_ratio,
        "warm_ratio": one.warm_ratio,
        "lasting_ratio": one.lasting_ratio,
        "shape": one.shape,
        "equal_height_m": one.equal_height,
        "lasting_height_m": one.lasting_height,
        "drawn_height_m": one.drawn_height,
        "drawn_ratio": one.drawn_ratio,
    }


def _joints(one: Joints | None) -> dict | None:
    return one and {
        "metal_parts": one.metal_parts,
        "metal_welds": one.metal_welds,
        "metal_seam_length_m": one.metal_seam_length,
        "box_seam_length_m": one.box_seam_length,
        "formed_pieces": one.formed_pieces,
        "added_pieces": one.added_pieces,
        "plastic_seam_length_m": one.plastic_seam_length,
        "cut_openings": one.cut_openings,
    }


def tooling_terms(amortised: Amortised | None) -> dict:
    """How the tooling is paid: by itself, or in the price of the first parts.

    Parameters
    ----------
    amortised : Amortised or None
        [$]

    Returns
    -------
    mapping : dict
        In the contract's keys [-].
    """
    if amortised is None:
        return {"paid": "separate"}
    return {
        "paid": "amortised",
        "parts": amortised.parts,
        "per_part": money(amortised.per_part),
        "tooling": money(amortised.tooling),
        "carrying_charge": money(amortised.carrying),
        "carrying_rate_per_year": float(amortised.rate),
    }


def pace_plain(pace: Pace | None) -> dict:
    """Which of former and trimmer is the bottleneck, and the ways of trimming side by side.

    Parameters
    ----------
    pace : Pace or None
        [1/h, s, $]

    Returns
    -------
    mapping : dict
        In the contract's keys [-].
    """
    if pace is None:
        return {"bottleneck": None, "trim_ways": []}
    return {
        "bottleneck": {
            "governs": pace.governs,
            "former": _resource(pace.former),
            "trimmer": _resource(pace.trimmer),
        },
        "trim_ways": [
            {
                "kind": one.kind,
                "name": one.code,
                "plant": one.plant,
                "used": one.used,
                "cutting_s": one.cutting,
                "cycle_s": one.cycle,
                "parts_per_hour": one.parts_per_hour,
                "cost_per_part": money(one.per_part.quantize(LINE_STEP)),
                "setup_per_release": money(one.setup.quantize(LINE_STEP)),
                "fixtures": money(one.fixtures),
            }
            for one in pace.ways
        ],
    }


def _resource(one: Resource) -> dict:
    return {"kind": one.kind, "name": one.code, "plant": one.plant, "parts_per_hour": one.parts_per_hour}
