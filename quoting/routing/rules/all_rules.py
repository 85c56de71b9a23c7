"""Every rule, in the order in which a person would ask. Each judges every candidate; none ends the others."""

from collections.abc import Callable

from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules import ability, after, depth, detail, frame, gauge, heat, needs, quantity
from quoting.routing.verdict import Verdict

Rule = Callable[[PlannedCandidate], Verdict]

RULES: tuple[Rule, ...] = (
    gauge.not_thin_gauge,
    gauge.not_too_thick,
    detail.skins,
    ability.twin_sheet_machine,
    frame.blank_in_clamp_frame,
    frame.blank_on_smallest_frame,
    depth.depth_over_width,
    depth.areal_draw,
    depth.draw_depth_of_machine,
    depth.tool_in_daylight,
    depth.wall_after_forming,
    detail.smallest_radius,
    detail.undercut,
    detail.draft_of_walls,
    detail.texture_printed,
    detail.draft_for_texture,
    detail.sides_that_show,
    detail.tolerance,
    needs.service_temperature,
    needs.polymer_meets_needs,
    gauge.gauge_on_machine,
    gauge.sheet_offered,
    gauge.gauge_of_offer,
    gauge.size_of_offer,
    frame.heated_area_covers_blank,
    heat.oven_reaches_window,
    heat.sag_clears_heaters,
    heat.sag_over_tool,
    heat.sets_on_tool,
    ability.pressure_box,
    ability.lock_holds_parts,
    ability.lock_holds_box,
    quantity.programme_pays_tool,
    quantity.not_small_and_many,
    quantity.yearly_quantity,
    after.router_takes_part,
    after.operations_here,
)

# These look at the blank; the others say the same of every layout in a group, so they are asked once for it.
RULES_OF_THE_LAYOUT: frozenset[Rule] = frozenset(
    (
        frame.blank_in_clamp_frame,
        frame.blank_on_smallest_frame,
        frame.heated_area_covers_blank,
        gauge.size_of_offer,
        heat.sag_clears_heaters,
        heat.sag_over_tool,
        ability.lock_holds_parts,
        ability.lock_holds_box,
    )
)
