"""How full a week is, in percent and in a word."""

IDLE, HUNGRY, HEALTHY, LONG_LEAD = 30.0, 75.0, 90.0, 100.0  # load in percent; [CP] common practice, no source


def load_percent(booked: float, available: float) -> float:
    """Booked over available hours [%]; a week with no hours and no work counts as empty, with work as overfull."""
    if available <= 0:
        return 0.0 if booked <= 0 else 999.0
    return 100.0 * booked / available


def load_word(won: float, weighted: float, available: float, quoted: float = 0.0) -> str:
    """The word for a load: over, may_over, tight, healthy, room, idle or closed.

    ``weighted`` are quoted hours by their chance, which count; ``quoted`` all of them, which only warn.
    """
    if available <= 0:
        return "over" if won + weighted > 0 else "closed"
    load = load_percent(won + weighted, available)
    if load > LONG_LEAD:
        return "over"
    if won + quoted > available:
        return "may_over"
    if load > HEALTHY:
        return "tight"
    if load >= HUNGRY:
        return "healthy"
    return "room" if load >= IDLE else "idle"
