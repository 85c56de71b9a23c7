"""What the machine can do: twin-sheet, a pressure box, a lock that holds."""

from machines.press import (
    AMPLE_LOCK_MARGIN,
    LEAST_LOCK_MARGIN,
    LEAST_PRESSURE,
    force,
    force_on_lock,
    highest_pressure,
    lock_margin,
)
from quoting.routing.blank_plan import pressure_on_sheet
from quoting.routing.candidate import PlannedCandidate, Press
from quoting.routing.rules.comparing import COMMON, at_least, at_most, either, reaches
from quoting.routing.verdict import Verdict

MACHINE = "the machine's own data"
LOCK_BASIS = f"force = pressure x {{}}; margin of the lock: {COMMON}"


def twin_sheet_machine(planned: PlannedCandidate) -> Verdict:
    """Two sheets need two platens with tools and the timing between them."""
    twin = planned.candidate.process == "twin_sheet"
    if twin and planned.request.part.tool_side == "male":
        return at_most(
            "twin-sheet machine",
            1,
            0,
            "count",
            reason="{measured} male tool is asked for; two sheets are drawn into two female tools, with no room for "
            "a male one between them ({limit})",
            remedy="female tools for a part of two skins; or one sheet, vacuum formed over the male tool",
            basis="two sheets are drawn apart, by definition of the process",
        )
    needed = 2 if twin else 1
    return at_least(
        "twin-sheet machine",
        2 if planned.candidate.machine.twin_sheet else 1,
        needed,
        "count",
        reason="the machine forms {measured} sheet into one part and this process needs {limit}",
        remedy="a machine built for twin-sheet",
        basis=MACHINE,
    )


def pressure_box(planned: PlannedCandidate) -> Verdict:
    """Pressure forming needs a box, and air of the pressure that the detail asks for."""
    process, machine = planned.candidate.process, planned.candidate.machine
    needs_box, works_at = process == "pressure", machine.pressure_capability
    return at_most(
        "pressure box",
        pressure_on_sheet(planned.request.part, process, machine) if needs_box else 0.0,
        works_at,
        "Pa",
        reason="this process needs a pressure box for {measured} and the machine has "
        + ("one for {limit}" if works_at else "none ({limit})"),
        remedy="a machine whose pressure box works at {measured}" if needs_box else "none is needed",
        basis=f"{MACHINE}; forming pressure: common practice, no source",
    )


def lock_holds_parts(planned: PlannedCandidate) -> Verdict:
    """Air on the parts opens the platens; a vacuum under the sheet does not."""
    press, process = planned.plan.press, planned.candidate.process
    opening = force_on_lock(process, press.pressure, press.projected_area)
    highest = highest_pressure(press.lock_force, press.projected_area)
    return at_most(
        "press force",
        opening,
        press.lock_force,
        "N",
        reason="{pressure} on {area} of part opens the platens with {measured}; the lock holds {limit}"
        if process != "vacuum"
        else "a vacuum does not open the platens: the lock must hold {measured} and holds {limit}",
        remedy=_ease_lock(planned, opening, highest),
        basis=LOCK_BASIS.format("projected area"),
        # the box is larger than the parts in it, so there the margin is judged on the box
        **(_margin(press, press.projected_area) if process == "twin_sheet" else {}),
        pressure=(press.pressure, "Pa"),
        area=(press.projected_area, "m2"),
        highest=(highest, "Pa"),
    )


def lock_holds_box(planned: PlannedCandidate) -> Verdict:
    """The pressure box is sealed around the whole blank, so the air works on more than the parts."""
    press = planned.plan.press
    boxed = planned.candidate.process == "pressure"
    opening = force_on_lock("pressure", press.pressure, press.box_area) if boxed else 0.0
    highest = highest_pressure(press.lock_force, press.box_area)
    return at_most(
        "pressure box seal",
        opening,
        press.lock_force,
        "N",
        reason="{pressure} on the {area} inside the seal opens the platens with {measured}; the lock holds {limit}"
        if boxed
        else "no pressure box is used: the lock must hold {measured} and holds {limit}",
        remedy=_ease_lock(planned, opening, highest),
        basis=LOCK_BASIS.format("area inside the seal"),
        **(_margin(press, press.box_area) if boxed else {}),
        pressure=(press.pressure, "Pa"),
        area=(press.box_area, "m2"),
        highest=(highest, "Pa"),
    )


def _ease_lock(planned: PlannedCandidate, opening: float, highest: float) -> str:
    """What helps where a lock gives way [N, Pa]: fewer parts only where there are several, and no useless pressure."""
    press, part, process = planned.plan.press, planned.request.part, planned.candidate.process
    parts = round(press.projected_area / (part.length * part.width))
    if reaches(press.lock_force, opening):
        return "none is needed"
    return either(
        "a lock of {measured}",
        "fewer parts on the blank" if parts > 1 else "",
        "less pressure: on that area the lock holds {highest}" if highest >= LEAST_PRESSURE[process] else "",
    )


def _margin(press: Press, area: float) -> dict[str, object]:
    """A lock that holds, but with less to spare than is usual: what the quote must then say."""
    margin = lock_margin(press.lock_force, force(press.pressure, area))
    if reaches(margin, LEAST_LOCK_MARGIN):
        return {}
    return {
        "condition": "the lock holds {margin} times the force that opens it, where {least} to {ample} times is usual: "
        "it is proved before the first article, or formed at {safe}",
        "margin": (margin, "-"),
        "least": (LEAST_LOCK_MARGIN, "-"),
        "ample": (AMPLE_LOCK_MARGIN, "-"),
        "safe": (highest_pressure(press.lock_force, area, LEAST_LOCK_MARGIN), "Pa"),
    }
