"""Parts of a forming plan with plausible numbers, for tests that only carry them along."""

from quoting.routing.candidate import Heating, Thinning


def some_thinning(areal: float, mean: float, thinnest: float, plug: bool = False) -> Thinning:
    """Walls [m] at a mean and a thinnest one."""
    return Thinning(
        areal, mean, thinnest, 1.5 * mean, "mass balance", plug,
        rim=1.2 * mean, side=mean, base=1.5 * mean, edge=thinnest, corner=thinnest,
    )  # fmt: skip


def some_heating(
    time: float, upper: float, lower: float, peak: float, core: float, mean: float, energy: float
) -> Heating:
    """One heating station, the window reached [SI]."""
    return Heating(
        time=time, preheat_time=0.0, oven_time=time, wait=0.0, preheat_upper=None, preheat_lower=None,
        upper_heater=upper, lower_heater=lower, surface_peak=peak, core_at_exit=core, mean_at_exit=mean,
        transfer_time=15.0, coldest_at_contact=core, skin_at_contact=core + 2.0, mean_at_contact=mean - 8.0,
        energy_per_area=energy, reaches_window=True, limited_by="", governed_by="skin", thickest_gauge=None,
        rule_of_thumb_time=time + 10.0,
    )  # fmt: skip
