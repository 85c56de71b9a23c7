"""Hour rates of plants, machines and trimmers as the tables hold them."""

from collections.abc import Iterable
from decimal import Decimal
from difflib import get_close_matches

from machines import selectors
from machines.hour_rates import INSPECTOR, LABOUR, MACHINE, TRIMMER, Key
from machines.models import MACHINE_RANGES, PLANT_RANGES, TRIMMER_RANGES, HourRate, Machine, Plant, Trimmer
from materials.amounts import trimmed
from quoting.intake.rate_rows import hour_subject
from quoting.intake.rate_tables import CODE, HOURLY, PLANT, Entry, Figure, WrongCell
from quoting.quotes.rates.changes import Kept, Preview
from quoting.units import shortened

OWN_SOURCE = "plant data, undated"
RANGES = {
    LABOUR: PLANT_RANGES["labour_rate"],
    INSPECTOR: PLANT_RANGES["inspector_rate"],
    MACHINE: MACHINE_RANGES["hour_rate"],
    TRIMMER: TRIMMER_RANGES["hour_rate"],
}


def own_rates() -> dict[Key, Decimal]:
    """The undated rate of every plant, machine and trimmer; three queries."""
    found: dict[Key, Decimal] = {}
    for plant in Plant.objects.order_by("code"):
        found[LABOUR, plant.code, ""] = plant.labour_rate
        found[INSPECTOR, plant.code, ""] = plant.inspector_rate
    for kind, model in ((MACHINE, Machine), (TRIMMER, Trimmer)):
        for plant, code, rate in model.objects.order_by("code").values_list("plant__code", "code", "hour_rate"):
            found[kind, plant, code] = rate
    return found


class HourBook:
    """The table of labour and machine hours."""

    def timelines(self) -> dict[str, tuple[Kept, ...]]:
        """Every rate: the undated one first, then the dated ones; four queries."""
        found = {}
        for key, rate in sorted(own_rates().items(), key=lambda one: one[0][1]):
            found[hour_subject(*key)] = (_kept(None, rate, OWN_SOURCE, key),)
        for one in selectors.dated_hour_rates():
            subject = hour_subject(*one.key)
            found[subject] = (*found.get(subject, ()), _kept(one.valid_from, one.rate, one.source, one.key))
        return found

    def refused(self, entries: Iterable[Entry]) -> list[WrongCell]:
        """Plants, machines and trimmers that the house has not, and rates that are a typing slip."""
        known, wrong = own_rates(), []
        for one in entries:
            kind, plant, code = one.of
            least, most = RANGES[kind]
            if one.of not in known:
                wrong.append(_unknown(one, known))
            elif not least <= one.figures[0].value <= most:
                accepted = f"dollars an hour from {least} to {most:,}"
                wrong.append(WrongCell(one.rows[0], HOURLY, shortened(one.figures[0].text), accepted))
        return wrong

    def refused_together(self, preview: Preview) -> list[WrongCell]:
        """Hour rates do not contradict each other."""
        return []

    def write(self, entry: Entry, source: str) -> None:
        kind, plant, code = entry.of
        named = {"plant": Plant.objects.get(code=plant), "kind": kind, "code": code, "valid_from": entry.valid_from}
        row = HourRate.objects.filter(**named).first() or HourRate(**named)
        row.rate, row.source = entry.figures[0].value, source
        row.full_clean()
        row.save()


def _kept(begins: object, rate: Decimal, source: str, key: Key) -> Kept:
    return Kept(begins, (Figure(HOURLY, str(trimmed(rate)), rate),), source, of=key)


def _unknown(entry: Entry, known: dict[Key, Decimal]) -> WrongCell:
    kind, plant, code = entry.of
    plants = sorted({key[1] for key in known})
    if plant not in plants:
        return WrongCell(entry.rows[0], PLANT, shortened(plant), "the code of a plant: " + ", ".join(plants))
    codes = [key[2] for key in known if key[:2] == (kind, plant)]
    near = get_close_matches(code, codes, n=1)
    hint = f"; did you mean {near[0]}?" if near else ": " + (", ".join(codes) or "there is none")
    return WrongCell(entry.rows[0], CODE, shortened(code), f"the code of a {kind} of {plant}{hint}")
