"""On what our limits rest, as a customer is told it.

A verdict's own ``basis`` names pages and says how weak they are: it is for those who must judge the limit, on the
estimator's page and the worksheet. A customer is told what kind of thing the limit is: data of a machine, a
calculation, or a rule of the trade that is no standard.
"""

MACHINES = "the data of our machines"
BLANKS = f"{MACHINES}, and the usual allowances for clamp and trim"
TRADE = "common practice in the trade, not a standard"
THUMB = "a rule of thumb of the trade, not a standard"
HEAT = "our calculation of the heat in the sheet, and the forming window of the polymer"
SAG = "our calculation of how far the hot sheet hangs, and the data of our machines"
FORCE = "the force that the air opens the platens with, and the data of our machines"
SHEET = "the sheet that our mills offer today"

RESTS_ON = {
    "least gauge of the trade": TRADE,
    "most gauge of the trade": TRADE,
    "skins": "the process itself: two sheets make two skins, one sheet makes one",
    "small part in large numbers": TRADE,
    "blank in clamp frame": BLANKS,
    "depth over width": THUMB,
    "areal draw ratio": THUMB,
    "draw depth": MACHINES,
    "tool height": MACHINES,
    "tool on platen": f"{MACHINES}, and the size of the tool as you gave it",
    "undercut": THUMB,
    "draft": THUMB,
    "smallest radius": THUMB,
    "draft for texture": "a common rule of thumb for texture and draft; the texturer decides",
    "texture": THUMB,
    "sides that show": "the process itself: a tool shapes one face of a sheet",
    "tolerance": "usual tolerances of the trade, by size and kind of tool, not a standard",
    "service temperature": "the deflection temperature of the polymer, less a usual margin",
    "yearly quantity": TRADE,
    "parts over the programme": TRADE,
    "wall after forming": "our calculation of how the sheet is stretched, a prediction",
    "oven reach": HEAT,
    "heat at the tool": HEAT,
    "polymer needs": "the certificates that we hold for the polymer",
    "sheet offered": SHEET,
    "gauge of offer": SHEET,
    "size of offer": SHEET,
    "heated area over blank": MACHINES,
    "sag in the oven": SAG,
    "sag over the tool": SAG,
    "demould temperature": "our calculation of the cooling, and the data of the polymer",
    "press force": FORCE,
    "pressure box seal": FORCE,
    "lock over customer's tool": f"{FORCE}; the size of the tool as you gave it",
    "pressure box": MACHINES,
    "twin-sheet machine": MACHINES,
    "gauge on machine": MACHINES,
    "blank on smallest frame": BLANKS,
    "router envelope": "the data of our trimming machines",
    "operations after forming": "what our plants do themselves",
    "free hours": "our calendar, less the work that is booked",
    "solvent bonds": TRADE,
}

# How the house marks for itself what rests on no page that it could name, and what a customer reads instead.
MARKS = {"common practice, no source": "common practice in the trade"}


def rests_on(rule: str) -> str:
    """On what the limit of a rule rests; '' for a rule that there is no longer, in an answer stored before.

    Examples
    --------
    >>> rests_on("draw depth")
    'the data of our machines'
    """
    return RESTS_ON.get(rule, "")


def for_customer(text: str) -> str:
    """A text that house and customer both read, without the house's own marks.

    Examples
    --------
    >>> for_customer("30 to 50 % is usual (common practice, no source)")
    '30 to 50 % is usual (common practice in the trade)'
    """
    for mark, said in MARKS.items():
        text = text.replace(mark, said)
    return text
