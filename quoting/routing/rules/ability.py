"""What the machine can do: twin-sheet, a pressure box, a lock that holds."""

from machines.press import force_on_lock
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import at_least, at_most
from quoting.routing.verdict import Verdict

MACHINE = "the machine's own data"


def twin_sheet_machine(planned: PlannedCandidate) -> Verdict:
    """Two sheets need two platens with tools and the timing between them."""
    needed = 2 if planned.candidate.process == "twin_sheet" else 1
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
    needs_box = planned.candidate.process == "pressure"
    return at_most(
        "pressure box",
        planned.plan.press.pressure if needs_box else 0.0,
        planned.candidate.machine.pressure_capability,
        "Pa",
        reason="this process needs a pressure box for {measured} and the machine has one for {limit}",
        remedy="a machine whose pressure box works at {measured}" if needs_box else "none is needed",
        basis=f"{MACHINE}; forming pressure: common practice, no source",
    )


def lock_holds_parts(planned: PlannedCandidate) -> Verdict:
    """Air on the parts opens the platens; a vacuum under the sheet does not."""
    press = planned.plan.press
    return at_most(
        "press force",
        force_on_lock(planned.candidate.process, press.pressure, press.projected_area),
        press.lock_force,
        "N",
        reason="{pressure} on {area} of part opens the platens with {measured}; the lock holds {limit}"
        if planned.candidate.process != "vacuum"
        else "a vacuum does not open the platens: the lock must hold {measured} and holds {limit}",
        remedy="a lock of {measured}, fewer parts on the blank, or less pressure",
        basis="force = pressure x projected area",
        pressure=(press.pressure, "Pa"),
        area=(press.projected_area, "m2"),
    )


def lock_holds_box(planned: PlannedCandidate) -> Verdict:
    """The pressure box is sealed around the whole blank, so the air works on more than the parts."""
    press = planned.plan.press
    boxed = planned.candidate.process == "pressure"
    return at_most(
        "pressure box seal",
        force_on_lock("pressure", press.pressure, press.box_area) if boxed else 0.0,
        press.lock_force,
        "N",
        reason="{pressure} on the {area} inside the seal opens the platens with {measured}; the lock holds {limit}"
        if boxed
        else "no pressure box is used: the lock must hold {measured} and holds {limit}",
        remedy="a lock of {measured}, fewer parts on the blank, or less pressure",
        basis="force = pressure x area inside the seal",
        pressure=(press.pressure, "Pa"),
        area=(press.box_area, "m2"),
    )
