"""The answer in the two forms that leave the core: the command line's JSON, and the stored snapshot."""

import json
from dataclasses import fields, is_dataclass
from datetime import date, time, tzinfo
from decimal import Decimal
from functools import cache
from hashlib import sha256

from quoting.answer import Answer, PricedCandidate
from quoting.contract_advice import advice_plain
from quoting.contract_detail import metal_plain, money, pace_plain, range_plain, tooling_terms
from quoting.contract_lead import lead_plain, tool_room_plain
from quoting.intake.reading_result import InputErrors
from quoting.routing.verdict import Verdict
from quoting.units import spoken
from quoting.words import Words

_AS_IT_IS = frozenset((str, int, float, bool, type(None)))
_PROPERTIES = ("fits", "passed", "cavities", "ranking_price")


def to_plain(value: object) -> object:
    """Any value of the answer as plain JSON: dataclass to mapping, tuple to list, Decimal and date to text.

    What stands in the answer many times (a plant, a polymer, one and the same verdict) becomes one shared mapping.

    Parameters
    ----------
    value : object
        A dataclass tree, as ``Answer`` [-].

    Returns
    -------
    plain : object
        Mappings, lists, texts, numbers, booleans and None [-].

    Examples
    --------
    >>> to_plain((Decimal("1.50"), date(2026, 11, 25)))
    ['1.50', '2026-11-25']
    """
    return _Plain().of(value)


class _Plain:
    def __init__(self) -> None:
        self._by_identity: dict[int, object] = {}
        self._by_value: dict[object, object] = {}

    def of(self, value: object) -> object:
        if type(value) in _AS_IT_IS:  # by far the most
            return value
        if is_dataclass(value):
            return self._shared(value)
        if isinstance(value, tuple):
            return [self.of(one) for one in value]
        if isinstance(value, Decimal):
            return format(value, "f")
        if isinstance(value, date | time):
            return value.isoformat()
        if isinstance(value, tzinfo):
            return str(value)
        return value

    def _shared(self, value: object) -> object:
        if isinstance(value, Words):  # made when they are asked for, and gone again: nothing but their value stays
            return self._alike(value)
        # What is passed along is recognised by identity, as the answer keeps it alive meanwhile. Verdicts are also made
        # anew for each candidate, so those not met before are looked up by value.
        key = id(value)
        if key not in self._by_identity:
            self._by_identity[key] = self._alike(value) if isinstance(value, Verdict) else self._mapping(value)
        return self._by_identity[key]

    def _alike(self, value: Verdict | Words) -> dict:
        if value not in self._by_value:
            self._by_value[value] = self._mapping(value)
        return self._by_value[value]

    def _mapping(self, value: object) -> dict:
        unwritten = getattr(type(value), "UNWRITTEN", ())
        return {
            name: self.of(getattr(value, name))
            for name in _names(type(value))
            if name not in unwritten or getattr(value, name)
        }


@cache
def _names(kind: type) -> tuple[str, ...]:
    """What is stored of a kind of value: its fields, and what is worked out of them."""
    stored = getattr(kind, "SHOWN", None) or tuple(field.name for field in fields(kind))
    return stored + tuple(name for name in _PROPERTIES if hasattr(kind, name))


def canonical(plain: object) -> str:
    """One text for one content: sorted keys, no spaces, no non-finite numbers.

    Parameters
    ----------
    plain : object
        Plain JSON values [-].

    Returns
    -------
    text : str
        [-]
    """
    return json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest(plain: object) -> str:
    """SHA-256 of the canonical text, in hexadecimal [-].

    Parameters
    ----------
    plain : object
        Plain JSON values [-].

    Returns
    -------
    digest : str
        64 hexadecimal digits [-].
    """
    return sha256(canonical(plain).encode()).hexdigest()


def bad_input(errors: InputErrors) -> dict:
    """The command line's JSON for a bad input.

    Parameters
    ----------
    errors : InputErrors
        [-]

    Returns
    -------
    answer : dict
        [-]
    """
    return {
        "decision": "bad_input",
        "errors": [{"field": error.field, "given": error.given, "message": error.message} for error in errors.errors],
    }


def to_contract(answer: Answer) -> dict:
    """The answer in the keys of the command-line contract; sentences are filled in both unit systems.

    Parameters
    ----------
    answer : Answer
        [-]

    Returns
    -------
    mapping : dict
        Ready for JSON [-].
    """
    said = {}  # candidates share most of their verdicts, and filling sentences takes longest
    return {
        "decision": answer.decision,
        "summary": spoken(answer.summary),
        **_making(answer.chosen),
        **pace_plain(answer.pace),
        "candidates": [_candidate(one, said) for one in answer.candidates],
        "referral": (
            {"process": answer.referral.process, "why": spoken(answer.referral.why)} if answer.referral else None
        ),
        "metal_comparison": metal_plain(answer.metal_comparison),
        "range": range_plain(answer.range),
        "price_advice": advice_plain(answer.advice),
        "conditions": [{"what": spoken(one.what), "why": spoken(one.why)} for one in answer.conditions],
        "missing": [{"field": one.field, "why": one.why} for one in answer.missing],
        "assumptions": [{"field": one.field, "value": spoken(one.value), "why": one.why} for one in answer.assumptions],
        "cautions": [
            *answer.cautions,
            *(spoken(hazard) for hazard in answer.hazards),
            *(spoken(doubt.text) for doubt in answer.doubts),
        ],
    }


_NOTHING_CHOSEN = {
    "process": None, "plant": None, "machine": None, "polymer": None, "blank": None, "thinning": None,
    "heating": None, "cooling": None, "cycle": None, "press": None, "price_breaks": [], "lead_times": [],
    "cost_lines": [], "tooling": [], "tool_room": None, "tooling_options": [], "tooling_terms": None, "packing": None,
}  # fmt: skip


def _making(chosen: PricedCandidate | None) -> dict:
    if chosen is None:
        return dict(_NOTHING_CHOSEN)
    candidate = chosen.judged.planned.candidate
    return _named(candidate) | _forming(chosen) | _money(chosen)


def _named(candidate: object) -> dict:
    return {
        "process": candidate.process,
        "plant": candidate.plant.name,
        "machine": candidate.machine.code,
        "polymer": candidate.polymer.name,
    }


def _forming(chosen: PricedCandidate) -> dict:
    planned = chosen.judged.planned
    layout, plan = planned.candidate.layout, planned.plan
    return {
        "blank": {
            "length_m": layout.blank_length,
            "width_m": layout.blank_width,
            "gauge_m": planned.candidate.gauge,
            "cavities_along": layout.along,
            "cavities_across": layout.across,
            "mass_kg": plan.blank_mass,
            "selvedge_fraction": plan.selvedge_fraction,
        },
        "thinning": {
            "areal_draw_ratio": plan.thinning.areal_draw_ratio,
            "mean_wall_m": plan.thinning.mean_wall,
            "thinnest_wall_m": plan.thinning.thinnest_wall,
            "method": plan.thinning.method,
        },
        "heating": {
            "time_s": plan.heating.time,
            "upper_heater_K": plan.heating.upper_heater,
            "lower_heater_K": plan.heating.lower_heater,
            "surface_peak_K": plan.heating.surface_peak,
            "core_at_exit_K": plan.heating.core_at_exit,
            "energy_J": plan.blank_energy,
            "sag_m": plan.sag,
        },
        # The contract's release temperature is the temperature at which the part may leave the tool.
        "cooling": {"time_s": plan.cooling.time, "release_temperature_K": plan.cooling.demould_temperature},
        "cycle": {
            "stations": [{"name": station.name, "time_s": station.time} for station in plan.cycle.stations],
            "index_s": plan.cycle.index,
            "governing_station": plan.cycle.governing_station,
            "parts_per_hour": plan.cycle.parts_per_hour,
        },
        "press": {
            "projected_area_m2": plan.press.projected_area,
            "pressure_Pa": plan.press.pressure,
            "force_N": plan.press.force,
            "lock_force_N": plan.press.lock_force,
        },
    }


def _money(chosen: PricedCandidate) -> dict:
    cost = chosen.cost
    in_room = {one.name: one.hours for one in cost.tool_room.lines}
    return {
        "price_breaks": [
            {
                "quantity": one.quantity,
                "unit_price": money(one.unit_price),
                "freight_per_part": money(one.freight_per_part),
                "landed_unit_price": money(one.landed_unit_price),
                "setup_per_part": money(one.setup_per_part),
                "lead_time_weeks": one.lead_time_weeks,
            }
            for one in cost.breaks
        ],
        "lead_times": lead_plain(cost.breaks),
        "cost_lines": [
            {"quantity": one.quantity, "name": one.name, "per_part": money(one.per_part), "basis": one.basis}
            for one in cost.lines
        ],
        "tooling": [
            {
                "name": one.name,
                "price": money(one.price),
                "lead_time_weeks": one.lead_time_weeks,
                "tool_room_hours": in_room.get(one.name, 0.0),
                "basis": one.basis,
            }
            for one in cost.tooling
        ],
        "tool_room": tool_room_plain(cost.tool_room),
        "tooling_options": [
            {
                "name": one.name,
                "low": money(one.low),
                "high": money(one.high),
                "lead_time_weeks": one.lead_time_weeks,
                "basis": one.basis,
            }
            for one in cost.options
        ],
        "tooling_terms": tooling_terms(cost.amortised),
        "packing": {
            "parts_per_pallet": cost.packing.parts_per_pallet,
            "pallets": cost.packing.pallets,
            "density_pcf": cost.packing.density_pcf,
            "freight_class": cost.packing.freight_class,
            "mode": cost.packing.mode,
            "distance_m": cost.packing.distance,
        },
    }


def _candidate(one: PricedCandidate, said: dict[int, dict]) -> dict:
    for verdict in one.judged.verdicts:
        if id(verdict) not in said:
            said[id(verdict)] = verdict_plain(verdict)
    return _named(one.judged.planned.candidate) | {
        "fits": one.judged.fits,
        "landed_unit_price": money(one.cost.ranking_price) if one.cost else None,
        "first_release_arrives": one.cost.breaks[0].arrives.isoformat() if one.cost else None,
        "verdicts": [said[id(verdict)] for verdict in one.judged.verdicts],
    }


def verdict_plain(verdict: Verdict) -> dict:
    """One verdict with its sentences filled.

    Parameters
    ----------
    verdict : Verdict
        [-]

    Returns
    -------
    mapping : dict
        In the contract's keys [-].
    """
    return {
        "rule": verdict.rule,
        "passed": verdict.passed,
        "measured": verdict.measured,
        "limit": verdict.limit,
        "unit": verdict.unit,
        "reason": spoken(verdict.reason),
        "remedy": spoken(verdict.remedy),
    }
