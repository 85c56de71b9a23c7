"""Geometry of the small bars that the screens draw as SVG: plain numbers in, plain numbers out."""

BAR_WIDTH = 600.0  # user units of the drawing, which the style sheet stretches to its place
HUNGRY, HEALTHY, LONG_LEAD = 75.0, 90.0, 100.0  # load in percent; [CP] common practice, no source


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


def load_word(won: float, quoted: float, available: float) -> str:
    """The word for a load: over, tight, healthy, room or closed."""
    if available <= 0:
        return "over" if won + quoted > 0 else "closed"
    load = load_percent(won + quoted, available)
    if load > LONG_LEAD:
        return "over"
    if load > HEALTHY:
        return "tight"
    return "healthy" if load >= HUNGRY else "room"
