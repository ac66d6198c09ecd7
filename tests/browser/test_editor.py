"""The editor of structures in a real browser: the preview follows the fields, with scripts and without."""

from __future__ import annotations

from collections.abc import Callable

from portal.db.engine import Database
from portal.queries import catalogue as find_structures
from tests.browser.conftest import DESK, PHONE, Person
from tests.cast import Cast

Browse = Callable[..., Person]
CHANGE = "/shop/catalogue/structures/harebell/change"


def test_the_preview_follows_the_fields_without_taking_the_focus(
    browse: Browse, database: Database, cast: Cast
) -> None:
    mia = browse(cast.mia, viewport=DESK)
    page = mia.go(CHANGE)
    told = page.locator("#preview-told")
    before, picture = told.inner_text(), page.locator("#preview figure svg").first.inner_html()
    lead = page.locator("input[name=layer-0-lead_mm]")
    lead.press("Control+a")
    lead.press_sequentially("0,12")
    page.wait_for_function(
        "before => document.querySelector('#preview-told').innerText !== before", arg=before
    )
    assert page.locator("#preview figure svg").first.inner_html() != picture
    assert page.evaluate("document.activeElement.name") == "layer-0-lead_mm"
    assert lead.input_value() == "0,12"
    mia.look()
    # What cannot be drawn is said in the same place, and nothing else on the page changes.
    lead.press("Control+a")
    lead.press_sequentially("wide")
    page.get_by_text("The preview appears as soon as every layer is complete.").wait_for()
    assert page.locator("[data-error-summary]").count() == 0
    with database.read() as session:
        assert find_structures.newest(session, "harebell").version == 1


def test_a_structure_gets_another_layer_and_is_saved(
    browse: Browse, database: Database, cast: Cast, scripts: bool
) -> None:
    mia = browse(cast.mia, scripts=scripts, viewport=DESK if scripts else PHONE, dark=not scripts)
    page = mia.go(CHANGE)
    mia.press("Add a layer: grooves")
    for name, value in (("pitch_mm", "2"), ("width_mm", "0.3"), ("depth_um", "18")):
        page.locator(f"input[name=layer-2-{name}]").fill(value)
    mia.press("Preview")
    assert page.get_by_text("Enter at least").count() == 2
    # Enter in a field looks; it never removes a layer and never saves.
    page.locator("input[name=removal_um]").fill("18")
    page.locator("input[name=removal_um]").press("Enter")
    mia.look()
    page.get_by_role("heading", name="Preview").wait_for()
    assert page.locator("fieldset.layer").count() == 3
    assert page.locator("[data-error-summary]").count() == 0
    mia.press("Save as version 2")
    page.get_by_text("Harebell is saved as version 2.").wait_for()
    with database.read() as session:
        assert len(find_structures.value(find_structures.newest(session, "harebell")).layers) == 3
