"""What an hour costs from a day on: labour of a plant, and each machine and trimmer without people."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from machines.machine import Machine, Plant, Trimmer

LABOUR, INSPECTOR, MACHINE, TRIMMER = "labour", "inspector", "machine", "trimmer"
KINDS = (LABOUR, INSPECTOR, MACHINE, TRIMMER)

Key = tuple[str, str, str]  # kind, plant, code of the machine or trimmer (empty for labour and inspector)


@dataclass(frozen=True)
class HourRate:
    """One hour rate from a day on. ``code`` names the machine or trimmer; it is empty for labour and inspector."""

    kind: str
    plant: str
    code: str
    rate: Decimal  # $/h
    valid_from: date
    source: str

    @property
    def key(self) -> Key:
        return self.kind, self.plant, self.code


def in_force(rates: Iterable[HourRate], on: date) -> dict[Key, HourRate]:
    """Of several rates for one plant, machine or trimmer the newest that has begun.

    Parameters
    ----------
    rates : Iterable
        Dated rates in any order [-].
    on : date
        Day asked for; a rate counts from its own first day [-].

    Returns
    -------
    newest : dict
        key -> HourRate, without those that have not begun [-].

    Examples
    --------
    >>> begins = {31: date(2026, 1, 1), 33: date(2026, 7, 1)}
    >>> rows = [HourRate("labour", "P-1", "", Decimal(rate), day, "") for rate, day in begins.items()]
    >>> [str(in_force(rows, date(2026, month, 30))["labour", "P-1", ""].rate) for month in (6, 7)]
    ['31', '33']
    """
    newest: dict[Key, HourRate] = {}
    for one in sorted(rates, key=lambda one: one.valid_from):
        if one.valid_from <= on:
            newest[one.key] = one
    return newest


def with_rates(plant: Plant, now: Mapping[Key, HourRate]) -> Plant:
    """The plant with the hour rates in force in place of its own; where none has begun, its own stand.

    Parameters
    ----------
    plant : Plant
        The plant with its trimmers, as entered [-].
    now : Mapping
        Rates in force, as ``in_force`` gives them [-].

    Returns
    -------
    plant : Plant
        With the labour and inspector rate and the trimmers' hour rates of that day [-].
    """
    return replace(
        plant,
        labour_rate=_rate(now, (LABOUR, plant.code, ""), plant.labour_rate),
        inspector_rate=_rate(now, (INSPECTOR, plant.code, ""), plant.inspector_rate),
        trimmers=tuple(_trimmer(plant.code, one, now) for one in plant.trimmers),
    )


def machine_with_rate(machine: Machine, now: Mapping[Key, HourRate]) -> Machine:
    """The machine with the hour rate in force in place of its own; where none has begun, its own stands.

    Parameters
    ----------
    machine : Machine
        The machine as entered [-].
    now : Mapping
        Rates in force, as ``in_force`` gives them [-].

    Returns
    -------
    machine : Machine
        With the hour rate of that day [-].
    """
    return replace(machine, hour_rate=_rate(now, (MACHINE, machine.plant, machine.code), machine.hour_rate))


def _trimmer(plant: str, trimmer: Trimmer, now: Mapping[Key, HourRate]) -> Trimmer:
    return replace(trimmer, hour_rate=_rate(now, (TRIMMER, plant, trimmer.code), trimmer.hour_rate))


def _rate(now: Mapping[Key, HourRate], key: Key, own: Decimal) -> Decimal:
    return now[key].rate if key in now else own
