"""Polymers and sheet as rows. SI throughout; ``to_domain`` is the only bridge to the calculation."""

from dataclasses import fields

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from materials import polymer as domain
from materials import sheet
from materials.amounts import trimmed

# Every measured property of a polymer, in the order of the dataclass.
PROPERTIES = tuple(field.name for field in fields(domain.Polymer) if field.type is float)
OPTIONAL_PROPERTIES = ("extinction",)  # no row: the sheet is opaque
# Lowest and highest value that is no typing slip; SI as in ``materials.polymer.Polymer``.
PROPERTY_RANGES: dict[str, tuple[float, float]] = {
    "density": (500, 3000),
    "conductivity": (0.05, 2),
    "specific_heat_solid": (500, 5000),
    "specific_heat_hot": (500, 5000),
    "step_temperature": (150, 700),
    "latent_heat": (0, 500e3),
    "melting_temperature": (0, 700),
    "melting_width": (0, 100),
    "emissivity": (0.1, 1),
    "expansion": (1e-6, 1e-3),
    "flexural_modulus": (1e7, 5e10),
    "hot_modulus": (1e3, 1e9),
    "deflection_temperature": (200, 700),
    "lower_forming_temperature": (250, 700),
    "normal_forming_temperature": (250, 700),
    "upper_forming_temperature": (250, 700),
    "tool_temperature": (250, 600),
    "demould_temperature": (250, 600),
    "shrinkage": (0, 0.1),
    "extinction": (10, 1e6),
}


def within(model: str, ranges: dict[str, tuple[float, float]]) -> list[models.CheckConstraint]:
    """One CHECK for each column: lowest <= value <= highest, which also refuses infinities and not-a-number."""
    return [
        models.CheckConstraint(
            condition=Q(**{f"{name}__gte": low, f"{name}__lte": high}),
            name=f"{model}_{name}_range",
            violation_error_message=f"{name} must lie between {low:g} and {high:g} (SI)",
        )
        for name, (low, high) in ranges.items()
    ]


def money(**options: object) -> models.DecimalField:
    """A column for dollars: up to ten million, four decimals."""
    return models.DecimalField(max_digits=11, decimal_places=4, **options)


def choices(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, name.replace("_", " ")) for name in names]


def _one_of(names: tuple[str, ...], column: str, name: str) -> models.CheckConstraint:
    return models.CheckConstraint(condition=Q(**{f"{column}__in": names}), name=name)


class Polymer(models.Model):
    name = models.CharField(max_length=40, unique=True)
    description = models.CharField(max_length=200, blank=True)
    semicrystalline = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_complete(self) -> bool:
        """Every property is there; an incomplete polymer is not used."""
        return {row.name for row in self.properties.all()} >= set(PROPERTIES)

    def to_domain(self) -> domain.Polymer:
        """The polymer as a value; only of a complete one."""
        rows = sorted(self.properties.all(), key=lambda row: (*PROPERTIES, *OPTIONAL_PROPERTIES).index(row.name))
        return domain.Polymer(
            name=self.name,
            description=self.description,
            semicrystalline=self.semicrystalline,
            needs=tuple(need.to_domain() for need in sorted(self.needs.all(), key=lambda need: need.need)),
            sources=tuple((row.name, row.source) for row in rows),
            **{row.name: row.value for row in rows},
        )


class PolymerProperty(models.Model):
    """One measured value of one polymer [SI] and where it was found."""

    polymer = models.ForeignKey(Polymer, on_delete=models.CASCADE, related_name="properties")
    name = models.CharField(max_length=40, choices=choices((*PROPERTIES, *OPTIONAL_PROPERTIES)))
    value = models.FloatField()
    source = models.CharField(max_length=300)

    class Meta:
        verbose_name_plural = "polymer properties"
        ordering = ["polymer", "name"]
        constraints = [
            models.UniqueConstraint(fields=["polymer", "name"], name="polymer_property_once"),
            *[
                models.CheckConstraint(
                    condition=~Q(name=name) | Q(value__gte=low, value__lte=high),
                    name=f"polymer_{name}_range",
                    violation_error_message=f"{name} must lie between {low:g} and {high:g} (SI)",
                )
                for name, (low, high) in PROPERTY_RANGES.items()
            ],
            _one_of((*PROPERTIES, *OPTIONAL_PROPERTIES), "name", "polymer_property_known"),
        ]

    def __str__(self) -> str:
        return f"{self.polymer_id} {self.name}"


class PolymerNeed(models.Model):
    """A need that sheet of this polymer meets, and the paper that says so."""

    polymer = models.ForeignKey(Polymer, on_delete=models.CASCADE, related_name="needs")
    need = models.CharField(max_length=20, choices=choices(domain.NEEDS))
    certificate = models.CharField(max_length=200, null=True, blank=True)
    expires = models.DateField(null=True, blank=True)
    thinnest_wall = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["polymer", "need"]
        constraints = [
            models.UniqueConstraint(fields=["polymer", "need"], name="polymer_need_once"),
            _one_of(domain.NEEDS, "need", "polymer_need_known"),
            models.CheckConstraint(
                condition=Q(thinnest_wall__isnull=True) | Q(thinnest_wall__gt=0, thinnest_wall__lt=0.1),
                name="need_thinnest_wall_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.polymer_id} {self.need}"

    def to_domain(self) -> domain.NeedMet:
        return domain.NeedMet(self.need, self.certificate or None, self.expires, self.thinnest_wall)


OFFER_RANGES: dict[str, tuple[float, float]] = {
    "thinnest_gauge": (0.0001, 0.05),
    "thickest_gauge": (0.0001, 0.05),
    "widest": (0.1, 10),
    "longest": (0.1, 30),
    "minimum_order": (0, 1e6),
    "gauge_tolerance": (0, 0.5),
    "lead_time_weeks": (0, 104),
    "colour_charge": (0, 1e6),
    "regrind_value_per_pound": (0, 100),
}


class SheetOffer(models.Model):
    """What one mill sells of one polymer in one kind of colour, between two dates (both inclusive).

    A new price from a day on is a further row of the same name; the row before ends the day before.
    """

    name = models.CharField(max_length=80)
    polymer = models.ForeignKey(Polymer, on_delete=models.PROTECT, related_name="offers")
    colour = models.CharField(max_length=10, choices=choices(sheet.COLOURS))
    thinnest_gauge = models.FloatField()
    thickest_gauge = models.FloatField()
    widest = models.FloatField()
    longest = models.FloatField()
    minimum_order = models.FloatField()
    colour_charge = money()
    regrind_value_per_pound = money()
    gauge_tolerance = models.FloatField()
    lead_time_weeks = models.FloatField()
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)
    source = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["name", "valid_from"]
        constraints = [
            models.UniqueConstraint(fields=["name", "valid_from"], name="offer_once_a_day"),
            *within("offer", OFFER_RANGES),
            _one_of(sheet.COLOURS, "colour", "offer_colour_known"),
            models.CheckConstraint(condition=Q(thickest_gauge__gte=F("thinnest_gauge")), name="offer_gauges_ascend"),
            models.CheckConstraint(
                condition=Q(valid_to__isnull=True) | Q(valid_to__gte=F("valid_from")), name="offer_dates_ascend"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} from {self.valid_from}"

    def clean(self) -> None:
        if self.valid_from is None or not self.name:
            return  # named as missing already
        others = SheetOffer.objects.filter(name=self.name).exclude(pk=self.pk).exclude(valid_to__lt=self.valid_from)
        others = others if self.valid_to is None else others.exclude(valid_from__gt=self.valid_to)
        other = others.first()
        if other is not None:
            until = f"to {other.valid_to}" if other.valid_to else "on, without end"
            has = f"{other.name} has a price from {other.valid_from} {until} already"
            raise ValidationError({"valid_from": f"got {self.valid_from}; {has}"})

    def to_domain(self) -> sheet.SheetOffer:
        tiers = sorted(self.tiers.all(), key=lambda tier: tier.from_mass)
        return sheet.SheetOffer(
            name=self.name,
            polymer=self.polymer.name,
            colour=self.colour,
            thinnest_gauge=self.thinnest_gauge,
            thickest_gauge=self.thickest_gauge,
            widest=self.widest,
            longest=self.longest,
            tiers=tuple(tier.to_domain() for tier in tiers),
            minimum_order=self.minimum_order,
            colour_charge=trimmed(self.colour_charge),
            regrind_value_per_pound=trimmed(self.regrind_value_per_pound),
            gauge_tolerance=self.gauge_tolerance,
            lead_time_weeks=self.lead_time_weeks,
            valid_from=self.valid_from,
            valid_to=self.valid_to,
            source=self.source,
        )


class PriceTier(models.Model):
    """Price per pound from an order mass [kg] upward."""

    offer = models.ForeignKey(SheetOffer, on_delete=models.CASCADE, related_name="tiers")
    from_mass = models.FloatField()
    price_per_pound = money()

    class Meta:
        ordering = ["offer", "from_mass"]
        constraints = [
            models.UniqueConstraint(fields=["offer", "from_mass"], name="tier_mass_once"),
            *within("tier", {"from_mass": (0, 1e6), "price_per_pound": (0.0001, 1000)}),
        ]

    def __str__(self) -> str:
        return f"{self.offer_id} from {self.from_mass:g} kg"

    def to_domain(self) -> sheet.PriceTier:
        return sheet.PriceTier(self.from_mass, trimmed(self.price_per_pound))
