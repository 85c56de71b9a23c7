"""Versions of correction factors as the page shows them: old beside new, the ranges that go with them."""

from machines.runs import EFFECTS
from quoting.catalog import CORRECTED
from quoting.costing.recorded_range import TOLD_BY
from quoting.planning.models import FactorVersion
from quoting.quotes.runs.estimates import BY_NAME

STATED = "stated"


def of_version(version: FactorVersion | None) -> list[dict]:
    """The factors of a version that are applied, without those that change nothing once rounded."""
    return [row | {"new": row["old"]} for row in against(version, None) if row["old"] != "1.000"]


def against(held: FactorVersion | None, proposed: FactorVersion | None) -> list[dict]:
    """Every applied factor of either version: old, new, the runs behind the new one and what they showed unshrunk."""
    before, after = _factors(held), _factors(proposed)
    keys = sorted(before.keys() | after.keys(), key=_place)
    return [_row(key, before.get(key), after.get(key)) for key in keys]


def _place(key: tuple[str, str, str]) -> tuple[int, int, str]:
    measure, effect, name = key
    return CORRECTED.index(measure), EFFECTS.index(effect), name


def _factors(version: FactorVersion | None) -> dict[tuple[str, str, str], dict]:
    measures = {one["measure"]: one for one in version.measures} if version else {}
    return {
        (name, one["effect"], one["name"]): one
        for name in CORRECTED
        if name in measures
        for one in measures[name]["factors"]
    }


def _row(key: tuple[str, str, str], old: dict | None, new: dict | None) -> dict:
    measure, effect, name = key
    old_text, new_text = (_text(one["factor"] if one else 1.0) for one in (old, new))
    told = new or old or {}
    return {
        "measure": BY_NAME[measure].label, "effect": effect, "name": name, "old": old_text, "new": new_text,
        "changed": old_text != new_text, "runs": told.get("runs"), "observed": _text(told["observed"]),
    }  # fmt: skip


def _text(factor: float) -> str:
    return f"{factor:.3f}"


def ranges(held: FactorVersion | None, proposed: FactorVersion | None) -> list[dict]:
    """The range of error of each applied measure under either version."""
    before, after = _ranges(held), _ranges(proposed)
    return [
        {"measure": BY_NAME[name].label, "old": before.get(name, STATED), "new": after.get(name, STATED)}
        for name in TOLD_BY
        if name in before or name in after
    ]


def _ranges(version: FactorVersion | None) -> dict[str, str]:
    if version is None:
        return {}
    return {
        one["measure"]: f"{one['least']:.3f} to {one['most']:.3f}, from {one['runs']} recorded runs"
        if one["least"] is not None else f"{STATED}: {one['why']}"
        for one in version.measures
        if one["measure"] in TOLD_BY
    }  # fmt: skip
