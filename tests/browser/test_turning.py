"""The model turned in a browser that can draw by WebGL, in software; and the page in one that cannot."""

import shutil
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import trimesh
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from playwright.sync_api import Page, expect

from quoting.intake.model_job import model_report
from quoting.quotes import model_reports
from quoting.quotes.drawings import drawing_keep
from tests.quoting.geometry import shapes
from tests.quoting.geometry.files import stl

from .conftest import CHROMIUM, FLAGS, overflow

DRAWS = ("--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
DRAWS_NOT = ("--disable-3d-apis",)
GROUND = (250, 249, 245)


@pytest.fixture(scope="module", params=[DRAWS])
def chromium(browsers, request):
    """A Chromium of this file's own: with WebGL unless a test asks for one without."""
    flags = [flag for flag in FLAGS if flag != "--disable-gpu"]
    browser = browsers.launch(executable_path=CHROMIUM, args=[*flags, *request.param])
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def measured(tmp_path_factory) -> tuple[dict, Path]:
    """What the work finds in a tray with a bead all round its wall, so that it has undercuts; and its files."""
    folder, tray = tmp_path_factory.mktemp("measured"), shapes.beaded()
    (folder / "tray.stl").write_bytes(stl(trimesh.Trimesh(tray.vertices * 1000, tray.faces, process=False)))
    hooks = [hook for hook in model_reports.HOOKS if hook not in ("draw", "measures")]
    found = model_report(folder / "tray.stl", unit=0.001, hooks=hooks, tool="female", directory=str(folder))
    assert found["meshes"], found["failed"]
    return found, folder


@pytest.fixture
def modelled(answered, people, settings, tmp_path, monkeypatch, measured):
    """An inquiry with that tray as its model; the work on it is done once for all tests."""
    found, folder = measured
    monkeypatch.setattr(
        model_reports, "model_report",
        lambda path, directory, **options: shutil.copytree(folder, directory, dirs_exist_ok=True) and found,
    )  # fmt: skip
    settings.MEDIA_ROOT, settings.MODEL_REPORTS = tmp_path, "at once"
    upload = SimpleUploadedFile("tray.stl", (folder / "tray.stl").read_bytes())
    answered.typed["part"]["model"] = drawing_keep(upload=upload)
    answered.save()
    model_reports.report_ask(inquiry=answered, by=people["rep"])
    return answered


def opened(browse, inquiry, width: int = 1280) -> Page:
    """The view, open and drawn."""
    page = browse("rep", width)
    asked = []
    page.on("request", lambda request: asked.append(request.url) if request.url.endswith(".glb") else None)
    page.goto(f"/inquiries/{inquiry.number}/")
    expect(page.get_by_text("Turn the model")).to_be_visible()
    assert not asked, "the mesh was fetched before anybody asked for it"
    page.get_by_text("Turn the model").click()
    expect(page.get_by_role("button", name="Shaded")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("[data-seen]")).to_contain_text("33° above the rim")
    return page


def drawn(page: Page) -> np.ndarray:
    """The pixels of the canvas once two frames have gone by."""
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    shot = page.locator(".turning canvas").screenshot()
    return np.asarray(Image.open(BytesIO(shot)).convert("RGB"), int)[6:-6, 6:-6]


def comes_back_to(page: Page, before: np.ndarray) -> bool:
    """Whether the canvas shows the same again, before long: a busy machine draws late."""
    return any(np.array_equal(drawn(page), before) for _ in range(20))


def near(image: np.ndarray, colour: tuple[int, int, int], within: int = 12) -> np.ndarray:
    return np.abs(image - np.array(colour)).max(axis=2) <= within


def test_a_key_turns_the_part_and_home_puts_it_back(browse, modelled):
    page = opened(browse, modelled)
    canvas = page.get_by_role("application", name="The model")
    canvas.focus()
    before = drawn(page)
    assert 0.1 < (~near(before, GROUND)).mean() < 0.9
    page.keyboard.press("ArrowRight")
    expect(page.locator("[data-seen]")).to_contain_text("turned −17°")
    assert (np.abs(drawn(page) - before).max(axis=2) > 20).mean() > 0.02
    page.keyboard.press("Home")
    expect(page.locator("[data-seen]")).to_contain_text("turned −32°")
    assert comes_back_to(page, before)


def test_dragging_turns_it_and_the_wheel_zooms_only_once_it_was_taken_up(browse, modelled):
    page = opened(browse, modelled)
    canvas = page.locator(".turning canvas")
    canvas.scroll_into_view_if_needed()
    frame = canvas.bounding_box()
    middle = (frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2)
    seen = page.locator("[data-seen]")
    page.mouse.move(*middle)
    page.mouse.wheel(0, -1)
    expect(seen).to_contain_text("zoom 100 %")
    page.mouse.down()
    page.mouse.move(middle[0] + 50, middle[1] + 25, steps=4)
    page.mouse.up()
    # 0.4 degrees for each pixel: 50 px turn it by 20 degrees, 25 px lift the eye by 10.
    expect(seen).to_have_text("Seen 43° above the rim, turned −12°, zoom 100 %")
    page.mouse.wheel(0, -300)
    # exp(300 x 0.0015) = 1.568
    expect(seen).to_have_text("Seen 43° above the rim, turned −12°, zoom 157 %")
    page.keyboard.press("ArrowUp")
    expect(seen).to_have_text("Seen 58° above the rim, turned −12°, zoom 157 %")


@pytest.mark.parametrize("width", [390, 1280])
def test_every_button_does_what_it_says_and_nothing_is_wider_than_the_page(browse, modelled, width):
    page = opened(browse, modelled, width)
    seen = page.locator("[data-seen]")
    for name, words in (
        ("Turn to the right", "33° above the rim, turned −17°"), ("Turn to the left", "turned −32°"),
        ("See it from higher", "48° above"), ("See it from lower", "33° above"), ("Closer", "zoom 125 %"),
        ("Further away", "zoom 100 %"), ("Closer", "zoom 125 %"), ("Reset", "turned −32°, zoom 100 %"),
    ):  # fmt: skip
        page.get_by_role("button", name=name, exact=True).click()
        expect(seen).to_contain_text(words)
    assert overflow(page) == 0


def test_each_layer_shows_its_colours_and_names_them(browse, modelled):
    page = opened(browse, modelled)
    flag = (214, 69, 32)
    assert not near(drawn(page), flag, 60).any()
    page.get_by_role("button", name="Undercuts").click()
    expect(page.locator("[data-legend] li")).to_have_text(["undercut"])
    assert near(drawn(page), flag, 60).mean() > 0.005
    page.get_by_role("button", name="Draft").click()
    expect(page.locator("[data-title]")).to_have_text("Draft [deg]")
    # The lower wall stands at 0 degrees: the darkest colour of the scale, (72, 36, 117), weakly shaded.
    assert near(drawn(page), (65, 32, 105), 14).mean() > 0.01
    page.get_by_role("button", name="Wall").click()
    expect(page.locator("[data-title]")).to_have_text("Wall [% of gauge]")
    expect(page.get_by_text("The formed sheet, not the part as drawn.")).to_be_visible()
    assert len(np.unique(drawn(page).reshape(-1, 3) // 32, axis=0)) > 8


def test_a_finger_turns_it(browse, modelled):
    page = opened(browse, modelled, 390)
    touch = page.context.new_cdp_session(page)
    canvas = page.locator(".turning canvas")
    canvas.scroll_into_view_if_needed()
    frame = canvas.bounding_box()
    x, y = frame["x"] + 100, frame["y"] + 100
    touch.send("Emulation.setTouchEmulationEnabled", {"enabled": True})
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x + 50, "y": y}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(page.locator("[data-seen]")).to_contain_text("turned −12°")
    two = [{"x": x, "y": y, "id": 0}, {"x": x + 60, "y": y, "id": 1}]
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": two})
    two[1]["x"] += 60
    touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": two})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    # Fingers twice as far apart make it twice as large.
    expect(page.locator("[data-seen]")).to_contain_text("turned −12°, zoom 200 %")


def test_a_view_whose_graphics_were_taken_away_comes_back(browse, modelled):
    page = opened(browse, modelled)
    before = drawn(page)
    page.evaluate("""new Promise((done) => {
        const canvas = document.querySelector(".turning canvas");
        const lose = canvas.getContext("webgl2").getExtension("WEBGL_lose_context");
        canvas.addEventListener("webglcontextlost", () => setTimeout(() => lose.restoreContext(), 50));
        canvas.addEventListener("webglcontextrestored", () => setTimeout(done, 300));
        lose.loseContext();
    })""")
    assert comes_back_to(page, before)


def test_a_mesh_that_cannot_be_fetched_is_told_and_can_be_asked_for_again(browse, modelled):
    page = browse("rep")
    page.goto(f"/inquiries/{modelled.number}/")
    page.route("**/*.glb", lambda route: route.fulfill(status=200, body="<html>not a mesh</html>"))
    page.get_by_text("Turn the model").click()
    expect(page.get_by_text("The model could not be loaded.")).to_be_visible()
    expect(page.locator(".turning canvas")).to_be_hidden()
    page.unroute("**/*.glb")
    page.get_by_text("Turn the model").click()
    expect(page.get_by_text("The model could not be loaded.")).to_be_hidden()
    page.get_by_text("Turn the model").click()
    expect(page.get_by_role("button", name="Shaded")).to_be_visible()


def test_the_view_works_under_a_strict_policy_on_content(browse, modelled):
    page = browse("rep")
    policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:"

    def strict(route):
        answer = route.fetch()
        route.fulfill(response=answer, headers={**answer.headers, "content-security-policy": policy})

    page.route(f"**/inquiries/{modelled.number}/", strict)
    page.goto(f"/inquiries/{modelled.number}/")
    page.get_by_text("Turn the model").click()
    page.get_by_role("button", name="Undercuts").click()
    swatch = page.locator("[data-legend] .swatch")
    assert "214, 69, 32" in swatch.evaluate("(one) => getComputedStyle(one).backgroundImage")
    assert (~near(drawn(page), GROUND)).mean() > 0.1


@pytest.mark.parametrize("chromium", [DRAWS_NOT], indirect=True)
def test_without_webgl_the_page_keeps_its_pictures_and_says_nothing_of_the_view(browse, modelled):
    page = browse("rep")
    page.goto(f"/inquiries/{modelled.number}/")
    page.wait_for_load_state("networkidle")
    assert page.evaluate("document.createElement('canvas').getContext('webgl2')") is None
    expect(page.get_by_role("img", name="The part, shaded, seen from above")).to_be_visible()
    expect(page.get_by_text("Turn the model")).to_be_hidden()


def test_without_scripts_the_page_keeps_its_pictures_and_says_nothing_of_the_view(
    browse, modelled, chromium, live_server
):
    page = browse("rep")
    state = page.context.storage_state()
    plain = chromium.new_context(java_script_enabled=False, storage_state=state, base_url=live_server.url)
    page_without = plain.new_page()
    page_without.goto(f"/inquiries/{modelled.number}/")
    expect(page_without.get_by_role("img", name="The part, shaded, seen from above")).to_be_visible()
    expect(page_without.get_by_text("Turn the model")).to_be_hidden()
    plain.close()
