"""Geometry of the small bars that the screens draw as SVG: plain numbers in, plain numbers out."""

BAR_WIDTH = 600.0  # user units of the drawing, which the style sheet stretches to its place
IDLE, HUNGRY, HEALTHY, LONG_LEAD = 30.0, 75.0, 90.0, 100.0  # load in percent; [CP] common practice, no source


def load_bar(won: float, quoted: float, available: float) -> dict:
    """Won, quoted and free hours of one machine-week as parts of one bar, with the line where the week is full."""
    scale = BAR_WIDTH / (max(available, won + quoted) or 1.0)
    return {
        "won": round(won * scale, 1),
        "quoted": round(quoted * scale, 1),
        "full": round(available * scale, 1),
        "load": load_percent(won + quoted, available),
        "firm": load_percent(won, available),
        "word": load_word(won, quoted, available),
    }


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
