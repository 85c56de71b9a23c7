"""Every rule, in the order in which a person would ask. Only where no plan is needed to refuse does one end others."""

from collections.abc import Callable

from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules import ability, after, customer_tool, depth, detail, frame, gauge, heat, needs, quantity
from quoting.routing.verdict import Verdict

Rule = Callable[[PlannedCandidate], Verdict]

# What a rule looks at beside the inquiry and the day, as parts of the planned candidate. Of two candidates that have
# these parts in common a rule says the same, so it is asked once. Rules that name the same parts are asked together.
NOTHING_ELSE = ()
PROCESS = ("candidate.process",)
POLYMER = ("candidate.polymer",)
DRAFT = ("candidate.process", "candidate.polymer")
SHEET = (
    "candidate.process", "candidate.gauge", "candidate.gauge_tolerance", "candidate.required_gauge", "plan.thinning",
)  # fmt: skip
LOW_GAUGE = ("candidate.process", "candidate.gauge_tolerance", "candidate.gauge", "plan.thinning")
NEEDS = ("candidate.polymer", *LOW_GAUGE)
MACHINE = ("candidate.process", "candidate.machine")
MACHINE_GAUGE = ("candidate.process", "candidate.machine", "candidate.gauge_tolerance", "candidate.gauge")
OFFER = ("candidate.process", "candidate.offer", "candidate.gauge")
OVEN = (
    "candidate.process", "candidate.gauge_tolerance", "candidate.gauge", "plan.heating.mean_at_contact",
    "plan.heating.limited_by", "plan.heating.thickest_gauge",
)  # fmt: skip
WAY = ("candidate.polymer", "plan.heating")
TOOL = ("candidate.process", "candidate.machine", "candidate.polymer", "plan.cooling")
PLANT = ("candidate.plant", "plan.trim")
FRAME = ("candidate.machine", "candidate.layout")
MILL_SIZE = ("candidate.offer", "candidate.layout")
HANG = ("candidate.process", "candidate.gauge", "candidate.machine", "candidate.layout", "plan.sag")
LOCK = ("candidate.process", "plan.press")

READS: dict[Rule, tuple[str, ...]] = {
    gauge.not_thin_gauge: SHEET,
    gauge.not_too_thick: SHEET,
    detail.skins: PROCESS,
    ability.twin_sheet_machine: MACHINE,
    frame.blank_in_clamp_frame: FRAME,
    frame.blank_on_smallest_frame: FRAME,
    depth.depth_over_width: PROCESS,
    depth.areal_draw: SHEET,
    depth.draw_depth_of_machine: MACHINE,
    depth.tool_in_daylight: MACHINE,
    customer_tool.tool_on_platen: FRAME,
    depth.wall_after_forming: LOW_GAUGE,
    detail.smallest_radius: SHEET,
    detail.undercut: PROCESS,
    detail.draft_of_walls: DRAFT,
    detail.texture_printed: MACHINE,
    detail.draft_for_texture: NOTHING_ELSE,
    detail.sides_that_show: PROCESS,
    detail.tolerance: POLYMER,
    needs.service_temperature: POLYMER,
    needs.polymer_meets_needs: NEEDS,
    gauge.gauge_on_machine: MACHINE_GAUGE,
    gauge.sheet_offered: OFFER,
    gauge.gauge_of_offer: OFFER,
    gauge.size_of_offer: MILL_SIZE,
    frame.heated_area_covers_blank: FRAME,
    heat.oven_reaches_window: OVEN,
    heat.heat_left_at_tool: WAY,
    heat.sag_clears_heaters: HANG,
    heat.sag_over_tool: HANG,
    heat.sets_on_tool: TOOL,
    ability.pressure_box: MACHINE,
    ability.lock_holds_parts: LOCK,
    ability.lock_holds_box: LOCK,
    customer_tool.lock_holds_tool: LOCK,
    quantity.programme_pays_tool: NOTHING_ELSE,
    quantity.not_small_and_many: NOTHING_ELSE,
    quantity.yearly_quantity: PROCESS,
    after.router_takes_part: PLANT,
    after.operations_here: PLANT,
    after.solvent_takes_polymer: POLYMER,
}

RULES: tuple[Rule, ...] = tuple(READS)

# These look at the blank; the others say the same of every layout in a group, so they are asked once for it.
RULES_OF_THE_LAYOUT: frozenset[Rule] = frozenset(
    rule for rule, reads in READS.items() if reads in (FRAME, MILL_SIZE, HANG, LOCK)
)

# These look at no machine: they say the same of one sheet in one process everywhere, and are asked together for it.
STOCK = (
    "candidate.process", "candidate.polymer", "candidate.offer", "candidate.gauge", "candidate.gauge_tolerance",
    "candidate.required_gauge", "plan.thinning",
)  # fmt: skip
RULES_OF_THE_STOCK: frozenset[Rule] = frozenset(rule for rule, reads in READS.items() if set(reads) <= set(STOCK))

# These say the same of one process on one machine whatever the sheet. With those of the stock they need no plan: who
# fails one of them can be refused before the heat is marched and a blank laid out.
RULES_OF_THE_MACHINE: tuple[Rule, ...] = tuple(rule for rule, reads in READS.items() if reads == MACHINE)

# What belongs to one machine and one sheet together is hardly ever met again, so nothing is remembered of it.
HARDLY_SHARED = (MACHINE_GAUGE, OVEN, WAY, TOOL, HANG)
