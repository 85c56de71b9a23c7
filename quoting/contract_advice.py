"""Advice on a price in the command line's JSON."""

from quoting.contract_detail import money
from quoting.costing.advice import PriceAdvice, TargetAdvice
from quoting.costing.escalation import Escalation
from quoting.costing.lanes import Lanes
from quoting.costing.money import to_cent
from quoting.costing.release_size import ReleaseAdvice, ReleaseCost
from quoting.units import spoken


def advice_plain(advice: PriceAdvice | None) -> dict | None:
    """The advice in the keys of the command-line contract.

    Parameters
    ----------
    advice : PriceAdvice or None
        None where nothing is quoted [-].

    Returns
    -------
    mapping : dict or None
        Money as text [-].
    """
    if advice is None:
        return None
    return {
        "release_size": _release(advice.release),
        "resin": _resin(advice.resin),
        "target": _target(advice.target),
        "freight_from_plants": _lanes(advice.lanes),
        "ltl_packs": [{"quantity": one.quantity, "in_unit_price": money(one.in_price)} for one in advice.ltl_packs],
    }


def _release(release: ReleaseAdvice) -> dict:
    return {
        "cheapest_in_a_year": release.best.quantity,
        "saving_a_year": money(to_cent(release.saving)),
        "stock_carrying": float(release.carrying),
        "square_root_lot": release.square_root,
        "yearly": [_year(one) for one in sorted({*release.asked, release.best}, key=lambda one: one.quantity)],
    }


def _year(one: ReleaseCost) -> dict:
    return {
        "quantity": one.quantity,
        "landed_unit_price": money(one.landed_unit_price),
        "parts": money(to_cent(one.parts)),
        "stock": money(to_cent(one.stock)),
        "together": money(to_cent(one.yearly)),
    }


def _resin(resin: Escalation) -> dict:
    return {
        "threshold": float(resin.threshold),
        "clause": spoken(resin.clause),
        "effects": [
            {
                "quantity": one.quantity,
                "for_ten_percent": money(one.per_ten_percent),
                "for_one_cent_a_pound": money(one.per_cent_a_pound),
            }
            for one in resin.effects
        ],
    }


def _target(target: TargetAdvice | None) -> dict | None:
    if target is None:
        return None
    return {
        "met": target.met,
        "gap": money(target.gap),
        "said": spoken(target.said),
        "levers": [
            {
                "said": spoken(one.said),
                "quantity": one.quantity,
                "landed_unit_price": money(one.landed_unit_price),
                "reaches": one.reaches,
            }
            for one in target.levers
        ],
    }


def _lanes(lanes: Lanes) -> list[dict]:
    return [
        {
            "plant": one.plant,
            "distance_m": one.distance,
            "ltl": None if one.ltl is None else money(one.ltl),
            "truckload": money(one.truckload),
            "mode": one.mode,
        }
        for one in lanes.lanes
    ]
