"""Words of the trade for fields, choices and states, as the screens say them; shared ones come from the documents."""

from quoting.documents.labels import METALS, NEEDS, OPERATIONS, SHOW_SIDES, TOOL_SIDES, TRIMMERS
from quoting.geometry.files.file_units import NAMES
from quoting.intake.fields import BY_KEY

__all__ = ["METALS", "NEEDS", "OPERATIONS", "SHOW_SIDES", "TOOL_SIDES", "TRIMMERS"]

PROCESSES = {"vacuum": "vacuum forming", "pressure": "pressure forming", "twin_sheet": "twin-sheet forming"}
MODEL_UNITS = {code: f"{name} ({code})" for code, name in NAMES.items()}
MEASURED = {name: BY_KEY[f"part.{name}"].label.lower() for name in BY_KEY["part.keep_typed"].choices}
COLOURS = {"natural": "natural, no pigment", "stock": "stock colour (black, white, grey)", "custom": "custom colour"}
SURPLUS = {"apart": "charged apart, as a remainder", "shared": "shared by the parts of the release"}
COATED_SIDES = {"tool": "the tool side", "free": "the side away from the tool", "both": "both sides"}
TOOLING = {"new": "new tool", "transfer": "customer's tool, moved to us"}
TOOLS = {
    "cast_aluminium": "forming tool, cast aluminium",
    "machined_aluminium": "forming tool, machined aluminium",
    "pressure_tool": "forming tool for pressure",
    "pressure_box": "pressure box",
    "texture": "texture in the tool",
    "moving_sections": "moving sections for undercuts",
    "transfer_inspection": "inspection on arrival",
    "sampling_run": "sampling run",
    "likely_repairs": "likely repairs, an estimate",
    "hand_trim_jig": "jig for trimming by hand",
    "drill_fixture": "drill fixture",
    "assembly_fixture": "assembly fixture",
    "weld_nest": "nests and plate for hot-plate welding",
    "bend_fixture": "bending fixture",
    "paint_mask": "spray masks",
    "twin_sheet_pair": "pair of twin-sheet tools",
    "plug": "plug assist",
    "prototype": "prototype tool",
}
TOOLING_OPTIONS = {"prototype": "a prototype tool"}
STATES = {
    "received": "received",
    "needs_information": "needs information",
    "answered": "answered",
    "waits_for_manager": "waits for manager",
    "approved": "approved",
    "sent": "sent",
    "won": "won",
    "lost": "lost",
    "declined": "declined by us",
}
WORDS = {
    **PROCESSES,
    **TOOLS,
    **TRIMMERS,
    **NEEDS,
    **METALS,
    "ltl": "part load (LTL)",
    "truckload": "full truck",
    "not_a_fit": "not a fit",
}
LOAD_WORDS = {
    "over": "overload",
    "tight": "tight",
    "healthy": "healthy",
    "may_over": "over if all won",
    "room": "room",
    "idle": "idle",
    "closed": "closed",
}
RESOURCES = {"forming": "formers", "router": "routers", "assembly": "assembly bench", "tool_room": "tool room"}
CLASHES = {
    "overbooked": "booked beyond its hours",
    "tool_twice": "tool at two machines",
    "booked_twice": "same work booked twice",
    "stranded": "work on a resource that is not there",
}


def beside(code: str) -> str:
    """A trimmer, bench or tool room as people call it; its code begins with that of its plant.

    >>> beside("P1/R2"), beside("P1/tool room")
    ('R2 at P1', 'tool room at P1')
    """
    plant, _, place = code.partition("/")
    return f"{place} at {plant}"


def said(code: str) -> str:
    """A code such as ``twin_sheet`` in plain words; unknown codes lose only their underscores."""
    return WORDS.get(code) or STATES.get(code) or OPERATIONS.get(code) or code.replace("_", " ")


DEEDS = {
    "reprice_start": "Re-pricing started",
    "reprice_cancel": "Re-pricing cancelled",
    "reprice_resume": "Re-pricing resumed",
    "run_record": "Run recorded",
    "run_correct": "Run corrected",
    "factors_propose": "Correction factors proposed",
    "factors_accept": "Correction factors accepted",
    "factors_refuse": "Correction factors refused",
    "runs_import": "Runs imported",
    "plan_ask": "What-if asked",
    "plan_cancel": "Balancing cancelled",
    "plan_again": "Balancing begun again",
    "plan_down_write": "Down time of a plan entered as maintenance",
    "plan_move_accept": "Work moved to another machine",
    "plan_move_refuse": "Proposed move refused",
    "inquiry_log": "Inquiry logged",
    "inquiry_change": "Inquiry changed",
    "inquiry_revise": "Inquiry revised",
    "customer_opened": "Customer opened the quote",
    "customer_accepted": "Customer accepted the quote",
    "customer_change": "Customer asked for a change",
    "customer_declined": "Customer declined the quote",
    "inquiry_answer": "Answer worked out",
    "model_report_ask": "CAD model sent to be measured",
    "override_add": "Value overridden",
    "override_withdraw": "Override withdrawn",
    "quote_approve": "Review confirmed and quote approved",
    "quote_wait": "Review confirmed; waits for a manager",
    "quote_second": "Approved by the second person",
    "quote_send_back": "Sent back by the manager",
    "saw_page": "Inquiry looked at",
    "saw_cost": "Route and costs looked at",
    "saw_document": "Document looked at",
    "audit_export": "History exported",
    "inquiry_decline": "Declined with a letter",
    "quote_send": "Private link made",
    "quote_mail": "Private link sent by e-mail",
    "mail_again": "E-mail sent again",
    "mail_give_up": "E-mail given up",
    "link_revoke": "Private link withdrawn",
    "quote_won": "Recorded as won",
    "quote_lost": "Recorded as lost",
    "rates_import": "Rates imported",
    "numbers_raise": "Counter moved above numbers that went out",
}
