"""Words of the trade for fields, choices and states, as the screens say them."""

PROCESSES = {"vacuum": "vacuum forming", "pressure": "pressure forming", "twin_sheet": "twin-sheet forming"}
NEEDS = {
    "food_contact": "food contact",
    "flame_v0": "flame class V-0",
    "outdoor_uv": "outdoor, stands sunlight",
    "impact": "high impact",
    "transparent": "transparent",
}
COLOURS = {"natural": "natural, no pigment", "stock": "stock colour (black, white, grey)", "custom": "custom colour"}
SHOW_SIDES = {
    "tool": "the side that touches the tool",
    "free": "the free side",
    "both": "both sides",
    "none": "neither side is seen",
}
TOOLING = {"new": "new tool", "transfer": "customer's tool, moved to us"}
METALS = {"steel": "steel", "aluminium": "aluminium", "stainless": "stainless steel"}
OPERATIONS = {
    "insert": "inserts",
    "bonded_block": "bonded blocks",
    "weld_stud": "weld studs",
    "rivet": "rivets",
    "gasket": "gaskets",
    "heat_bend": "heat bends",
    "paint": "painted faces",
    "emi_coat": "shielding coats",
    "screen_print": "screen prints",
    "assembly": "assembly steps",
    "inspection": "inspections",
}
TOOLS = {
    "cast_aluminium": "forming tool, cast aluminium",
    "machined_aluminium": "forming tool, machined aluminium",
    "pressure_tool": "forming tool for pressure",
    "twin_sheet_pair": "pair of twin-sheet tools",
    "plug": "plug assist",
    "prototype": "prototype tool",
}
STATES = {
    "received": "received",
    "needs_information": "needs information",
    "answered": "answered",
    "approved": "approved",
    "sent": "sent",
    "won": "won",
    "lost": "lost",
    "declined": "declined by us",
}
WORDS = {
    **PROCESSES,
    **TOOLS,
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
    "room": "room",
    "closed": "closed",
}


def said(code: str) -> str:
    """A code such as ``twin_sheet`` in plain words; unknown codes lose only their underscores."""
    return WORDS.get(code) or STATES.get(code) or OPERATIONS.get(code) or code.replace("_", " ")


DEEDS = {
    "inquiry_log": "Inquiry logged",
    "inquiry_change": "Inquiry changed",
    "inquiry_revise": "Inquiry revised",
    "customer_opened": "Customer opened the quote",
    "customer_accepted": "Customer accepted the quote",
    "customer_change": "Customer asked for a change",
    "customer_declined": "Customer declined the quote",
    "inquiry_answer": "Answer worked out",
    "override_add": "Value overridden",
    "override_withdraw": "Override withdrawn",
    "quote_approve": "Quote approved",
    "inquiry_decline": "Declined with a letter",
    "quote_send": "Private link made",
    "link_revoke": "Private link withdrawn",
    "quote_won": "Recorded as won",
    "quote_lost": "Recorded as lost",
}
