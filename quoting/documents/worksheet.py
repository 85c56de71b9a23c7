"""The forming worksheet for estimator and shop: route, recipe, charts, walls, cooling, force, and every number opened.

It holds no price, but it is internal: it shows how the house forms a part, which is no customer's business.
"""

from datetime import date

from quoting.documents import labels
from quoting.documents.blank_drawing import blank_drawing
from quoting.documents.figures import day, figure, legible, length, phrase, sentence, size
from quoting.documents.forming_charts import stations_chart
from quoting.documents.forming_study import held, study_shown
from quoting.documents.pallet_drawing import pallet_drawing
from quoting.documents.range_strip import range_shown

NOTICE = "Internal: not for the customer"
# Words of a caution by which it is printed beside the work that it speaks of; the first that matches takes it.
SPEAKS_OF = (
    ("press", ("compressed air", "air blown", "pressure forming", "a proven lock")),
    ("trim", ("trimming", "dust")),
    ("heat", ("fume", "hot", "overheated")),
)
WORDS = {"fits": "fits", "fits_if": "fits, if", "fails": "fails", "not_assessed": "not assessed"}
FIRST = {"fails": 0, "not_assessed": 1, "fits_if": 2, "fits": 3}
NOT_KNOWN = "–"
STORED = ("stored", "compressed")  # words in the name of the energy that waits in a pressure box
Row = tuple[str, str]


def worksheet_document(snapshot: dict, *, number: str, version: int, printed_on: date, prepared_by: str) -> dict:
    """Context of the worksheet.

    Parameters
    ----------
    snapshot : dict
        Plain ``Answer`` with a chosen candidate; its ``study`` and ``range`` may be missing [SI].
    number, prepared_by : str
        Number of the inquiry and the person who prints it [-].
    version : int
        Version of the inquiry [count].
    printed_on : date
        [-]

    Returns
    -------
    context : dict
        [-]

    Raises
    ------
    ValueError
        No candidate is chosen, so that there is nothing to form.
    """
    if not snapshot.get("chosen"):
        raise ValueError(f"worksheet {number}: the snapshot decides {snapshot.get('decision')!r} and has no route")
    known = legible(snapshot)
    planned = known["chosen"]["judged"]["planned"]
    plan = planned["plan"]
    return {
        **_heading(known, number, version, printed_on, prepared_by),
        "route": route_rows(planned),
        "blank": blank_rows(planned),
        "drawing": blank_drawing(planned["candidate"], plan),
        "recipe": recipe_rows(planned),
        "stations": stations_chart(plan["cycle"]),
        "cycle": cycle_rows(plan["cycle"]),
        "station_rows": station_rows(plan["cycle"]),
        "study": study_shown(known.get("study"), planned),
        "walls": wall_rows(planned),
        "method": sentence(plan["thinning"]["method"]),
        "cooling": cooling_rows(planned),
        "force": force_rows(plan["press"], known.get("study")),
        "trim": trim_rows(plan["trim"], known.get("pace")),
        "range": range_shown(known.get("range")),
        "pallet": pallet_drawing(known["advice"]["pallet"]) if known.get("advice") else None,
        "verdicts": verdict_rows(known["chosen"]["judged"]["verdicts"]),
        "cautions": cautions_by_work([*(known.get("hazards") or []), *(known.get("cautions") or [])]),
    }


def _heading(snapshot: dict, number: str, version: int, printed_on: date, prepared_by: str) -> dict:
    request = snapshot["chosen"]["judged"]["planned"]["request"]
    return {
        "title": f"Forming worksheet {number} version {version}: {request['part']['name']}",
        "notice": NOTICE,
        "number": legible(number),
        "version": version,
        "printed_on": day(printed_on),
        "printed_iso": printed_on.isoformat(),
        "answered_on": day(snapshot["answered_on"]),
        "prepared_by": legible(prepared_by),
        "part_name": request["part"]["name"],
        "reference": request["reference"],
    }


def route_rows(planned: dict) -> list[Row]:
    """Where and on what the part is formed, and from which sheet."""
    candidate, part = planned["candidate"], planned["request"]["part"]
    machine, offer, radius = candidate["machine"], candidate["offer"], part["smallest_radius"]
    return [
        ("Process", labels.said(candidate["process"], labels.PROCESSES)),
        ("Plant", f"{candidate['plant']['name']} ({candidate['plant']['code']})"),
        ("Machine", f"{machine['code']}, {labels.said(machine['kind'], labels.MACHINES)}"),
        ("Polymer", candidate["polymer"]["name"]),
        ("Sheet", offer["name"] if offer else "none offered"),
        ("Part, L × W × D", size(part["length"], part["width"], part["depth"])),
        *_formed(candidate["process"], part),
        ("Draft", figure(part["draft_angle"], "rad")),
        ("Least radius", "no sharper than the gauge" if radius is None else length(radius)),
    ]


def _formed(process: str, part: dict) -> list[Row]:
    """Into or over the tool; answers stored before there was a choice do not say."""
    side = part.get("tool_side")
    twin = process == "twin_sheet"
    return [("Formed", "into two female tools" if twin else labels.said(side, labels.TOOL_SIDES))] if side else []


def blank_rows(planned: dict) -> list[Row]:
    """The blank as it is cut and clamped."""
    candidate, plan = planned["candidate"], planned["plan"]
    layout = candidate["layout"]
    turned = ", turned across the platen" if layout["turned"] else ""
    return [
        ("Starting gauge", f"{length(candidate['gauge'])}; needed {length(candidate['required_gauge'])}"),
        ("Blank", size(layout["blank_length"], layout["blank_width"])),
        ("Cavities", f"{layout['along']} × {layout['across']}{turned}"),
        ("Weight of one blank", figure(plan["blank_mass"], "kg")),
        ("Selvedge", figure(plan["selvedge_fraction"], "share")),
        ("Part, trimmed", figure(plan["part_mass"], "kg")),
    ]


def recipe_rows(planned: dict) -> list[Row]:
    """Heaters, time in the heat, what the sheet reaches, and how it hangs."""
    heating, polymer = planned["plan"]["heating"], planned["candidate"]["polymer"]
    room = planned["candidate"]["machine"]["oven"]["clearance_below"]
    short = "" if heating["reaches_window"] else f"; does not reach the forming window ({heating['limited_by']})"
    return [
        *_zone_rows(heating),
        ("Time in the heat", f"{figure(heating['time'], 's')}{short}"),
        ("Rule of thumb", f"{figure(heating['rule_of_thumb_time'], 's')}, for comparison"),
        ("Skin, hottest", f"{figure(heating['surface_peak'], 'K')}; scorches at "
                          f"{figure(polymer['upper_forming_temperature'], 'K')}"),
        ("Core at exit", f"{figure(heating['core_at_exit'], 'K')}; needs "
                         f"{figure(polymer['lower_forming_temperature'], 'K')}"),
        ("Sag", f"{length(planned['plan']['sag'])}; room under the sheet {length(room)}"),
        ("Tool surface", figure(polymer["tool_temperature"], "K")),
    ]  # fmt: skip


def _zone_rows(heating: dict) -> list[Row]:
    """Heaters and times of preheat and oven; answers stored before these were kept apart have the oven alone."""

    def zone(upper: float, lower: float, time: float | None) -> str:
        stay = f", {figure(time, 's')}" if time else ""
        return f"upper {figure(upper, 'K')}, lower {figure(lower, 'K')}{stay}"

    rows = [("Oven", zone(heating["upper_heater"], heating["lower_heater"], heating.get("oven_time")))]
    if heating.get("preheat_upper"):
        rows.insert(0, ("Preheat", zone(heating["preheat_upper"], heating["preheat_lower"], heating["preheat_time"])))
    if heating.get("wait"):
        rows.append(("Heat comes on", f"{figure(heating['wait'], 's')} after the sheet has arrived"))
    if heating.get("governed_by"):
        rows.append(("Not faster because", labels.GOVERNS[heating["governed_by"]]))
    if heating.get("coldest_at_contact"):
        rows.append(("Coldest at the tool", figure(heating["coldest_at_contact"], "K")))
    return rows


def cycle_rows(cycle: dict) -> list[Row]:
    """The pace of the machine."""
    blanks = f"; {cycle['blanks_per_part']} blanks per part" if cycle["blanks_per_part"] > 1 else ""
    return [
        ("One blank each", figure(cycle["index"], "s")),
        ("Good parts an hour", f"{cycle['parts_per_hour']:.1f}{blanks}"),
    ]


def station_rows(cycle: dict) -> list[tuple[str, str, bool]]:
    """Name and time of each station, and whether it sets the pace."""
    return [
        (labels.said(one["name"], {}), figure(one["time"], "s"), one["name"] == cycle["governing_station"])
        for one in cycle["stations"]
    ]


def wall_rows(planned: dict) -> list[Row]:
    """Walls by the mass balance, and the wall asked for."""
    thinning, part = planned["plan"]["thinning"], planned["request"]["part"]
    rows = [
        ("Areal draw ratio", figure(thinning["areal_draw_ratio"], "-")),
        ("Mean wall", length(thinning["mean_wall"])),
        ("Thinnest wall", length(thinning["thinnest_wall"])),
    ]
    if part["minimum_wall"] is not None:
        rows.append(("Wall asked", f"at least {length(part['minimum_wall'])}"))
    return rows


def cooling_rows(planned: dict) -> list[Row]:
    """Time on the tool and the wall that needs it."""
    cooling = planned["plan"]["cooling"]
    return [
        ("Time on the tool", figure(cooling["time"], "s")),
        ("Leaves the tool at", figure(cooling["demould_temperature"], "K")),
        ("Wall that governs", length(cooling["thickest_wall"])),
    ]


def force_rows(press: dict, study: dict | None) -> list[Row]:
    """Pressure, force and lock; with it any energy that the study says is stored in compressed air."""
    lock = figure(press["lock_force"], "N") if press["lock_force"] else "the machine has no lock"
    rows = [
        ("Forming pressure", figure(press["pressure"], "Pa")),
        ("Projected area", figure(press["projected_area"], "m2")),
        ("Area inside the seal", figure(press["box_area"], "m2")),
        ("Forming force", figure(press["force"], "N")),
        ("Lock holds", lock),
    ]
    numbers = (study or {}).get("numbers", ())
    stored = [one for one in numbers if one["unit"] == "J" and any(word in one["name"].lower() for word in STORED)]
    return rows + [(one["name"].capitalize(), figure(one["value"], "J")) for one in stored]


def trim_rows(trim: dict, pace: dict | None) -> list[Row]:
    """Where and how fast it is trimmed, and whether former or trimmer holds the other up; no money."""
    if not trim["trimmer"]:
        return [("Trimmed", "no trimmer takes it")]
    moves = "; parts move there" if trim["moves"] else ""
    return [("Trimmed", f"{trim['trimmer']['code']} at {trim['plant']}{moves}"), *_pace_rows(pace)]


def _pace_rows(pace: dict | None) -> list[Row]:
    """Answers stored before the pace was kept have none."""
    if not pace:
        return []
    former, trimmer = pace["former"], pace["trimmer"]
    slower = {"former": former["code"], "trimmer": trimmer["code"]}.get(pace["governs"], "neither")
    return [
        ("Bottleneck", slower),
        ("Good parts an hour", f"former {former['parts_per_hour']:.1f}, trimmer {trimmer['parts_per_hour']:.1f}"),
        *(
            (
                labels.said(one["kind"], labels.TRIMMERS).capitalize(),
                f"{figure(one['cutting'], 's')} at the cutter, {figure(one['cycle'], 's')} piece to piece"
                + (", used" if one["used"] else ""),
            )
            for one in pace["ways"]
        ),
    ]


def verdict_rows(verdicts: list[dict]) -> list[dict]:
    """Every rule's word, what stands in the way first; a condition stands where there is one."""
    return [
        {
            "rule": labels.said(one["rule"], {}),
            "word": WORDS.get(one["status"], one["status"]),
            "measured": NOT_KNOWN if one["status"] == "not_assessed" else held(one["measured"], one["unit"]),
            "limit": NOT_KNOWN if one["status"] == "not_assessed" else held(one["limit"], one["unit"]),
            "reason": sentence(one["reason"]),
            "condition": sentence(one["condition"]) if one["condition"] else "",
            "basis": one["basis"],
        }
        for one in sorted(verdicts, key=lambda one: FIRST.get(one["status"], 0))
    ]


def cautions_by_work(cautions: list[dict | str]) -> dict[str, list[str]]:
    """Each caution once, under the work it speaks of: heat, press or trim; what speaks of none of them is general.

    Examples
    --------
    >>> cautions_by_work(["Trimming makes dust.", "Hot sheet gives off fumes.", "Prices change."])["trim"]
    ['Trimming makes dust.']
    """
    found: dict[str, list[str]] = {"heat": [], "press": [], "trim": [], "general": []}
    for one in cautions:
        said = phrase(one)
        work = next((work for work, words in SPEAKS_OF if any(word in said.lower() for word in words)), "general")
        found[work].append(sentence(said))
    return found
