"""What the shape of a model tells an inquiry beyond its sizes, and how it stands against what was typed."""

from math import pi, radians

import pytest
import trimesh

from quoting.intake.fields import BY_KEY
from quoting.intake.model_asking import FOR_ANSWER
from quoting.intake.model_job import ModelRefusedError, model_report
from quoting.intake.model_shape import FACTS, LARGEST_DRILLED, shape_of
from quoting.intake.part import MEASURED
from quoting.intake.reading import read_inquiry, with_overrides
from quoting.intake.reading_result import InputErrors
from quoting.units import spoken
from tests.quoting.geometry import shapes
from tests.quoting.intake.sample import POLYMERS, TODAY, changed, read

MILLIMETRE = 0.001
NO_SIZES = {"part__length": None, "part__width": None, "part__depth": None}
SIZES = {"part.length": 0.62, "part.width": 0.42, "part.depth": 0.08}


@pytest.fixture(scope="module")
def beaded(tmp_path_factory):
    """A tray with a bead half way up its wall, which no draw gets past, in millimetres."""
    folder = tmp_path_factory.mktemp("beaded")
    surface = shapes.beaded()
    trimesh.Trimesh(surface.vertices / MILLIMETRE, surface.faces).export(folder / "part.stl")
    return folder


@pytest.fixture(scope="module")
def report(beaded):
    return model_report(beaded / "part.stl", unit=MILLIMETRE, hooks=list(FOR_ANSWER), tool="female")


def told(shape) -> dict[str, str]:
    return {doubt.field: spoken(doubt.text) for doubt in shape.doubts}


def reading(folder, report, **changes):
    raw = changed(part__model="part.stl", **NO_SIZES | changes)
    return read_inquiry(raw, on=TODAY, polymer_names=POLYMERS, base_dir=folder, run=lambda *_, **__: report)


def patched(report, **more) -> dict:
    """The report with other figures of its shape; a name of ``moldability`` goes there, else to ``measures``."""
    found = {name: dict(figures) for name, figures in report["found"].items()}
    for name, value in more.items():
        found["moldability" if name in found["moldability"] else "measures"][name] = value
    return report | {"found": found}


def test_the_fields_that_a_model_tells_are_those_of_the_inquiry():
    assert tuple(FACTS) == tuple(f"part.{name}" for name in MEASURED)
    assert all(BY_KEY[field].unit == unit for field, (unit, _, _) in FACTS.items())


def test_a_model_fills_what_was_not_typed(beaded, report):
    part = reading(beaded, report).request.part
    assert part.trim_length == pytest.approx(2.08, rel=1e-4)  # by hand: 2 x (620 + 420) mm
    assert part.undercut_depth == pytest.approx(0.01, rel=0.3)  # the bead bulges 10 mm
    assert part.draft_angle == 0.0  # its walls are upright


def test_a_measure_takes_the_place_of_a_typed_value_which_is_told(beaded, report):
    found = reading(beaded, report, part__undercut_depth="0 mm", part__trim_length="9 m", part__draft_angle="3 deg")
    part, words = found.request.part, told(found)
    assert (part.draft_angle, part.trim_length) == (0.0, pytest.approx(2.08, rel=1e-4))
    assert words["part.draft_angle"] == "draft of the walls: typed was 3.0 deg, the model has 0.0 deg, which is used"
    assert "typed was 354.3 in (9000 mm), the model has 81.9 in (2080 mm), which is used" in words["part.trim_length"]
    assert "typed was 0.000 in" in words["part.undercut_depth"]


def test_a_typed_value_that_agrees_is_not_spoken_of(beaded, report):
    assert "part.trim_length" not in told(reading(beaded, report, part__trim_length="2.09 m"))


def test_a_typed_value_that_shall_stand_stands_and_both_are_told(beaded, report):
    found = reading(beaded, report, part__draft_angle="3 deg", part__keep_typed=["draft_angle"])
    assert found.request.part.draft_angle == pytest.approx(radians(3))
    (note,) = [one for one in found.assumptions if one.field == "part.draft_angle"]
    assert spoken(note.value) == "draft of the walls 3.0 deg as typed; the model has 0.0 deg"
    assert "part.draft_angle" not in told(found)


def test_what_shall_stand_must_be_typed_and_be_a_measured_fact(beaded, report):
    for names, words in ((["openings"], "names of fields that are typed; part.openings is not"), (["width"], "one of")):
        with pytest.raises(InputErrors) as refused:
            reading(beaded, report, part__keep_typed=names)
        (error,) = refused.value.errors
        assert error.field == "part.keep_typed"
        assert words in error.accepted


def test_an_override_of_a_measured_fact_goes_before_the_model(beaded, report):
    raw = changed(part__model="part.stl", **NO_SIZES)
    raw = with_overrides(raw, (("part.draft_angle", "2 deg"), ("part.openings", "3")))
    assert raw["part"]["keep_typed"] == ["draft_angle", "openings"]
    found = read_inquiry(raw, on=TODAY, polymer_names=POLYMERS, base_dir=beaded, run=lambda *_, **__: report)
    part = found.request.part
    assert (part.draft_angle, part.openings) == (pytest.approx(radians(2)), 3)


def test_an_override_that_takes_a_value_away_gives_the_word_back_to_the_model():
    raw = changed(part__model="part.stl", part__draft_angle="3 deg", part__keep_typed=["draft_angle"])
    part = with_overrides(raw, (("part.draft_angle", ""),))["part"]
    assert "draft_angle" not in part
    assert "keep_typed" not in part


def test_an_override_that_takes_the_model_away_takes_along_what_was_said_of_it():
    said = {"part__model_unit": "in", "part__model_body": 2, "part__model_draw": "+x", "part__keep_typed": ["openings"]}
    raw = changed(part__model="part.stl", part__openings=2, **said)
    part = with_overrides(raw, (("part.model", ""),))["part"]
    assert not [key for key in part if key.startswith(("model", "keep"))]
    assert part["openings"] == 2


def test_without_a_model_an_override_says_nothing_of_one():
    assert "keep_typed" not in with_overrides(changed(), (("part.draft_angle", "2 deg"),))["part"]


def test_small_rings_that_were_typed_as_holes_are_not_cut_twice(beaded, report):
    # Two rings of 20 mm across and one of 300 mm; both small ones are typed as drilled holes.
    rings = [pi * 0.02, pi * 0.02, pi * 0.3]
    found = patched(report, openings=rings, trim_length=2.08 + sum(rings))
    assert max(rings[:2]) < LARGEST_DRILLED < rings[2]
    plain, drilled = (shape_of(found, SIZES | {"part.holes": holes}, frozenset()).values for holes in (0, 2))
    assert (plain["part.openings"], drilled["part.openings"]) == (3, 1)
    assert plain["part.trim_length"] - drilled["part.trim_length"] == pytest.approx(2 * pi * 0.02, abs=2e-5)


def test_less_draft_on_few_walls_is_told_beside_the_figure_that_is_used(beaded, report):
    words = told(reading(beaded, patched(report, draft_of_walls=2.5, least_draft=0.25)))
    assert "some walls have less draft than the 2.5 deg that is used: 0.2" in words["part.draft_angle"]


def test_walls_drawn_at_a_limit_are_not_a_hair_beside_it(beaded, report):
    part = reading(beaded, patched(report, draft_of_walls=1.99997, least_draft=1.99997)).request.part
    assert part.draft_angle == radians(2.0)


def test_a_pocket_deeper_for_its_opening_than_the_part_for_its_width_is_told_to_the_routing(beaded, report):
    for ratio, width, is_taken in ((0.9, 0.05, True), (0.1, 0.05, False), (0.9, 0.41, False)):
        pocket = {"ratio": ratio, "depth": ratio * width, "width": width, "where": [0, 0, 0]}
        part = reading(beaded, patched(report, pocket=pocket)).request.part
        assert (part.pocket is not None) == is_taken, (ratio, width)


def test_sharp_edges_are_told_to_the_routing(beaded, report):
    assert reading(beaded, patched(report, corner_length=1.5)).request.part.sharp_edges == 1.5
    assert reading(beaded, patched(report, corner_length=0.001)).request.part.sharp_edges == 0.0


def test_a_shape_that_cannot_be_looked_at_costs_nothing_but_a_word(beaded, report):
    sizes_only = {name: figures for name, figures in report["found"].items() if name != "moldability"}
    found = reading(beaded, report | {"found": sizes_only, "failed": {"moldability": "it took {too} long"}})
    assert "part.draft_angle" in {one.field for one in found.assumptions}  # the usual one
    assert any(spoken(doubt.text).endswith("it took (too) long") for doubt in found.doubts)


@pytest.mark.parametrize("missing", ["draw", "measures"])
def test_a_model_without_sizes_is_an_error_at_the_model(beaded, report, missing):
    found = {name: figures for name, figures in report["found"].items() if name != missing}
    with pytest.raises(InputErrors, match="part.model: .*the model has no area"):
        reading(beaded, report | {"found": found, "failed": {missing: "the model has no area"}})


def test_a_figure_that_is_missing_is_an_error_at_the_model(beaded, report):
    with pytest.raises(InputErrors, match="part.model: .*left out a figure"):
        reading(beaded, patched(report, length=None))


def test_an_inquiry_with_a_model_takes_trim_line_and_openings_from_it(tmp_path):
    # by formula: a dish of 400 mm: the trim line is its rim, pi D
    dish = shapes.bowl(0.2)
    trimesh.Trimesh(dish.vertices / MILLIMETRE, dish.faces).export(tmp_path / "dish.stl")
    part = read(changed(part__model="dish.stl", **NO_SIZES), tmp_path).request.part
    assert part.trim_length == pytest.approx(pi * 0.4, rel=0.01)
    assert part.openings == 0


def test_a_child_that_answers_nonsense_is_refused(tmp_path, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    for printed in (b"", b"[]", b"{}", b'{"draw": NaN}', b'{"a": 1e999}', b"x" * 10):
        monkeypatch.setattr(
            "quoting.intake.model_job.subprocess.run",
            lambda *_, printed=printed, **__: type("Done", (), {"returncode": 0, "stdout": printed})(),
        )
        with pytest.raises(ModelRefusedError):
            model_report(tmp_path / "part.stl")


def test_straight_walls_of_a_metal_part_are_to_be_redrawn_and_refuse_nothing(beaded, report):
    straight = patched(report, draft_of_walls=0.0)
    metal = {"replaces_metal": {"metal": "steel", "thickness": "0.06 in"}}
    formed = reading(beaded, straight, part__draft_angle=None)
    redrawn = reading(beaded, straight, part__draft_angle=None, **metal)

    assert formed.request.part.draft_angle == 0.0
    assert redrawn.request.part.draft_angle == pytest.approx(radians(3.0))  # what is assumed where none is given
    told_of = [spoken(doubt.text) for doubt in redrawn.doubts if doubt.field == "part.draft_angle"]
    assert any("must be drawn with it" in text for text in told_of)
    drafted = reading(beaded, patched(report, draft_of_walls=2.0), part__draft_angle=None, **metal)
    assert drafted.request.part.draft_angle == pytest.approx(radians(2.0))
