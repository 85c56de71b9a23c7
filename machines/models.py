"""Plants, machines and booked hours as rows. SI throughout; ``to_domain`` is the only bridge to the calculation."""

from dataclasses import fields
from datetime import UTC, date
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from machines import calendar, hour_rates
from machines import machine as domain
from machines.calendar import CalendarError, WorkCalendar
from materials.amounts import trimmed
from materials.models import choices, money, within

# Lowest and highest value that is no typing slip; SI as in ``machines.machine``.
PLANT_RANGES: dict[str, tuple[float, float]] = {
    "latitude": (-90, 90),
    "longitude": (-180, 180),
    "shop_temperature": (250, 320),
    "labour_rate": (1, 1000),
    "inspector_rate": (1, 1000),
    "shifts_per_day": (1, 4),
    "hours_per_shift": (1, 12),
    "days_per_week": (1, 7),
    "assembly_places": (1, 500),
    "tool_room_places": (0, 500),
}


class Plant(models.Model):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    state = models.CharField(max_length=20)
    postal_code = models.CharField(max_length=12)
    country = models.CharField(max_length=2)
    latitude = models.FloatField()
    longitude = models.FloatField()
    time_zone = models.CharField(max_length=40)
    shop_temperature = models.FloatField()
    labour_rate = money()
    inspector_rate = money()
    shifts_per_day = models.PositiveSmallIntegerField()
    hours_per_shift = models.FloatField()
    days_per_week = models.PositiveSmallIntegerField()
    assembly = models.JSONField(default=list, blank=True)
    assembly_places = models.PositiveSmallIntegerField(default=1, help_text="people who can assemble at the same time")
    tool_room_places = models.PositiveSmallIntegerField(
        default=0,
        help_text="people or benches that work at once in its own tool room; 0: it has none, tools are bought outside",
    )

    class Meta:
        ordering = ["code"]
        constraints = within("plant", PLANT_RANGES)

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def clean(self) -> None:
        _list_of_words(self.assembly, "assembly")

    def to_domain(self) -> domain.Plant:
        trimmers = sorted(self.trimmers.all(), key=lambda trimmer: trimmer.code)
        columns = {field.name: getattr(self, field.name) for field in fields(domain.Plant) if field.name != "trimmers"}
        columns |= {"labour_rate": trimmed(self.labour_rate), "inspector_rate": trimmed(self.inspector_rate)}
        columns |= {"assembly": tuple(self.assembly)}
        return domain.Plant(**columns, trimmers=tuple(trimmer.to_domain() for trimmer in trimmers))

    def to_calendar(self) -> WorkCalendar:
        """When it works: by its shifts, or by its hours a week where it has none; less closed days, with windows."""
        shifts = tuple(shift.to_domain() for shift in self.shifts.all())
        base = calendar.calendar_of_hours(self.shifts_per_day * self.hours_per_shift, self.days_per_week)
        if shifts:
            base = WorkCalendar(ZoneInfo(self.time_zone), shifts)
        windows = {kind: [] for kind in TimeWindow.KINDS}
        for window in self.windows.all():
            windows[window.kind].append(window.to_domain())
        return WorkCalendar(
            base.zone, base.shifts, tuple(each.day for each in self.closed_days.all()),
            tuple(windows["maintenance"]), tuple(windows["overtime"]),
        )  # fmt: skip


TRIMMER_RANGES: dict[str, tuple[float, float]] = {
    "table_length": (0, 20),
    "table_width": (0, 20),
    "table_height": (0, 10),
    "hour_rate": (0, 1000),
    "feed": (0.0001, 5),
    "crew": (0, 20),
    "setup_hours": (0, 100),
    "efficiency": (0.05, 1),
}


class Trimmer(models.Model):
    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="trimmers")
    code = models.CharField(max_length=20)
    kind = models.CharField(max_length=20, choices=choices(domain.TRIMMER_KINDS))
    table_length = models.FloatField()
    table_width = models.FloatField()
    table_height = models.FloatField()
    twin_table = models.BooleanField(default=False)
    hour_rate = money()
    feed = models.FloatField()
    crew = models.FloatField()
    setup_hours = models.FloatField()
    efficiency = models.FloatField()

    class Meta:
        ordering = ["plant", "code"]
        constraints = [
            models.UniqueConstraint(fields=["plant", "code"], name="trimmer_code_once"),
            models.CheckConstraint(condition=Q(kind__in=domain.TRIMMER_KINDS), name="trimmer_kind_known"),
            *within("trimmer", TRIMMER_RANGES),
        ]

    def __str__(self) -> str:
        return self.code

    def to_domain(self) -> domain.Trimmer:
        columns = {field.name: getattr(self, field.name) for field in fields(domain.Trimmer)}
        return domain.Trimmer(**columns | {"hour_rate": trimmed(self.hour_rate)})


HEATER_COLUMNS = tuple(field.name for field in fields(domain.HeaterBank))
OVEN_COLUMNS = ("air_temperature", "air_film_coefficient", "clearance_below")
_HEATER_RANGES: dict[str, tuple[float, float]] = {
    "lowest_temperature": (300, 1500),
    "highest_temperature": (300, 1500),
    "heated_length": (0.1, 15),
    "heated_width": (0.1, 15),
    "emissivity": (0.05, 1),
    "view_factor": (0.05, 1),
}
_FRAME_LENGTHS = (
    "platen_length", "platen_width", "largest_opening_length", "largest_opening_width", "smallest_opening_length",
    "smallest_opening_width",
)  # fmt: skip
_TIMES = ("index_time", "load_time", "unload_time", "close_time", "open_time", "vacuum_time", "pressure_time")
MACHINE_RANGES: dict[str, tuple[float, float]] = {
    **dict.fromkeys(_FRAME_LENGTHS, (0.05, 15)),
    **dict.fromkeys(("tool_height_above", "tool_height_below", "draw_depth_above", "draw_depth_below"), (0, 5)),
    **{f"{bank}_{name}": limits for bank in ("upper", "lower") for name, limits in _HEATER_RANGES.items()},
    "oven_air_temperature": (270, 700),
    "oven_air_film_coefficient": (0, 200),
    "oven_clearance_below": (0, 5),
    "vacuum_pressure": (1000, 101325),
    "pressure_capability": (0, 5e6),
    "lock_force": (0, 1e8),
    "thinnest_gauge": (0.0001, 0.05),
    "thickest_gauge": (0.0001, 0.05),
    **dict.fromkeys(_TIMES, (0, 600)),
    "tool_film_coefficient": (1, 10000),
    "cooling_air_temperature": (250, 350),
    "cooling_film_coefficient": (1, 1000),
    "crew": (0, 20),
    "hour_rate": (0, 2000),
    "setup_hours": (0, 100),
    "setup_crew": (0, 20),
    "efficiency": (0.05, 1),
}
# Pairs of columns of which the second may not be below the first.
MACHINE_ASCENDING = (
    ("smallest_opening_length", "largest_opening_length"),
    ("smallest_opening_width", "largest_opening_width"),
    ("thinnest_gauge", "thickest_gauge"),
    ("upper_lowest_temperature", "upper_highest_temperature"),
    ("lower_lowest_temperature", "lower_highest_temperature"),
)


class Machine(models.Model):
    """One forming machine, flat: the two heater banks and the oven are columns with a prefix."""

    plant = models.ForeignKey(Plant, on_delete=models.PROTECT, related_name="machines")
    code = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=30, choices=choices(domain.KINDS))
    platen_length = models.FloatField()
    platen_width = models.FloatField()
    largest_opening_length = models.FloatField()
    largest_opening_width = models.FloatField()
    smallest_opening_length = models.FloatField()
    smallest_opening_width = models.FloatField()
    tool_height_above = models.FloatField()
    tool_height_below = models.FloatField()
    draw_depth_above = models.FloatField()
    draw_depth_below = models.FloatField()
    upper_lowest_temperature = models.FloatField()
    upper_highest_temperature = models.FloatField()
    upper_heated_length = models.FloatField()
    upper_heated_width = models.FloatField()
    upper_emissivity = models.FloatField()
    upper_view_factor = models.FloatField()
    lower_lowest_temperature = models.FloatField()
    lower_highest_temperature = models.FloatField()
    lower_heated_length = models.FloatField()
    lower_heated_width = models.FloatField()
    lower_emissivity = models.FloatField()
    lower_view_factor = models.FloatField()
    oven_air_temperature = models.FloatField()
    oven_air_film_coefficient = models.FloatField()
    oven_clearance_below = models.FloatField()
    vacuum_pressure = models.FloatField()
    pressure_capability = models.FloatField()
    lock_force = models.FloatField()
    twin_sheet = models.BooleanField(default=False)
    thinnest_gauge = models.FloatField()
    thickest_gauge = models.FloatField()
    index_time = models.FloatField()
    load_time = models.FloatField()
    unload_time = models.FloatField()
    close_time = models.FloatField()
    open_time = models.FloatField()
    vacuum_time = models.FloatField()
    pressure_time = models.FloatField()
    tool_film_coefficient = models.FloatField()
    cooling_air_temperature = models.FloatField()
    cooling_film_coefficient = models.FloatField()
    crew = models.FloatField()
    hour_rate = money()
    setup_hours = models.FloatField()
    setup_crew = models.FloatField()
    efficiency = models.FloatField()
    retired_on = models.DateField(
        null=True, blank=True, help_text="from this day on it forms nothing and is in no answer"
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=domain.KINDS), name="machine_kind_known"),
            *within("machine", MACHINE_RANGES),
            *[
                models.CheckConstraint(
                    condition=Q(**{f"{high}__gte": F(low)}),
                    name=f"machine_{high}_ascends",
                    violation_error_message=f"{high} may not be below {low}",
                )
                for low, high in MACHINE_ASCENDING
            ],
        ]

    def __str__(self) -> str:
        return self.code

    def heater_bank(self, bank: str) -> domain.HeaterBank:
        """The 'upper' or 'lower' bank of the oven."""
        return domain.HeaterBank(**{name: getattr(self, f"{bank}_{name}") for name in HEATER_COLUMNS})

    def to_domain(self) -> domain.Machine:
        oven = domain.Oven(
            upper=self.heater_bank("upper"),
            lower=self.heater_bank("lower"),
            **{name: getattr(self, f"oven_{name}") for name in OVEN_COLUMNS},
        )
        stations = sorted(self.stations.all(), key=lambda station: station.position)
        given = {"plant": self.plant.code, "oven": oven, "hour_rate": trimmed(self.hour_rate)}
        given["stations"] = tuple(station.to_domain() for station in stations)
        flat = [field.name for field in fields(domain.Machine) if field.name not in given]
        return domain.Machine(**given, **{name: getattr(self, name) for name in flat})


class Station(models.Model):
    """A place in the machine and what is done there, in order."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="stations")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=40)
    work = models.JSONField()

    class Meta:
        ordering = ["machine", "position"]
        constraints = [models.UniqueConstraint(fields=["machine", "position"], name="station_position_once")]

    def __str__(self) -> str:
        return f"{self.machine_id} {self.name}"

    def clean(self) -> None:
        _list_of_words(self.work, "work", domain.STATION_WORK)

    def to_domain(self) -> domain.Station:
        return domain.Station(self.name, tuple(self.work))


class HourRate(models.Model):
    """An hour rate from a day on; the newest that has begun goes before the column of plant, machine or trimmer."""

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="hour_rates")
    kind = models.CharField(max_length=10, choices=choices(hour_rates.KINDS))
    code = models.CharField(max_length=20, blank=True, help_text="of the machine or trimmer; empty otherwise")
    rate = money(help_text="$ an hour")
    valid_from = models.DateField()
    source = models.CharField(max_length=300)

    class Meta:
        ordering = ["plant", "kind", "code", "-valid_from"]
        constraints = [
            models.UniqueConstraint(fields=["plant", "kind", "code", "valid_from"], name="hour_rate_once_a_day"),
            models.CheckConstraint(condition=Q(kind__in=hour_rates.KINDS), name="hour_rate_kind_known"),
            *within("hour_rate", {"rate": (0, 2000)}),
        ]

    def __str__(self) -> str:
        return f"{self.plant_id} {self.kind} {self.code} from {self.valid_from}"

    def clean(self) -> None:
        known = {
            hour_rates.MACHINE: Machine.objects.filter(plant_id=self.plant_id, code=self.code),
            hour_rates.TRIMMER: Trimmer.objects.filter(plant_id=self.plant_id, code=self.code),
        }.get(self.kind)
        if known is None and self.code:
            raise ValidationError({"code": f"got {self.code}; accepted is nothing beside labour and inspector"})
        if known is not None and not known.exists():
            raise ValidationError({"code": f"got {self.code}; accepted is the code of a {self.kind} of this plant"})

    def to_domain(self) -> hour_rates.HourRate:
        return hour_rates.HourRate(
            self.kind, self.plant.code, self.code, trimmed(self.rate), self.valid_from, self.source
        )


class Booking(models.Model):
    """Hours of one machine promised in one week. ``quote`` is the number of the quote they come from, if any."""

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="bookings")
    week = models.DateField(help_text="its Monday")
    hours = models.FloatField()
    firm = models.BooleanField(default=False, help_text="won work; otherwise quoted work")
    label = models.CharField(max_length=120, blank=True)
    quote = models.CharField(max_length=20, blank=True, db_index=True)

    class Meta:
        ordering = ["week", "machine", "pk"]
        constraints = [
            *within("booking", {"hours": (0, 168)}),
            models.CheckConstraint(condition=Q(week__week_day=2), name="booking_week_is_monday"),
        ]

    def __str__(self) -> str:
        return f"{self.machine_id} {self.week} {self.hours:g} h"

    def to_domain(self) -> domain.Booking:
        return domain.Booking(self.machine.code, self.week, self.hours, self.firm, self.label)


class Shift(models.Model):
    """A shift of a plant, from a day on and perhaps until one. A plant without any works its hours a week."""

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="shifts")
    days = models.JSONField(help_text="days of the week on which it starts, Monday 0 to Sunday 6")
    start = models.TimeField(help_text="on the clock of the plant")
    length_hours = models.FloatField("length in hours")
    break_hours = models.FloatField("of it breaks, hours", default=0)
    first_day = models.DateField("from day")
    last_day = models.DateField("to day", null=True, blank=True)

    class Meta:
        ordering = ["plant", "first_day", "start"]
        constraints = [*within("shift", {"length_hours": (0.25, 24), "break_hours": (0, 12)})]

    def __str__(self) -> str:
        return f"{self.start:%H:%M} {self.length_hours:g} h"

    def clean(self) -> None:
        """Refuse what no calendar can hold, also together with the plant's other shifts."""
        if not isinstance(self.days, list) or not all(type(day) is int for day in self.days):
            raise ValidationError({"days": f"got {self.days!r}; accepted is a list of days, Monday 0 to Sunday 6"})
        try:
            others = self.plant.shifts.exclude(pk=self.pk)
            WorkCalendar(UTC, (self.to_domain(), *(other.to_domain() for other in others)))
        except CalendarError as error:
            raise ValidationError(str(error)) from error

    def to_domain(self) -> calendar.Shift:
        last = self.last_day or date.max
        days, first = tuple(self.days), self.first_day
        return calendar.Shift(days, self.start, self.length_hours, self.break_hours, first, last)


class ClosedDay(models.Model):
    """A holiday or a shutdown of a plant."""

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="closed_days")
    day = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["plant", "day"]
        constraints = [models.UniqueConstraint(fields=["plant", "day"], name="closed_day_once")]

    def __str__(self) -> str:
        return f"{self.day} {self.reason}"


class TimeWindow(models.Model):
    """A stretch in which a machine, a trimmer or a whole plant stands, or works besides its shifts."""

    KINDS = ("maintenance", "overtime")

    plant = models.ForeignKey(Plant, on_delete=models.CASCADE, related_name="windows")
    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, null=True, blank=True, related_name="windows",
                                help_text="leave machine and trimmer empty for the whole plant")  # fmt: skip
    trimmer = models.ForeignKey(Trimmer, on_delete=models.CASCADE, null=True, blank=True, related_name="windows")
    kind = models.CharField(max_length=20, choices=choices(KINDS))
    start = models.DateTimeField(help_text="in UTC, not on the clock of the plant")
    end = models.DateTimeField(help_text="in UTC")
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        verbose_name, verbose_name_plural = "maintenance or overtime", "maintenance and overtime"
        ordering = ["start", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=("maintenance", "overtime")), name="window_kind_known"),
            models.CheckConstraint(
                condition=Q(end__gt=F("start")), name="window_ends_after_start",
                violation_error_message="end must be after start",
            ),
            models.CheckConstraint(
                condition=Q(machine__isnull=True) | Q(trimmer__isnull=True), name="window_of_one",
                violation_error_message="name a machine or a trimmer, not both; neither for the whole plant",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.kind} {self.start:%Y-%m-%d %H:%M}"

    def clean(self) -> None:
        for name in ("machine", "trimmer"):
            chosen = getattr(self, name)
            if chosen is not None and chosen.plant_id != self.plant_id:
                raise ValidationError({name: f"got {chosen}; accepted is one of plant {self.plant}"})

    def to_domain(self) -> calendar.Window:
        chosen = self.machine or self.trimmer
        code = chosen.code if chosen else calendar.EVERYTHING
        return calendar.Window(code, self.start, self.end, self.reason)


def _list_of_words(value: object, column: str, known: tuple[str, ...] = ()) -> None:
    """Refuse anything but a list of texts, each one of ``known`` where that is given."""
    good = isinstance(value, list) and all(isinstance(word, str) and (not known or word in known) for word in value)
    if not good:
        listed = f" out of {', '.join(known)}" if known else ""
        raise ValidationError({column: f"got {value!r}; accepted is a list of words{listed}"})
