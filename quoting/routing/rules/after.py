"""What happens after forming: trimming and further operations."""

from machines.envelope import Room, room_on_table, routers
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import COMMON, at_most, plain, verdict
from quoting.routing.verdict import Verdict


def router_takes_part(planned: PlannedCandidate) -> Verdict:
    """A part that no table here takes is trimmed at a sister plant or by hand, which the quote must say."""
    part, trim, plant = planned.request.part, planned.plan.trim, planned.candidate.plant
    rooms = [room_on_table(part.length, part.width, part.depth, router) for router in routers(plant.trimmers)]
    room = max(rooms, key=lambda one: one.spare, default=Room(max(part.length, part.width), 0.0))
    here = "the router here takes {limit}" if rooms else "the plant has no router"
    return verdict(
        "router envelope",
        trim.trimmer is not None,
        room.needed,
        room.given,
        "m",
        reason="in its tighter direction the part needs {measured} and the best router of the plant takes {limit}"
        if rooms
        else "the part is {measured} long and the plant has no router for it ({limit})",
        remedy="a router that takes {measured}, a hand bench, or a part in two pieces",
        basis="the plant's own data",
        condition=_trim_condition(planned, here),
    )


def operations_here(planned: PlannedCandidate) -> Verdict:
    """What the plant cannot do itself is bought in or done at a sister plant."""
    asked = tuple(dict.fromkeys(item.operation for item in planned.request.secondary))
    absent = tuple(operation for operation in asked if operation not in planned.candidate.plant.assembly)
    listed = ", ".join(operation.replace("_", " ") for operation in absent)
    return verdict(
        "operations after forming",
        True,
        len(asked) - len(absent),
        len(asked),
        "count",
        reason="the plant does {measured} of the {limit} kinds of operation asked",
        remedy="a plant that does them all" if absent else "nothing",
        basis=COMMON,
        condition=f"subcontracted or done at a sister plant: {listed}" if absent else None,
    )


def solvent_takes_polymer(planned: PlannedCandidate) -> Verdict:
    """A solvent softens an amorphous polymer and so cements it; polyethylene, polypropylene and the like it leaves."""
    asked = sum(item.count for item in planned.request.secondary if item.operation == "solvent_bond")
    return at_most(
        "solvent bonds",
        asked,
        0 if planned.candidate.polymer.semicrystalline else asked,
        "count",
        reason="solvent bonds asked: {measured}; this polymer takes {limit}",
        remedy="hot-plate welds, rivets or inserts in place of solvent bonds, or an amorphous polymer",
        basis="no solvent cements a semi-crystalline polymer at the bench: from memory, unverified",
    )


def _trim_condition(planned: PlannedCandidate, here: str) -> str | None:
    trim = planned.plan.trim
    if trim.moves:
        return f"trimmed at the sister plant {plain(trim.plant)}: {{measured}} is needed, {here}"
    if trim.trimmer is not None and trim.trimmer.kind == "hand":
        return f"trimmed by hand: {{measured}} is needed and {here}"
    return None
